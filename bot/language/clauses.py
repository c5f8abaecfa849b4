"""Clauses, each about one thing that happened, and the sentences that they are cut from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from bot.language.frames import NO_KINDS
from bot.language.items import Item


@dataclass(slots=True)
class Clause:
    """Pieces that tell one thing. `kinds` are the kinds of record it could be.

    `lead` holds a day told ahead of the whole sentence; `moods` how it is told.
    """

    items: list[Item]
    kinds: frozenset[str] = NO_KINDS
    moods: set[str] = field(default_factory=set)
    lead: list[Item] = field(default_factory=list)
    asked: bool = False
    first: bool = False  # the first clause of its sentence
    word: str = ""  # that word itself
    open_end: bool = False  # its list of slots may go on in the next one
    joined: str = ""  # what parts it from the one before: and, or, then, comma


def sentences(items: Sequence[Item]) -> list[tuple[list[Item], str]]:
    """The message cut at full stops, question marks and line ends, with the mark of each."""
    out: list[tuple[list[Item], str]] = []
    current: list[Item] = []
    for k, item in enumerate(items):
        if item.what in ("comma", "joint") and current and _asks_next(items, k):
            out.append((current, ","))
            current = []
            continue
        if item.what != "stop":
            current.append(item)
            continue
        if current:
            out.append((current, item.value))
            current = []
        elif out and item.value == "?" and out[-1][1] != "\n":
            out[-1] = (out[-1][0], "?")
    if current:
        out.append((current, ""))
    return out


_QUESTION_WORDS = frozenset({"when", "whens", "what", "whats", "how", "where", "who", "which"})
_HELPERS = frozenset(
    {"will", "is", "'s", "does", "did", "should", "do", "are", "was", "can", "has", "many", "would"}
)


def _asks_next(items: Sequence[Item], k: int) -> bool:
    """True at a comma after which a question begins: "P1 62.0, when will she lay next"."""
    if k + 2 >= len(items):
        return False
    first, second = (items[n].text.casefold().split()[:1] for n in (k + 1, k + 2))
    return (
        bool(first and second)
        and first[0] in _QUESTION_WORDS
        and (second[0] in _HELPERS or first[0] in ("whens", "whats"))
    )
