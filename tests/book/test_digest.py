"""The morning digest, and by which channel each member is reached."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from bot.book import households
from bot.book.households import Member
from bot.service import Rackside
from tests.book import support

pytestmark = pytest.mark.usefixtures("either_store")
EIGHT = datetime(2026, 3, 10, 8, 0, tzinfo=UTC)  # in Lisbon, whose winter time is UTC


class House:
    """A book whose owner is on the phone, and a clock that the test sets."""

    def __init__(self) -> None:
        self.now = EIGHT - timedelta(days=1)
        self.book = support.open_book()
        self.rackside = Rackside(self.book, lambda: self.now)
        with self.book.writing() as conn:
            self.owner: Member = households.begin(
                conn, zone="Europe/Lisbon", owner="Ines", now=self.now
            )
            households.add_address(conn, self.owner, "telegram", "5")

    def at(self, moment: datetime) -> int:
        self.now = moment
        return len(self.rackside.tick())

    def set(self, **columns: str | None) -> None:
        with self.book.writing() as conn:
            households.update_member(conn, self.owner.id, **columns)


@pytest.fixture
def house() -> House:
    return House()


def test_the_digest_comes_at_its_hour_once(house: House) -> None:
    """Not a second before, at the hour once, on the next day again, also over a clock set back."""
    house.set(digest="08:00")
    second = timedelta(seconds=1)
    moments = [EIGHT - second, EIGHT, EIGHT + second, EIGHT - second, EIGHT + second]
    assert [house.at(each) for each in moments] == [0, 1, 0, 0, 0]
    assert house.at(EIGHT + timedelta(days=1)) == 1


def test_a_digest_hours_late_is_left_out(house: House) -> None:
    """Down over breakfast, it still comes before noon; in the afternoon it doesn't."""
    house.set(digest="08:00")
    assert house.at(EIGHT + timedelta(hours=4)) == 0
    assert house.at(EIGHT + timedelta(hours=3, minutes=59)) == 1


def test_without_an_hour_there_is_no_digest(house: House) -> None:
    """Only who asked for it gets one."""
    assert house.at(EIGHT) == 0


@pytest.mark.parametrize(("prefers", "by"), [(None, "sms"), ("telegram", "telegram")])
def test_each_member_is_reached_by_one_channel(house: House, prefers: str | None, by: str) -> None:
    """Of several the one they chose, else the last; the console only where there is no other."""
    house.set(prefers=prefers)
    with house.book.writing() as conn:
        households.add_address(conn, house.owner, "sms", "+351912345678")
        households.add_address(conn, house.owner, "console", "owner")
        assert [channel for _, channel, _ in households.ways(conn, 1)] == [by]
