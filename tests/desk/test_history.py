"""Asked when a thing happened last, the desk says that first, then the rest of the history."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from bot.book import households
from bot.records import KINDS
from bot.wording import lookup
from tests.desk.conftest import TODAY, Desk, rec


@pytest.fixture
def told(desk: Desk) -> Desk:
    """A month of F3: laid twice, fed, shed, weighed; box B watered; incubator 1 read."""
    desk.log(rec("laid", dam="F3", eggs=2, slots=("B1", "B2"), on=date(2026, 1, 20)))
    desk.log(rec("laid", dam="F3", eggs=1, slots=("B3",), on=date(2026, 2, 14)))
    desk.log(rec("fed", who=("F3",), food="dubia", count=4, on=date(2026, 3, 2)))
    desk.log(rec("shed", tag="F3", on=date(2026, 3, 9)))
    desk.log(rec("weighed", tag="F3", grams=21.4))
    desk.log(rec("checked", slots=("B3",), state="fertile", on=date(2026, 3, 1)))
    desk.log(rec("watered", place="box B", on=date(2026, 3, 4)))
    desk.log(rec("paired", male="M2", female="F3", on=date(2026, 3, 7)))
    desk.log(rec("searched", tag="F3", found=0, on=date(2026, 3, 8)))
    return desk


def first(desk: Desk, typed: str, **about: str) -> str:
    """The first line of the answer to what was typed."""
    desk.typed = typed
    return desk.ask("history", **(about or {"tag": "F3"})).splitlines()[0]


@pytest.mark.parametrize(
    ("typed", "about", "said"),
    [
        ("when did F3 last lay?", {}, "Last laid: 14 Feb, 1 in B3 (24 days ago)."),
        ("When was F3 last fed", {}, "Last fed 4 dubia: 2 Mar (8 days ago)."),
        ("last shed of F3", {}, "Last shed: 9 Mar (1 day ago)."),
        ("when was F3 last weighed", {}, "Last weighed: 10 Mar, 21.4 g (today)."),
        ("when was F3 last paired", {}, "Last paired: 7 Mar, M2 in with F3 (3 days ago)."),
        ("when was her sand last searched", {}, "Last searched: 8 Mar, no eggs (2 days ago)."),
        ("when was B3 candled", {"slot": "B3"}, "Last candled: 1 Mar, fertile (9 days ago)."),
        ("has anyone given box B water", {"place": "box B"}, "Last water: 4 Mar (6 days ago)."),
        (
            "when was incubator 1 last read",
            {"place": "incubator 1"},
            "Last reading: 10 Mar, 27.2 °C, 75% (today).",
        ),
    ],
)
def test_the_last_of_a_kind_comes_first(
    told: Desk, typed: str, about: dict[str, str], said: str
) -> None:
    """With its day, what it was, and how long ago."""
    assert first(told, typed, **about) == said


def test_the_history_follows(told: Desk) -> None:
    """The same lines as without the question."""
    told.typed = "history of F3"
    plain = told.ask("history", tag="F3")
    told.typed = "when did F3 last lay"
    assert told.ask("history", tag="F3").split("\n", 1)[1] == plain


def test_history_alone_has_no_such_line(told: Desk) -> None:
    """Also where it names a kind but does not ask when."""
    assert first(told, "history of F3").startswith("10 Mar: ")
    assert first(told, "F3 laying history").startswith("10 Mar: ")


def test_what_never_happened_is_said(told: Desk) -> None:
    """Then what did."""
    assert first(told, "when did F7 last lay", tag="F7") == (
        "That is not written about F7 yet. What is, newest first:"
    )


def test_a_meal_for_all_counts_for_each(told: Desk) -> None:
    """Everyone was fed after F3 was; before she came, it is no meal of hers."""
    told.log(rec("fed", who=("everyone",), food="crickets", on=TODAY - timedelta(1)))
    assert first(told, "when did F3 last eat") == "Last fed crickets: 9 Mar (1 day ago)."
    told.log(rec("animal", tag="F9", sex="female", species="picta"))
    assert first(told, "when did F9 last eat", tag="F9").startswith("That is not written")


def test_a_meal_refused_is_not_the_last_meal(told: Desk) -> None:
    """She was last fed on the second."""
    told.log(rec("fed", who=("F3",), food="dubia", refused=True))
    assert first(told, "when did F3 last eat").endswith("2 Mar (8 days ago).")


def test_each_kind_that_can_be_asked_has_its_sentence() -> None:
    """And is a kind of record; no word asks for two kinds."""
    asked = lookup("history.asked")
    assert set(asked) == set(lookup("history.last")) <= set(KINDS)
    words = [word for each in asked.values() for word in each.split()]
    assert len(words) == len(set(words))


def test_who_wrote_it_is_said_once_there_are_two(told: Desk) -> None:
    """A book of one has no names in its lines; with a second member every line has one."""
    assert not any(", by " in line for line in told.ask("history", tag="F3").splitlines())
    with told.book.writing() as conn:
        households.join(
            conn, household=told.member.household, name="Mina", role="helper", now=told.now
        )
    told.typed = "history of F3"
    lines = told.ask("history", tag="F3").splitlines()
    assert lines[0] == "10 Mar: F3 21.4 g, by Ann."
    assert all(line.endswith(", by Ann.") for line in lines)
