"""A reminder asked for every week is told once, says so, and offers the next in one tap."""

from __future__ import annotations

from datetime import datetime

import pytest

from bot.book import post
from bot.language.repeating import how_often
from tests.house import House

ONCE = "I'll say it once; then one tap or the same message sets the next."


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        ("remind me every friday to clean tubs", "Fri 6 Mar: clean tubs every friday."),
        ("remind me to clean tubs every friday", "Fri 6 Mar: clean tubs every friday."),
        ("remind me every 3 days to mist", "Wed 4 Mar: mist every 3 days."),
        ("remind me every day to check the thermometer",
         "tomorrow: check the thermometer every day."),
        ("remind me daily at 8am to mist", "tomorrow at 08:00: mist daily."),
        ("remind me every other day to mist", "Tue 3 Mar: mist every other day."),
    ],
)  # fmt: skip
def test_that_it_is_told_once_is_said(said: str, answer: str) -> None:
    """The first day is set, and how often is kept in the words."""
    assert House().says("Ann", said)[0][1] == f"I'll remind you {answer} {ONCE}"


def test_a_reminder_for_once_says_nothing_of_it() -> None:
    """Also one that names every gecko."""
    house = House()
    assert ONCE not in house.says("Ann", "remind me friday to clean tubs")[0][1]
    assert ONCE not in house.says("Ann", "remind me to feed every gecko on friday")[0][1]


def test_one_tap_sets_the_next() -> None:
    """What the tap says is read as the same reminder, a week on."""
    house = House()
    house.says("Ann", "remind me every friday to clean tubs")
    house.wait(days=5)
    with house.book.reading() as conn:
        told = post.unsent(conn, "telegram")[-1].reply
    tap = next(each for each in told.choices if each.label == "Again")
    assert tap.says == "remind me every friday to clean tubs"
    house.now = datetime(2026, 3, 6, 10, tzinfo=house.now.tzinfo)
    assert house.says("Ann", tap.says)[0][1].startswith("I'll remind you Fri 13 Mar: clean tubs")


def test_how_often_is_parted_from_what_to_do() -> None:
    """Only a stretch of time at the end is taken for it."""
    assert how_often("Clean tubs every friday.") == ("Clean tubs", "every friday")
    assert how_often("feed every gecko") == ("feed every gecko", "")
    assert how_often("mist daily") == ("mist", "daily")
