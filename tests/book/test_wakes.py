"""Which households a tick looks at: those where something may be due, and no others."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import event, select

from bot.book import households, wakes
from bot.book.tables import households as table
from bot.messages import Message
from bot.service import Rackside
from tests.book import support

pytestmark = pytest.mark.usefixtures("either_store")
EVENING = datetime(2026, 3, 1, 19, 0, tzinfo=UTC)  # in Lisbon, whose winter time is UTC


class Street:
    """Some households in one book, each with a keeper who writes from the address of its name."""

    def __init__(self, *names: str) -> None:
        self.now = EVENING
        self.count = 0
        self.book = support.open_book()
        self.assistant = Rackside(self.book, lambda: self.now)
        with self.book.writing() as conn:
            for name in names:
                owner = households.begin(conn, zone="Europe/Lisbon", owner=name, now=EVENING)
                households.add_address(conn, owner, "telegram", name)

    def say(self, who: str, *lines: str) -> None:
        for line in lines:
            self.count += 1
            message = Message("telegram", str(self.count), who, line, self.now)
            self.assistant.handle(message)

    def tell(self) -> list[tuple[str, str]]:
        return [(each.address, each.reply.text) for each in self.assistant.tick()]

    def awake(self) -> int:
        with self.book.reading() as conn:
            return len(wakes.due(conn, self.now))


PAIRED = ("new female F3 picta hatched 2024-08-19", "new male M2 picta hatched 2024-06-28",
          "F3 22g", "M2 30g", "M2 in with F3")  # fmt: skip


def test_after_a_look_a_household_sleeps_until_something_is_due_there() -> None:
    """Two were written in: after one tick nobody is looked at until the next thing on a list."""
    street = Street("ann", "ben")
    street.say("ann", *PAIRED)
    assert street.awake() == 2
    street.tell()
    assert street.awake() == 0
    with street.book.reading() as conn:
        rings = dict(conn.execute(select(table.c.id, table.c.wakes)).all())
    street.now = min(rings.values()) - timedelta(seconds=1)
    assert street.awake() == 0
    street.now += timedelta(seconds=1)
    assert street.awake() >= 1


def test_a_tick_costs_nothing_for_those_who_sleep() -> None:
    """With thirty households asleep a tick asks the book once."""
    street = Street(*map(str, range(30)))
    street.tell()
    asked: list[str] = []
    event.listen(street.book.engine, "before_cursor_execute", lambda *a: asked.append(a[2]))
    assert street.tell() == []
    assert len([each for each in asked if "households" in each]) == 1


def test_what_is_said_wakes_that_household_alone() -> None:
    """A message may change what is due: there one looks at once, and nowhere else."""
    street = Street("ann", "ben")
    street.tell()
    street.say("ben", "remind me tomorrow at 9 to order roaches")
    assert street.awake() == 1


def test_a_clock_set_back_silences_nobody_and_tells_nothing_twice() -> None:
    """A month ahead and back again: what is due is told in its time, each once."""
    street = Street("ann")
    street.say("ann", *PAIRED)
    street.tell()
    told = Counter[str]()
    for shift in (timedelta(days=40), timedelta(days=-1), timedelta()):
        begun = EVENING + shift
        for hours in range(0, 24 * 4, 2):
            street.now = begun + timedelta(hours=hours)
            told.update(text.split(" (")[0] for _, text in street.tell() if "Pull M2" in text)
    assert sum(told.values()) == 1
    street.now = EVENING - timedelta(days=20)
    street.say("ann", "remind me tomorrow at 9 to order roaches")
    street.now += timedelta(days=1)
    assert any("roaches" in text for _, text in street.tell())


def test_a_household_that_cannot_be_told_keeps_nobody_waiting(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The fault is raised once the others are told, and that one is tried again a minute later."""
    street = Street("ann", "ben")
    street.say("ben", "remind me tomorrow at 9 to order roaches")
    street.now += timedelta(days=1)
    tell, tried = street.assistant.telling.tell, list[int]()

    def broken(number: int, now: datetime) -> object:
        tried.append(number)
        if number == min(tried):
            raise RuntimeError("no such table")
        return tell(number, now)

    monkeypatch.setattr(street.assistant.telling, "tell", broken)
    with pytest.raises(RuntimeError):
        street.tell()
    unsent = [each.address for each in street.assistant.unsent("telegram")]
    assert unsent[-1] == "ben"
    assert street.awake() == 0
    street.now += timedelta(minutes=1)
    assert street.awake() == 1


def test_a_tick_that_stops_early_says_so_and_the_next_goes_on() -> None:
    """Three at a time, seven are seen to in three ticks, and messages get their turn between."""
    street = Street(*"abcdefg")
    street.assistant.at_a_time = 3
    rounds = 0
    while True:
        street.tell()
        rounds += 1
        if not street.assistant.behind:
            break
    assert (rounds, street.awake()) == (3, 0)
