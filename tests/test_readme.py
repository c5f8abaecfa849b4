"""The README says what the reader can read."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.guide import ways_to_ask, ways_to_log, with_tables
from bot.language.reader import read
from tests.book.support import NOW, new_book, open_pages, rec

README = Path(__file__).parent.parent / "README.md"

LOGS = [(kind, way) for kind, ways in ways_to_log().items() for way in ways]
ASKS = [(ask, way) for ask, ways in ways_to_ask().items() for way in ways]


@pytest.fixture(scope="module")
def view():  # type: ignore[no-untyped-def]
    """A book in which every example can have happened."""
    book, keeper = new_book()
    with open_pages(book, keeper) as pages:
        females = [rec("animal", tag=t, sex="female", species="picta") for t in _FEMALES]
        males = [rec("animal", tag=t, sex="male", species="picta") for t in ("M1", "M2")]
        young = [rec("animal", tag=t, species="picta") for t in ("H4", "H12")]
        boxes = [rec("box", box=b, rows=3, columns=4, incubator="1") for b in "ABC"]
        eggs = [rec("laid", dam="F7", eggs=1, slots=(s,)) for s in ("A1", "A4", "B4", "B6")]
        pairing = rec("paired", male="M2", female="F3")
        records = [*females, *males, *young, *boxes, *eggs, pairing]
        pages.write(records, member=keeper, channel="test", arrived=NOW, text="-")
        return pages.view()


_FEMALES = ("F1", "F2", "F3", "F5", "F7", "F9", "F13")


def test_the_tables_are_those_of_the_reader() -> None:
    """`python -m bot.guide README.md` would change nothing."""
    readme = README.read_text(encoding="utf-8")
    assert with_tables(readme) == readme


@pytest.mark.parametrize(("kind", "way"), LOGS)
def test_each_way_to_log_is_read_as_its_kind(view, kind: str, way: str) -> None:  # type: ignore[no-untyped-def]
    """What the README says to type is understood, or asks for what this book lacks."""
    free = view.eggs.pop("B4") if kind == "laid" else None
    try:
        reading = read(way, NOW, view)
    finally:
        if free:
            view.eggs["B4"] = free
    assert kind in [each.kind for each in reading.records], (way, reading)


@pytest.mark.parametrize(("ask", "way"), ASKS)
def test_each_way_to_ask_is_read_as_its_request(view, ask: str, way: str) -> None:  # type: ignore[no-untyped-def]
    """What the README says to ask is understood as that request."""
    reading = read(way, NOW, view)
    assert reading.request is not None and reading.request.ask == ask, (way, reading)
