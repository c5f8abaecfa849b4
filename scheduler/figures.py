"""Turns what a species file says about incubation into points that a curve can be fitted to."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from functools import lru_cache

from scheduler.curve import Point
from scheduler.species import Duration, Figure, Species, general

# Log days that a duration may be off beyond its sampling, by how it was seen (memory: our choice).
_DOUBT = {"common practice": 0.05, "memory": 0.10}
_PER_DEGREE = 0.081  # log days per C at 28 C (Noble et al. 2018, computed from the data set)
_TEN_TO_NINETY = 2.563  # standard deviations between the 10th and the 90th percentile
_LOOSEST = 1.0  # C: a temperature that was never written down is not known better than this


@lru_cache(maxsize=256)
def incubation_points(species: Species) -> tuple[Point, ...]:
    """Every duration the species file gives, its practice row too; general geckos' where none."""
    points = [*_at_known_temperatures(species.durations), *_without_temperature(species)]
    practice = species.rows("incubation_days")
    if not points and not any(row.typical for row in practice):
        practice = general().rows("incubation_days")
    return (*points, *(_practice(species, row) for row in practice if row.typical))


def usual_celsius(species: Species) -> float:
    """The temperature the species is usually incubated at, in C (a general gecko's if unknown)."""
    return species.figure("incubation_temp_c").typical or 27.0


def _at_known_temperatures(durations: Iterable[Duration]) -> list[Point]:
    """Rows of one source at one temperature are one treatment, combined by their eggs."""
    together: dict[tuple[float, float, str, str], list[Duration]] = defaultdict(list)
    for row in durations:
        if row.celsius is not None:
            key = (row.celsius, row.fluctuation, row.source, row.status)
            together[key].append(row)
    return [
        _treatment(rows, celsius, swing, source, status)
        for (celsius, swing, source, status), rows in together.items()
    ]


def _treatment(
    rows: list[Duration], celsius: float, swing: float, source: str, status: str
) -> Point:
    eggs = [float(row.n or 5) for row in rows]
    logs = [math.log(row.days) * count for row, count in zip(rows, eggs, strict=True)]
    errors = [row.se / row.days for row in rows if row.se]
    sampling = math.sqrt(sum(each**2 for each in errors)) / len(rows) if errors else 0.0
    return Point(
        celsius=celsius,
        days=math.exp(sum(logs) / sum(eggs)),
        eggs=sum(eggs),
        swing=swing,
        doubt=math.hypot(_DOUBT.get(status, 0.0), sampling),
        source=source,
    )


def temperature_doubt(species: Species) -> float:
    """Log days of doubt where the temperature was not given: the usual range's width."""
    usual = species.figure("incubation_temp_c")
    width = (usual.high or 0.0) - (usual.low or usual.high or 0.0)
    return _PER_DEGREE * max(_LOOSEST, width / _TEN_TO_NINETY)


def _without_temperature(species: Species) -> list[Point]:
    doubt = temperature_doubt(species)
    return [
        Point(
            celsius=usual_celsius(species),
            days=row.days,
            eggs=float(row.n or 5),
            doubt=math.hypot(doubt, _DOUBT.get(row.status, 0.0)),
            source=row.source,
        )
        for row in species.durations
        if row.celsius is None
    ]


def _practice(species: Species, row: Figure) -> Point:
    """What is generally said of the species' days, at its usual temperature."""
    typical = row.typical or 60.0
    low, high = row.low or typical, row.high or typical
    spread = math.log(high / low) / _TEN_TO_NINETY
    doubt = max(spread, temperature_doubt(species) / 2, _DOUBT.get(row.status, 0.0))
    return Point(usual_celsius(species), typical, 5.0, 0.0, doubt, row.source)
