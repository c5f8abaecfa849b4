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
from scheduler.facts import Facts, facts


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
    """`due`, worked out for some parts only: those that `scheduler.changes.changed` names.

    What `due` gave earlier for other parts (see `Due.part`) still holds on the same day.
    """
    known = facts(colony)
    return _due(known, parts, start, end, now)


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
