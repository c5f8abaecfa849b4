"""Laying and hatch windows by part of the household, asked for only where they can matter."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache

from scheduler.colony import Egg
from scheduler.development import egg_window
from scheduler.facts import HOPELESS, Facts
from scheduler.laying import clutch_window
from scheduler.species import Species
from scheduler.window import Window

SOONEST = 0.5
"""No window begins before this share of the shortest incubation known for the species: a margin
that only saves work, far outside every published duration and stated window."""


def laying_window(facts: Facts, female: str, today: date) -> Window | None:
    """When her next clutch is expected, None where nothing says that she will lay."""
    return clutch_window(facts.colony, female, today)


def hatch_window(facts: Facts, egg: Egg, today: date) -> Window:
    """When an egg is expected to hatch."""
    return egg_window(facts.colony, egg, today)


def waited_for(eggs: list[Egg]) -> list[Egg]:
    """The eggs of a clutch that a hatch is still waited for: not hopeless, not pipping."""
    return [egg for egg in eggs if egg.state not in HOPELESS and egg.pipped is None]


def can_begin_by(facts: Facts, egg: Egg, end: date) -> bool:
    """Whether the egg's hatch window could have begun by `end`; costs next to nothing."""
    return egg.laid + timedelta(SOONEST * _shortest(facts.species(egg.species))) <= end


@lru_cache(maxsize=256)
def _shortest(species: Species) -> float:
    known = [d.days for d in species.durations]
    low = species.figure("incubation_days").low
    return min([*known, low] if low is not None else known, default=0.0)
