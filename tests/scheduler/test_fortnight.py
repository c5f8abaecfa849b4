"""The coming two weeks' pairing sessions where one male is wanted by several females."""

from __future__ import annotations

from itertools import pairwise

from colonies import Story, day
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.fortnight import DAYS, Fortnight, fortnight


def females(*tags: str) -> Story:
    """Grown females that were with M2 long ago."""
    story = Story().animal("M2")
    for tag in tags:
        story.animal(tag, hatched=day(-900)).paired("M2", tag, -200, -198)
    return story


def clashes(plan: Fortnight) -> list[object]:
    """Pairs of sessions in which one male would be in two tubs on one day."""
    return [
        (a, b)
        for i, a in enumerate(plan.sessions)
        for b in plan.sessions[i + 1 :]
        if a.male == b.male and a.put_in <= b.take_out and b.put_in <= a.take_out
    ]


def test_one_female_gets_her_three_sessions() -> None:
    """Two days in, two out, three times, from today."""
    plan = fortnight(females("F3").colony, day(0))
    assert [(s.put_in, s.take_out) for s in plan.sessions] == [
        (day(0), day(2)),
        (day(4), day(6)),
        (day(8), day(10)),
    ]


def test_two_females_take_turns() -> None:
    """M2 is never in two tubs on one day, and both get sessions."""
    plan = fortnight(females("F3", "F5").colony, day(0))
    assert {s.female for s in plan.sessions} == {"F3", "F5"}
    assert not clashes(plan)
    assert any("M2 goes to F3 first" in s.why for s in plan.sessions if s.female == "F5")


def test_a_receptive_female_goes_first() -> None:
    """F5, seen receptive yesterday, comes before F3, who would win by her tag."""
    plan = fortnight(females("F3", "F5").seen("F5", -1, "receptive").colony, day(0))
    assert plan.sessions[0].female == "F5"
    assert plan.sessions[0].why == "Seen receptive on 28 Feb."


def test_a_course_under_way_goes_before_a_new_one() -> None:
    """F5 has had one session of three: she comes first."""
    story = females("F3", "F5").paired("M2", "F5", -4, -2)
    assert fortnight(story.colony, day(0)).sessions[0].female == "F5"


def test_nothing_begins_before_he_is_out() -> None:
    """Until day 2 in with F3, he goes nowhere before day 3, and back to her from day 4."""
    story = females("F3", "F5").paired("M2", "F3", 0)
    plan = fortnight(story.colony, day(0))
    first = {f: min(s.put_in for s in plan.sessions if s.female == f) for f in ("F3", "F5")}
    assert first["F3"] >= day(4) and first["F5"] >= day(3)
    assert not clashes(plan)


def test_alone_he_is_wanted_the_day_after_he_comes_out() -> None:
    """F3 has had her three; F5 gets him on the day after he leaves F3's tub."""
    story = females("F3", "F5").paired("M2", "F3", -8, -6).paired("M2", "F3", -4, -2)
    plan = fortnight(story.paired("M2", "F3", 0).colony, day(0))
    assert {s.female for s in plan.sessions} == {"F5"}
    assert plan.sessions[0].put_in == day(3)
    assert plan.sessions[0].why == "She may be paired from 4 Mar."


def test_a_female_who_should_rest_is_left_out() -> None:
    """Thin since last week: no session before the sign is two weeks old."""
    story = females("F3", "F5").seen("F3", -7, "thin")
    first = min(s.put_in for s in fortnight(story.colony, day(0)).sessions if s.female == "F3")
    assert first >= day(7)


def test_more_females_than_days_are_named() -> None:
    """With six females in fourteen days somebody has to wait, and is named."""
    plan = fortnight(females("F1", "F2", "F3", "F4", "F5", "F6").colony, day(0))
    missed = {f"F{n}" for n in range(1, 7)} - {s.female for s in plan.sessions}
    assert missed
    assert all(tag in plan.notes[0] for tag in missed)


def test_a_wish_that_cannot_be_is_explained() -> None:
    """A pair that the keeper asks for, and that may not be, is answered with the reason."""
    story = Story().animal("M2").animal("F9", hatched=day(-100), species="leopard")
    plan = fortnight(story.colony, day(0), pairs=[("M2", "F9")])
    assert not plan.sessions
    assert "two species" in plan.notes[0] or "months old" in plan.notes[0]


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(-20, -1), st.sampled_from(["receptive", "mating", None])),
        min_size=1,
        max_size=5,
    )
)
def test_every_plan_keeps_the_rules(rows: list[tuple[int, str | None]]) -> None:
    """Whatever came before: one tub a day for him, her pause kept, at most three sessions each."""
    story = females(*(f"F{n}" for n in range(len(rows))))
    for n, (start, sign) in enumerate(rows):
        story.paired("M2", f"F{n}", start, min(start + 2, 0))
        if sign:
            story.seen(f"F{n}", start, sign)
    plan = fortnight(story.colony, day(0))
    assert not clashes(plan)
    for n in range(len(rows)):
        hers = [s for s in plan.sessions if s.female == f"F{n}"]
        assert len(hers) <= 3
        assert all((b.put_in - a.take_out).days >= 2 for a, b in pairwise(hers))
        assert all(day(0) <= s.put_in < day(DAYS) for s in hers)
