"""Young animals: what comes at which age, and whether one keeps up with its siblings."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median

from scheduler.colony import Animal, Colony, Weight
from scheduler.facts import Facts, facts, litter_of
from scheduler.words import day, span

BEHIND = 0.8
"""Below this share of the siblings' middle weight at the same age it is behind (ours)."""
SIBLINGS = 2
"""With fewer weighed siblings there is too little to compare (our convention)."""
NEAR_DAYS = 10
"""A sibling's weight counts at an age if it was weighed within this many days of it (ours)."""

_AGES = (
    ("first meal", "hatchling_first_meal_days", "First meal, once it has shed"),
    ("separate-sexes", "separate_sexes_age_days", "Apart from the other sex by now"),
    ("sex-young", "sexable_age_days", "Sex can be told"),
    ("mature", "sexual_maturity_age_days", "Able to breed, and still too young for it"),
    ("first-pairing", "first_pairing_age_days", "Old enough for a first pairing"),
)


@dataclass(frozen=True)
class Milestone:
    """What comes at an age: usually `on`, between `first` and `last` as far as they are known."""

    kind: str
    on: date
    first: date | None
    last: date | None
    text: str
    why: str


@dataclass(frozen=True)
class Growth:
    """The last weight of a young animal against its siblings' at the same age, in grams.

    `usual` is the siblings' middle weight, None where fewer than two were weighed near that age.
    """

    last: Weight
    age: int
    usual: float | None
    siblings: int

    @property
    def share(self) -> float | None:
        """Its weight as a share of its siblings'."""
        return self.last.grams / self.usual if self.usual else None

    @property
    def behind(self) -> bool:
        """Whether it is clearly lighter than its siblings."""
        return self.share is not None and self.share < BEHIND

    @property
    def said(self) -> str:
        """The comparison in words."""
        own = f"{self.last.grams:g} g at {self.age} days"
        if self.usual is None or self.share is None:
            return f"{own}; too few siblings weighed at that age to compare."
        said = f"{own}; {self.siblings} siblings about {self.usual:.1f} g, so {self.share:.0%}"
        return f"{said}: behind, watch that it eats." if self.behind else f"{said}."


def milestones(colony: Colony, tag: str, today: date) -> tuple[Milestone, ...]:
    """What the coming ages of an animal bring, soonest first; none without a day of hatching.

    Raises KeyError for an unknown tag.
    """
    animal = colony.animals[tag]
    if animal.hatched is None:
        return ()
    found = _milestones(facts(colony), animal, animal.hatched, today)
    return tuple(sorted(found, key=lambda each: each.on))


def _milestones(known: Facts, animal: Animal, hatched: date, today: date) -> Iterator[Milestone]:
    for kind, parameter, text in _AGES:
        if kind == "first-pairing" and animal.sex == "male":
            continue
        if kind == "sex-young" and animal.sex != "unknown":
            continue
        figure = known.figure(animal.species, parameter)
        if figure.typical is None:
            continue
        on = hatched + timedelta(round(figure.typical))
        last = hatched + timedelta(round(figure.high)) if figure.high is not None else None
        if (last or on) < today:
            continue
        first = hatched + timedelta(round(figure.low)) if figure.low is not None else None
        why = f"Hatched {day(hatched, today)}; {span(figure, 'day')}."
        yield Milestone(kind, on, first, last, text, why)


def growth(colony: Colony, tag: str, today: date) -> Growth | None:
    """The animal's last weight against its siblings'; None if never weighed, or of unknown age.

    Siblings are of the same clutch or, where fewer than two of those were weighed near that age,
    of the same dam. Raises KeyError for an unknown tag.
    """
    known, animal = facts(colony), colony.animals[tag]
    weights = [w for w in known.weights_of.get(tag, ()) if w.on <= today]
    if not weights or animal.hatched is None:
        return None
    last = weights[-1]
    age = (last.on - animal.hatched).days
    at_age: list[float] = []
    for siblings in (_clutch_mates(known, animal), _of_dam(known, animal)):
        at_age = [g for s in siblings if (g := _weight_at(known, s, age)) is not None]
        if len(at_age) >= SIBLINGS:
            break
    usual = median(at_age) if len(at_age) >= SIBLINGS else None
    return Growth(last, age, usual, len(at_age))


def lagging(colony: Colony, today: date) -> tuple[Growth, ...]:
    """The young that are clearly behind their siblings, the furthest behind first."""
    known = facts(colony)
    found = [
        compared
        for animal in known.all_kept
        if animal.tag in known.weights_of
        and _is_young(known, animal, today)
        and (compared := growth(colony, animal.tag, today))
        and compared.behind
    ]
    return tuple(sorted(found, key=lambda each: each.share or 0.0))


def _is_young(known: Facts, animal: Animal, today: date) -> bool:
    mature = known.figure(animal.species, "sexual_maturity_age_days").typical
    if animal.hatched is None or mature is None:
        return False
    return (today - animal.hatched).days < mature


def _clutch_mates(known: Facts, animal: Animal) -> Sequence[Animal]:
    return [a for a in known.litters.get(litter_of(animal), ()) if a.tag != animal.tag]


def _of_dam(known: Facts, animal: Animal) -> Sequence[Animal]:
    if animal.dam is None:
        return ()
    return [
        a
        for a in known.colony.animals.values()
        if a.dam == animal.dam and a.hatched and a.tag != animal.tag
    ]


def _weight_at(known: Facts, animal: Animal, age: int) -> float | None:
    """Its weight at an age in days, between two weighings or near one; None if not weighed then."""
    if animal.hatched is None:
        return None
    rows = [((w.on - animal.hatched).days, w.grams) for w in known.weights_of.get(animal.tag, ())]
    place = bisect_left(rows, (age, 0.0))
    if 0 < place < len(rows):
        (before, light), (after, heavy) = rows[place - 1], rows[place]
        if after - before <= 2 * NEAR_DAYS:
            return light + (heavy - light) * (age - before) / (after - before)
    near = [row for row in rows[max(place - 1, 0) : place + 1] if abs(row[0] - age) <= NEAR_DAYS]
    return min(near, key=lambda row: abs(row[0] - age))[1] if near else None
