"""A small book, in memory or on PostgreSQL, and short ways to write in it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime

from bot.book import households
from bot.book.households import Member
from bot.book.pages import Pages
from bot.book.store import Book
from bot.records import Record

NOW = datetime(2026, 3, 10, 19, 30, tzinfo=UTC)
TODAY = date(2026, 3, 10)


def open_book() -> Book:
    """An empty book in memory; the `either_store` fixture puts another in its place."""
    return Book.open(":memory:")


def new_book(zone: str = "Europe/Lisbon") -> tuple[Book, Member]:
    """A book, and the owner of a household of its own in it."""
    book = open_book()
    with book.writing() as conn:
        return book, households.begin(conn, zone=zone, owner="keeper", now=NOW)


@contextmanager
def open_pages(book: Book, member: Member) -> Iterator[Pages]:
    """One household's pages in a transaction that commits."""
    with book.writing() as conn:
        yield Pages(conn, member.household)


def rec(kind: str, on: date = TODAY, **fields: object) -> Record:
    """A record of that kind."""
    return Record(kind, on, None, fields)


def write(book: Book, member: Member, *records: Record, message: int | None = None) -> None:
    """Write some records as one message would."""
    global _count
    _count += 1
    with open_pages(book, member) as pages:
        pages.write(
            records, member=member, channel="test", arrived=NOW.replace(microsecond=_count),
            text="as typed", message=message,
        )  # fmt: skip


_count = 0
