"""Undo takes back what was written last, and only that; what waits is dropped first."""

from __future__ import annotations

from datetime import date

from bot.language.reading import Ask, Outcome, Reading
from tests.desk.conftest import Desk, rec

SHED = rec("shed", tag="F7")
NO_DAM = rec("laid", eggs=2, slots=("B4", "B5"))
WHICH = Ask("dam", ("F3", "F7"), NO_DAM)
STANDS = 'Fine, not written. What was written before stands; say "undo" again to take that back.'


def test_undo_at_an_open_question_drops_what_waits_alone(desk: Desk) -> None:
    """F7's shed, logged before, stands; the second undo takes it back."""
    desk.log(SHED)
    desk.question(WHICH)
    assert desk.ask("undo") == f"{STANDS}\nNot written: … laid 2."
    assert desk.talk.question is None
    assert desk.last_written() == [SHED]
    assert desk.ask("undo") == "Undone: F7 shed."


def test_what_was_sure_stands_when_the_question_is_dropped(desk: Desk) -> None:
    """The message wrote F7's shed and asked about the rest."""
    desk.question(WHICH, SHED)
    assert desk.ask("undo").startswith(STANDS)
    assert desk.last_written() == [SHED]
    assert desk.ask("undo") == "Undone: F7 shed."


def test_with_nothing_written_before_there_is_only_the_question_to_drop(empty: Desk) -> None:
    """No second undo is offered."""
    empty.question(WHICH)
    assert empty.ask("undo").startswith("Fine, nothing written.")
    assert empty.ask("undo") == "There is nothing left to undo."


def test_undo_at_an_offer_declines_it(desk: Desk) -> None:
    """The reminder was not set, and F7's shed stands."""
    desk.log(SHED)
    plan = rec("plan", text="put M2 in", on=date(2026, 3, 11))
    desk.take(Reading(Outcome.CHAT, offer=plan))
    assert desk.ask("undo") == STANDS
    assert desk.talk.offer is None
    assert desk.last_written() == [SHED]


def test_undo_at_a_question_about_what_was_written_takes_that_back(desk: Desk) -> None:
    """The laying is in the book, and only its slots were asked for."""
    desk.log(SHED)
    desk.log(rec("laid", dam="F3", eggs=2))
    assert desk.talk.question is not None
    assert desk.ask("undo") == "Undone: F3 laid 2."
    assert desk.talk.question is None
    assert desk.last_written() == [SHED]


def test_undo_of_a_correction_says_what_stands_again(desk: Desk) -> None:
    """The eggs lie in B6 as first logged."""
    desk.log(rec("laid", dam="F7", eggs=1, slots=("B6",)))
    desk.ask("correct", slots=("B7",))
    assert desk.ask("undo").splitlines() == [
        "Undone: F7 laid 1 in B7.",
        "As before: F7 laid 1 in B6.",
    ]
    assert desk.state.eggs_in("B6")
    assert desk.ask("undo") == "Undone: F7 laid 1 in B6."


def test_undo_of_a_corrected_day_says_the_day_before_it(desk: Desk) -> None:
    """Of two corrections the later alone is undone."""
    desk.log(rec("weighed", tag="F3", grams=21.4))
    desk.ask("correct", grams=20.4)
    desk.ask("correct", on=date(2026, 3, 9))
    assert desk.ask("undo").splitlines() == [
        "Undone: F3 20.4 g on Mon 9 Mar.",
        "As before: F3 20.4 g.",
    ]
