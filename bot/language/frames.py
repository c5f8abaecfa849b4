"""Which words may be the heart of which kinds of record: the table words/frames.toml, checked."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from bot.language.items import Item
from bot.language.wording import CLASSES, OWN_WORDS, WordsError
from bot.records import KINDS

NO_KINDS: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Frames:
    """`heads` maps "act.lay" (or a whole class, "sign") to kinds, `measures` a sort of measure to
    kinds, `takes` a kind to the sorts of pieces that belong to it."""

    heads: Mapping[str, frozenset[str]]
    measures: Mapping[str, frozenset[str]]
    takes: Mapping[str, frozenset[str]]

    def kinds_of(self, item: Item) -> frozenset[str]:
        """The kinds that this piece could be the heart of; empty for one that is no heart."""
        measured = self.measures.get(item.what)
        if measured is not None:
            return measured
        if item.what == "num":
            return NO_KINDS if "whole" in item.senses else frozenset({"weighed", "reading"})
        if item.what != "word":
            return NO_KINDS
        kinds: frozenset[str] = NO_KINDS
        for cls, sense in item.senses.items():
            found = self.heads.get(f"{cls}.{sense.value}") or self.heads.get(cls)
            if found:
                kinds |= found
        return kinds


@lru_cache(maxsize=2)
def frames(file: Path = OWN_WORDS / "frames.toml") -> Frames:
    """The table of heads. Raises WordsError naming the file and line of a kind that is none."""
    source = file.read_text(encoding="utf-8")
    try:
        tables = tomllib.loads(source)
    except tomllib.TOMLDecodeError as error:
        raise WordsError(f"{file.name}: {error}") from error
    for head, kinds in tables["heads"].items():
        if head.split(".")[0] not in CLASSES:
            raise _wrong(file, source, head, f"no class of words {head.split('.')[0]!r}")
        for kind in kinds:
            if kind not in KINDS:
                raise _wrong(file, source, head, f"no kind of record {kind!r}")
    for kind in tables["takes"]:
        if kind not in KINDS:
            raise _wrong(file, source, kind, f"no kind of record {kind!r}")
    return Frames(
        *(
            {name: frozenset(v) for name, v in tables[table].items()}
            for table in ("heads", "measures", "takes")
        )
    )


def _wrong(file: Path, source: str, head: str, why: str) -> WordsError:
    lines = source.splitlines()
    line = next((n for n, text in enumerate(lines, 1) if text.strip('"').startswith(head)), 1)
    return WordsError(f"{file.name}, line {line}: {why}")
