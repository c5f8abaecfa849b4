"""After one record only what it can change is worked out again, and the whole is the same."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from colonies import Story, day
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.colony import Colony, Due, Plan, Stay, Watering
from scheduler.reminders import due, due_for, touched

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


Change = tuple[Callable[[Story], object], str, dict[str, list[str]]]


def shifted(story: Story) -> Story:
    """B2 goes to C5."""
    stays = (Stay(day(-5), "B2"), Stay(TODAY, "C5"))
    return story.egg("B2", slot="C5", stays=stays)


CHANGES: dict[str, Change] = {
    "weighed": (lambda s: s.weighed("F3", 40, 15.0), "weighed", {"tags": ["F3"]}),
    "weighed-young": (lambda s: s.weighed("H1", 40, 0.9), "weighed", {"tags": ["H1"]}),
    "slim": (lambda s: s.seen("F3", 40, "slim"), "seen", {"tags": ["F3"]}),
    "biting": (lambda s: s.seen("F7", 40, "biting"), "seen", {"tags": ["F7"]}),
    "parted": (lambda s: s.pulled("M1", 40), "parted", {"tags": ["M1", "F7"]}),
    "paired": (lambda s: s.paired("M2", "F3", 40), "paired", {"tags": ["M2", "F3"]}),
    "first-paired": (lambda s: s.paired("M2", "F9", 40), "paired", {"tags": ["M2", "F9"]}),
    "searched": (lambda s: s.searched("F3", 40), "searched", {"tags": ["F3"]}),
    "laid": (
        lambda s: s.laid("F3", 40, "B7", "B8"), "laid", {"tags": ["F3"], "slots": ["B7", "B8"]},
    ),
    "laid-nowhere": (lambda s: s.laid("F5", 40), "laid", {"tags": ["F5"]}),
    "checked": (
        lambda s: s.egg("B4", state="fertile", checked=TODAY), "checked", {"slots": ["B4"]},
    ),
    "discarded": (
        lambda s: s.egg("C1", end="discarded", ended=TODAY), "discarded", {"slots": ["C1"]},
    ),
    "pipped": (lambda s: s.egg("B2", pipped=TODAY), "pipped", {"slots": ["B2"]}),
    "hatched": (
        lambda s: s.animal("H9", hatched=TODAY, dam="F3", place="nursery 1").egg(
            "B2", end="hatched", ended=TODAY, young="H9"
        ),
        "hatched", {"slots": ["B2"], "tags": ["H9", "F3"]},
    ),
    "shifted": (shifted, "shifted", {"slots": ["B2", "C5"]}),
    "reading": (lambda s: s.read(40, 30.0), "reading", {"places": ["incubator 1"]}),
    "reading-box": (lambda s: s.read(40, 26.0, "box C"), "reading", {"places": ["box C"]}),
    "watered": (
        lambda s: s._add("waterings", Watering("box B", TODAY)), "watered", {"places": ["box B"]},
    ),
    "sexed": (lambda s: s.change("H1", sex="female"), "sexed", {"tags": ["H1"]}),
    "placed": (
        lambda s: s.change("H1", place="nursery 2"), "placed",
        {"tags": ["H1"], "places": ["nursery 1", "nursery 2"]},
    ),
    "sold": (lambda s: s.change("H2", status="sold"), "left", {"tags": ["H2"]}),
    "died": (lambda s: s.change("F7", status="died"), "left", {"tags": ["F7"]}),
    "animal": (
        lambda s: s.animal("H5", hatched=day(-40), dam="F3", place="nursery 1"), "animal",
        {"tags": ["H5"]},
    ),
    "plan": (lambda s: s._add("plans", Plan("1", "order roaches", day(41))), "plan", {}),
    "box": (lambda s: s.box("D"), "box", {"places": ["box D"]}),
}  # fmt: skip


def after(colony: Colony, before: tuple[Due, ...], change: Change) -> tuple[Due, ...]:
    """What is due after a record, its parts worked out anew and the others taken over."""
    _, kind, names = change
    parts = touched(colony, kind, **names)
    kept = [each for each in before if each.part not in parts]
    anew = due_for(colony, parts, TODAY, END)
    return tuple(sorted([*kept, *anew], key=lambda each: (each.due, each.key)))


@pytest.mark.parametrize("name", CHANGES)
def test_a_record_changes_no_more_than_it_is_said_to(name: str) -> None:
    """Parts worked out anew, the others taken over: the same as everything worked out anew."""
    story = household()
    before = due(story.colony, TODAY, END)
    CHANGES[name][0](story)
    assert after(story.colony, before, CHANGES[name]) == due(story.colony, TODAY, END)


@settings(max_examples=25, deadline=None)
@given(st.permutations(sorted(CHANGES)).map(lambda names: names[:6]))
def test_so_do_several_in_a_row(names: list[str]) -> None:
    """Taking over holds record after record, in any order."""
    story = household()
    told = due(story.colony, TODAY, END)
    for name in names:
        story.colony = replace(story.colony)
        CHANGES[name][0](story)
        told = after(story.colony, told, CHANGES[name])
    assert told == due(story.colony, TODAY, END)


def test_a_weighing_touches_few_parts() -> None:
    """A young one's weight concerns itself, its parents, its siblings and its tub, not the eggs."""
    parts = touched(household().colony, "weighed", ["H1"])
    assert "animal H1" in parts
    assert not {p for p in parts if p.split()[0] in ("clutch", "box", "incubator")}
