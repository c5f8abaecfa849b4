"""Reads questions and orders to the assistant: which request a sentence makes, and its fields."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from bot.language.asked import ALIASES, ENTITY, Asked
from bot.language.drafts import Scene
from bot.language.items import Item
from bot.language.reading import Request
from bot.language.request_fields import FIELDS, no_fields
from bot.language.wording import CLASSES, OWN_WORDS, Lexicon, WordsError


@dataclass(frozen=True)
class Pattern:
    """Pieces that must be there, pieces that must not, and whether little else may be said."""

    ask: str
    wanted: tuple[frozenset[str], ...]  # with what stands for each name
    barred: frozenset[str]
    alone: bool
    bare: bool


@lru_cache(maxsize=2)
def patterns(file: Path = OWN_WORDS / "requests.toml") -> tuple[Pattern, ...]:
    """Every pattern of requests.toml. Raises WordsError naming file and line of a bad one."""
    source = file.read_text(encoding="utf-8")
    try:
        tables = tomllib.loads(source)
    except tomllib.TOMLDecodeError as error:
        raise WordsError(f"{file.name}: {error}") from error
    out: list[Pattern] = []
    for ask, table in tables.items():
        for bare in (False, True):
            out += [
                _pattern(file, source, ask, text, bare)
                for text in table.get("bare" if bare else "when", ())
            ]
    return tuple(out)


def request_examples(file: Path = OWN_WORDS / "requests.toml") -> dict[str, list[str]]:
    """For each request, how one might say it."""
    tables = tomllib.loads(file.read_text(encoding="utf-8"))
    return {ask: list(table["examples"]) for ask, table in tables.items()}


def _pattern(file: Path, source: str, ask: str, text: str, bare: bool) -> Pattern:
    wanted: list[tuple[str, ...]] = []
    barred: list[str] = []
    alone = False
    for piece in text.split():
        if piece == "alone":
            alone = True
            continue
        names = piece.removeprefix("-").split("|")
        for name in names:
            if not _is_name(name):
                line = next((n for n, t in enumerate(source.splitlines(), 1) if text in t), 1)
                raise WordsError(f"{file.name}, line {line}: {name!r} is no cue or class of words")
        if piece.startswith("-"):
            barred += names
        else:
            wanted.append(tuple(names))
    wider = tuple(frozenset(w for n in names for w in (n, *ALIASES.get(n, ()))) for names in wanted)
    return Pattern(ask, wider, frozenset(barred), alone, bare)


@lru_cache(maxsize=1)
def _cues() -> frozenset[str]:
    table = tomllib.loads((OWN_WORDS / "cues.toml").read_text(encoding="utf-8"))
    return frozenset(table["cue"])


def _is_name(name: str) -> bool:
    return (
        name in ENTITY
        or name in ALIASES
        or name in ("<male>", "<female>", "<tag2>")
        or name in _cues()
        or name.split(".")[0] in CLASSES
    )


def read_request(
    items: Sequence[Item], scene: Scene, question: bool, words: Sequence[str], lexicon: Lexicon
) -> tuple[Request, float, str] | None:
    """The request a sentence makes, how well it fits, and the pattern; None where none fits."""
    asked = Asked(items, scene, words, lexicon)
    if not question and not asked.cued and "<span>" not in asked.names:
        return None
    said = asked.names
    best: tuple[float, Pattern] | None = None
    for pattern in patterns():
        if not pattern.bare and not question:
            continue
        if any(said.isdisjoint(names) for names in pattern.wanted):
            continue
        if not said.isdisjoint(pattern.barred):
            continue
        if pattern.alone and asked.extra(_all_of(pattern)) > 2:
            continue
        score = len(pattern.wanted) + _weight(pattern, asked)
        if best is None or score > best[0]:
            best = (score, pattern)
    if best is None:
        return None
    fields = FIELDS.get(best[1].ask, no_fields)(asked)
    if fields is None:
        return None
    return (
        Request(best[1].ask, fields),
        best[0],
        " ".join("|".join(sorted(n)) for n in best[1].wanted),
    )


def _all_of(pattern: Pattern) -> frozenset[str]:
    """Every piece that a pattern names."""
    return frozenset().union(*pattern.wanted)


_STRONG = frozenset(
    {
        "label",
        "chart",
        "undo",
        "export",
        "calendar",
        "free",
        "rate",
        "odds",
        "match",
        "feeders",
        "quiet",
        "history",
        "where",
        "pairs",
        "ready",
        "snooze",
        "skip",
        "digest",
        "zone",
        "task",
        "share",
        "celsius",
        "fahrenheit",
        "standin",
        "away",
        "imback",
        "revoke",
        "rolechange",
        "members",
        "bookswitch",
        "passon",
        "season",
        "breedplan",
        "oftimes",
        "canput",
        "tryagain",
    }
)
_ORDER = (
    "undo",
    "settings",
    "label",
    "chart",
    "export",
    "calendar",
    "odds",
    "match",
    "where",
    "free",
    "history",
    "pairs",
    "ready",
    "next_clutch",
    "rates",
    "feeders",
    "hatching",
    "tasks",
    "box",
    "standin",
    "role",
    "members",
    "household",
    "share",
    "animal",
    "help",
    "done",
    "snooze",
    "skip",
)


def _weight(pattern: Pattern, asked: Asked) -> float:
    """Telling pieces count for more; equal fits go by a fixed order."""
    weight = 0.0
    for names in pattern.wanted:
        met = names & asked.names
        if met & _STRONG:
            weight += 0.8
        elif any(n.startswith("<") for n in met):
            weight += 0.3
    if pattern.alone:
        weight += 0.4 - 0.2 * asked.extra(_all_of(pattern))
    return weight - _ORDER.index(pattern.ask) * 0.01
