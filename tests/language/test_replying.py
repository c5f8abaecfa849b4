"""Answers to reminders: what few words mean after what was told, and what they must not mean."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.language.reader import read
from bot.language.reading import Ask, Outcome, Talk, Told, reading_to_json
from bot.language.view import PairingSeen, View
from bot.records import Record
from tests.language.cases_of import HERE, MOMENT, ZONE, Case, expected, own_cases
from tests.language.comparing import matches
from tests.language.support import view_of


@pytest.fixture(scope="module")
def book() -> View:
    view = view_of(HERE / "book", ZONE)
    view.pairings += (PairingSeen("P11", "P2", date(2026, 4, 14)),)
    return view


@pytest.fixture(scope="module")
def apart() -> View:
    """The same book while P11 is on his own."""
    return view_of(HERE / "book", ZONE)


def told_of(line: str) -> tuple[Told, ...]:
    """The reminders that a table's name tells of."""
    fresh = not line.startswith("~")
    return tuple(_one(each.strip(), fresh) for each in line.lstrip("~").split(";"))


def _one(line: str, fresh: bool) -> Told:
    line, _, text = line.partition(" :")
    line, _, place = line.partition(" @")
    kind, *about = line.split()
    said = text or f"{kind} {' '.join(about)}."
    at = MOMENT - timedelta(hours=1)
    return Told(f"{kind}, {about}", kind, tuple(about), place or None, said, at, fresh)


def cases() -> Iterator[tuple[str, str, list[str]]]:
    tables = tomllib.loads((HERE / "answers.toml").read_text(encoding="utf-8"))
    for told, answers in tables.items():
        for text, lines in answers.items():
            yield told, text, lines


@pytest.mark.parametrize(
    ("told", "text", "lines"), list(cases()), ids=lambda each: each if isinstance(each, str) else ""
)
def test_an_answer_is_read_as_its_case_says(
    told: str, text: str, lines: list[str], book: View, apart: View
) -> None:
    """What is said after a reminder becomes exactly the record, question or request expected."""
    view = apart if told.startswith("put-male-in") else book
    reading = read(text, MOMENT, view, Talk(told=told_of(told)))
    got = json.loads(reading_to_json(reading))
    assert any(matches(wanted, got) for wanted in expected(lines)), got
    if lines == ["-"]:
        assert not reading.records
        assert not (reading.request and reading.request.ask in ("done", "snooze", "skip"))


@pytest.mark.parametrize("case", list(own_cases())[::3], ids=lambda case: case.name)
def test_a_log_of_its_own_is_read_as_ever(case: Case, book: View) -> None:
    """Where a message says whom or which it is about, what was told of others changes nothing."""
    others = told_of("pull-male G2 G1; overdue-egg N1; weigh P4; candle N2")
    plain = read(case.text, MOMENT, book)
    after = read(case.text, MOMENT, book, Talk(told=others))
    assert after.records == plain.records


@pytest.mark.parametrize("text", ["out", "22.4", "none", "not yet", "veins", "2 eggs", "1", "in"])
def test_nothing_told_nothing_meant(text: str, book: View) -> None:
    """Without a reminder the same words write nothing."""
    reading = read(text, MOMENT, book)
    assert reading.records == ()
    assert reading.outcome in (Outcome.UNCLEAR, Outcome.ASK, Outcome.CHAT)


def test_the_answer_to_which_one_is_taken(book: View) -> None:
    """ "22.4" to two weighings is asked about, and "P2" settles it."""
    told = told_of("weigh P1; weigh P2")
    asked = read("22.4", MOMENT, book, Talk(told=told))
    assert asked.ask is not None and asked.ask.choices == ("P1", "P2")
    later = tuple(replace(each, fresh=False) for each in told)
    for said in ("P2", "2"):
        settled = read(said, MOMENT, book, Talk(question=asked.ask, told=later))
        assert [dict(r.fields) for r in settled.records] == [{"tag": "P2", "grams": 22.4}]


def test_an_open_question_comes_before_what_was_told_earlier(book: View) -> None:
    """ "2" answers the question just asked, not the reminder of this morning."""
    question = Ask("eggs", waiting=Record("laid", date(2026, 4, 16), None, {"dam": "P1"}))
    reading = read("2", MOMENT, book, Talk(question=question, told=told_of("~search-eggs P2")))
    assert [dict(r.fields) for r in reading.records] == [{"dam": "P1", "eggs": 2}]


def test_what_was_just_told_comes_before_an_old_question(book: View) -> None:
    """A question left open yesterday does not take "2 eggs" that answers today's reminder."""
    question = Ask("slots", waiting=Record("laid", date(2026, 4, 15), None, {"dam": "P1"}))
    reading = read("2 eggs", MOMENT, book, Talk(question=question, told=told_of("search-eggs P2")))
    assert [dict(r.fields) for r in reading.records] == [{"dam": "P2", "eggs": 2}]


def test_none_answers_how_many_eggs(book: View) -> None:
    """ "1" is asked about, since it may be done or one egg; "none" is then a search in vain."""
    told = told_of("search-eggs P2")
    asked = read("1", MOMENT, book, Talk(told=told))
    assert asked.ask is not None and asked.ask.about == "eggs"
    later = tuple(replace(each, fresh=False) for each in told)
    none = read("none", MOMENT, book, Talk(question=asked.ask, told=later))
    assert [r.kind for r in none.records] == ["searched"]
    assert none.answers
    one = read("1", MOMENT, book, Talk(question=asked.ask, told=later))
    assert [dict(r.fields) for r in one.records] == [{"dam": "P2", "eggs": 1}]


def test_the_number_of_a_list_is_that_of_the_list(book: View) -> None:
    """After a numbered list of what is due, a number alone is a line of it."""
    told = told_of("weigh P1; weigh P2; candle K4; pull-male P10 P3")
    tasks = tuple(f"{each.text} [{', '.join(each.about)}]" for each in told)
    reading = read("2", MOMENT, book, Talk(tasks=tasks, told=told))
    assert reading.request is not None
    assert (reading.request.ask, reading.request.get("task")) == ("done", 2)


def test_whom_was_told_of_comes_before_whom_we_spoke_of(book: View) -> None:
    """ "She" after a reminder is its animal, not yesterday's."""
    last = (Record("shed", date(2026, 4, 15), None, {"tag": "P1"}),)
    reading = read("she's slim", MOMENT, book, Talk(last=last, told=told_of("check-gravid P2")))
    assert [dict(r.fields) for r in reading.records] == [{"tag": "P2", "sign": "slim"}]


def test_an_egg_spoken_of_and_one_told_of_are_both_meant(book: View) -> None:
    """ "Clear, binned it" after K3 was spoken of and K4 is to be candled is a question."""
    last = (Record("checked", date(2026, 4, 15), None, {"slots": ("K3",), "state": "fertile"}),)
    talk = Talk(last=last, told=told_of("~candle K4"))
    reading = read("clear, binned it", MOMENT, book, talk)
    assert reading.records == ()
    assert reading.ask is not None and reading.ask.about == "pick"
    assert reading.ask.choices[0] == "K4 infertile, tossed K4"
    for said in reading.ask.choices:
        assert read(said, MOMENT, book, talk).outcome is Outcome.RECORDS


def test_what_is_put_into_words_to_pick_from_reads_as_meant(book: View) -> None:
    """Each choice of "Which do you mean?" is a message that does what it says."""
    told = told_of("search-eggs P1; watch-hatch K1 K2")
    asked = read("nothing", MOMENT, book, Talk(told=told))
    assert asked.ask is not None
    searched, later = (read(each, MOMENT, book, Talk(told=told)) for each in asked.ask.choices)
    assert [each.kind for each in searched.records] == ["searched"]
    assert later.request is not None and later.request.ask == "snooze"
    assert later.request.get("task") == "watch-hatch K1 K2"


def test_an_egg_that_pips_is_out_next(book: View) -> None:
    """ "It's out" after "K1 is pipping" is K1, though nothing was told."""
    last = (Record("pipped", date(2026, 4, 16), None, {"slots": ("K1",)}),)
    reading = read("it's out!", MOMENT, book, Talk(last=last))
    assert [(each.kind, each.get("slots")) for each in reading.records] == [("hatched", ("K1",))]


def test_what_was_told_long_before_is_no_rival(book: View) -> None:
    """Of two that fit, the one told a day later than the other is meant."""
    old, new = told_of("search-eggs P1; search-eggs P2")
    told = (replace(old, at=old.at - timedelta(days=3)), new)
    reading = read("none", MOMENT, book, Talk(told=told))
    assert [each.get("tag") for each in reading.records] == ["P2"]


EVERYTHING = "; ".join(
    [
        "pull-male P10 P3", "put-male-in P11 P1", "check-gravid P2", "search-eggs P1",
        "candle K4", "candle L1 L2", "weigh P4", "read-incubator K1 K2 @incubator 1",
        "wet-box K1 K2 @box K", "watch-hatch K1 K2 @box K", "overdue-egg K3", "sex-young Y1 Y2",
        "separate-sexes Y1 Y2 @nursery 1", "rest-female P3", "first-pairing P4",
        "plan :Order roaches.", "candle 15-1", "pull-male P99 P98",
    ]
)  # fmt: skip
SAID = sorted({word for _, text, _ in cases() for word in text.split()})


@given(st.lists(st.sampled_from([*SAID, ",", "and", "not", "if", "maybe", "or"]), max_size=8))
@settings(max_examples=300, deadline=None)
def test_any_few_words_after_any_reminder_have_an_outcome(words: list[str]) -> None:
    """Whatever is answered never raises, writes nothing whole of the future, and can be shown."""
    view = view_of(HERE / "book", ZONE)
    told = told_of(EVERYTHING)
    reading = read(" ".join(words), MOMENT, view, Talk(told=told))
    assert reading_to_json(reading).startswith("{")
    for record in reading.records:
        assert record.on <= date(2026, 4, 16) or record.kind == "plan"
    if {"or", "if", "maybe"} & set(words):
        plain = read(" ".join(words), MOMENT, view)
        assert set(map(str, reading.records)) <= set(map(str, plain.records))
