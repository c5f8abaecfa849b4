"""How many feeders a period takes, from what was fed lately and the heads there will be.

The household's own feedings are the plan: what each young and each grown animal was given a day
over the last four weeks, times the heads of each age. Nothing is said of a food never fed.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.colony import Animal, Colony, Feeding
from scheduler.facts import Facts, facts, place_name
from scheduler.words import counted, day

LOOK_BACK_DAYS = 28
"""How far back feedings are looked at (our convention)."""
EVERYONE = "everyone"
AGES = ("young", "grown")


@dataclass(frozen=True)
class Need:
    """Feeders of one kind for a period: for young (the small ones), for grown, and in all.

    `dusted` is the share of the feedings looked at that were dusted.
    """

    food: str
    young: int
    grown: int
    dusted: float
    why: str

    @property
    def count(self) -> int:
        """In all."""
        return self.young + self.grown


def feeders(
    colony: Colony, start: date, end: date, today: date
) -> tuple[tuple[Need, ...], tuple[str, ...]]:
    """Feeders of each kind from `start` to `end` (both included), most first, and remarks.

    Feedings without a number are left out, and the remarks say how many.
    """
    known = facts(colony)
    first = today - timedelta(LOOK_BACK_DAYS - 1)
    lately = [f for f in colony.feedings if first <= f.on <= today]
    told = [f for f in lately if f.count and f.food]
    remarks = list(_remarks(lately, told, today))
    if not told:
        return (), tuple(remarks)
    since = min(f.on for f in told)
    rates = _given(known, told, since, today)
    heads = _head_days(known, start, end)
    needs = []
    for food in sorted({f.food for f in told if f.food}):
        young, grown = (math.ceil(rates[food, age] * heads[age] - 1e-9) for age in AGES)
        rows = [f for f in told if f.food == food]
        dusted = sum(f.dusted for f in rows) / len(rows)
        why = (
            f"From {counted(len(rows), 'feeding')} since {day(since, today)}: "
            f"{rates[food, 'grown']:.1f} a day for each grown animal, "
            f"{rates[food, 'young']:.1f} for each young one."
        )
        needs.append(Need(food, young, grown, dusted, why))
    return tuple(sorted(needs, key=lambda n: (-n.count, n.food))), tuple(remarks)


def _remarks(lately: list[Feeding], told: list[Feeding], today: date) -> Iterator[str]:
    missing = len([f for f in lately if not f.refused]) - len([f for f in told if not f.refused])
    if not told:
        yield (
            f"No feeding with a food and a number in the last {LOOK_BACK_DAYS} days: "
            f"say how many you give, and I can add up."
        )
    elif len({feeding.on for feeding in told}) == 1:
        yield "That is one day's feeding: it gets surer with each one you tell."
    if told and missing:
        were = "was" if missing == 1 else "were"
        yield f"{counted(missing, 'feeding')} without a food or number {were} left out."


def _age(known: Facts, animal: Animal, on: date) -> str:
    mature = known.figure(animal.species, "sexual_maturity_age_days").typical
    if animal.hatched is None or mature is None:
        return "grown"
    return "young" if (on - animal.hatched).days < mature else "grown"


def _there(animal: Animal, on: date) -> bool:
    return animal.hatched is None or animal.hatched <= on


def _given(
    known: Facts, told: list[Feeding], since: date, today: date
) -> dict[tuple[str, str], float]:
    """Feeders of each food a head and day, for young and for grown animals."""
    totals: dict[tuple[str, str], float] = defaultdict(float)
    for feeding in told:
        for animal in _fed(known, feeding):
            totals[feeding.food or "", _age(known, animal, feeding.on)] += feeding.count or 0
    heads = _head_days(known, since, today)
    share = ((today - since).days + 1) / _stand_for([feeding.on for feeding in told], today)
    rates: dict[tuple[str, str], float] = defaultdict(float)
    for (food, age), total in totals.items():
        rates[food, age] = total / heads[age] * share if heads[age] else 0.0
    return rates


def _stand_for(fed: list[date], today: date) -> float:
    """The days that feedings stand for: the last, too, holds as long as the others did.

    Fed on the 1st, 3rd and 5th is six days' worth on the 5th, not five; today, if nobody was fed
    yet, is not over.
    """
    days = sorted(set(fed))
    if len(days) < 2:
        return (today - days[0]).days + 1.0
    so_far = (today - days[0]).days + float(days[-1] == today)
    return max(so_far, (days[-1] - days[0]).days * len(days) / (len(days) - 1))


def _head_days(known: Facts, start: date, end: date) -> dict[str, int]:
    """Days times heads of young and grown animals in the household's care."""
    counts = dict.fromkeys(AGES, 0)
    for number in range((end - start).days + 1):
        on = start + timedelta(number)
        for animal in known.all_kept:
            if _there(animal, on):
                counts[_age(known, animal, on)] += 1
    return counts


def _fed(known: Facts, feeding: Feeding) -> Iterator[Animal]:
    """The animals now kept that a feeding went to: by tag, by place (a rack with its tubs too)."""
    if EVERYONE in feeding.who:
        yield from (a for a in known.all_kept if _there(a, feeding.on))
        return
    places = [place_name(who) for who in feeding.who if who not in known.colony.animals]
    for animal in known.all_kept:
        home = place_name(animal.place or "")
        in_place = any(home == place or home.startswith(f"{place} ") for place in places)
        if _there(animal, feeding.on) and (animal.tag in feeding.who or in_place):
            yield animal
