"""Answers to an open question that are none: a log of its own, or a tag that the book lacks."""

from __future__ import annotations

from datetime import date

import pytest

from bot.language.reader import read
from bot.language.reading import NO_TALK, Ask, Outcome, Reading, Talk
from bot.language.view import View
from bot.records import Record
from tests.language.cases_of import HERE, MOMENT, ZONE
from tests.language.support import view_of

TODAY = date(2026, 4, 16)


@pytest.fixture(scope="module")
def book() -> View:
    return view_of(HERE / "book", ZONE)


def after(text: str, book: View) -> Talk:
    """The conversation once `text` has been said and answered."""
    reading = read(text, MOMENT, book, NO_TALK)
    return Talk(question=reading.ask, last=reading.records)


def fields(reading: Reading) -> list[dict[str, object]]:
    return [{"kind": each.kind, **each.fields} for each in reading.records]


@pytest.mark.parametrize(
    ("said", "then", "written"),
    [
        ("P22 1.1g", "P2 22.8g", {"kind": "weighed", "tag": "P2", "grams": 22.8}),
        ("P22 1.1g", "P2 1.1g", {"kind": "weighed", "tag": "P2", "grams": 1.1}),
        ("laid 2 in K5 and K6", "P2 laid 1", {"kind": "laid", "dam": "P2", "eggs": 1}),
        ("fed 5 crickets", "P1 21.4g", {"kind": "weighed", "tag": "P1", "grams": 21.4}),
    ],
)
def test_a_whole_log_is_no_answer(
    said: str, then: str, written: dict[str, object], book: View
) -> None:
    """A name with a figure of its own is a new log, and takes nothing from the one that waits."""
    reading = read(then, MOMENT, book, after(said, book))
    assert fields(reading) == [written]
    assert not reading.answers


@pytest.mark.parametrize(
    ("said", "then"),
    [("P22 shed", "P33"), ("P22 1.1g", "P33 1.1g"), ("fed 5 crickets", "P33"),
     ("fed 5 crickets", "P33 1.1g")],
)  # fmt: skip
def test_an_unknown_tag_is_asked_about_again(said: str, then: str, book: View) -> None:
    """A tag that the book lacks never gets a record, whatever it answers."""
    reading = read(then, MOMENT, book, after(said, book))
    assert reading.records == ()
    assert reading.outcome is Outcome.ASK
    assert reading.ask is not None and reading.ask.why == "unknown-tag"


def test_a_newcomer_s_sex_comes_with_its_tag(book: View) -> None:
    """ "Y40 and it's a male" gives the tag and the sex."""
    reading = read("Y40 and its a male", MOMENT, book, after("new picta", book))
    assert [(r["tag"], r["sex"]) for r in fields(reading)] == [("Y40", "male")]


def test_a_hatchling_s_sex_comes_with_its_tag(book: View) -> None:
    """The young one's tag goes into the hatching, and its sex into a record of its own."""
    hatched = Record("hatched", TODAY, None, {"slots": ("K9",)})
    talk = Talk(question=Ask("tags", waiting=hatched), last=(hatched,))
    reading = read("Y40 and its a male", MOMENT, book, talk)
    assert fields(reading) == [
        {"kind": "hatched", "slots": ("K9",), "tags": ("Y40",)},
        {"kind": "sexed", "tag": "Y40", "sex": "male"},
    ]
    assert reading.answers


def test_an_egg_that_has_left_its_slot_is_not_asked_for(book: View) -> None:
    """K9 is empty once it hatched: the answer about the young one is taken all the same."""
    hatched = Record("hatched", TODAY, None, {"slots": ("K9",)})
    talk = Talk(question=Ask("tags", waiting=hatched), last=(hatched,))
    assert fields(read("Y40", MOMENT, book, talk))[0]["tags"] == ("Y40",)


@pytest.mark.parametrize(
    "text", ["P2 slim, no eggs found", "P2 is slim, found no eggs", "P2 slim, no eggs in the sand"]
)
def test_slim_and_no_eggs_are_two_records(text: str, book: View) -> None:
    """What she looks like and the search in vain are both written."""
    assert fields(read(text, MOMENT, book)) == [
        {"kind": "seen", "tag": "P2", "sign": "slim"},
        {"kind": "searched", "tag": "P2", "found": 0},
    ]
