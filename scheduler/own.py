"""The household's own hatches: how they move what is published about a species.

Each hatch says how long development took at the warmth the egg had. Hatches near one temperature
are averaged, eggs of one clutch counting less than as many clutches, and join the fit as one more
source, the one that is forecast for. So a thermometer that reads high, or a line that is quick,
shows up as a shift, the more surely the more clutches have hatched; and no single clutch moves it
far.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import date

from scheduler.curve import OWN, Point, RateCurve, fitted
from scheduler.figures import incubation_points
from scheduler.species import Species

_BIN = 0.5  # C: hatches this close together in temperature are averaged
_EXTREME = 0.35  # log days: further than this from what is expected is a slip of the pen


@dataclass(frozen=True)
class OwnHatch:
    """One egg that hatched: days from laying, and the constant temperature it amounts to (C).

    `clutch` tells clutches apart. `doubt` is extra uncertainty in log days (0: the temperature
    was logged).
    """

    days: float
    celsius: float
    clutch: Hashable
    doubt: float = 0.0


def own_hatch(laid: date, hatched: date, celsius: float) -> OwnHatch:
    """A hatch as a keeper writes it down: two dates and the temperature."""
    return OwnHatch((hatched - laid).days, celsius, laid)


def own_points(published: RateCurve, hatches: Iterable[OwnHatch]) -> tuple[Point, ...]:
    """The hatches as points for the fit: one for each half degree, moved to its middle.

    A hatch more than 40% off what is expected is left out, as a date gone wrong.
    """
    groups: dict[tuple[float, float], list[tuple[float, Hashable]]] = defaultdict(list)
    for hatch in hatches:
        expected = published.spread(hatch.celsius).middle
        if hatch.days <= 0 or abs(math.log(hatch.days) - expected) > _EXTREME:
            continue
        middle = round(hatch.celsius / _BIN) * _BIN
        moved = math.log(hatch.days) - expected + published.spread(middle).middle
        groups[middle, round(hatch.doubt, 3)].append((moved, hatch.clutch))
    return tuple(
        Point(
            celsius=middle,
            days=math.exp(sum(log for log, _ in members) / len(members)),
            eggs=len(members),
            doubt=doubt,
            source=OWN,
            clutches=len({clutch for _, clutch in members}),
        )
        for (middle, doubt), members in sorted(groups.items())
    )


def household_curve(
    species: Species, hatches: Iterable[OwnHatch] = (), coverage: float = 0.8
) -> RateCurve:
    """The species' curve, moved by the household's own hatches where there are any."""
    published = incubation_points(species)
    own = own_points(fitted(published, coverage), hatches)
    return fitted((*published, *own), coverage)
