"""Finds how often a reminder is asked for: "every friday", "every 3 days", "daily"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from bot.language.items import Item

EVERY = ("every", "each")
WORDS = {"daily": 1, "weekly": 7, "nightly": 1, "fortnightly": 14, "monthly": 30}
"""One word for how often, and the days between; a month of reminders is 30 days (ours)."""
_STEPS = {
    "day": 1, "morning": 1, "evening": 1, "night": 1, "week": 7, "fortnight": 14, "month": 30,
    "days": 1, "weeks": 7, "months": 30, "other day": 2, "second day": 2, "other week": 14,
}  # fmt: skip
_LAST = frozenset(step.split()[-1] for step in _STEPS)
_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_TONIGHT = ("evening", "night", "nightly")
_LATE = 18  # from this hour on "every evening" begins tomorrow


@dataclass(frozen=True)
class Repeating:
    """How often, as typed ("every 3 days"), the pieces that said so, and the first day by it.

    `first` is None where a day of the week is told, which says it better.
    """

    said: str = ""
    pieces: tuple[Item, ...] = ()
    first: date | None = None


def repeating(pieces: Sequence[Item], now: datetime) -> Repeating:
    """How often the reminder is asked for; nothing where it is for once."""
    for k, piece in enumerate(pieces):
        word = piece.text.casefold()
        if word in WORDS:
            return _found((piece,), WORDS[word], now)
        after = pieces[k + 1] if k + 1 < len(pieces) else None
        if word in EVERY and after is not None and after.what == "date":
            return Repeating(f"{word} {after.text.casefold()}", (piece,))
        if word in EVERY:
            for many in (3, 2, 1):
                found = _step(pieces[k + 1 : k + 1 + many])
                if found and len(pieces) > k + many:
                    return _found(tuple(pieces[k : k + 1 + many]), found, now)
    return Repeating()


def _step(pieces: Sequence[Item]) -> int:
    """The days between, in "3 days", "other day", "week"; 0 for anything else."""
    said = " ".join(e.text.casefold() for e in pieces)
    if said in _STEPS:
        return _STEPS[said]
    count, _, unit = said.rpartition(" ")
    told = [e for e in pieces if isinstance(e.value, int | float) and e.what in ("num", "other")]
    if not count or unit not in _STEPS or len(told) != 1:
        return 0
    return round(float(told[0].value) * _STEPS[unit])


def _found(pieces: tuple[Item, ...], days: int, now: datetime) -> Repeating:
    said = " ".join(e.text.casefold() for e in pieces)
    tonight = said.split()[-1] in _TONIGHT and now.hour < _LATE
    first = now.date() if tonight else now.date() + timedelta(days=max(days, 1))
    return Repeating(said, pieces, first)


def how_often(text: str) -> tuple[str, str]:
    """A reminder's words, parted: what to do, and how often; "" where it is for once.

    >>> how_often("clean tubs every friday")
    ('clean tubs', 'every friday')
    """
    words = text.rstrip(". ").split()
    for k, word in enumerate(words):
        begins = word.casefold() in EVERY and 0 < len(words) - k - 1 <= 3
        if k and (
            (begins and words[-1].casefold() in (*_DAYS, *_LAST))
            or (word.casefold() in WORDS and k == len(words) - 1)
        ):
            return " ".join(words[:k]).rstrip(","), " ".join(words[k:])
    return text, ""
