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
    for old in copies(book.path, folder)[:-KEPT]:
        old.unlink()
    return True


def copies(book: Path, folder: Path) -> list[Path]:
    """The daily copies of a book that are there, the oldest first."""
    return sorted(folder.glob(f"{book.stem}-????-??-??{book.suffix}"))


def day_of(copy: Path, book: Path) -> date | None:
    """The day that a copy is of; None where its name is no day's."""
    try:
        return date.fromisoformat(copy.stem.removeprefix(f"{book.stem}-"))
    except ValueError:
        return None
