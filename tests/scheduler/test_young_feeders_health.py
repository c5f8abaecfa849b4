"""Young by age and against siblings, feeders for a period, what to watch in an animal."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest
from colonies import Story, day

from scheduler.cautions import caution
from scheduler.colony import Feeding
from scheduler.feeders import feeders
from scheduler.health import Concern, concerns, household_concerns, vet_line
from scheduler.young import growth, lagging, milestones

# Young


def test_what_comes_at_which_age() -> None:
    """From the day of hatching: first meal, apart, sexed, mature, first pairing, each with why."""
    story = Story().animal("H1", hatched=day(0))
    found = {each.kind: each.on for each in milestones(story.colony, "H1", day(0))}
    assert found == {
        "first meal": day(3),
        "separate-sexes": day(75),
        "sex-young": day(120),
        "mature": day(135),
        "first-pairing": day(270),
    }


def test_what_is_past_or_answered_is_left_out() -> None:
    """At 160 days a sexed male has nothing of it still to come."""
    story = Story().animal("M1", hatched=day(0))
    assert milestones(story.colony, "M1", day(160)) == ()


def siblings(*grams: float) -> Story:
    story = Story()
    for n, each in enumerate(grams):
        story.animal(f"H{n}", hatched=day(0), dam="F3").weighed(f"H{n}", 30, each)
    return story


@pytest.mark.parametrize(("grams", "behind"), [(0.81, False), (0.79, True)])
def test_growth_against_siblings(grams: float, behind: bool) -> None:
    """At 81% of its siblings' middle weight it keeps up, at 79% it is behind."""
    compared = growth(siblings(grams, 1.0, 1.0).colony, "H0", day(30))
    assert compared is not None
    assert (compared.usual, compared.behind) == (1.0, behind)


def test_too_few_siblings_to_compare() -> None:
    """With one weighed sibling nothing is concluded, and that is said."""
    compared = growth(siblings(0.5, 1.0).colony, "H0", day(30))
    assert compared is not None and not compared.behind
    assert "too few siblings" in compared.said


def test_a_sibling_is_compared_at_the_same_age() -> None:
    """A brother weighed at 20 and 40 days counts with his weight between at 30."""
    story = siblings(1.0, 1.2)
    story.animal("H9", hatched=day(-10), dam="F3").weighed("H9", 10, 0.8).weighed("H9", 30, 1.2)
    compared = growth(story.colony, "H0", day(30))
    assert compared is not None and compared.usual == pytest.approx((1.2 + 1.0) / 2)


def test_those_behind_are_found() -> None:
    """Only the light one is named."""
    assert [each.last.tag for each in lagging(siblings(0.6, 1.0, 1.1).colony, day(30))] == ["H0"]


# Feeders


def fed(story: Story, on: int, *who: str, **facts: Any) -> Story:
    return story._add("feedings", Feeding(day(on), who, **{"food": "crickets", **facts}))


def rack() -> Story:
    story = Story().animal("F1", place="rack A tub 1").animal("F2", place="rack A tub 2")
    return story.animal("M1", place="tub 9")


def test_feeders_for_the_coming_week() -> None:
    """Ten each to two animals, twice in ten days: three a day with the male who got none is 28."""
    story = fed(fed(rack(), 0, "rack A", count=10, dusted=True), 5, "F1", "F2", count=10)
    needs, remarks = feeders(story.colony, day(10), day(16), day(9))
    [need] = needs
    assert (need.food, need.count, need.young) == ("crickets", 28, 0)  # 40 in 10 days, 7 days
    assert need.dusted == 0.5
    assert remarks == ()


def test_young_and_grown_are_counted_apart() -> None:
    """Young get what young got; a grown animal what grown ones got."""
    story = Story().animal("F1").animal("H1", hatched=day(-20))
    fed(fed(story, 0, "F1", count=14), 0, "H1", count=7)
    [need], _ = feeders(story.colony, day(7), day(13), day(6))
    assert (need.grown, need.young) == (14, 7)


def test_a_feeding_without_a_number_is_left_out_and_said() -> None:
    """It cannot be added up, and the remark counts it."""
    story = fed(fed(fed(rack(), 0, "everyone", count=5), 1, "F1"), 2, "F1", count=5)
    _, remarks = feeders(story.colony, day(7), day(13), day(6))
    assert remarks == ("1 feeding without a food or number was left out.",)


def test_nothing_fed_says_so() -> None:
    """No feeding in the book: no figure is made up."""
    needs, remarks = feeders(rack().colony, day(7), day(13), day(6))
    assert needs == () and "say how many you give" in remarks[0]


# Health


def first(story: Story, today: int = 0) -> Concern:
    return concerns(story.colony, "F3", day(today))[0]


@pytest.mark.parametrize(
    ("grams", "level"), [(19.1, None), (19.0, "watch"), (18.0, "act"), (17.0, "vet")]
)
def test_weight_lost_in_three_steps(grams: float, level: str | None) -> None:
    """5% to watch, 10% to act, 15% for a vet; below 5% nothing."""
    story = Story().animal("F3").weighed("F3", -20, 20.0).weighed("F3", 0, grams)
    assert [c.level for c in concerns(story.colony, "F3", day(0))] == ([level] if level else [])


@pytest.mark.parametrize("sign", ["straining", "weak", "injured"])
def test_signs_that_are_for_a_vet(sign: str) -> None:
    """A reptile vet today, whatever else there is."""
    concern = first(Story().animal("F3").seen("F3", 0, sign).seen("F3", 0, "thin"))
    assert concern.level == "vet" and concern.advice == "Ask a reptile vet today."


def test_a_late_clutch_alone_is_no_alarm() -> None:
    """Gravid past the window and bright: watch. With straining: a vet."""
    story = Story().animal("F3").laid("F3", -60).laid("F3", -39).seen("F3", -20, "gravid")
    assert (first(story).level, first(story).caution) == ("watch", "dystocia-calm")
    worse = concerns(story.seen("F3", 0, "straining").colony, "F3", day(0))
    assert {c.caution for c in worse if c.level == "vet"} == {"dystocia"}


def test_three_meals_refused_in_a_row() -> None:
    """Two refusals are nothing yet, the third is told; a meal eaten ends it."""
    story = Story().animal("F3")
    for on in (0, 2):
        fed(story, on, "F3", refused=True)
    assert not concerns(story.colony, "F3", day(4))
    fed(story, 4, "F3", refused=True)
    assert "3 meals refused in a row" in concerns(story.colony, "F3", day(4))[0].what
    fed(story, 5, "F3", count=3)
    assert not concerns(story.colony, "F3", day(5))


def test_the_gravest_comes_first() -> None:
    """Over the household, what is for a vet stands before what is to be watched."""
    story = Story().animal("F3").animal("F5").weighed("F3", -9, 20).weighed("F3", 0, 18.8)
    story.seen("F5", 0, "weak")
    assert [c.level for c in household_concerns(story.colony, day(0))] == ["vet", "watch"]


def test_never_a_diagnosis_or_a_dose() -> None:
    """Whatever the signs: no illness is named, no dose given, and a vet decides."""
    story = Story().animal("F3").weighed("F3", -20, 20).weighed("F3", 0, 15)
    for sign in ("straining", "weak", "injured", "thin", "tail-drop"):
        story.seen("F3", 0, sign)
    for start in (-44, -22, -1):
        story.laid("F3", start)
    found = concerns(story.colony, "F3", day(0))
    assert len(found) >= 6
    forbidden = re.compile(r"dystocia|binding|infection|parasit|\bmg\b|\bml\b|deficien", re.I)
    for concern in found:
        assert not forbidden.search(f"{concern.what} {concern.advice}")
        assert caution(concern.caution)
    assert "reptile vet" in vet_line()


def test_an_animal_that_left_has_no_concerns() -> None:
    """Nothing is watched in one that was sold."""
    story = Story().animal("F3", status="sold", hatched=date(2024, 1, 1)).seen("F3", 0, "weak")
    assert concerns(story.colony, "F3", day(0)) == ()
