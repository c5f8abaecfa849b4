"""Any text at all comes to an outcome, in time, and small changes of dress change nothing."""

from __future__ import annotations

import time
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.language.reader import read
from bot.language.reading import Ask, Outcome, Talk, reading_to_json
from bot.language.view import View
from bot.records import Record
from tests.language.cases_of import HERE, MOMENT, ZONE, Case, own_cases
from tests.language.support import view_of

BOOK: View = view_of(HERE / "book", ZONE)
WORDS = sorted({word for case in own_cases() for word in case.text.split()})
OPEN = Talk(
    question=Ask(
        "slots", ("K5", "K6"), Record("laid", date(2026, 4, 16), None, {"dam": "P1", "eggs": 2})
    ),
    last=(Record("shed", date(2026, 4, 16), None, {"tag": "P1"}),),
)


@given(st.text(max_size=300))
@settings(max_examples=150, deadline=None)
def test_any_text_has_an_outcome(text: str) -> None:
    """Whatever is typed is read without an error, alone or in a conversation."""
    for talk in (Talk(), OPEN):
        reading = read(text, MOMENT, BOOK, talk)
        assert reading.outcome in Outcome
        assert reading_to_json(reading).startswith("{")


@given(st.lists(st.sampled_from([*WORDS, ",", "and", ".", "?", "not", "if", "🦎"]), max_size=25))
@settings(max_examples=250, deadline=None)
def test_any_words_of_the_trade_have_an_outcome(words: list[str]) -> None:
    """The trade's own words in any order never raise, and every record is whole."""
    reading = read(" ".join(words), MOMENT, BOOK, OPEN)
    for record in reading.records:
        assert record.on <= date(2026, 4, 16) or record.kind == "plan"


@pytest.mark.parametrize("text", [
    "", " ", "\n\n", "🦎" * 500, "F3 " * 3000, "x" * 10_000, "1" * 5000, "?!" * 900, "B4,B5," * 250,
    "\u202e\u0000\ud7ff", "१२३ laid २", "P1 laid " + "and P1 laid " * 120, "(" * 1500, "'" * 1500,
    "qorfel blantig " * 90, "laidd hatchedd " * 90, "P1 P2 K4, " * 130, "last friday at 7 " * 80,
    "two and a half twenty " * 60, " ".join(WORDS[:200])[:1390],
])  # fmt: skip
def test_odd_and_long_texts_are_read_in_time(text: str) -> None:
    """A paste of 10,000 characters, emoji and foreign figures are read within 50 ms."""
    read(text, MOMENT, BOOK)
    best = min(_seconds(text) for _ in range(3))
    assert best < 0.05


def _seconds(text: str) -> float:
    start = time.perf_counter()
    read(text, MOMENT, BOOK)
    return time.perf_counter() - start


@pytest.mark.parametrize(
    "case",
    [c for c in own_cases() if "records" in c.accept[0] and "note" not in c.name][::6],
    ids=lambda case: case.name,
)
def test_capitals_change_nothing(case: Case) -> None:
    """A sentence in capitals is the same sentence."""
    loud, plain = (read(text, MOMENT, BOOK) for text in (case.text.upper(), case.text))
    assert [(r.kind, r.on) for r in loud.records] == [(r.kind, r.on) for r in plain.records]
