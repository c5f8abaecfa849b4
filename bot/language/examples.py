"""What may be typed, by kind of record and by request: the rows of the README's table."""

from __future__ import annotations

from bot.language.asking import request_examples
from bot.records import KINDS


def record_rows() -> list[tuple[str, tuple[str, ...]]]:
    """Each kind of record with how one might say it, in table order."""
    return [(kind.name, kind.said_as) for kind in KINDS.values()]


def request_rows() -> list[tuple[str, tuple[str, ...]]]:
    """Each request with how one might say it; those that lean on what was said before
    ("correct") are shown by `CORRECTIONS`."""
    rows = [(ask, tuple(texts)) for ask, texts in request_examples().items()]
    return [*rows, ("correct", CORRECTIONS)]


CORRECTIONS = ("no, it was F6", "make that slot 5", "that was yesterday")


def rows() -> list[tuple[str, tuple[str, ...]]]:
    """All rows: records, then requests."""
    return [*record_rows(), *request_rows()]
