"""Reads our own case files: a sentence, and what it must become, in one short line each."""

from __future__ import annotations

import shlex
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from bot.records import KINDS, LISTS, FieldType

HERE = Path(__file__).parent
MOMENT = datetime.fromisoformat("2026-04-16T19:15:00+00:00")  # 20:15 in Dublin
ZONE = "Europe/Dublin"
TODAY = "2026-04-16"
QUIET = ("chat", "unclear", "ask", "note")


@dataclass(frozen=True)
class Case:
    """One sentence, and the readings any of which is right, in the contract's JSON."""

    name: str
    text: str
    accept: tuple[Mapping[str, Any], ...]


def own_cases() -> Iterator[Case]:
    """Every case of our own files, each named by its file and group."""
    for file in sorted((HERE / "own").glob("*.toml")):
        tables = tomllib.loads(file.read_text(encoding="utf-8"))
        for group, cases in tables.items():
            for text, lines in cases.items():
                yield Case(f"{file.stem}-{group}: {text}", text, tuple(expected(lines)))


def expected(lines: list[str]) -> Iterator[dict[str, Any]]:
    """The readings that a case's lines allow."""
    if lines in (["-"], ["~"]):
        yield {"outcome": "chat"}
        if lines == ["-"]:
            yield from ({"outcome": "unclear"}, {"outcome": "ask"}, {"outcome": "request"})
        return
    if lines == ["!"]:
        yield {"outcome": "request"}
        return
    records = [_record(line) for line in lines if line[0] not in "?!"]
    reading: dict[str, Any] = {"outcome": "records", "records": records}
    for line in lines:
        if line[0] == "?":
            reading = {**reading, "outcome": "ask", "ask": {"about": line[1:]}}
        elif line[0] == "!":
            if not records:
                reading = {"outcome": "request"}
            reading["request"] = _request(line[1:])
    yield reading


def _record(line: str) -> dict[str, Any]:
    kind, *pairs = shlex.split(line)
    record: dict[str, Any] = {"kind": kind, "on": TODAY}
    types = {each.name: each.type for each in KINDS[kind].fields}
    for pair in pairs:
        name, value = pair.split("=", 1)
        record[name] = _value(types.get(name), value)
    return record


def _value(kind: FieldType | None, value: str) -> Any:
    if kind in LISTS:
        return value.split(",")
    if kind in (FieldType.COUNT, FieldType.PERCENT):
        return int(value)
    if kind in (FieldType.GRAMS, FieldType.CELSIUS):
        return float(value)
    return value == "true" if kind is FieldType.FLAG else value


def _request(line: str) -> dict[str, Any]:
    ask, *pairs = shlex.split(line)
    fields: dict[str, Any] = {"ask": ask}
    for pair in pairs:
        name, value = pair.split("=", 1)
        fields[name] = int(value) if value.isdigit() and name == "task" else value
    return fields
