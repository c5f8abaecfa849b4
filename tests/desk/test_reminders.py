"""The list of what is due, closing it by number, by words or after it was told; the telling."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from bot.book import reminders
from bot.book.households import Household, Member
from bot.book.reminders import ReminderRow
from bot.desk import tell
from bot.messages import Reply
from tests.desk.conftest import TODAY, Desk, rec

NOW = datetime(2026, 3, 10, 19, 30, tzinfo=UTC)
HOME = Household(1, "", "Europe/Lisbon")
ANN = Member(1, 1, "Ann", "owner")


def row(number: int, kind: str = "weigh", *about: str, hours: int = 0) -> ReminderRow:
    """A reminder that falls due now, or so many hours before."""
    return ReminderRow(
        key=f"{kind}, {number}",
        kind=kind,
        about=about or (f"F{number}",),
        due=NOW - timedelta(hours=hours),
        until=None,
        text=f"Weigh F{number}.",
        why="Weighed 10 Feb.",
        place="tub 3",
        told=None,
        snoozed=None,
    )


def told(*rows: ReminderRow, late: set[str] | None = None) -> list[Reply]:
    """The messages for these."""
    return tell(rows, ANN, HOME, NOW, late or set())


@pytest.fixture
def due(desk: Desk) -> Desk:
    """M2 is to come out of F3's tub today, and roaches are to be ordered."""
    desk.log(rec("paired", male="M2", female="F3", on=date(2026, 3, 8)))
    desk.log(rec("plan", text="order roaches", on=TODAY))
    return desk


def number_of(desk: Desk, words: str) -> int:
    """The number of a task in the list of today."""
    lines = desk.ask("tasks", **{"from": TODAY, "to": TODAY}).splitlines()
    return next(int(line.split()[0]) for line in lines if words in line)


def test_tasks_are_numbered_and_remembered(due: Desk) -> None:
    """The numbers of the list hold for the next message."""
    text = due.ask("tasks", **{"from": TODAY, "to": TODAY})
    assert text.startswith("To do, today:\n1 ")
    assert "Pull M2 from F3" in text
    assert len(due.talk.tasks) >= 2


def test_done_by_number_closes_that_one(due: Desk) -> None:
    """It is gone from the list, and the record that would tell the book is offered."""
    text = due.ask("done", task=number_of(due, "Pull M2"))
    assert text == 'Done: Pull M2 from F3. To have it in the book, say "pulled M2 from F3".'
    assert "Pull M2" not in due.ask("tasks", **{"from": TODAY, "to": TODAY})


def test_skip_by_words(due: Desk) -> None:
    """Words that fit one task alone are enough."""
    assert due.ask("skip", task="roaches").startswith("Skipped: ")
    assert "roaches" not in due.ask("tasks", **{"from": TODAY, "to": TODAY})


def test_snooze_puts_it_off_to_the_moment_asked(due: Desk) -> None:
    """With no moment given it comes back in an hour."""
    number = number_of(due, "roaches")
    text = due.ask("snooze", task=number, until=datetime(2026, 3, 11, 9, tzinfo=UTC))
    assert "tomorrow at 09:00" in text
    assert "today at 20:3" in due.ask("snooze", task=number)


def test_done_alone_means_the_one_told_last(due: Desk) -> None:
    """Where two were told at once it asks which."""
    with due.book.writing() as conn:
        rows = reminders.open_reminders(conn, due.member.household, due.now)
        roaches = next(each for each in rows if "roaches" in each.text)
        reminders.told(conn, due.member.household, roaches.key, due.now)
    assert "roaches" in due.ask("done")
    with due.book.writing() as conn:
        for each in reminders.open_reminders(conn, due.member.household, due.now):
            reminders.told(conn, due.member.household, each.key, due.now)
    assert due.ask("done").startswith("Which one?")


def test_a_reminder_tells_what_where_and_why() -> None:
    """Done and snooze are offered, and its key goes along."""
    (reply,) = told(row(3))
    assert reply.text == "Weigh F3. Place: tub 3. Weighed 10 Feb."
    assert reply.reminder == "weigh, 3"
    assert [each.label for each in reply.choices] == ["Done", "Snooze"]


def test_a_reminder_offers_the_record_itself() -> None:
    """Pulling a male is one tap."""
    (reply,) = told(row(1, "pull-male", "M2", "F3"))
    assert (reply.choices[0].label, reply.choices[0].says) == ("Out now", "pulled M2 from F3")


def test_three_are_told_apart_and_four_fold_into_one() -> None:
    """Both sides of the border, the oldest first."""
    assert len(told(*(row(n) for n in range(1, 4)))) == 3
    (folded,) = told(*(row(n, hours=n) for n in range(1, 5)))
    assert folded.text.splitlines()[:2] == ["4 things are due, the oldest first:", "1 Weigh F4"]
    assert folded.reminder is None


def test_late_ones_say_since_when() -> None:
    """In the household's own time."""
    (reply,) = told(row(3, hours=24), late={"weigh, 3"})
    assert reply.text.startswith("Weigh F3 (late: due yesterday at 19:30).")
