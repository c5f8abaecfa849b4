"""Dates, units, lists and plurals as people read them; every choice of a record has its words."""

from __future__ import annotations

import string
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import pytest

from bot import wording
from bot.desk.help import TOPICS, examples
from bot.records import EGG_STATES, KINDS, SEXES, SIGNS, WAYS_TO_LEAVE
from bot.wording import either, listed, lookup, say
from scheduler.colony import DUE_KINDS

TODAY = date(2026, 3, 10)


def test_a_day_has_its_year_only_where_it_is_another() -> None:
    """14 May this year; 14 May 2025."""
    assert wording.day(date(2026, 5, 14), TODAY) == "14 May"
    assert wording.day(date(2025, 5, 14), TODAY) == "14 May 2025"
    assert wording.weekday(TODAY, TODAY) == "Tue 10 Mar"


def test_near_days_have_names() -> None:
    """Yesterday, today and tomorrow; beyond, the weekday."""
    said = [wording.near(date(2026, 3, n), TODAY) for n in (8, 9, 10, 11, 12)]
    assert said == ["Sun 8 Mar", "yesterday", "today", "tomorrow", "Thu 12 Mar"]


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (date(2026, 5, 9), date(2026, 5, 19), "9 to 19 May"),
        (date(2026, 5, 28), date(2026, 6, 3), "28 May to 3 Jun"),
        (date(2026, 12, 28), date(2027, 1, 3), "28 Dec 2026 to 3 Jan 2027"),
        (date(2026, 5, 9), date(2026, 5, 9), "9 May"),
    ],
)
def test_a_span_says_no_month_twice(first: date, last: date, said: str) -> None:
    """Within a month, over two, over the new year, and a single day."""
    assert wording.span(first, last, TODAY) == said


def test_units() -> None:
    """Grams and ounces, Celsius and Fahrenheit, with no needless zeros."""
    assert [wording.weight(21.0), wording.weight(21.44)] == ["21 g", "21.4 g"]
    assert wording.weight(28.349523125, "oz") == "1.00 oz"
    assert wording.temperature(27.0) == "27 °C"
    assert wording.temperature(27.2, "F") == "81 °F"


def test_lists_and_plurals() -> None:
    """One, two, three; and, or; one egg, two eggs."""
    assert [listed(["F1"]), listed(["F1", "F2"]), either(["F1", "F2", "F4"])] == [
        "F1",
        "F1 and F2",
        "F1, F2 or F4",
    ]
    assert [say("eggs", n=n) for n in (1, 2)] == ["1 egg", "2 eggs"]


def test_words_that_are_missing_are_an_error() -> None:
    """A key or a value that is not there is never passed over."""
    with pytest.raises(KeyError):
        say("no.such.key")
    with pytest.raises(KeyError):
        say("animal.unknown")


def _sentences(table: Mapping[str, Any], ahead: str = "") -> Iterator[tuple[str, str]]:
    for name, value in table.items():
        if isinstance(value, str):
            yield f"{ahead}{name}", value
        elif isinstance(value, Mapping):
            yield from _sentences(value, f"{ahead}{name}.")


def test_every_sentence_is_a_sound_template() -> None:
    """Braces are closed and name what goes in."""
    for key, text in _sentences(wording.words()):
        names = [name for _, name, _, _ in string.Formatter().parse(text) if name is not None]
        assert all(name.isidentifier() for name in names), key


@pytest.mark.parametrize(
    ("table", "choices"),
    [
        ("record", tuple(KINDS)),
        ("sign", SIGNS),
        ("state", EGG_STATES),
        ("how", WAYS_TO_LEAVE),
        ("sex", SEXES),
        ("sexed", SEXES),
    ],
)
def test_every_choice_has_its_words(table: str, choices: tuple[str, ...]) -> None:
    """What a record may hold can be said."""
    assert [each for each in choices if not lookup(f"{table}.{each}")] == []


def test_every_needed_field_has_its_question() -> None:
    """A field that the message must give is never asked about as "that"."""
    missing = lookup("ask.missing")
    fields = {each.name for kind in KINDS.values() for each in kind.fields if each.needed}
    assert sorted(each for each in fields if each not in missing) == []


def test_help_shows_every_kind_of_record() -> None:
    """Each kind stands under one topic, with a way of saying it."""
    kinds = [kind for topic in TOPICS for kind in lookup(f"help.kinds.{topic}") or ()]
    assert sorted(kinds) == sorted(KINDS)
    assert all(examples(topic) for topic in TOPICS if topic != "safety")


def test_answers_offered_with_a_reminder_are_for_reminders_there_are() -> None:
    """No tap for a kind that is never due."""
    assert set(lookup("taps")) <= set(DUE_KINDS)
