"""What can fall due, one module per part of the household; `reminders` puts them together.

A part is the smallest piece that is worked out on its own ("male M2", "clutch 17", "box b"). Each
duty is a pure function of the facts, one part and a day, and gives what is due for it: past and
still unanswered, or to come. How a due item vanishes is therefore never stated anywhere: once the
facts answer it, it is no longer given.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TypeVar

from scheduler.colony import Due
from scheduler.facts import Facts
from scheduler.wall import due_at, until_end_of

T = TypeVar("T")


@dataclass(frozen=True)
class Asked:
    """What is asked of a duty: the facts, today, and the last day that is of interest."""

    facts: Facts
    today: date
    end: date

    def beyond(self, on: date) -> bool:
        """Whether a day is of no interest: after the last one asked about, and still to come."""
        return on > self.end and on > self.today


def latest(rows: Sequence[T], day: Callable[[T], date], today: date) -> T | None:
    """The last of rows that are in order of their day, those still to come left out."""
    for row in reversed(rows):
        if day(row) <= today:
            return row
    return None


def latest_turn(since: date, every: int, today: date, first: int = 1) -> date:
    """The day of a task that comes round `every` so many days after `since`: its latest turn.

    Before the first turn that one is given. An answer begins the count anew; a turn that nobody
    answered gives way to the next, so that the task is asked about again but never twice at once.
    """
    turns = max(first, (today - since).days // every)
    return since + timedelta(every * turns)


def latest_doubling(since: date, today: date, first: int = 1) -> date:
    """As `latest_turn` for a daily task, with turns 1, 2, 4, 8... days after `since`.

    Whoever does not answer is asked more and more rarely: our convention, so that a task that a
    keeper has given up does not ring every evening of a season.
    """
    days = (today - since).days
    turn = first if days <= first else 1 << (days.bit_length() - 1)
    return since + timedelta(turn)


def item(
    asked: Asked,
    kind: str,
    part: str,
    fact: str,
    about: Iterable[str],
    on: date,
    text: str,
    why: str,
    until: date | None = None,
    place: str | None = None,
) -> Due:
    """One thing due. `fact` names the fact it follows from; kind and fact together are its key."""
    zone = asked.facts.colony.zone
    return Due(
        key=f"{kind}, {fact}",
        kind=kind,
        about=tuple(about),
        due=due_at(zone, kind, on),
        until=until_end_of(zone, until) if until else None,
        text=text,
        why=why,
        place=place,
        part=part,
    )
