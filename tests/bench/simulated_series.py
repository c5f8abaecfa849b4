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


KINDS = (
    Kind(),
    Kind(treatment=0.04, departure=0.03, heat=0.007, heat_sd=0.006),
    Kind(treatment=0.035, departure=0.05, reach=5.0, heat=0.006, heat_sd=0.006),
    Kind(0.035, 0.04, reach=3.0, heat=0.006, heat_sd=0.006, softness=3.0, zero=16.0),
)


@dataclass(frozen=True)
class Series:
    """Mean days at each constant temperature of one simulated paper, `eggs` behind each mean."""

    celsius: tuple[float, ...]
    days: tuple[float, ...]
    eggs: tuple[int, ...]


def temperatures(rng: np.random.Generator) -> np.ndarray:
    """Three to seven temperatures, 1 to 4 C apart, between about 18 and 35 C."""
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
    level = np.log(rng.uniform(35, 90)) - line(np.array([28.0]))
    return Truth(grid, level + line(grid) + departure)


def series(rng: np.random.Generator, kind: Kind, species: Truth | None = None) -> Series:
    """One simulated paper, on a species of its own unless one is given."""
    species = species or truth(rng, kind)
    celsius = temperatures(rng)
    count = len(celsius)
    eggs = np.clip(np.exp(rng.normal(2.6, 0.8, count)), 2, 150).astype(int)
    log_days = species.log_days(celsius)
    log_days = log_days + kind.treatment * rng.standard_t(4, count) / np.sqrt(2)
    log_days += rng.uniform(0.03, 0.07) / np.sqrt(eggs) * rng.normal(size=count)
    return Series(
        tuple(map(float, celsius)), tuple(map(float, np.exp(log_days))), tuple(map(int, eggs))
    )
