"""Undo takes back what a member did with a reminder, in its turn among the records."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bot.book import reminders
from tests.house import House, paired

PULL = "Pull M2 from F3."
OPEN_AGAIN = f"Open again: {PULL}"


@pytest.fixture
def house() -> House:
    """M2 is in with F3 in tub 3, and Ann was told to pull him."""
    house = paired(House())
    house.wait(days=1, hours=14)
    assert house.reminder("pull-male").told is not None
    return house


def _reply(house: House, text: str) -> str:
    """Ann writes; what she alone gets back."""
    house.now += timedelta(seconds=30)
    return house.says("Ann", text)[0][1]


def _is_open(house: House) -> bool:
    with house.book.reading() as conn:
        rows = reminders.open_reminders(
            conn, house.people["Ann"].household, house.now + timedelta(days=3)
        )
    return any(row.kind == "pull-male" for row in rows)


@pytest.mark.parametrize("word", ["done pull", "skip pull", "snooze 2h"])
def test_undo_opens_the_reminder_again(house: House, word: str) -> None:
    """Whichever way it was put aside it is open as before, and the records stand."""
    _reply(house, word)
    assert _reply(house, "undo") == OPEN_AGAIN
    row = house.reminder("pull-male")
    assert row.snoozed is None
    assert "Pull M2 from F3" in _reply(house, "what's due today")


def test_what_is_open_again_is_not_told_again(house: House) -> None:
    """It stands in the list; Ann had heard it already."""
    _reply(house, "done pull")
    _reply(house, "undo")
    assert not [line for _, line in house.wait(hours=1) if PULL in line]


def test_a_second_undo_goes_to_what_was_before(house: House) -> None:
    """F3's weight came before "done", her shed after it."""
    _reply(house, "F3 22.5g")
    _reply(house, "done pull")
    _reply(house, "F3 shed")
    assert _reply(house, "undo") == "Undone: F3 shed."
    assert not _is_open(house)
    assert _reply(house, "undo") == OPEN_AGAIN
    assert _is_open(house)
    assert _reply(house, "undo") == "Undone: F3 22.5 g."


def test_two_done_are_opened_one_by_one_the_latest_first(house: House) -> None:
    """Each undo opens what one message closed."""
    _reply(house, "remind me today at 10:00 to order roaches")
    house.wait(hours=2)
    _reply(house, "done pull")
    _reply(house, "done roaches")
    assert _reply(house, "undo") == "Open again: Order roaches."
    assert _reply(house, "undo") == OPEN_AGAIN


def test_at_one_and_the_same_minute_the_order_is_that_of_the_messages(house: House) -> None:
    """A phone that sends two messages at once loses no order."""
    house.says("Ann", "F3 22.5g")
    house.says("Ann", "done pull")
    assert house.says("Ann", "undo")[0][1] == OPEN_AGAIN
    assert house.says("Ann", "undo")[0][1] == "Undone: F3 22.5 g."


def test_a_snooze_that_has_run_out_is_nothing_to_undo(house: House) -> None:
    """It was told again; undo goes to the record before it."""
    _reply(house, "F3 22.5g")
    assert _reply(house, "snooze 1h").startswith("I'll say it again")
    house.wait(hours=2)
    assert _reply(house, "undo") == "Undone: F3 22.5 g."


def test_what_was_done_before_it_was_told_waits_an_hour(house: House) -> None:
    """A plan of the evening, done in the morning by its number, is told at its own time."""
    _reply(house, "remind me today at 20:00 to order roaches")
    _reply(house, "what's due today")
    _reply(house, "done roaches")
    assert _reply(house, "undo") == "Open again: Order roaches."
    assert [line for _, line in house.wait(hours=12) if "rder roaches" in line]


def test_the_others_hear_that_it_is_open_again() -> None:
    """Ben had been told that Ann has done it."""
    house = House()
    house.join("Ben", "keeper")
    paired(house)
    house.wait(days=1, hours=14)
    house.says("Ann", "done pull")
    assert house.letters("Ben")[-1] == "Ann has done it: Pull M2 from F3."
    house.says("Ann", "undo")
    assert house.letters("Ben")[-1] == "Ann has opened it again: Pull M2 from F3."


def test_one_member_does_not_undo_what_another_did() -> None:
    """Ben's undo finds nothing of his."""
    house = House()
    house.join("Ben", "keeper")
    paired(house)
    house.wait(days=1, hours=14)
    house.says("Ann", "done pull")
    assert house.says("Ben", "undo")[0][1] == "There is nothing left to undo."
    assert not _is_open(house)
