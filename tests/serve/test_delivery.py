"""The outbox against a pretend channel: order, waits, crashes in the middle, slow receivers."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select, update

from bot.book import households, post
from bot.book.store import Book
from bot.book.tables import delays, outbox
from bot.messages import Outgoing, Reply
from bot.serve.delivery import Delivery, pause
from bot.serve.sending import Delivered, Lost, Refused, RetryAfter, Sent

NOW = datetime(2026, 3, 10, 19, 0, tzinfo=UTC)


class Channel:
    """Takes everything at once, but for what `answers` says by address."""

    def __init__(self) -> None:
        self.taken: list[tuple[str, str]] = []
        self.answers: dict[str, list[Any]] = {}

    async def send(self, outgoing: Outgoing) -> Sent:
        planned = self.answers.get(outgoing.address)
        answer = planned.pop(0) if planned else Delivered()
        if isinstance(answer, float):
            await asyncio.sleep(answer)
            answer = Delivered()
        if isinstance(answer, Delivered | Lost):
            self.taken.append((outgoing.address, outgoing.reply.text))
        return answer


@pytest.fixture
def book(tmp_path: Path) -> Book:
    return Book.open(tmp_path / "book.sqlite")


def put(book: Book, *rows: tuple[str, str]) -> None:
    with book.writing() as conn:
        found = households.find(conn, "telegram", "1")
        owner = found or households.begin(conn, zone="Europe/Lisbon", owner="Ines", now=NOW)
        if found is None:
            households.add_address(conn, owner, "telegram", "1")
        for address, text in rows:
            post.put_out(conn, Reply(text), owner, "telegram", address, NOW)


def deliver(
    book: Book, channel: Channel, seconds: float, now: Callable[[], datetime] = lambda: NOW
) -> None:
    """Run the delivery for so long."""

    async def in_book(step: Callable[[], Any]) -> Any:
        return step()

    async def run() -> None:
        work = asyncio.create_task(Delivery(book, {"telegram": channel}, now, in_book).run())
        await asyncio.sleep(seconds)
        work.cancel()

    asyncio.run(run())


def rows(book: Book, column: Any) -> list[Any]:
    with book.reading() as conn:
        return list(conn.execute(select(column)).scalars())


def test_one_slow_receiver_holds_up_nobody_else(book: Book) -> None:
    """While one address hangs, forty others are served, each in its own order."""
    put(book, ("slow", "a"), *[(str(n), t) for n in range(40) for t in ("first", "second")])
    channel = Channel()
    channel.answers["slow"] = [30.0]
    deliver(book, channel, 1.5)
    assert len(channel.taken) == 80
    for n in range(40):
        assert [text for who, text in channel.taken if who == str(n)] == ["first", "second"]


def test_a_crash_leaves_few_in_doubt(book: Book) -> None:
    """Of many that wait, only so many are in hand at a time as are on their way at once."""
    put(book, *[(str(n), "a") for n in range(100)])
    channel = Channel()
    channel.answers = {str(n): [30.0] for n in range(100)}
    deliver(book, channel, 0.4)
    assert sum(rows(book, outbox.c.tries)) == 30


def test_what_was_on_its_way_at_a_crash_goes_out_once_more(book: Book) -> None:
    """Claimed and not marked: it may have been taken, and one more copy is sent."""
    put(book, ("1", "a"))
    with book.writing() as conn:
        conn.execute(update(outbox).values(claimed=NOW, tries=1))
    channel = Channel()
    deliver(book, channel, 1.4)
    assert channel.taken == [("1", "a")]


def test_being_killed_as_it_starts_uses_no_second_copy_up(book: Book) -> None:
    """What may have been sent waits for a process that lives, and so does what is behind it."""
    put(book, ("1", "a"), ("2", "c"))
    with book.writing() as conn:
        conn.execute(update(outbox).values(claimed=NOW, tries=1).where(outbox.c.address == "1"))
    put(book, ("1", "b"))
    channel = Channel()
    for _ in range(2):
        deliver(book, channel, 0.4)
    assert channel.taken == [("2", "c")]
    deliver(book, channel, 1.4)
    assert channel.taken == [("2", "c"), ("1", "a"), ("1", "b")]


def test_there_are_two_copies_at_most(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two answers lost, and it is given up; what comes after it still goes out."""
    put(book, ("1", "a"), ("1", "b"))
    monkeypatch.setattr("bot.serve.delivery.pause", lambda failures: 0.1)
    channel = Channel()
    channel.answers["1"] = [Lost(), Lost()]
    deliver(book, channel, 1.6)
    assert channel.taken == [("1", "a"), ("1", "a"), ("1", "b")]
    assert [bool(each) for each in rows(book, outbox.c.given_up)] == [True, False]


def test_a_wait_that_was_asked_survives_a_restart(book: Book) -> None:
    """429 is kept with the book: started again within the time, nothing goes there yet."""
    put(book, ("1", "a"), ("2", "b"))
    channel = Channel()
    channel.answers["1"] = [RetryAfter(1.5)]
    deliver(book, channel, 0.3)
    assert rows(book, delays.c.why) == [1.5]
    deliver(book, channel, 0.5, lambda: NOW + timedelta(seconds=0.3))
    assert channel.taken == [("2", "b")]
    deliver(book, channel, 0.5, lambda: NOW + timedelta(seconds=2))
    assert channel.taken == [("2", "b"), ("1", "a")]


def test_a_clock_set_back_makes_no_wait_longer(book: Book) -> None:
    """A wait of a second is a second, even where the wall clock says that it is days."""
    put(book, ("1", "a"))
    channel = Channel()
    channel.answers["1"] = [RetryAfter(1)]
    deliver(book, channel, 0.2)
    deliver(book, channel, 1.5, lambda: NOW - timedelta(days=3))
    assert channel.taken == [("1", "a")]


def test_what_is_refused_is_not_sent_again(book: Book) -> None:
    """A refusal is final; the next one goes."""
    put(book, ("1", "a"), ("1", "b"))
    channel = Channel()
    channel.answers["1"] = [Refused("bad request")]
    deliver(book, channel, 0.3)
    assert channel.taken == [("1", "b")]


def test_pauses_grow_from_within_five_seconds_to_a_minute() -> None:
    """The first pause is 1 to 2 s, each is longer than the last, none over a minute."""
    pauses = [pause(failures) for failures in range(1, 12)]
    assert 1 <= pauses[0] <= 2
    assert pauses[:5] == sorted(pauses[:5])
    assert max(pauses) <= 60
