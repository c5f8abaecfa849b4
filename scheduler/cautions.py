"""The cautions that go with what happens: short texts with their sources, from `cautions.toml`."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Caution:
    """One caution. `when` says what calls for it; `seen` what was really read of `source`."""

    key: str
    text: str
    when: str
    source: str
    seen: str


def caution(key: str) -> Caution:
    """The caution of that key. Raises KeyError where there is none."""
    return Caution(key, **_file()["caution"][key])


def keys() -> tuple[str, ...]:
    """Every caution's key, in the file's order."""
    return tuple(_file()["caution"])


def events() -> tuple[str, ...]:
    """Every event that calls for a caution: kinds of record and of task, signs, and a few more."""
    return tuple(_file()["events"])


def for_event(event: str) -> tuple[Caution, ...]:
    """The cautions for an event, the most important first; none for one that needs none."""
    return tuple(caution(key) for key in _file()["events"].get(event, ()))


@cache
def _file() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))
