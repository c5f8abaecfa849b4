"""Messages, edits and presses from afar, against a real book and desk, without a channel."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy import func, insert, select

from bot.book import households, post
from bot.book.access import Rule
from bot.book.reminders import close
from bot.book.store import Book
from bot.book.tables import happenings, ledger, messages, reminders
from bot.messages import Message, Outgoing, Reply
from bot.serve.buttons import buttons
from bot.serve.intake import Intake, Press
from bot.service import Rackside

NOW = datetime(2026, 3, 10, 19, 0, tzinfo=UTC)
OWNER, OTHER, STRANGER = "1", "2", "3"


class Door:
    """An intake with an owner and, in a household of their own, somebody else."""

    def __init__(self) -> None:
        self.book = Book.open(":memory:")
        rule = Rule("Europe/Lisbon", "owners-code", open=True)
        self.intake = Intake(Rackside(self.book, lambda: NOW, rule=rule))
        self.count = 0
        self.says(OWNER, "owners-code")
        self.says(OTHER, "hello")
        self.intake.rackside.rule = Rule("Europe/Lisbon", "owners-code")

    def says(self, who: str, text: str, id: str = "", edits: str | None = None) -> str | None:
        self.count += 1
        message = Message("telegram", id or f"{self.count}.", who, text, NOW, edits)
        return self.intake.take(message, "Ines").aside

    def last(self) -> Outgoing:
        return self.intake.rackside.unsent("telegram")[-1]

    def press(self, who: str, sent: Outgoing, says: str) -> str | None:
        index = [each.says for each in buttons(sent.reply)].index(says)
        return self.intake.press(Press("telegram", who, sent.id, index, NOW)).chosen

    def counted(self, kind: str) -> int:
        with self.book.reading() as conn:
            query = select(func.count()).select_from(ledger).where(ledger.c.kind == kind)
            return conn.execute(query).scalar_one()


@pytest.fixture
def door() -> Door:
    return Door()


def test_presses_of_strangers_and_of_other_households_change_nothing(door: Door) -> None:
    """A button of somebody else's message has no effect, whoever presses it."""
    door.says(OWNER, "new female F3 leopard")
    sent = door.last()
    assert door.press(STRANGER, sent, "undo") is None
    assert door.press(OTHER, sent, "undo") is None
    assert door.counted("undo") == 0
    assert door.press(OWNER, sent, "undo") == "Undo"
    assert door.counted("undo") == 1


def test_an_old_undo_button_does_not_undo_something_newer(door: Door) -> None:
    """Undo below a reply takes back what that reply confirmed, or nothing."""
    door.says(OWNER, "new female F3 leopard")
    old = door.last()
    door.says(OWNER, "F3 21.5g")
    assert door.press(OWNER, old, "undo") is None
    assert door.counted("undo") == 0


def test_done_below_a_closed_reminder_closes_no_other(door: Door) -> None:
    """Closed by somebody else meanwhile, the press says by whom and touches nothing."""
    with door.book.writing() as conn:
        owner = households.find(conn, "telegram", OWNER)
        assert owner is not None
        for number in (1, 2):
            conn.execute(
                insert(reminders).values(
                    household=owner.household, key=f"k{number}", kind="plan", about=[], due=NOW,
                    text=f"Order roaches {number}.", why="", told=NOW,
                )
            )  # fmt: skip
        reply = Reply("Order roaches 1.", reminder="k1")
        sent = post.put_out(conn, reply, owner, "telegram", OWNER, NOW)
        close(conn, owner.household, "k1", "done", owner, NOW)
    index = [each.says for each in buttons(reply)].index("done")
    pressed = door.intake.press(Press("telegram", OWNER, sent.id, index, NOW))
    assert (pressed.chosen, pressed.notice) == (None, "Done already, by Ines.")
    with door.book.reading() as conn:
        query = select(reminders.c.key).where(reminders.c.closed.is_(None))
        assert conn.execute(query).scalars().all() == ["k2"]


def test_a_stranger_is_told_once_and_nothing_of_theirs_is_kept(door: Door) -> None:
    """The line at the door is said once; the book has no message of a stranger's."""
    told = [door.says(STRANGER, "F3 laid 2"), door.says(STRANGER, "hello there")]
    assert [bool(each) for each in told] == [True, False]
    with door.book.reading() as conn:
        assert "hello there" not in conn.execute(select(messages.c.text)).scalars().all()


def test_an_edit_that_changes_no_words_writes_nothing(door: Door) -> None:
    """Channels report an edit for a link's preview, too; the same words are no news."""
    door.says(OWNER, "new female F3 leopard", id="1.7.1")
    before = door.last().id
    door.says(OWNER, "new female F3 leopard", id="1.7.2", edits="1.7.")
    assert door.last().id == before


def test_an_edit_of_an_edit_replaces_the_last(door: Door) -> None:
    """After two edits only the third wording stands."""
    door.says(OWNER, "new female F3 leopard")
    for number, text in enumerate(("F3 21.5g", "F3 22.5g", "F3 23.5g")):
        door.says(OWNER, text, id=f"1.9.{number}", edits="1.9." if number else None)
    with door.book.reading() as conn:
        query = select(happenings.c.fields).where(happenings.c.kind == "weighed")
        assert [row["grams"] for row in conn.execute(query).scalars()] == [23.5]
