"""What the README tells a keeper to type is read as what it says."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from bot.language.examples import CORRECTIONS, record_rows, request_rows
from bot.language.reader import read
from bot.language.reading import Talk
from bot.language.view import AnimalSeen, BoxSeen, EggSeen, PairingSeen, View
from bot.records import KINDS, Record

MOMENT = datetime.fromisoformat("2026-03-10T19:30:00+00:00")


@pytest.fixture(scope="module")
def book() -> View:
    """A book that has what the examples speak of."""
    view = View(ZoneInfo("Europe/Lisbon"))
    for tag in ("F3", "F7", "F9", "F13", "M2", "H4", "H12"):
        sex = {"F": "female", "M": "male"}.get(tag[0], "unknown")
        view.animals[tag] = AnimalSeen(tag, sex, "picta")
    view.names["tansy"] = ("F3",)
    view.boxes = {b: BoxSeen(b, 3, 4, "1") for b in "ABC"}
    for slot in ("A1", "A4", "B6"):
        view.eggs[slot] = EggSeen(slot)
    view.pairings = (PairingSeen("M2", "F7", date(2026, 3, 9)),)
    return view


@pytest.mark.parametrize(
    ("kind", "text"), [(kind, text) for kind, texts in record_rows() for text in texts]
)
def test_an_example_of_a_record_is_that_record(kind: str, text: str, book: View) -> None:
    """Each example of a kind of record is read as one of that kind."""
    eggs = dict(book.eggs)
    if kind in ("checked", "shifted", "pipped", "hatched"):
        eggs["B4"] = EggSeen("B4")
    view = View(book.zone, book.animals, book.names, book.boxes, eggs, book.places, book.pairings)
    assert kind in [record.kind for record in read(text, MOMENT, view).records]


@pytest.mark.parametrize(
    ("ask", "text"),
    [(ask, text) for ask, texts in request_rows() for text in texts if ask != "correct"],
)
def test_an_example_of_a_request_is_that_request(ask: str, text: str, book: View) -> None:
    """Each example of a request is read as that request, and writes nothing."""
    reading = read(text, MOMENT, book)
    assert reading.request is not None and reading.request.ask == ask
    assert not reading.records


@pytest.mark.parametrize("text", CORRECTIONS)
def test_an_example_of_a_correction_corrects(text: str, book: View) -> None:
    """Each example of putting right is read so after a record."""
    last = Record("laid", date(2026, 3, 10), None, {"dam": "F3", "eggs": 2, "slots": ("B4",)})
    reading = read(text, MOMENT, book, Talk(last=(last,)))
    assert reading.request is not None and reading.request.ask == "correct"


def test_every_kind_and_request_has_an_example() -> None:
    """No kind of record and no request goes without an example."""
    assert {kind for kind, texts in record_rows() if texts} == set(KINDS)
    assert all(texts for _, texts in request_rows())
