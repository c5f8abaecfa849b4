"""The household's own hatches: how they move what is published about a species.

Each hatch says how long development took at the warmth the egg had. Hatches near one temperature
are averaged, eggs of one clutch counting less than as many clutches, and join the fit as one more
source, the one that is forecast for. So a thermometer that reads high, or a line that is quick,
shows up as a shift, the more surely the more clutches have hatched; and no single clutch moves it
far. How widely the clutches scatter is learnt as well, and widens or narrows the window.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import replace
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from scheduler.curve import OWN, PRIOR, Point, RateCurve, fitted
from scheduler.figures import incubation_points
from scheduler.species import Species

_BIN = 0.5  # C: hatches this close together in temperature are averaged
_TRUST = 8.0  # clutches that the assumed scatter counts for
_EXTREME = 0.35  # log days: further than this from what is expected is a slip of the pen


class OwnHatch(NamedTuple):
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


def usable(curve: RateCurve, hatches: Iterable[OwnHatch]) -> list[OwnHatch]:
    """The hatches without those more than 40% off what is expected: dates gone wrong."""
    return [
        hatch
        for hatch in hatches
        if hatch.days > 0 and abs(math.log(hatch.days) - curve.middle(hatch.celsius)) <= _EXTREME
    ]


def own_points(curve: RateCurve, hatches: Iterable[OwnHatch]) -> tuple[Point, ...]:
    """The hatches as points for the fit: one for each half degree, moved to its middle."""
    groups: dict[tuple[float, float], list[tuple[float, Hashable]]] = defaultdict(list)
    for hatch in hatches:
        middle = round(hatch.celsius / _BIN) * _BIN
        moved = math.log(hatch.days) - curve.middle(hatch.celsius)
        moved += curve.middle(middle)
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


def own_scatter(curve: RateCurve, hatches: Iterable[OwnHatch]) -> float:
    """How widely the household's hatches scatter, against the spread assumed (1: as assumed).

    The variance of its clutches about their own line on temperature, pooled with the assumed one;
    whatever the thermometers and the log hide is in it.
    """
    clutches: dict[Hashable, list[tuple[float, float]]] = defaultdict(list)
    for hatch in hatches:
        off = math.log(hatch.days) - curve.middle(hatch.celsius)
        clutches[hatch.clutch].append((hatch.celsius, off))
    if len(clutches) < 4:
        return 1.0
    means = [
        tuple(sum(each) / len(each) for each in zip(*m, strict=True)) for m in clutches.values()
    ]
    eggs = len(clutches) / sum(1 / len(each) for each in clutches.values())
    assumed = PRIOR.clutch**2 + PRIOR.egg**2 / eggs
    pooled = (_TRUST * assumed + _squares_about_line(means)) / (_TRUST + len(means) - 2)
    return round(math.sqrt(pooled / assumed), 1)


def _squares_about_line(points: Sequence[tuple[float, ...]]) -> float:
    """The sum of squares left by the least-squares line through the points."""
    middle_x = sum(x for x, _ in points) / len(points)
    middle_y = sum(y for _, y in points) / len(points)
    along = sum((x - middle_x) ** 2 for x, _ in points)
    across = sum((x - middle_x) * (y - middle_y) for x, y in points)
    total = sum((y - middle_y) ** 2 for _, y in points)
    return max(total - across**2 / along, 0.0) if along > 1e-9 else total


def household_curve(
    species: Species, hatches: Iterable[OwnHatch] = (), coverage: float = 0.8
) -> RateCurve:
    """The species' curve, moved by the household's own hatches where there are any."""
    return _moved(species, tuple(hatches), coverage)


@lru_cache(maxsize=256)
def _moved(species: Species, hatches: tuple[OwnHatch, ...], coverage: float) -> RateCurve:
    """`household_curve`; for the same hatches it is worked out once, whatever else changes."""
    published = incubation_points(species)
    start = fitted(published, coverage)
    known = usable(start, hatches)
    points = (*published, *own_points(start, known))
    scatter = own_scatter(start, known)
    prior = replace(PRIOR, clutch=PRIOR.clutch * scatter, egg=PRIOR.egg * scatter)
    return fitted(points, coverage, prior)
