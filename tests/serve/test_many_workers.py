"""Several processes send from one outbox on PostgreSQL: each row once, each address in order."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import select, update

from bot.book import households, post
from bot.book.presence import Presence
from bot.book.store import Book
from bot.book.tables import outbox
from bot.messages import Outgoing, Reply
from bot.serve.delivery import Delivery
from bot.serve.sending import Delivered, RetryAfter, Sent, marked

NOW = datetime(2026, 3, 10, 19, 0, tzinfo=UTC)
CHANNEL = "telegram"


class Channel:
    """Takes everything after a moment; one for all workers, so that what overlaps is seen."""

    def __init__(self) -> None:
        self.taken: list[tuple[str, str, str]] = []  # worker, address, text
        self.in_hand: set[str] = set()
        self.overlaps = 0
        self.answers: dict[str, list[Sent]] = {}

    def of(self, worker: str) -> _Line:
        return _Line(self, worker)

    def texts(self, address: str) -> list[str]:
        return [text for _, where, text in self.taken if where == address]


class _Line:
    def __init__(self, channel: Channel, worker: str) -> None:
        self.channel, self.worker = channel, worker

    async def send(self, outgoing: Outgoing) -> Sent:
        self.channel.overlaps += outgoing.address in self.channel.in_hand
        self.channel.in_hand.add(outgoing.address)
        await asyncio.sleep(0.002)
        self.channel.in_hand.discard(outgoing.address)
        planned = self.channel.answers.get(outgoing.address)
        answer = planned.pop(0) if planned else Delivered()
        if isinstance(answer, Delivered):
            text = marked(outgoing.reply.text, outgoing)
            self.channel.taken.append((self.worker, outgoing.address, text))
        return answer


@pytest.fixture
def books(database: str) -> Iterator[tuple[Book, Book]]:
    """The same book, opened by two processes."""
    two = Book.open(database), Book.open(database)
    yield two
    for each in two:
        each.close()


def put(book: Book, *rows: tuple[str, str]) -> None:
    with book.writing() as conn:
        owner = households.begin(conn, zone="Europe/Lisbon", owner="Ines", now=NOW)
        for address, text in rows:
            post.put_out(conn, Reply(text), owner, CHANNEL, address, NOW)


def deliver(
    books: tuple[Book, ...], channel: Channel, until: Callable[[], Any], seconds: float = 10.0
) -> None:
    """Run a delivery on each book until something holds, and end them as `serve` does."""

    async def run() -> None:
        workers = [
            Delivery(book, {CHANNEL: channel.of(str(n))}, lambda: NOW, asyncio.to_thread, n)
            for n, book in enumerate(books, start=1)
        ]
        tasks = [asyncio.create_task(each.run()) for each in workers]
        end = asyncio.get_running_loop().time() + seconds
        while not until() and asyncio.get_running_loop().time() < end:
            await asyncio.sleep(0.02)
        for task, worker in zip(tasks, workers, strict=True):
            task.cancel()
            await worker.finish(2)

    asyncio.run(run())


def column(book: Book, wanted: Any) -> list[Any]:
    with book.reading() as conn:
        return list(conn.execute(select(wanted).order_by(outbox.c.id)).scalars())


def test_two_workers_send_each_row_once_and_each_address_in_order(
    books: tuple[Book, Book], monkeypatch: pytest.MonkeyPatch
) -> None:
    """300 rows for 20 addresses: no row twice, none out of order, no address in two hands."""
    monkeypatch.setattr("bot.serve.delivery.BEGUN", 8)  # so that neither takes all addresses
    texts = [f"{n:02}" for n in range(15)]
    put(books[0], *[(str(a), text) for text in texts for a in range(20)])
    channel = Channel()
    deliver(books, channel, lambda: len(channel.taken) >= 300)
    assert {address: channel.texts(address) for address in map(str, range(20))} == {
        str(a): texts for a in range(20)
    }
    assert channel.overlaps == 0
    assert {worker for worker, _, _ in channel.taken} == {"1", "2"}
    assert None not in column(books[0], outbox.c.sent)


def _in_the_hands_of(book: Book, worker: str, since: datetime) -> None:
    with book.writing() as conn:
        conn.execute(update(outbox).values(worker=worker, claimed=since, tries=1))


def test_what_a_living_worker_has_in_hand_is_left_to_it_and_taken_over_when_it_ends(
    books: tuple[Book, Book],
) -> None:
    """While it lives nothing goes to that address; at its end it goes at once, as a repeat."""
    put(books[0], ("1", "a"))
    put(books[0], ("2", "b"))
    other = Presence(books[0], 77)
    other.living()
    _in_the_hands_of(books[0], "77", NOW)
    put(books[0], ("1", "later"), ("3", "c"))
    channel = Channel()
    deliver(books[1:], channel, lambda: False, 1.3)
    assert channel.texts("3") == ["c"]
    assert channel.texts("1") == channel.texts("2") == []
    other.end()
    deliver(books[1:], channel, lambda: len(channel.taken) >= 4, 3)
    assert channel.texts("1") == [channel.texts("1")[0], "later"]
    assert channel.texts("1")[0].startswith("a\n(Sent again")
    assert channel.texts("2")[0].startswith("b\n(Sent again")


def test_what_a_frozen_worker_has_had_for_a_minute_is_taken_over(books: tuple[Book, Book]) -> None:
    """It still counts as alive, but nobody waits longer than that for it."""
    put(books[0], ("1", "a"))
    frozen = Presence(books[0], 77)
    frozen.living()
    _in_the_hands_of(books[0], "77", NOW - timedelta(seconds=59))
    channel = Channel()
    deliver(books[1:], channel, lambda: False, 0.5)
    assert channel.taken == []
    _in_the_hands_of(books[0], "77", NOW - timedelta(seconds=61))
    deliver(books[1:], channel, lambda: channel.taken, 3)
    assert len(channel.texts("1")) == 1
    frozen.end()


def test_a_wait_that_one_worker_was_asked_for_holds_for_all(books: tuple[Book, Book]) -> None:
    """429 to one is minded by the other, while the rest goes on."""
    put(books[0], ("1", "a"), ("2", "b"))
    channel = Channel()
    channel.answers["1"] = [RetryAfter(30)]
    deliver(books[:1], channel, lambda: channel.taken)
    put(books[0], ("3", "c"))
    deliver(books[1:], channel, lambda: channel.texts("3"))
    assert channel.texts("1") == []
    assert column(books[0], outbox.c.tries)[0] == 0


def test_a_worker_that_ends_leaves_nothing_in_its_hands(books: tuple[Book, Book]) -> None:
    """Ended in the middle of many, all that it took is sent and written down, each once."""
    put(books[0], *[(str(n), "a") for n in range(200)])
    channel = Channel()
    deliver(books[:1], channel, lambda: len(channel.taken) > 20)
    assert column(books[0], outbox.c.worker).count(None) == 200
    sent = [each for each in column(books[0], outbox.c.sent) if each is not None]
    assert len(sent) == len(channel.taken)
