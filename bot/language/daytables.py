"""Loads the small words of days and hours (`words/days.toml`), checked, into tables by name."""

from __future__ import annotations

import re
import tomllib
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from bot.language.tokens import Token, tokens_of
from bot.language.wording import OWN_WORDS, WordsError

FILE = OWN_WORDS / "days.toml"

# The tables a file must hold, and what their keys are.
_TABLES: Mapping[str, str] = {
    "halves": "am|pm",
    "turns": "last|this|next",
    "after": "last|last-week|next-week|week|before-last",
    "before": "last-week|next-week",
    "steps": r"-?\d+",
    "words": r"[a-z-]+",
    "feasts": r"\d\d-\d\d",
    "skies": "am|pm",
    "minutes": r"\d+",
    "ways": "past|to",
    "lengths": r"\d+",
    "letters": r"\d+",
    "counts": r"\d+",
    "counted": "things",
}

Table = Mapping[str, Sequence[tuple[tuple[str, ...], str]]]  # by first word, longest first


@dataclass(frozen=True)
class DayTables:
    """The tables by name. `sets` are those of [words]; `firsts` every word that starts one."""

    tables: Mapping[str, Table]
    sets: Mapping[str, Table]

    def match(self, table: str, tokens: Sequence[Token], i: int) -> tuple[str, int] | None:
        """The key whose longest wording starts at token `i`, and the token after it."""
        return _match(self.tables[table], tokens, i)

    def end(self, name: str, tokens: Sequence[Token], i: int) -> int | None:
        """The token after a wording of the set `name` that starts at token `i`, or None."""
        found = _match(self.sets[name], tokens, i)
        return found[1] if found else None

    def holds(self, name: str, word: str) -> bool:
        """True for a wording of one word in the set `name`."""
        return any(len(words) == 1 for words, _ in self.sets[name].get(word, ()))

    def phrase_in(self, name: str, words: Sequence[str]) -> bool:
        """True where those words together are one wording of the set `name`."""
        pairs = self.sets[name].get(words[0], ()) if words else ()
        return any(each == tuple(words) for each, _ in pairs)

    def wordings(self) -> Iterator[tuple[str, ...]]:
        """Every wording of every table."""
        for table in (*self.tables.values(), *self.sets.values()):
            for pairs in table.values():
                yield from (words for words, _ in pairs)


def _match(table: Table, tokens: Sequence[Token], i: int) -> tuple[str, int] | None:
    if not 0 <= i < len(tokens):
        return None
    for words, key in table.get(tokens[i].text, ()):
        n = len(words)
        if n == 1 or tuple(t.text for t in tokens[i : i + n]) == words:
            return key, i + n
    return None


@lru_cache(maxsize=4)
def day_tables(file: Path = FILE) -> DayTables:
    """The tables of `file`. Raises WordsError that names file and line where it can't be used."""
    source = file.read_text(encoding="utf-8")
    try:
        told = tomllib.loads(source)
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"line (\d+)", str(error))
        raise WordsError(f"{file.name}, line {line.group(1) if line else 1}: {error}") from error
    for name in (*told, *_TABLES):
        if name not in _TABLES or name not in told:
            what = (
                "is no table of days; use one of: " if name in told else "is missing; needed are: "
            )
            raise _error(file, source, f"[{name}", f"[{name}] {what}{', '.join(_TABLES)}")
    for name, wanted in _TABLES.items():
        for key, wordings in told[name].items():
            good = isinstance(wordings, list) and all(isinstance(w, str) and w for w in wordings)
            if not re.fullmatch(wanted, key) or not good:
                raise _error(file, source, key, f"[{name}] {key!r} needs a list of wordings in [ ]")
    tables = {name: _table(told[name]) for name in _TABLES if name != "words"}
    return DayTables(tables, {name: _table({name: texts}) for name, texts in told["words"].items()})


def _table(told: Mapping[str, Sequence[str]]) -> Table:
    out: dict[str, list[tuple[tuple[str, ...], str]]] = defaultdict(list)
    for key, texts in told.items():
        for text in texts:
            words = tuple(_cut(text))
            out[words[0]].append((words, key))
    for pairs in out.values():
        pairs.sort(key=lambda pair: -len(pair[0]))
    return dict(out)


def _cut(text: str) -> Iterator[str]:
    """The wording cut as a message is; "2nite" stays in one piece."""
    for piece in text.split():
        if any(c.isdigit() for c in piece) and any(c.isalpha() for c in piece):
            yield piece.casefold()
        else:
            yield from (token.text for token in tokens_of(piece))


def _error(file: Path, source: str, wanted: str, why: str) -> WordsError:
    lines = source.splitlines()
    at = next((n for n, text in enumerate(lines, 1) if text.strip('" ').startswith(wanted)), 1)
    return WordsError(f"{file.name}, line {at}: {why}")
