"""What can go wrong with a book file, each with its own sentence for the keeper."""

from __future__ import annotations


class BookError(Exception):
    """The book does not open. The text says what is wrong and what to do."""


class BookMissing(BookError):
    """There is no file where the book should be."""


class BookLocked(BookError):
    """Another program holds the book."""


class BookTooNew(BookError):
    """The book was written by a newer version."""


class NotABook(BookError):
    """The file is something else, or damaged."""


class BookInTheWay(BookError):
    """A book with something in it stands where another is to be put."""
