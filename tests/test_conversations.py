"""Whatever is typed in whatever order, undo included, replaying the ledger gives the state."""

from __future__ import annotations

from datetime import timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bot.book import households
from bot.book.store import Book
from bot.messages import Message
from bot.service import Rackside
from tests.book.support import NOW, open_pages

LINES = (
    "new female F1 picta hatched 2024-06-11", "new male M1 picta hatched 2024-05-20",
    "new female F2 picta", "new box B, 3 by 4, incubator 1", "M1 in with F1", "pulled M1",
    "M1 in with F2", "F1 laid 2, B4 and B5", "F1 laid 1", "B6", "F2 laid 2, box B slot 4",
    "candled B4, veins", "B5 gone mouldy so out it went", "moved B4 to B9", "B9 hatched, it's H5",
    "B4 hatched", "H5 is a male", "F1 21.4g", "incubator 1 is 81F, 75%", "F9 shed", "1", "yes",
    "no",
    "undo", "scratch that", "no, it was F2", "no, slot 7", "that was yesterday", "same for F2",
    "sold H5", "fed everyone 5 crickets each", "remind me friday 6pm to order roaches", "done",
    "what's due this week", "what's in box B", "who's in with who", "F1?", "asdf", "\U0001f95a", "",
    "F1 is called Tansy", "moved F1 to tub 3", "F1 hasn't laid yet", "putting M1 in tomorrow",
)  # fmt: skip


class Told:
    """A clock that moves an hour with every message."""

    def __init__(self) -> None:
        self.hours = 0

    def __call__(self):  # type: ignore[no-untyped-def]
        return NOW + timedelta(hours=self.hours)


@given(st.lists(st.sampled_from(LINES), max_size=22))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_replay_equals_state_after_any_conversation(lines: list[str]) -> None:
    """A book in which any of these messages came in any order agrees with its ledger."""
    book, clock = Book.open(":memory:"), Told()
    with book.writing() as conn:
        keeper = households.begin(conn, zone="Europe/Lisbon", owner="keeper", now=NOW)
        households.add_address(conn, keeper, "test", "k")
    assistant = Rackside(book, clock)
    for number, line in enumerate(lines):
        clock.hours += 1
        replies = assistant.handle(Message("test", str(number), "k", line, clock()))
        assert replies and replies[0].reply.text, line
        assistant.tick()
    with open_pages(book, keeper) as pages:
        assert pages.check() == []


def test_a_message_that_comes_twice_changes_nothing() -> None:
    """The same id again gives no reply and no second record."""
    book, clock = Book.open(":memory:"), Told()
    with book.writing() as conn:
        keeper = households.begin(conn, zone="Europe/Lisbon", owner="keeper", now=NOW)
        households.add_address(conn, keeper, "test", "k")
    assistant = Rackside(book, clock)
    message = Message("test", "7", "k", "new female F1 picta", clock())
    assert assistant.handle(message)
    assert assistant.handle(message) == []
    with open_pages(book, keeper) as pages:
        assert len(pages.history("F1")) == 1


def test_an_edited_message_replaces_its_records() -> None:
    """The words as edited are what the book holds."""
    book, clock = Book.open(":memory:"), Told()
    with book.writing() as conn:
        keeper = households.begin(conn, zone="Europe/Lisbon", owner="keeper", now=NOW)
        households.add_address(conn, keeper, "test", "k")
    assistant = Rackside(book, clock)
    assistant.handle(Message("test", "1", "k", "new female F1 picta", clock()))
    assistant.handle(Message("test", "2", "k", "F1 21.4g", clock()))
    assistant.handle(Message("test", "3", "k", "F1 24.1g", clock(), edits="2"))
    with open_pages(book, keeper) as pages:
        grams = [h.fields["grams"] for h in pages.history("F1") if h.kind == "weighed"]
    assert grams == [24.1]
