"""What a new record can change: two colonies, one after the other, and the parts that differ.

The facts before and after are compared, not the record: an undo, a correction or an import is
followed as surely as one line more. What no difference can reach keeps what was worked out for it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields
from datetime import date
from typing import Any, TypeVar

from scheduler.colony import Animal, Colony, Egg
from scheduler.facts import (
    Facts,
    box_name,
    box_of,
    clutch_of,
    facts,
    incubator_name,
    litter_of,
    place_name,
)
from scheduler.incubation import Incubation, incubation
from scheduler.incubation import take_over as take_over_incubation
from scheduler.laying import counts_from_interval
from scheduler.laying import take_over as take_over_layings

T = TypeVar("T")


@dataclass(frozen=True)
class Difference:
    """Rows that are only in the earlier colony (`gone`) or only in the later (`come`), by field."""

    gone: Mapping[str, tuple[Any, ...]] = field(default_factory=dict)
    come: Mapping[str, tuple[Any, ...]] = field(default_factory=dict)

    def both(self, name: str) -> tuple[Any, ...]:
        """The rows of a field that either colony has alone."""
        return (*self.gone.get(name, ()), *self.come.get(name, ()))


def difference(before: Colony, after: Colony) -> Difference:
    """The rows that differ. Costs little where rows are the very same objects."""
    gone: dict[str, tuple[Any, ...]] = {}
    come: dict[str, tuple[Any, ...]] = {}
    for each in fields(Colony):
        old, new = getattr(before, each.name), getattr(after, each.name)
        if each.name != "zone" and old is not new and old != new:
            apart = _in_dict if isinstance(old, Mapping) else _in_rows
            gone[each.name], come[each.name] = apart(old, new)
    return Difference(gone, come)


def _in_dict(old: Mapping[str, T], new: Mapping[str, T]) -> tuple[tuple[T, ...], tuple[T, ...]]:
    return (
        tuple(row for key, row in old.items() if new.get(key) != row),
        tuple(row for key, row in new.items() if old.get(key) != row),
    )


def _in_rows(old: tuple[T, ...], new: tuple[T, ...]) -> tuple[tuple[T, ...], tuple[T, ...]]:
    """What is left of both once their common beginning and end are taken off."""
    if new[: len(old)] == old:  # as nearly always: told last, and of the latest day
        return (), new[len(old) :]
    most = min(len(old), len(new))
    start = next((i for i in range(most) if old[i] is not new[i] and old[i] != new[i]), most)
    most -= start
    end = next((i for i in range(1, most + 1) if old[-i] is not new[-i] and old[-i] != new[-i]),
               most + 1) - 1  # fmt: skip
    left, right = old[start : len(old) - end], new[start : len(new) - end]
    gone, come = Counter(left), Counter(right)
    return tuple((gone - come).elements()), tuple((come - gone).elements())


def changed(before: Colony, after: Colony, today: date) -> frozenset[str]:
    """The parts for which `due` of the later colony may differ from that of the earlier.

    Both in one zone, and both for `today`.
    """
    differing = difference(before, after)
    found: set[str] = set()
    for known in (facts(before), facts(after)):
        found.update(_of_animals(known, differing, today))
        found.update(_of_eggs(known, differing))
        found.update(_of_places(known, differing))
    found.update(_of_windows(before, after, differing, today))
    if differing.both("plans"):
        found.add("plans")
    return frozenset(found)


def _of_animals(known: Facts, differing: Difference, today: date) -> Iterator[str]:
    """The parts of every animal that a differing row names, of its mates, litter and tub."""
    animals: tuple[Animal, ...] = differing.both("animals")
    tags = {row.tag for name in ("weights", "signs", "searches") for row in differing.both(name)}
    tags.update(animal.tag for animal in animals)
    tags.update(clutch.dam for clutch in differing.both("clutches"))
    tags.update(tag for row in differing.both("pairings") for tag in (row.male, row.female))
    for tag in tags:
        yield from _parts_of(known, tag)
    for animal in animals:
        yield from (f"female {parent}" for parent in (animal.sire, animal.dam) if parent)
        if animal.hatched:
            yield "litter {} {}".format(*litter_of(animal))
        if animal.place:
            yield f"place {place_name(animal.place)}"
    if any(differing.both(name) for name in ("clutches", "animals")):
        yield from _females_of(known, _species_that_lay(known, differing), today)


def _parts_of(known: Facts, tag: str) -> Iterator[str]:
    yield from (f"animal {tag}", f"female {tag}", f"male {tag}")
    for pairing in known.pairings_of.get(tag, ()):
        yield f"male {pairing.male}"
        yield f"female {pairing.female}"


def _species_that_lay(known: Facts, differing: Difference) -> set[str | None]:
    """The species whose females' intervals differ: their clutches, or which females are theirs."""
    species = {known.species_of(clutch.dam) for clutch in differing.both("clutches")}
    return species | {a.species for a in differing.both("animals") if a.tag in known.clutches_of}


def _females_of(known: Facts, species: set[str | None], today: date) -> Iterator[str]:
    """Those of the species whose next clutch rests on the household's intervals."""
    for animal in known.all_kept:
        if animal.species in species and counts_from_interval(known, animal.tag, today):
            yield f"female {animal.tag}"


def _of_eggs(known: Facts, differing: Difference) -> Iterator[str]:
    """The clutches, boxes and incubators of eggs that differ."""
    egg: Egg
    for egg in differing.both("eggs"):
        yield f"clutch {clutch_of(egg)}"
        if egg.slot:
            yield f"box {box_name(box_of(egg.slot))}"
        if incubator := known.incubator_of(egg):
            yield f"incubator {incubator}"


def _of_places(known: Facts, differing: Difference) -> Iterator[str]:
    """The boxes and incubators that were watered, read, or put somewhere else."""
    for row in differing.both("waterings"):
        yield f"box {box_name(row.place)}"
    for row in differing.both("readings"):
        yield f"incubator {incubator_name(row.place)}"
        if incubator := known.incubator_of_box(box_name(row.place)):
            yield f"incubator {incubator}"
    if differing.both("boxes"):
        yield from (f"box {box}" for box in known.eggs_in_box)
        yield from (f"incubator {name}" for name in known.eggs_in_incubator)


def _of_windows(before: Colony, after: Colony, differing: Difference, today: date) -> Iterator[str]:
    """The clutches whose hatch windows differ: by the warmth they had, or the species' curve."""
    hatched = any(egg.end == "hatched" for egg in differing.both("eggs"))
    read, boxes = differing.both("readings"), differing.both("boxes")
    if not (hatched or read or boxes):
        return
    old, new = incubation(before, today), incubation(after, today)
    places = {place_name(row.place) for row in read}
    for clutch, eggs in facts(after).incubating.items():
        other_curve = old.curve(eggs[0].species) is not new.curve(eggs[0].species)
        if (
            boxes
            or other_curve
            or (read and any(_read_anew(old, new, egg, places) for egg in eggs))
        ):
            yield f"clutch {clutch}"


def _read_anew(old: Incubation, new: Incubation, egg: Egg, places: set[str]) -> bool:
    """Whether one of these places counts, or has come to count, for the egg's warmth."""
    counting = new.places(egg)
    return not places.isdisjoint(counting) or old.places(egg) != counting


def carry_over(before: Colony, after: Colony) -> None:
    """Let the later colony take over every index of the earlier that its rows leave as it was.

    Saves work and changes no answer.
    """
    differing = difference(before, after)
    names = {name for name in differing.gone if differing.both(name)}
    old, new = facts(before), facts(after)
    new.take_over(old, {name: differing.both(name) for name in names})
    if before.zone != after.zone:
        return
    hatched = {egg.species for egg in differing.both("eggs") if egg.end == "hatched"}
    take_over_incubation(before, after, warmth=not names & {"readings", "boxes"}, other=hatched)
    laying = {a.tag for a in differing.both("animals")} & new.clutches_of.keys()
    same = all(old.species_of(tag) == new.species_of(tag) for tag in laying)
    take_over_layings(before, after, same=same and "clutches" not in names)
