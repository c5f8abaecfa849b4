"""A process that begins beside others at one book on PostgreSQL is not taken for a dead one."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from sqlalchemy import select

from bot.book import claims, households, post
from bot.book.presence import Presence
from bot.book.store import Book
from bot.book.tables import outbox
from bot.messages import Outgoing, Reply
from bot.serve.delivery import Delivery
from bot.serve.sending import Delivered, Sent

NOW = datetime(2026, 3, 10, 19, 0, tzinfo=UTC)
CHANNEL = "telegram"


class Line:
    """Takes everything."""

    async def send(self, outgoing: Outgoing) -> Sent:
        return Delivered()


@pytest.fixture
def books(database: str) -> Iterator[tuple[Book, Book]]:
    """The same book, opened by two processes."""
    two = Book.open(database), Book.open(database)
    yield two
    for each in two:
        each.close()


def test_who_begins_while_another_looks_keeps_what_they_take(
    books: tuple[Book, Book], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As the first looks who is alive, a second begins and takes a row, which stays its own."""
    with books[0].writing() as conn:
        owner = households.begin(conn, zone="Europe/Lisbon", owner="Ines", now=NOW)
        for number in range(4):
            post.put_out(conn, Reply(str(number)), owner, CHANNEL, str(number), NOW)
    first = Delivery(books[0], {CHANNEL: Line()}, lambda: NOW, asyncio.to_thread, 1)
    second = Presence(books[1], 2)
    looked = Presence.living

    def then_another_begins(self: Presence) -> frozenset[str]:
        found = looked(self)
        if self is not second:
            looked(second)
            with books[1].writing() as conn:
                claims.take(conn, [CHANNEL], second.name, NOW, most=1)
        return found

    monkeypatch.setattr(Presence, "living", then_another_begins)
    first._step()
    with books[0].reading() as conn:
        rows = conn.execute(select(outbox.c.worker, outbox.c.tries)).all()
    assert {tries for _, tries in rows} == {1}
    assert {worker for worker, _ in rows} == {"1", "2"}
    second.end()
    asyncio.run(first.finish(0.5))
