"""Standing in as rows of the book: what runs, what is to come, what still wants an account."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import Connection

from bot.book import households, standins
from bot.book.standins import StandIn
from tests.book import support

pytestmark = pytest.mark.usefixtures("either_store")
FRIDAY = datetime(2026, 3, 6, 0, 0, tzinfo=UTC)
SUNDAY = datetime(2026, 3, 8, 20, 0, tzinfo=UTC)
BEFORE = FRIDAY - timedelta(days=3)
LISBON = ZoneInfo("Europe/Lisbon")


class Trio:
    """Ann, who goes away, and Mina and Lia, who can stand in; one transaction."""

    def __init__(self, conn: Connection) -> None:
        self.conn = conn
        ann = households.begin(conn, zone="Europe/Lisbon", owner="Ann", now=BEFORE)
        self.house, self.ann = ann.household, ann.id
        self.mina, self.lia = (
            households.join(conn, household=ann.household, name=name, role="helper", now=BEFORE).id
            for name in ("Mina", "Lia")
        )

    def ask(self, member: int, now: datetime = BEFORE, ends: datetime = SUNDAY) -> StandIn:
        return standins.begin(
            self.conn, self.house, for_member=self.ann, member=member, starts=max(FRIDAY, now),
            ends=ends, now=now,
        )  # fmt: skip

    def owed(self) -> list[StandIn]:
        return standins.unreported(self.conn, self.house)

    def next(self, after: datetime) -> datetime | None:
        return standins.next_moment(self.conn, self.house, LISBON, after)


@pytest.fixture
def trio(either_store: str) -> Iterator[Trio]:
    with support.open_book().writing() as conn:
        yield Trio(conn)


def test_what_is_asked_is_owed_until_it_is_reported(trio: Trio) -> None:
    """Also long after its end; then it is over."""
    made = trio.ask(trio.mina)
    assert trio.owed() == [made]
    standins.reported(trio.conn, made.id, SUNDAY)
    assert trio.owed() == []


def test_the_last_asking_counts(trio: Trio) -> None:
    """What was to come is forgotten when somebody else is asked."""
    trio.ask(trio.mina)
    second = trio.ask(trio.lia)
    assert trio.owed() == [second]


def test_another_takes_over_in_the_middle(trio: Trio) -> None:
    """The first one's ends there, and an account of it is owed."""
    trio.ask(trio.mina)
    saturday = FRIDAY + timedelta(days=1)
    second = trio.ask(trio.lia, now=saturday)
    first, last = trio.owed()
    assert (first.member, first.ends) == (trio.mina, saturday)
    assert last == second


def test_the_same_person_for_longer_is_one_standing_in(trio: Trio) -> None:
    """From its own start, so that the account covers all of it."""
    trio.ask(trio.mina)
    trio.ask(trio.mina, now=FRIDAY + timedelta(days=1), ends=SUNDAY + timedelta(days=2))
    (made,) = trio.owed()
    assert (made.starts, made.ends) == (FRIDAY, SUNDAY + timedelta(days=2))


def test_calling_off_ends_what_runs_and_forgets_what_is_to_come(trio: Trio) -> None:
    """Both sides of its start."""
    trio.ask(trio.mina)
    assert len(standins.call_off(trio.conn, trio.house, trio.ann, BEFORE)) == 1
    assert trio.owed() == []
    trio.ask(trio.mina)
    standins.call_off(trio.conn, trio.house, trio.ann, FRIDAY)
    assert [each.ends for each in trio.owed()] == [FRIDAY]


def test_the_moments_to_look_again(trio: Trio) -> None:
    """Its start, the morning of that day, its end, and none after that."""
    trio.ask(trio.mina)
    found, at = [], BEFORE
    while (moment := trio.next(at)) is not None:
        found.append(moment.astimezone(UTC))
        at = moment
    assert found == [FRIDAY, FRIDAY + timedelta(hours=8), SUNDAY]


def test_what_waits_for_somebody_is_kept_until_its_end(trio: Trio) -> None:
    """Once, in the last words used; past its end nobody is wanted."""
    for who in ("brother", "sister"):
        standins.want(
            trio.conn, trio.house, for_member=trio.ann, who=who, starts=FRIDAY, ends=SUNDAY,
            now=BEFORE,
        )  # fmt: skip
    second = timedelta(seconds=1)
    (wanted,) = standins.wanted(trio.conn, trio.house, SUNDAY - second)
    assert (wanted.who, wanted.for_member, wanted.asked) == ("sister", trio.ann, BEFORE)
    assert standins.wanted(trio.conn, trio.house, SUNDAY) == []
    standins.forget(trio.conn, trio.house, wanted.key)
    assert standins.wanted(trio.conn, trio.house, BEFORE) == []
