"""Reminders as rows: made from facts, told once, and not in the middle of the night."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from bot.book import households
from bot.messages import Message
from bot.service import Rackside
from tests.book import support

pytestmark = pytest.mark.usefixtures("either_store")
START = datetime(2026, 3, 1, 19, 0, tzinfo=UTC)


class Evening:
    """A keeper at the console, with a clock that is set by hand."""

    def __init__(self) -> None:
        self.now = START
        self.book = support.open_book()
        with self.book.writing() as conn:
            keeper = households.begin(conn, zone="Europe/Lisbon", owner="keeper", now=START)
            households.add_address(conn, keeper, "test", "k")
        self.begin()
        self.count = 0

    def begin(self) -> None:
        """Start the program, or start it again."""
        self.assistant = Rackside(self.book, lambda: self.now)

    def say(self, text: str) -> str:
        self.count += 1
        replies = self.assistant.handle(Message("test", str(self.count), "k", text, self.now))
        return "\n".join(each.reply.text for each in replies)

    def wait(self, **span: int) -> list[str]:
        """What is told on the way, each at its own moment."""
        until, told = self.now + timedelta(**span), []
        while (wake := self.assistant.next_wake(self.now)) and wake <= until:
            self.now = wake.astimezone(UTC)
            told += [each.reply.text for each in self.assistant.tick()]
        self.now = until
        return told


def paired() -> Evening:
    evening = Evening()
    for line in ("new female F3 picta hatched 2024-08-19", "new male M2 picta hatched 2024-06-28"):
        evening.say(line)
    evening.say("F3 22g")
    evening.say("M2 in with F3")
    return evening


def test_the_male_is_called_out_once_on_the_last_day() -> None:
    """One reminder on the morning of the session's last day, and none after it is answered."""
    evening = paired()
    told = [text for text in evening.wait(days=2) if "Pull M2" in text]
    assert len(told) == 1
    evening.say("pulled M2")
    assert not [text for text in evening.wait(days=2) if "Pull M2" in text]


def test_what_fell_due_while_off_is_told_at_start_once_and_marked_late() -> None:
    """A program that was off for three days tells the missed reminder, late, a single time."""
    evening = paired()
    evening.now += timedelta(days=3)
    evening.begin()
    told = [each.reply.text for each in evening.assistant.tick()]
    assert any("M2" in text and "late" in text for text in told)
    assert evening.assistant.tick() == []
    evening.begin()
    assert evening.assistant.tick() == []


def test_routine_work_does_not_interrupt_writing_in() -> None:
    """An animal that is written in at night is not asked to be weighed before the morning."""
    evening = Evening()
    evening.say("new female F3 picta hatched 2024-08-19")
    evening.say("new male M2 picta hatched 2024-06-28")
    evening.say("M2 in with F3")
    assert evening.assistant.tick() == []


def test_what_a_message_brings_up_is_not_called_late() -> None:
    """A grown female that is written in today could not have been looked at in January."""
    evening = Evening()
    evening.say("new female F3 picta hatched 2025-05-05")
    told = [each.reply.text for each in evening.assistant.tick()]
    assert any("first pairing" in text for text in told)
    assert not any("late" in text for text in told)


def test_what_a_message_brings_forward_is_not_called_late() -> None:
    """A bite calls the male out now; in the morning nobody knew."""
    evening = paired()
    evening.assistant.tick()
    evening.say("F3 bit M2")
    told = [each.reply.text for each in evening.assistant.tick()]
    assert any("Pull M2" in text for text in told)
    assert not any("late" in text for text in told)


def test_nothing_is_told_at_five_past_midnight() -> None:
    """What a new day brings up is told at its hour of the day."""
    evening = paired()
    until = evening.now + timedelta(days=60)
    while (wake := evening.assistant.next_wake(evening.now)) and wake <= until:
        evening.now = wake.astimezone(UTC)
        told = evening.assistant.tick()
        assert not told or 8 <= evening.now.hour <= 21, [each.reply.text for each in told]


def test_an_undone_answer_opens_the_reminder_without_telling_it_again() -> None:
    """Undoing "pulled M2" makes the task open again, but it was told once and stays so."""
    evening = paired()
    evening.wait(days=2)
    evening.say("pulled M2")
    evening.say("undo")
    assert "Pull M2 from F3" in evening.say("what's due today")
    assert not [text for text in evening.wait(hours=6) if "Pull M2" in text]


def test_in_the_hour_that_comes_twice_a_wish_waits_for_its_own_time() -> None:
    """Clocks went back at 2; at the second 01:10 "in 30 minutes" is not the first 01:40."""
    evening = Evening()
    evening.now = datetime(2026, 10, 25, 0, 5, tzinfo=UTC)  # 01:05, for the first time
    evening.say("remind me in 30 minutes to order wax worms")
    first = evening.wait(minutes=65)
    evening.say("remind me in 30 minutes to order roaches")
    assert [evening.wait(minutes=29), evening.wait(minutes=2), evening.wait(hours=3)] == [
        [], ["Order roaches. You asked to be reminded."], []
    ]  # fmt: skip
    assert first == ["Order wax worms. You asked to be reminded."]
