"""The same tests on both stores: SQLite in memory, and PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from bot.book.store import Book
from tests.book import support


@pytest.fixture(params=["sqlite", "postgres"])
def either_store(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """Whatever book the test opens is in this store. On PostgreSQL it is one for the whole test."""
    if request.param == "sqlite":
        yield request.param
        return
    book = Book.open(request.getfixturevalue("database"))
    monkeypatch.setattr(support, "open_book", lambda: book)
    yield request.param
    book.close()
