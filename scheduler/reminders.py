"""Facts and a date in, what is due out: every reminder with its reason, worked out part by part.

What is due is never stored here. A due item is given as long as the facts leave it unanswered, so
a record that answers it, or makes it false, makes it vanish at the next working out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from datetime import date, datetime
from operator import attrgetter

from scheduler.colony import Colony, Due
from scheduler.duties import Asked
from scheduler.duties.animals import of_animal, of_litter, of_plan
from scheduler.duties.eggs import of_clutch
from scheduler.duties.females import of_female
from scheduler.duties.males import of_male
from scheduler.duties.places import of_box, of_incubator, of_place
from scheduler.facts import facts


def due(colony: Colony, start: date, end: date, now: datetime | None = None) -> tuple[Due, ...]:
    """What falls due from `start` to `end` (both included), sorted by time.

    `now` (default: the morning of `start`) decides what is already known to be late: unless
    `start` is still to come, everything due before it that the facts have not answered is in the
    answer too, at its true time.
    """
    asked = _asked(colony, start, end, now)
    return _due(asked, _everything(asked), start)


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
    asked = _asked(colony, start, end, now)
    return _due(asked, (_of_part(asked, part) for part in parts), start)


def _asked(colony: Colony, start: date, end: date, now: datetime | None) -> Asked:
    return Asked(facts(colony), now.astimezone(colony.zone).date() if now else start, end)


def _due(asked: Asked, parts: Iterable[Iterator[Due]], start: date) -> tuple[Due, ...]:
    end, since = asked.end, date.min if start <= asked.today else start
    found = [each for part in parts for each in part if since <= each.due.date() <= end]
    found.sort(key=attrgetter("key"))
    found.sort(key=attrgetter("due"))  # those of one moment stay in the order of their keys
    return tuple(found)


def _everything(asked: Asked) -> Iterator[Iterator[Due]]:
    """Every part of the household."""
    known, kept = asked.facts, asked.facts.all_kept
    yield from (of_male(asked, tag) for tag in sorted({p.male for p in known.colony.pairings}))
    yield from (of_female(asked, a.tag) for a in kept if a.sex == "female")
    yield from (of_animal(asked, a.tag) for a in kept)
    yield from (of_litter(asked, dam, hatched) for dam, hatched in known.unsexed)
    yield from (of_clutch(asked, clutch) for clutch in known.incubating)
    yield from (of_box(asked, box) for box in known.eggs_in_box)
    yield from (of_incubator(asked, name) for name in known.eggs_in_incubator)
    yield from (of_place(asked, *at) for at, housed in known.by_place.items() if len(housed) > 1)
    yield from (of_plan(asked, plan) for plan in known.colony.plans)


def _of_part(asked: Asked, part: str) -> Iterator[Due]:
    """What is due for a part by its name, as `Due.part` has it."""
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
