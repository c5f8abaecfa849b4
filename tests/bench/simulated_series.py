"""Simulated incubation series with the spread of the published ones, for measuring forecasts.

The published summary that they are matched to (100 series of 64 species, Reptile Development
Database, Noble et al. 2018, Scientific Data): zero of development 15.1 C, sd 2.6 between series;
a straight rate line predicts left-out temperatures to about 5% (median), one Q10 to 8%, a fixed
number of days to 26%; outside the fitted range errors are about twice those inside; 3 to 7% of
the days remain between eggs; heat slows development above about 30 C. The rest (how many
temperatures, how far apart, how much each treatment strays) is our own choice, made so that those
percentages come out; `hatch_accuracy.py` prints them beside the published ones.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Kind:
    """One guess at how real series scatter: `treatment` and `departure` are sds of log days."""

    treatment: float = 0.045
    departure: float = 0.015
    reach: float = 4.0  # C over which a departure persists
    heat: float = 0.004  # log days per C squared above the knee
    heat_sd: float = 0.004
    softness: float = 2.0  # C
    zero: float = 15.1  # C
    bend: float = 0.0  # log days per C squared; above 0 log days are a parabola, not a rate line
    days: tuple[float, float] = (35.0, 90.0)  # at 28 C
    wide: bool = False  # few temperatures over the whole range that eggs bear


KINDS = (
    Kind(),
    Kind(treatment=0.04, departure=0.03, heat=0.007, heat_sd=0.006),
    Kind(treatment=0.035, departure=0.05, reach=5.0, heat=0.006, heat_sd=0.006),
    Kind(0.035, 0.04, reach=3.0, heat=0.006, heat_sd=0.006, softness=3.0, zero=16.0),
)


# Other guesses, further from our own curve, and species that take from 25 days to a year.
OTHERS = (
    Kind(0.04, 0.03, heat=0.007, heat_sd=0.006, days=(25.0, 365.0), wide=True),
    Kind(0.04, bend=0.0024, days=(25.0, 365.0)),
    Kind(treatment=0.015),
)


@dataclass(frozen=True)
class Series:
    """Mean days at each constant temperature of one simulated paper, `eggs` behind each mean."""

    celsius: tuple[float, ...]
    days: tuple[float, ...]
    eggs: tuple[int, ...]


def temperatures(rng: np.random.Generator, wide: bool = False) -> np.ndarray:
    """Three to seven temperatures, 1 to 4 C apart (`wide`: more), between about 18 and 35 C."""
    if wide:
        spread = np.linspace(rng.uniform(18, 25), rng.uniform(30, 35), int(rng.integers(3, 7)))
        return np.round(spread + rng.uniform(-0.5, 0.5, len(spread)), 1)
    count = int(rng.choice([3, 4, 5, 6, 7], p=[0.42, 0.27, 0.16, 0.1, 0.05]))
    step = rng.choice([1.0, 1.5, 2.0, 2.5, 3.0, 4.0], p=[0.12, 0.1, 0.33, 0.15, 0.2, 0.1])
    celsius = rng.uniform(20, 27) + step * np.arange(count)
    celsius -= max(0.0, np.ceil(celsius[-1] - 35.5))
    if rng.random() < 0.4:
        celsius += np.round(rng.uniform(-0.6, 0.6, count), 1)
    return celsius


@dataclass(frozen=True)
class Truth:
    """A simulated species: log days at any constant temperature (C), as laboratories would find."""

    grid: np.ndarray
    values: np.ndarray

    def log_days(self, celsius: np.ndarray) -> np.ndarray:
        """Log days at constant temperatures."""
        return np.interp(celsius, self.grid, self.values)


def truth(rng: np.random.Generator, kind: Kind) -> Truth:
    """Draw a species."""
    grid = np.arange(8.0, 42.0, 0.25)
    zero = min(kind.zero + 2.6 * 1.15 * rng.standard_t(5) / np.sqrt(5 / 3), 21.5)
    width = kind.softness * rng.uniform(0.5, 1.5)
    heat, knee = max(0.0, rng.normal(kind.heat, kind.heat_sd)), rng.uniform(29.5, 31.5)

    def line(at: np.ndarray) -> np.ndarray:
        above = np.clip((at - zero) / width, -30, 50)
        return -np.log(width * np.log1p(np.exp(above))) + heat * np.maximum(0, at - knee) ** 2

    apart = (grid[:, None] - grid[None]) / kind.reach
    together = kind.departure**2 * np.exp(-0.5 * apart**2) + 1e-7 * np.eye(len(grid))
    departure = np.linalg.cholesky(together) @ rng.normal(size=len(grid))
    shape = _parabola(rng, kind.bend, grid) if kind.bend else line(grid) - line(np.array([28.0]))
    return Truth(grid, np.log(_level(rng, kind.days)) + shape + departure)


def _level(rng: np.random.Generator, days: tuple[float, float]) -> float:
    if days[1] < 100:
        return rng.uniform(*days)
    return float(np.exp(rng.uniform(*np.log(days))))


def _parabola(rng: np.random.Generator, bend: float, at: np.ndarray) -> np.ndarray:
    """Log days against those at 28 C: slope 0.081 a degree, sd 0.015 between series (published)."""
    slope, curve = max(0.02, rng.normal(0.081, 0.015)), rng.normal(bend, bend / 2)
    return -slope * (at - 28) + curve * (at - 28) ** 2


def series(rng: np.random.Generator, kind: Kind, species: Truth | None = None) -> Series:
    """One simulated paper, on a species of its own unless one is given."""
    species = species or truth(rng, kind)
    celsius = temperatures(rng, kind.wide)
    count = len(celsius)
    eggs = np.clip(np.exp(rng.normal(2.6, 0.8, count)), 2, 150).astype(int)
    log_days = species.log_days(celsius)
    log_days = log_days + kind.treatment * rng.standard_t(4, count) / np.sqrt(2)
    log_days += rng.uniform(0.03, 0.07) / np.sqrt(eggs) * rng.normal(size=count)
    return Series(
        tuple(map(float, celsius)), tuple(map(float, np.exp(log_days))), tuple(map(int, eggs))
    )
