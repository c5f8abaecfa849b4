"""Bare numbers by SMS, against the whole assistant: what they answer, when it is asked which."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest
from sqlalchemy import select

from bot.book import households, post
from bot.book.store import Book
from bot.book.tables import ledger, outbox, reminders
from bot.channels.segments import length
from bot.channels.sms_words import first_page
from bot.service import Rackside
from tests.channels.sms_support import MINA, NOW, text


class Phone:
    """Mina's phone: she texts, time passes, and texts come."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.moment: datetime = NOW
        self.rackside = Rackside(book, lambda: self.moment)
        self.seen = 0

    def came(self) -> list[str]:
        """The texts that came since last looked at."""
        with self.book.reading() as conn:
            query = select(outbox.c.id, outbox.c.reply).where(
                outbox.c.id > self.seen, outbox.c.channel == "sms"
            )
            rows = conn.execute(query.order_by(outbox.c.id)).all()
        self.seen = max((row.id for row in rows), default=self.seen)
        return [first_page(post.reply_from_json(row.reply))[0] for row in rows]

    def texts(self, body: str) -> str:
        """She texts, and reads what comes back."""
        self.moment += timedelta(seconds=20)
        assert text(self.rackside, body)[0] == 204
        return "\n".join(self.came())

    def later(self, **much: float) -> list[str]:
        """Time passes; what fell due comes."""
        self.moment += timedelta(**much)
        self.rackside.tick()
        return self.came()

    def open(self) -> set[str]:
        """What waits to be done, in words."""
        with self.book.reading() as conn:
            query = select(reminders.c.text).where(reminders.c.closed.is_(None))
            return {each.rstrip(".") for each in conn.execute(query).scalars()}

    def records(self) -> int:
        """How many entries the ledger has."""
        with self.book.reading() as conn:
            return len(conn.execute(select(ledger.c.id)).all())


@pytest.fixture
def phone() -> Iterator[Phone]:
    """A book whose owner texts."""
    book = Book.open(":memory:")
    with book.writing() as conn:
        mina = households.begin(conn, zone="Europe/Lisbon", owner="Mina", now=NOW)
        households.add_address(conn, mina, "sms", MINA)
    yield Phone(book)
    book.close()


def test_one_is_done(phone: Phone) -> None:
    """A reminder numbers its answers; a bare 1 closes it."""
    phone.texts("remind me at 20:00 to order roaches")
    (told,) = phone.later(minutes=31)
    assert "1 done or 2 snooze 1h" in told
    assert "Done: Order roaches" in phone.texts("1")
    assert phone.open() == set()


@pytest.mark.parametrize("said", ["done", "Done.", " 1. ", "#1"])
def test_other_ways_to_say_it(phone: Phone, said: str) -> None:
    """The word does the same, and so does a number with a stop behind it."""
    phone.texts("remind me at 20:00 to order roaches")
    phone.later(minutes=31)
    phone.texts(said)
    assert phone.open() == set()


def test_two_puts_it_off(phone: Phone) -> None:
    """A bare 2 puts the reminder off for an hour, and then it comes again."""
    phone.texts("remind me at 20:00 to order roaches")
    phone.later(minutes=31)
    assert "again today at 21:0" in phone.texts("2")
    assert phone.later(minutes=50) == []
    (again,) = phone.later(minutes=15)
    assert again.startswith("Order roaches")


def test_what_happened_answers_too(phone: Phone) -> None:
    """Saying what happened closes the reminder, and the text says how."""
    for said in ("new female F3 leopard", "new male M2 leopard", "M2 in with F3"):
        phone.texts(said)
    told = "\n".join(phone.later(days=3))
    assert "pulled M2 from F3" in told
    assert "Pull M2 from F3" in phone.open()
    phone.texts("pulled M2 from F3")
    assert "Pull M2 from F3" not in phone.open()


@pytest.mark.parametrize("apart", [0, 40])
def test_with_two_open_a_bare_one_asks_which(phone: Phone, apart: int) -> None:
    """With two open, told at once or one by one, a bare 1 asks which and closes nothing."""
    phone.texts("remind me at 20:00 to order roaches")
    phone.texts(f"remind me at 20:{apart:02d} to clean tub 4")
    phone.later(minutes=31)
    phone.later(minutes=apart)
    asked = phone.texts("1")
    assert asked.startswith("Which one is done?")
    assert asked.split("\n")[1:] == ["1 Order roaches", "2 Clean tub 4"]
    assert len(phone.open()) == 2
    assert "Done: Clean tub 4" in phone.texts("2")
    assert phone.open() == {"Order roaches"}


def test_a_number_that_was_not_shown_writes_nothing(phone: Phone) -> None:
    """A record that is only offered in words is not written by a number."""
    for said in ("new female F3 leopard", "new male M2 leopard", "M2 in with F3"):
        phone.texts(said)
    phone.later(days=3)
    before = phone.records()
    for said in ("1", "1", "1", "2", "7", "44"):
        phone.texts(said)
    assert phone.records() == before


def test_a_number_below_a_list_is_of_the_list(phone: Phone) -> None:
    """Below more than three folded into one text, a number is that of its line."""
    for number in range(1, 5):
        phone.texts(f"remind me at 20:0{number} to clean tub {number}")
    (told,) = phone.later(minutes=40)
    assert "3 Clean tub 3" in told.split("\n")
    assert "Done: Clean tub 3" in phone.texts("3")
    assert phone.open() == {"Clean tub 1", "Clean tub 2", "Clean tub 4"}


def test_below_what_is_due_a_number_asks_what_to_do(phone: Phone) -> None:
    """Below the list of what is due a number does not close anything by itself."""
    phone.texts("remind me at 20:00 to order roaches")
    phone.texts("what's due today")
    assert '"done 1"' in phone.texts("1")
    assert phone.open() == {"Order roaches"}


PAIRED = (
    "new female F3 leopard", "new female F4 leopard", "new male M2 leopard", "M2 in with F3",
    "M2 in with F4",
)  # fmt: skip


def test_a_number_answers_a_question(phone: Phone) -> None:
    """Choices of a question are numbered, and a number picks one."""
    for said in PAIRED:
        phone.texts(said)
    asked = phone.texts("pulled M2")
    assert "1 F3" in asked and "2 F4" in asked
    assert "M2 out from F4" in phone.texts("2")


def test_a_question_and_a_reminder_after_it(phone: Phone) -> None:
    """Where a reminder came after a question, a number could answer either: nothing is written."""
    for said in (*PAIRED, "remind me at 20:00 to order roaches", "pulled M2"):
        phone.texts(said)
    phone.later(minutes=40)
    before = phone.records()
    assert phone.texts("1").startswith("A number could answer two things")
    assert (phone.records(), "Order roaches" in phone.open()) == (before, True)
    assert "M2 out from F4" in phone.texts("F4")


def test_a_number_with_nothing_before_it(phone: Phone) -> None:
    """A number out of the blue, or after the reminder was done by somebody else, does nothing."""
    assert "understand" in phone.texts("1")
    phone.texts("remind me at 20:00 to order roaches")
    phone.later(minutes=31)
    with phone.book.writing() as conn:
        conn.execute(reminders.update().values(closed=phone.moment, closed_as="done"))
    assert phone.texts("1").startswith("Nothing is waiting")


def test_what_a_reminder_adds_is_short(phone: Phone) -> None:
    """A reminder with its numbered answers is one segment of the GSM alphabet."""
    phone.texts("remind me at 20:00 to order roaches")
    (told,) = phone.later(minutes=31)
    assert length(told).parts == 1 and length(told).gsm
