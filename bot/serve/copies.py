"""The daily copies of the book: one a day, the last 14 kept."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from bot.book.store import Book

KEPT = 14


def copy_of_the_day(book: Book, folder: Path, today: date) -> bool:
    """Make today's copy unless it is there, and remove the oldest; true if one was made.

    Raises OSError where it can't be written.
    """
    if book.path is None:
        return False
    file = folder / f"{book.path.stem}-{today.isoformat()}{book.path.suffix}"
    if file.exists():
        return False
    folder.mkdir(parents=True, exist_ok=True)
    book.backup(file)
    pattern = f"{book.path.stem}-????-??-??{book.path.suffix}"
    for old in sorted(folder.glob(pattern))[:-KEPT]:
        old.unlink()
    return True
