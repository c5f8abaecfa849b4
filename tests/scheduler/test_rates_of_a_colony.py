"""Fertility, hatch rate and sex ratio of a small household."""

from __future__ import annotations

from typing import Any

import pytest
from colonies import Story, day

from scheduler.rates import Rates, rates


def season() -> Story:
    """F3 by M2: one hatched, one infertile, one lost, one waiting. F7: two hatched, a son."""
    story = Story().animal("F3").animal("F7").animal("M2").box("B").box("C", "2")
    story.read(1, 27.0).read(40, 27.4).read(1, 24.0, "incubator 2")
    story.laid("F3", 0, "B1", "B2", "B3", "B4", sires=("M2",))
    story.egg("B1", state="fertile", end="hatched", ended=day(60), young="H1")
    story.egg("B2", state="infertile", end="discarded", ended=day(20))
    story.egg("B3", state="mould", end="discarded", ended=day(30))
    story.laid("F7", 10, "C1", "C2", end="hatched", ended=day(80))
    story.animal("H1", sex="male", hatched=day(60), dam="F3", sire="M2")
    story.animal("H2", sex="unknown", hatched=day(80), dam="F7")
    return story.animal("H3", sex="female", hatched=day(80), dam="F7")


def by(what: str, today: int = 90, **bounds: Any) -> dict[str, Rates]:
    return {each.label: each for each in rates(season().colony, what, day(today), **bounds)}


def test_by_female() -> None:
    """F3: half of those told were fertile, one of three ended hatched, one egg waits."""
    f3 = by("female")["F3"]
    assert (f3.fertility.hits, f3.fertility.n) == (1, 2)
    assert (f3.hatch.hits, f3.hatch.n, f3.waiting) == (1, 3, 1)
    assert (f3.males.hits, f3.males.n) == (1, 1)


def test_before_it_ended_an_egg_was_waiting() -> None:
    """As seen on day 25 only the infertile egg had ended."""
    f3 = by("female", today=25)["F3"]
    assert (f3.hatch.hits, f3.hatch.n, f3.waiting) == (0, 1, 3)


def test_unsexed_young_are_left_out_of_the_sex_ratio() -> None:
    """F7 has one daughter and one young not sexed yet."""
    f7 = by("female")["F7"]
    assert (f7.males.hits, f7.males.n, f7.unsexed) == (0, 1, 1)


def test_by_temperature_of_where_the_egg_stood() -> None:
    """The mean of the readings of its incubator, to the whole degree."""
    groups = by("temperature")
    assert groups["27 C"].hatch.n == 3
    assert groups["24 C"].hatch.hits == 2


def test_by_male_pair_and_season() -> None:
    """A sire that nobody knows is said to be unknown; the year of laying is the season."""
    assert set(by("male")) == {"M2", "not known"}
    assert set(by("pair")) == {"M2 x F3", "not known x F7"}
    assert set(by("season")) == {"2026"}


def test_bounds_on_the_day_of_laying() -> None:
    """Eggs laid before the bound are left out, and so are the young out of them."""
    assert set(by("female", since=day(5))) == {"F7"}
    assert by("female", since=day(5))["F7"].hatch.n == 2


def test_spoiled_eggs_are_counted_apart() -> None:
    """Eggs not worth incubating are in no rate."""
    from dataclasses import replace

    colony = season().colony
    clutch = replace(colony.clutches[1], eggs=3, spoiled=1)
    colony = replace(colony, clutches=(colony.clutches[0], clutch))
    f7 = next(each for each in rates(colony, "female", day(90)) if each.label == "F7")
    assert (f7.spoiled, f7.hatch.n) == (1, 2)


def test_rates_by_something_else_are_refused() -> None:
    """A grouping that does not exist is named, with those that do."""
    with pytest.raises(ValueError, match="season, female"):
        rates(season().colony, "moon", day(90))
