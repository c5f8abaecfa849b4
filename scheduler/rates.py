"""Fertility, hatch rate and sex ratio by season, female, male, pair or temperature.

Eggs still in the box are neither hatched nor lost: they are counted as waiting. Fertility counts
the eggs whose fertility was told: seen fertile, pipping or hatched against seen infertile.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import accumulate

from scheduler.colony import Animal, Colony, Egg
from scheduler.facts import Facts, box_name, facts, incubator_name
from scheduler.intervals import Rate, Step, hatch_curve

BY = ("all", "season", "female", "male", "pair", "temperature")
UNKNOWN = "not known"


@dataclass(frozen=True)
class Rates:
    """The rates of one group of eggs and of the young out of them.

    `waiting` eggs are still in the box; `spoiled` were found not worth incubating and are in no
    rate (nor are they counted by temperature); `unsexed` young are in no sex ratio. `curve` is the
    cumulative incidence of hatching and of loss by day from laying.
    """

    label: str
    fertility: Rate
    hatch: Rate
    males: Rate
    waiting: int
    spoiled: int
    unsexed: int
    curve: tuple[Step, ...]


def rates(
    colony: Colony,
    by: str,
    today: date,
    species: str | None = None,
    since: date | None = None,
    until: date | None = None,
) -> tuple[Rates, ...]:
    """The rates of each group, sorted by label; `since` and `until` bound the day of laying.

    `by` is one of BY: a season is the calendar year of laying, a temperature the mean of what was
    read where the egg stood, to the whole degree C. Young in the book without their egg count by
    the day they hatched. Raises ValueError for another `by`.
    """
    if by not in BY:
        raise ValueError(f"rates by {by!r}? Say one of {', '.join(BY)}.")
    known = facts(colony)
    keyed = _Keys(known, by, today)
    eggs = [e for e in colony.eggs if _wanted(e.laid, e.species, species, since, until, today)]
    groups: dict[str, list[Egg]] = defaultdict(list)
    for egg in eggs:
        groups[keyed.of_egg(egg)].append(egg)
    young: dict[str, list[Animal]] = defaultdict(list)
    for animal, shell in _born_here(colony):
        born = shell.laid if shell else animal.hatched
        if born and _wanted(born, animal.species, species, since, until, today):
            young[keyed.of_egg(shell) if shell else keyed.of_young(animal)].append(animal)
    spoiled = _spoiled(known, keyed, species, since, until, today)
    labels = sorted(groups.keys() | young.keys() | spoiled.keys())
    return tuple(
        _rates(label, groups[label], young[label], spoiled.get(label, 0), today) for label in labels
    )


def _born_here(colony: Colony) -> Iterator[tuple[Animal, Egg | None]]:
    """The household's own young, each with its egg where the book has it."""
    of_egg = {egg.young: egg for egg in colony.eggs if egg.young}
    for animal in colony.animals.values():
        egg = of_egg.get(animal.tag)
        if egg or animal.dam or animal.sire:
            yield animal, egg


def _wanted(
    on: date, its: str | None, species: str | None, since: date | None, until: date | None,
    today: date,
) -> bool:  # fmt: skip
    if on > today or (species is not None and its != species):
        return False
    return (since is None or on >= since) and (until is None or on <= until)


def _rates(label: str, eggs: list[Egg], young: list[Animal], spoiled: int, today: date) -> Rates:
    fertile = sum(_fertile(egg) is True for egg in eggs)
    infertile = sum(_fertile(egg) is False for egg in eggs)
    ended = [egg for egg in eggs if _ended(egg, today)]
    hatched = sum(egg.end == "hatched" for egg in ended)
    sexed = [animal for animal in young if animal.sex in ("male", "female")]
    return Rates(
        label,
        fertility=Rate(fertile, fertile + infertile),
        hatch=Rate(hatched, len(ended)),
        males=Rate(sum(animal.sex == "male" for animal in sexed), len(sexed)),
        waiting=len(eggs) - len(ended),
        spoiled=spoiled,
        unsexed=len(young) - len(sexed),
        curve=hatch_curve(_told(egg, today) for egg in eggs),
    )


def _fertile(egg: Egg) -> bool | None:
    """Whether the egg was fertile, None where nobody could tell."""
    if egg.state == "fertile" or egg.pipped or egg.end == "hatched":
        return True
    return False if egg.state == "infertile" else None


def _ended(egg: Egg, today: date) -> bool:
    return egg.end is not None and (egg.ended is None or egg.ended <= today)


def _told(egg: Egg, today: date) -> tuple[int, str | None]:
    """An egg as (days, end) for the hatch curve; one with no day of its end is left at laying."""
    if not _ended(egg, today):
        return (today - egg.laid).days, None
    days = (egg.ended - egg.laid).days if egg.ended else 0
    return days, "hatched" if egg.end == "hatched" else "lost"


def _spoiled(
    known: Facts, keyed: _Keys, species: str | None, since: date | None, until: date | None,
    today: date,
) -> dict[str, int]:  # fmt: skip
    """Eggs found not worth incubating, by group; there is no temperature to count them by."""
    counts: dict[str, int] = defaultdict(int)
    if keyed.by == "temperature":
        return counts
    for clutch in known.colony.clutches:
        its = known.species_of(clutch.dam)
        if clutch.spoiled and _wanted(clutch.laid, its, species, since, until, today):
            counts[keyed.label(clutch.laid, clutch.dam, clutch.sires)] += clutch.spoiled
    return counts


class _Keys:
    """The label of the group that an egg or a young one belongs to."""

    def __init__(self, known: Facts, by: str, today: date) -> None:
        self.known, self.by, self.today = known, by, today
        self._warmth = _mean_warmth(known) if by == "temperature" else None

    def of_egg(self, egg: Egg) -> str:
        if self._warmth is None:
            return self.label(egg.laid, egg.dam, egg.sires)
        celsius = self._warmth(self.known.incubator_of(egg), egg.laid, egg.ended or self.today)
        return UNKNOWN if celsius is None else f"{celsius:.0f} C"

    def of_young(self, animal: Animal) -> str:
        if self.by == "temperature" or animal.hatched is None:
            return UNKNOWN
        sires = (animal.sire,) if animal.sire else ()
        return self.label(animal.hatched, animal.dam, sires)

    def label(self, on: date, dam: str | None, sires: Iterable[str]) -> str:
        sire = " or ".join(sires) or UNKNOWN
        return {
            "season": str(on.year),
            "female": dam or UNKNOWN,
            "male": sire,
            "pair": f"{sire} x {dam or UNKNOWN}",
        }.get(self.by, self.by)


def _mean_warmth(known: Facts) -> Callable[[str | None, date, date], float | None]:
    """Mean of the temperatures read at an incubator from one day to another, None without any."""
    boxes = {box_name(b.box): b.incubator for b in known.colony.boxes.values() if b.incubator}
    rows: dict[str, list[tuple[date, float]]] = defaultdict(list)
    for reading in known.colony.readings:
        if reading.celsius is not None:
            name = boxes.get(box_name(reading.place)) or reading.place
            day = reading.at.astimezone(known.colony.zone).date()
            rows[incubator_name(name)].append((day, reading.celsius))
    days: dict[str, list[date]] = {}
    sums: dict[str, list[float]] = {}
    for name, readings in rows.items():
        readings.sort()
        days[name] = [day for day, _ in readings]
        sums[name] = [0.0, *accumulate(celsius for _, celsius in readings)]

    def mean(incubator: str | None, first: date, last: date) -> float | None:
        if incubator is None or incubator not in days:
            return None
        low = max(bisect_right(days[incubator], first) - 1, 0)  # the one before carries on
        high = bisect_right(days[incubator], last)
        total = sums[incubator][high] - sums[incubator][low]
        return total / (high - low) if high > low else None

    return mean
