"""A simulated season told to Rackside as a keeper would type it, and what its desk says back.

The book is in memory; nothing is written but by messages, and every window is read from a reply.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from itertools import groupby
from unittest import mock

from bot.book import households
from bot.book.store import Book
from bot.messages import Message
from bot.service import Rackside
from scheduler import species
from scheduler.colony import Egg
from tests.bench.simulated_colony import BOXES, DAYS, START, Season

EVENING = time(20)
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
_DAY = r"(\d{1,2})(?: ([A-Z][a-z]{2}))?(?: (\d{4}))?"
_WINDOW = re.compile(rf"about {_DAY} \({_DAY}(?: to {_DAY})?\)")


@dataclass(frozen=True)
class Said:
    """A window as the desk put it in words."""

    centre: date
    start: date
    end: date


class NotSaid(ValueError):
    """A reply that should hold a window and does not, or a record that was not written."""


def window_in(reply: str, today: date) -> Said:
    """The window in "Hatch about 14 May (9 to 19 May)."; raises NotSaid where there is none."""
    found = _WINDOW.search(reply)
    if found is None:
        raise NotSaid(reply)
    centre, start, end = (found.groups()[n : n + 3] for n in (0, 3, 6))
    end = end if end[0] else start
    last = _day(end, today.year, None)
    return Said(_day(centre, today.year, None), _day(start, last.year, end[1]), last)


def _day(parts: tuple[str, ...], year: int, month: str | None) -> date:
    return date(int(parts[2] or year), MONTHS.index(parts[1] or month or "") + 1, int(parts[0]))


@dataclass
class Keeper:
    """One keeper's evenings at a book in memory."""

    season: Season
    today: date = START
    slots: dict[str, str] = field(default_factory=dict)  # egg key -> where it lies
    count: int = 0
    young: int = 0

    def __post_init__(self) -> None:
        book = Book.open(":memory:")
        with book.writing() as conn:
            owner = households.begin(conn, zone="UTC", owner="keeper", now=self.now)
            households.add_address(conn, owner, "script", "keeper")
        self.desk = Rackside(book, lambda: self.now)
        for tag in self.season.females:
            self.write(f"new female {tag} picta")
        for number, box in enumerate(BOXES, 1):
            self.write(f"new box {box}, 20 by 20, incubator {number}")

    @property
    def now(self) -> datetime:
        return datetime.combine(self.today, EVENING, UTC)

    def say(self, text: str) -> tuple[str, bool]:
        """What the desk answers, and whether it wrote something."""
        self.count += 1
        (out,) = self.desk.handle(Message("script", str(self.count), "keeper", text, self.now))
        return out.reply.text, out.reply.wrote

    def write(self, text: str) -> None:
        """Say something that must be written as it stands."""
        reply, wrote = self.say(text)
        if not wrote or "Not written" in reply:
            raise NotSaid(f"{text!r}: {reply}")

    def asked_hatch(self, egg: Egg) -> Said:
        """The hatch window that the desk states for an egg today."""
        return window_in(self.say(f"what's in {self.slots[egg.key]}")[0], self.today)

    def asked_clutch(self, tag: str) -> Said:
        """The window that the desk states for a female's next clutch today."""
        return window_in(self.say(f"next clutch {tag}")[0], self.today)


@contextmanager
def known_as_picta(season: Season) -> Iterator[None]:
    """For the while, what is published of picta is what was published of the simulated species."""
    plain = species._built_in
    simulated = species.load(season.species)

    def built_in(key: str) -> species.Species:
        return simulated if key == "picta" else plain(key)

    with mock.patch.object(species, "_built_in", built_in):
        yield


def evenings(season: Season) -> Iterator[Keeper]:
    """The keeper at the end of each day, with everything of that day told."""
    told = _told(season)
    with known_as_picta(season):
        keeper = Keeper(season)
        for number in range(DAYS):
            keeper.today = START + timedelta(number)
            for tell in told.get(keeper.today, ()):
                tell(keeper)
            yield keeper


def _told(season: Season) -> dict[date, list]:
    """What is told on each day, in the order of an evening's round."""
    told: dict[date, list] = defaultdict(list)
    readings = sorted(season.readings, key=lambda each: each.at)
    for day, rows in groupby(readings, key=lambda each: each.at.date()):
        said = ", ".join(f"{row.place} {row.celsius}C" for row in rows)
        told[day].append(lambda keeper, said=said: keeper.write(said))
    by_clutch: dict[str | None, list[Egg]] = defaultdict(list)
    for egg in season.eggs:
        by_clutch[egg.clutch].append(egg)
    for clutch in season.clutches:
        eggs = by_clutch[clutch.key]
        told[clutch.laid].append(lambda k, c=clutch, e=eggs: _laid(k, c.dam, e))
        for number, stay in enumerate(eggs[0].stays if eggs else ()):
            if number:
                told[stay.since].append(lambda k, e=eggs, s=stay: _moved(k, e, s.slot[0]))
    for egg in season.eggs:
        if egg.ended:
            told[egg.ended].append(lambda k, e=egg: _hatched(k, e))
    return told


def _hatched(keeper: Keeper, egg: Egg) -> None:
    keeper.young += 1
    keeper.write(f"{keeper.slots.pop(egg.key)} hatched, H{keeper.young}")


def _laid(keeper: Keeper, dam: str, eggs: list[Egg]) -> None:
    if not eggs:
        keeper.write(f"{dam} laid 2")
        return
    box = eggs[0].stays[0].slot[0]
    numbers = _free(keeper, box, len(eggs))
    for egg, number in zip(eggs, numbers, strict=True):
        keeper.slots[egg.key] = f"{box}{number}"
    word = "slot" if len(numbers) == 1 else "slots"
    said = " and ".join(map(str, numbers))
    keeper.write(f"{dam} laid {len(eggs)}, box {box} {word} {said}")


def _moved(keeper: Keeper, eggs: list[Egg], box: str) -> None:
    for egg in eggs:
        if egg.key in keeper.slots and not keeper.slots[egg.key].startswith(box):
            to = f"{box}{_free(keeper, box, 1)[0]}"
            keeper.write(f"moved {keeper.slots[egg.key]} to {to}")
            keeper.slots[egg.key] = to


def _free(keeper: Keeper, box: str, count: int) -> list[int]:
    taken = set(keeper.slots.values())
    return [n for n in range(1, 401) if f"{box}{n}" not in taken][:count]
