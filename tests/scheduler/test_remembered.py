"""What is remembered saves work and changes no answer."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_colonies import RECORDS, TODAY, random_colony

from scheduler import curve, own, warmth
from scheduler.changes import carry_over, changed
from scheduler.colony import Colony, Due
from scheduler.incubation import incubation, latest
from scheduler.reminders import due, due_for

END = TODAY + timedelta(14)
SPECIES = ("picta", "leopard", "crested", "gargoyle", "fat-tailed", None)


def anew(colony: Colony) -> tuple[Due, ...]:
    """What is due by a colony never seen before, no curve nor course remembered either."""
    for known in (curve.fitted, warmth.trace, warmth.course, own._moved):
        known.cache_clear()
    return due(replace(colony), TODAY, END)


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10**6), st.lists(st.sampled_from(sorted(RECORDS)), min_size=1, max_size=4))
def test_records_are_followed_as_if_all_were_worked_out_anew(seed: int, names: list[str]) -> None:
    """Whatever the household and the records, parts worked out again make the whole."""
    rng, before = random.Random(seed), random_colony(seed)
    told = due(before, TODAY, END)
    for name in names:
        after = RECORDS[name](rng, before)
        carry_over(before, after)
        parts = changed(before, after, TODAY)
        kept = [each for each in told if each.part not in parts]
        found = [*kept, *due_for(after, parts, TODAY, END)]
        told = tuple(sorted(found, key=lambda each: (each.due, each.key)))
        assert told == anew(after), name
        before = after


@pytest.mark.parametrize("seed", range(4))
def test_hatches_of_late_are_those_that_count(seed: int) -> None:
    """The latest hatches are the same whether the older ones were looked at or not."""
    colony = random_colony(seed)
    known = incubation(colony, TODAY)
    for species in SPECIES:
        hatched = [
            egg
            for egg in colony.eggs
            if egg.end == "hatched" and egg.ended and egg.ended <= TODAY and egg.species == species
        ]
        assert known._latest(species) == latest(hatched)


@pytest.mark.parametrize("celsius", [21.3, 26.0, 27.25, 31.9])
@pytest.mark.parametrize("species", SPECIES)
def test_a_middle_asked_for_alone_is_that_of_the_whole_window(
    species: str | None, celsius: float
) -> None:
    """The median needs no ends, and the ends do not move it."""
    colony = random_colony(1)
    known = incubation(colony, TODAY).curve(species)
    alone = curve.RateCurve(known.points, known.coverage, known.prior)
    middle = alone.middle(celsius)
    assert middle == alone.spread(celsius).middle == known.spread(celsius).middle
    assert alone.celsius_of(math.exp(middle)) == pytest.approx(celsius, abs=1e-3)
