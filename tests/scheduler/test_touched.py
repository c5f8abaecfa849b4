"""After one record only what it can change is worked out again, and the whole is the same."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from colonies import Story, day
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.changes import carry_over, changed
from scheduler.colony import Colony, Due, Plan, Stay, Watering
from scheduler.reminders import due, due_for

TODAY, END = day(40), day(80)


def household() -> Story:
    """Pairs in and out, eggs in two boxes, young in one tub, weights and signs."""
    story = Story().box("B").box("C", "2").read(30).read(39, 27.4).read(38, 29, "incubator 2")
    for tag in ("M1", "M2", "F3", "F5", "F7"):
        story.animal(tag, hatched=day(-700), place=f"tub {tag}")
    story.animal("F9", hatched=day(-235), place="tub F9")
    story.paired("M2", "F3", 10, 12).paired("M2", "F5", 36, 38).paired("M1", "F7", 39)
    story.laid("F3", -25, "B1", end="hatched", ended=day(38)).laid("F3", -5, "B2", "B3")
    story.laid("F7", 0, "C1").laid("F7", 21, "C2", "B4").laid("F5", -30, eggs=1)
    for tag in ("H1", "H2"):
        story.animal(tag, hatched=day(-40), dam="F3", sire="M2", place="nursery 1")
    return story.weighed("F3", 5, 18.0).weighed("F7", 20, 16.0).seen("F3", 30, "gravid")


Change = Callable[[Story], object]


def shifted(story: Story) -> Story:
    """B2 goes to C5."""
    stays = (Stay(day(-5), "B2"), Stay(TODAY, "C5"))
    return story.egg("B2", slot="C5", stays=stays)


CHANGES: dict[str, Change] = {
    "weighed": lambda s: s.weighed("F3", 40, 15.0),
    "weighed young": lambda s: s.weighed("H1", 40, 0.9),
    "slim": lambda s: s.seen("F3", 40, "slim"),
    "biting": lambda s: s.seen("F7", 40, "biting"),
    "parted": lambda s: s.pulled("M1", 40),
    "paired": lambda s: s.paired("M2", "F3", 40),
    "first paired": lambda s: s.paired("M2", "F9", 40),
    "searched": lambda s: s.searched("F3", 40),
    "laid": lambda s: s.laid("F3", 40, "B7", "B8"),
    "laid nowhere": lambda s: s.laid("F5", 40),
    "checked": lambda s: s.egg("B4", state="fertile", checked=TODAY),
    "discarded": lambda s: s.egg("C1", end="discarded", ended=TODAY),
    "pipped": lambda s: s.egg("B2", pipped=TODAY),
    "hatched": lambda s: s.animal("H9", hatched=TODAY, dam="F3", place="nursery 1").egg(
        "B2", end="hatched", ended=TODAY, young="H9"
    ),
    "shifted": shifted,
    "read": lambda s: s.read(40, 30.0),
    "read long ago": lambda s: s.read(-10, 25.0),
    "read elsewhere": lambda s: s.read(40, 24.0, "incubator 3"),
    "read box": lambda s: s.read(40, 26.0, "box C"),
    "watered": lambda s: s._add("waterings", Watering("box B", TODAY)),
    "sexed": lambda s: s.change("H1", sex="female"),
    "other species": lambda s: s.change("F3", species="leopard"),
    "other dam": lambda s: s.change("H1", dam="F9"),
    "placed": lambda s: s.change("H1", place="nursery 2"),
    "sold": lambda s: s.change("H2", status="sold"),
    "died": lambda s: s.change("F7", status="died"),
    "animal": lambda s: s.animal("H5", hatched=day(-40), dam="F3", place="nursery 1"),
    "plan": lambda s: s._add("plans", Plan("1", "order roaches", day(41))),
    "box": lambda s: s.box("D"),
    "box elsewhere": lambda s: s.box("B", "2"),
}


def after(before: Colony, told: tuple[Due, ...], colony: Colony) -> tuple[Due, ...]:
    """What is due after a record, its parts worked out anew and the others taken over."""
    parts = changed(before, colony, TODAY)
    kept = [each for each in told if each.part not in parts]
    anew = due_for(colony, parts, TODAY, END)
    return tuple(sorted([*kept, *anew], key=lambda each: (each.due, each.key)))


@pytest.mark.parametrize("name", CHANGES)
def test_a_record_changes_no_more_than_it_is_said_to(name: str) -> None:
    """Parts worked out anew, the others taken over: the same as everything worked out anew."""
    story = household()
    before, told = story.colony, due(story.colony, TODAY, END)
    CHANGES[name](story)
    assert after(before, told, story.colony) == due(replace(story.colony), TODAY, END)


@pytest.mark.parametrize("name", CHANGES)
def test_taking_a_record_back_is_followed_too(name: str) -> None:
    """An undo compares the same two households the other way round."""
    story = household()
    before = story.colony
    CHANGES[name](story)
    told = due(story.colony, TODAY, END)
    assert after(story.colony, told, replace(before)) == due(before, TODAY, END)


@settings(max_examples=25, deadline=None)
@given(st.permutations(sorted(CHANGES)).map(lambda names: names[:8]))
def test_so_do_several_in_a_row(names: list[str]) -> None:
    """Taking over holds record after record, in any order, the indexes carried over too."""
    story = household()
    before, told = story.colony, due(story.colony, TODAY, END)
    for name in names:
        CHANGES[name](story)
        carry_over(before, story.colony)
        told = after(before, told, story.colony)
        assert told == due(replace(story.colony), TODAY, END)
        before = story.colony


def test_a_weighing_touches_few_parts() -> None:
    """A young one's weight concerns itself alone, not the eggs, nor its siblings."""
    story = household()
    before = story.colony
    story.weighed("H1", 40, 0.9)
    assert changed(before, story.colony, TODAY) == {"animal H1", "female H1", "male H1"}


def test_a_reading_touches_the_eggs_it_warms() -> None:
    """A reading of incubator 2 leaves the eggs alone that lay in incubator 1 all along."""
    story = household()
    before = story.colony
    story.read(40, 28.5, "incubator 2")
    parts = changed(before, story.colony, TODAY)
    in_two = {f"clutch {egg.clutch}" for egg in before.eggs if egg.slot and egg.slot[0] == "C"}
    assert {part for part in parts if part.startswith("clutch")} <= in_two
    assert "incubator 2" in parts
    assert "incubator 1" not in parts
