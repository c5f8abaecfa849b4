"""What a killed process noted of its sends: the next one sends neither too much nor too little."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select, update

from bot.book.claims import Fate
from bot.book.store import Book
from bot.book.tables import outbox
from bot.messages import Outgoing
from bot.serve import wire
from bot.serve.delivery import Delivery
from bot.serve.sending import Sent, leaves, not_yet
from bot.serve.wire import Wire, folder_of
from tests.serve.test_delivery import Channel, deliver, put

NOW = datetime(2026, 3, 10, 19, 0, tzinfo=UTC)
GONE = "77"  # the one that was killed


class Marks(Channel):
    """A channel that keeps whether each was marked as a repeat."""

    def __init__(self) -> None:
        super().__init__()
        self.repeats: list[tuple[str, bool]] = []

    async def send(self, outgoing: Outgoing) -> Sent:
        self.repeats.append((outgoing.reply.text, outgoing.again))
        return await super().send(outgoing)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """Three rows to three addresses, all in the hands of one that was killed."""
    made = Book.open(tmp_path / "book.sqlite")
    put(made, ("1", "a"), ("2", "b"), ("3", "c"))
    with made.writing() as conn:
        conn.execute(update(outbox).values(worker=GONE, claimed=NOW, tries=1))
    yield made
    made.close()


def noted(book: Book) -> Wire:
    """The first had left, the second was answered too, and of the third there is nothing."""
    made = Wire(folder_of(book), GONE)
    made.begin()
    made.leaves((1, False))
    made.leaves((2, False))
    made.answered((2, False), (Fate.TAKEN, "812"))
    return made


def killed(made: Wire) -> None:
    made._let_go()  # as the end of a process does


class Waiting(Channel):
    """A channel whose sender has to wait, before its request leaves or after."""

    def __init__(self, left: bool) -> None:
        super().__init__()
        self.left = left

    async def send(self, outgoing: Outgoing) -> Sent:
        not_yet()
        if self.left:
            leaves()
        await asyncio.sleep(30)
        return await super().send(outgoing)


def begun_and_killed(book: Book, channel: Channel) -> None:
    """A process that takes what there is in hand, and is killed while it sends."""

    async def in_book(step: Callable[[], Any]) -> Any:
        return step()

    async def run() -> None:
        delivery = Delivery(book, {"telegram": channel}, lambda: NOW, in_book, int(GONE))
        work = asyncio.create_task(delivery.run())
        await asyncio.sleep(0.3)
        killed(delivery._wire)
        work.cancel()

    asyncio.run(run())


@pytest.mark.parametrize("left", [False, True])
def test_what_a_sender_waits_for_first_is_no_doubt(tmp_path: Path, left: bool) -> None:
    """Only from the moment that the request leaves may it have been taken."""
    book = Book.open(tmp_path / "other.sqlite")
    put(book, ("1", "a"))
    begun_and_killed(book, Waiting(left))
    channel = Marks()
    deliver(book, channel, 1.5)
    assert channel.repeats == [("a", left)]
    book.close()


def column(book: Book, wanted: Any) -> list[Any]:
    with book.reading() as conn:
        return list(conn.execute(select(wanted).order_by(outbox.c.id)).scalars())


def test_only_what_had_left_is_in_doubt(book: Book) -> None:
    """Answered: not sent again. Not begun: sent as new. In between: once more, and it says so."""
    killed(noted(book))
    channel = Marks()
    deliver(book, channel, 1.5)
    assert sorted(channel.repeats) == [("a", True), ("c", False)]
    assert column(book, outbox.c.sent_as) == [None, "812", None]
    assert None not in column(book, outbox.c.sent)


@pytest.mark.parametrize("why", ["machine started anew", "no lines", "half a line", "it lives"])
def test_what_cannot_be_told_stays_in_doubt(
    book: Book, why: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Lines that can't be believed are not: each may have been taken, and goes once more."""
    lines = noted(book)
    folder = folder_of(book)
    assert folder is not None
    file = folder / f"{GONE}{wire.SUFFIX}"
    if why != "it lives":
        killed(lines)
    if why == "machine started anew":
        (tmp_path / "boot").write_text("another start\n")
        monkeypatch.setattr(wire, "_BOOT", tmp_path / "boot")
    elif why == "no lines":
        file.unlink()
    elif why == "half a line":
        file.write_text(file.read_text() + "3\t0")
    channel = Marks()
    deliver(book, channel, 1.5)
    assert sorted(channel.repeats) == [("a", True), ("b", True), ("c", True)]


def test_lines_are_few_and_go_when_they_are_of_no_use(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is in the book is left out in time, and at the end no file stays."""
    monkeypatch.setattr(wire, "_MOST", 500)
    folder = folder_of(book)
    assert folder is not None
    lines = Wire(folder, "1")
    lines.begin()
    lines.leaves((5, False))
    for row in range(10, 200):
        lines.leaves((row, False))
        lines.answered((row, False), (Fate.TAKEN, "1"))
        lines.settled((row, False))
    (file,) = folder.glob(f"*{wire.SUFFIX}")
    assert file.stat().st_size < 600
    killed(lines)
    assert Wire(folder, "2").of("1") is not None
    assert (5, False) in (Wire(folder, "2").of("1") or {})
    Wire(folder, "2").sweep(busy={"1"})
    assert list(folder.glob(f"*{wire.SUFFIX}"))
    Wire(folder, "2").sweep()
    assert not list(folder.glob(f"*{wire.SUFFIX}"))


def test_an_orderly_end_leaves_nothing_behind(book: Book) -> None:
    """With all in the book neither file nor folder stays."""
    lines = Wire(folder_of(book), "2")
    lines.begin()
    lines.leaves((9, False))
    lines.answered((9, False), (Fate.TAKEN, None))
    lines.settled((9, False))
    lines.end()
    folder = folder_of(book)
    assert folder is not None
    assert not folder.exists()


def test_where_no_line_can_be_written_there_are_none(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk takes all lines away: with one missing they would tell an untruth."""
    lines = noted(book)

    def full(*_: object) -> int:
        raise OSError("no space left")

    monkeypatch.setattr("os.write", full)
    lines.leaves((3, False))
    monkeypatch.undo()
    killed(lines)
    assert Wire(folder_of(book), "2").of(GONE) is None
