"""One `serve` for a book in a file: a lock that ends with the process, however it ends."""

from __future__ import annotations

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from bot.book.errors import BookLocked


def _beside(book: Path) -> Path:
    return book.with_name(f".{book.name}.serve")


@contextmanager
def held(book: Path | None) -> Iterator[None]:
    """Hold a book while the block runs. Raises BookLocked where another `serve` holds it.

    A book that is not a file (None) is shared by as many as like.
    """
    if book is None:
        yield
        return
    with _beside(book).open("a") as file:
        if not _lock(file):
            raise BookLocked(f'Another "rackside serve" holds the book at {book}. Stop it first.')
        yield


def is_held(book: Path) -> bool:
    """Whether a `serve` holds this book just now."""
    try:
        with _beside(book).open("r") as file:
            return not _lock(file)
    except FileNotFoundError:
        return False


def _lock(file: IO[str]) -> bool:
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
