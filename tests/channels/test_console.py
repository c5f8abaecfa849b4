"""The console: lines in, replies out, reminders once; the first evening; completion."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from bot.channels import first
from bot.channels.console import Conversation
from bot.channels.plain import shown
from bot.channels.prompt import openings, suggestions
from bot.language.view import AnimalSeen, BoxSeen, EggSeen, View
from bot.messages import Choice, Message, Outgoing, Reply
from scheduler.clock import Clock

NOW = datetime(2026, 3, 10, 19, 30, tzinfo=UTC)


class Desk:
    """Answers every line; has one reply left over and one reminder due."""

    def __init__(self) -> None:
        self.heard: list[Message] = []
        self.left = [self._out(1, "from before"), self._out(2, "for the phone", "telegram")]
        self.due = [self._out(3, "pull M2")]
        self.told: list[int] = []

    def handle(self, message: Message) -> list[Outgoing]:
        self.heard.append(message)
        return [self._out(4, f"heard {message.text}")]

    def tick(self) -> list[Outgoing]:
        due, self.due = self.due, []
        return due

    def sent(self, number: int) -> None:
        self.told.append(number)

    def unsent(self, channel: str) -> list[Outgoing]:
        return [each for each in self.left if each.channel == channel]

    def _out(self, number: int, text: str, channel: str = "console") -> Outgoing:
        return Outgoing(number, channel, "owner", "keeper", Reply(text))


def test_what_was_missed_is_told_at_the_start_once() -> None:
    """Replies from before and reminders that fell due come first, and are noted as told."""
    desk, lines = Desk(), []
    talk = Conversation(desk, lambda: NOW, lines.append)
    talk.begin()
    talk.look()
    assert lines == ["from before", "pull M2"]
    assert desk.told == [1, 3]


def test_a_long_absence_is_told_short() -> None:
    """After weeks away the latest messages are shown, and how many are not; none comes again."""
    desk, lines = Desk(), []
    desk.left = [desk._out(number, f"reminder {number}") for number in range(1, 13)]
    Conversation(desk, lambda: NOW, lines.append).begin()
    assert lines[0].startswith("2 older messages are left out.")
    assert lines[1:3] == ["reminder 3", "reminder 4"]
    assert desk.told[:12] == list(range(1, 13))


def test_each_line_is_a_message_of_its_own() -> None:
    """Every line has its own id and moment; blank lines are none."""
    desk, lines = Desk(), []
    Conversation(desk, lambda: NOW, lines.append).take(["F3 laid 2\n", "\n", "undo\n"])
    assert [m.text for m in desk.heard] == ["F3 laid 2", "undo"]
    assert len({m.id for m in desk.heard}) == 2
    assert desk.heard[0].at == NOW
    assert lines == ["heard F3 laid 2", "heard undo"]


def test_choices_are_words_to_type() -> None:
    """Buttons become words; Undo, and what the text says already, are not shown again."""
    taps = (Choice("Out now", "pulled M2"), Choice("Done", "done"))
    reminder = Reply("Pull M2.", taps, reminder="pull-male, pairing 1")
    assert shown(reminder) == "Pull M2.\n[pulled M2 | done]"
    assert shown(Reply("Which slot?\n1 B4", (Choice("B4", "B4"),))) == "Which slot?\n1 B4"
    assert shown(Reply("F3 shed.", (Choice("Undo", "undo"),), wrote=True)) == "F3 shed."


def test_the_first_evening_takes_what_is_typed() -> None:
    """Zone and units are asked until they read; Enter takes the bracketed one."""
    answers: Iterator[str] = iter(["Lisbon", "Europe/Lisbon", "f", "", "y"])
    said: list[str] = []
    wishes = first.ask(lambda _: next(answers), said.append, "UTC", may_demo=True)
    assert wishes == first.Wishes("Europe/Lisbon", "F", "g", True)
    assert any('no time zone "Lisbon"' in line for line in said)


def test_the_first_evening_is_four_lines_of_what_to_type() -> None:
    """What to type fits in four lines that a terminal shows whole."""
    lines = first.WHAT_TO_TYPE.splitlines()
    assert len(lines) == 4
    assert max(map(len, lines)) <= 80


def test_completion_knows_the_book() -> None:
    """Tags, names, slots and boxes complete anywhere; openings only at the start of a line."""
    view = View(
        ZoneInfo("UTC"),
        animals={"F3": AnimalSeen("F3", "female", name="Tansy")},
        boxes={"B": BoxSeen("B", 3, 4)},
        eggs={"B4": EggSeen("B4", "F3")},
    )
    assert suggestions("weighed f", view) == [("F3", "Tansy")]
    assert ("Tansy", "F3") in suggestions("ta", view)
    assert ("B4", "egg of F3") in suggestions("candled b", view)
    assert any(said == "pulled M2" for said, _ in suggestions("pul", view))
    assert suggestions("F3 pul", view) == []
    assert "undo" in openings()


def test_the_clock_rings_until_it_is_stopped() -> None:
    """It rings again and again at its interval, and not after it was stopped."""
    rings: list[float] = []
    with Clock(lambda: rings.append(time.monotonic()), seconds=0.05):
        time.sleep(0.4)
    count = len(rings)
    time.sleep(0.15)
    assert count >= 2
    assert len(rings) == count
