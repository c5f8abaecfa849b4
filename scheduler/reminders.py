"""Facts and a date in, what is due out: every reminder with its reason, worked out part by part.

What is due is never stored here. A due item is given as long as the facts leave it unanswered, so
a record that answers it, or makes it false, makes it vanish at the next working out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from datetime import date, datetime

from scheduler.colony import Colony, Due
from scheduler.duties import Asked
from scheduler.duties.animals import of_animal, of_litter, of_plan
from scheduler.duties.eggs import of_clutch
from scheduler.duties.females import of_female
from scheduler.duties.males import of_male
from scheduler.duties.places import of_box, of_incubator, of_place
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


def due(colony: Colony, start: date, end: date, now: datetime | None = None) -> tuple[Due, ...]:
    """What falls due from `start` to `end` (both included), sorted by time.

    `now` (default: the morning of `start`) decides what is already known to be late: unless
    `start` is still to come, everything due before it that the facts have not answered is in the
    answer too, at its true time.
    """
    known = facts(colony)
    return _due(known, _everything(known), start, end, now)


def outstanding(colony: Colony, now: datetime) -> tuple[Due, ...]:
    """Everything due up to this moment that the facts have not answered, sorted by time."""
    today = now.astimezone(colony.zone).date()
    return tuple(each for each in due(colony, today, today, now) if each.due <= now)


def due_for(
    colony: Colony, parts: Collection[str], start: date, end: date, now: datetime | None = None
) -> tuple[Due, ...]:
    """`due`, worked out for some parts only: those that `touched` names after a record.

    What `due` gave earlier for other parts (see `Due.part`) still holds for the same `now`.
    """
    known = facts(colony)
    return _due(known, parts, start, end, now)


def touched(
    colony: Colony,
    kind: str,
    tags: Iterable[str] = (),
    slots: Iterable[str] = (),
    places: Iterable[str] = (),
) -> frozenset[str]:
    """The parts that a record of that kind can change: `colony` is as it is with the record.

    `tags`, `slots` and `places` are all those that the record names, old and new (of `hatched`
    the tags of the young too, of `placed` and `shifted` where from and where to). A hatch moves
    what is expected of every egg of its species, a clutch what is expected of every female of
    hers; a reading or a move of eggs touches all eggs of that incubator.
    """
    known = facts(colony)
    found: set[str] = {"plans"} if kind == "plan" else set()
    for tag in tags:
        found.update(_parts_of_animal(known, tag))
    for slot in slots:
        found.update(_parts_of_slot(known, slot))
    for place in places:
        found.update(_parts_of_place(known, place))
    species = {known.species_of(tag) for tag in tags} | _species_of_slots(known, slots)
    if kind in ("laid", "animal", "left"):
        found.update(_females_of(known, species))
    if kind == "hatched":
        found.update(f"clutch {c}" for c, e in known.incubating.items() if e[0].species in species)
    if kind in ("box", "reading", "shifted"):
        found.update(f"clutch {c}" for c in known.incubating)
        found.update(f"incubator {i}" for i in known.eggs_in_incubator)
    return frozenset(found)


def _due(
    known: Facts, parts: Iterable[str], start: date, end: date, now: datetime | None
) -> tuple[Due, ...]:
    zone = known.colony.zone
    today = now.astimezone(zone).date() if now else start
    asked = Asked(known, today, end)
    found = [
        each
        for part in parts
        for each in _of_part(asked, part)
        if each.due.date() <= end and (start <= today or each.due.date() >= start)
    ]
    return tuple(sorted(found, key=lambda each: (each.due, each.key)))


def _everything(known: Facts) -> Iterator[str]:
    """Every part of the household."""
    colony = known.colony
    yield from (f"male {tag}" for tag in sorted({p.male for p in colony.pairings}))
    yield from (f"female {a.tag}" for a in known.all_kept if a.sex == "female")
    yield from (f"animal {a.tag}" for a in known.all_kept)
    yield from (f"litter {dam} {hatched.isoformat()}" for dam, hatched in known.litters)
    yield from (f"clutch {clutch}" for clutch in known.incubating)
    yield from (f"box {box}" for box in known.eggs_in_box)
    yield from (f"incubator {name}" for name in known.eggs_in_incubator)
    yield from (f"place {place}" for place in known.species_at)
    yield "plans"


def _of_part(asked: Asked, part: str) -> Iterator[Due]:
    kind, _, name = part.partition(" ")
    if kind == "litter":
        dam, _, hatched = name.rpartition(" ")
        yield from of_litter(asked, dam, date.fromisoformat(hatched))
    elif kind == "place":
        for species in asked.facts.species_at.get(name, ()):
            yield from of_place(asked, name, species)
    elif kind == "plans":
        for plan in asked.facts.colony.plans:
            yield from of_plan(asked, plan)
    else:
        yield from _DUTIES[kind](asked, name)


_DUTIES = {
    "male": of_male,
    "female": of_female,
    "animal": of_animal,
    "clutch": of_clutch,
    "box": of_box,
    "incubator": of_incubator,
}


def _parts_of_animal(known: Facts, tag: str) -> Iterator[str]:
    """An animal's own parts, those of its mates, litter and place."""
    yield f"animal {tag}"
    yield f"female {tag}"
    yield f"male {tag}"
    for pairing in known.pairings_of.get(tag, ()):
        yield f"male {pairing.male}"
        yield f"female {pairing.female}"
    animal = known.colony.animals.get(tag)
    if animal is None:
        return
    if animal.hatched:
        yield "litter {} {}".format(*litter_of(animal))
    if animal.place:
        yield f"place {place_name(animal.place)}"
    yield from (f"female {parent}" for parent in (animal.sire, animal.dam) if parent)
    yield from (f"clutch {c}" for c, eggs in known.incubating.items() if eggs[0].dam == tag)


def _parts_of_slot(known: Facts, slot: str) -> Iterator[str]:
    box = box_name(box_of(slot))
    yield f"box {box}"
    incubator = known.incubator_of_box(box)
    if incubator:
        yield f"incubator {incubator}"
    for egg in known.colony.eggs:
        if egg.slot == slot:
            yield f"clutch {clutch_of(egg)}"


def _parts_of_place(known: Facts, place: str) -> Iterator[str]:
    yield f"place {place_name(place)}"
    yield f"box {box_name(place)}"
    yield f"incubator {incubator_name(place)}"


def _species_of_slots(known: Facts, slots: Iterable[str]) -> set[str | None]:
    wanted = set(slots)
    return {egg.species for egg in known.colony.eggs if egg.slot in wanted} if wanted else set()


def _females_of(known: Facts, species: set[str | None]) -> Iterator[str]:
    for animal in known.all_kept:
        if animal.sex == "female" and animal.species in species:
            yield f"female {animal.tag}"
