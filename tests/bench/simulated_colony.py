"""A simulated household: incubators whose warmth wanders, females who lay, eggs that hatch.

The stated distributions (our own choice, none of them a figure of the trade):
  species     drawn as in `simulated_series.py`; the household knows one published paper on it
  household   its eggs take exp(N(0, 2.5%)) times the days; its thermometers read N(0, 0.3 C) off
  incubators  four, at levels 24.5 to 29.5 C; each wanders by sd 0.6 C (correlation 0.9 a day) and
              follows the room by 1 C over the year, each household in its own phase; three power
              cuts of half a day at 20 C; read once a day to 0.2 C, one evening in four missed
  eggs        a clutch strays by 2%, an egg by 2.5%; one clutch in six moves incubator on day 20
  females     log intervals about the species' 14 to 30 days (80% of all): household 35%, female
              20%, clutch 45% of the variance
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from scheduler.colony import Animal, Box, ClimateReading, Clutch, Colony, Egg, Stay
from tests.bench.simulated_series import KINDS, Series, Truth, series, truth

START = date(2026, 1, 1)
DAYS = 420  # days simulated; females lay in the first 270
BOXES = "ABDE"
TYPICAL, SPREAD = 21.0, np.log(30 / 14) / 2.563


@dataclass
class Season:
    """One household's season, complete: what really happened, and the colony seen on any day."""

    species: str  # path of the species file
    published: Series
    truth: Truth
    readings: list[ClimateReading] = field(default_factory=list)
    clutches: list[Clutch] = field(default_factory=list)
    eggs: list[Egg] = field(default_factory=list)
    females: list[str] = field(default_factory=list)

    def seen_on(self, day: date) -> Colony:
        """What the book holds at the end of a day."""
        until = datetime.combine(day, datetime.max.time(), UTC)
        return Colony(
            zone=ZoneInfo("UTC"),
            animals={tag: Animal(tag, self.species, "female") for tag in self.females},
            clutches=tuple(each for each in self.clutches if each.laid <= day),
            eggs=tuple(_as_seen(egg, day) for egg in self.eggs if egg.laid <= day),
            boxes={box: Box(box, 10, 10, str(i + 1)) for i, box in enumerate(BOXES)},
            readings=tuple(each for each in self.readings if each.at <= until),
        )


def _as_seen(egg: Egg, day: date) -> Egg:
    stays = tuple(stay for stay in egg.stays if stay.since <= day)
    ended = egg.ended is not None and egg.ended <= day
    return Egg(
        egg.key, egg.clutch, egg.dam, egg.laid, stays[-1].slot, egg.species, stays=stays,
        end="hatched" if ended else None, ended=egg.ended if ended else None,
    )  # fmt: skip


def simulate(number: int, folder: Path) -> Season:
    """Household `number` (its random numbers follow from it); its species file goes to `folder`."""
    rng = np.random.default_rng(1000 + number)
    kind = KINDS[number % len(KINDS)]
    species = truth(rng, kind)
    published = series(rng, kind, species)
    season = Season(_species_file(folder, number, published), published, species)
    phase = rng.uniform(0, 2 * np.pi)
    warmth = [_warmth(rng, level, phase) for level in rng.uniform(24.5, 29.5, len(BOXES))]
    _read(rng, season, warmth, rng.normal(0, 0.3, len(BOXES)))
    shift = rng.normal(0, 0.025)
    household = rng.normal(0, np.sqrt(0.35) * SPREAD)
    for female in range(6):
        tag = f"F{female + 1}"
        season.females.append(tag)
        own = np.log(TYPICAL) + household + rng.normal(0, np.sqrt(0.2) * SPREAD)
        day = int(rng.integers(0, 30))
        while day < 270:
            _lay(rng, season, tag, day, species, warmth, shift)
            day += max(5, round(float(np.exp(own + rng.normal(0, np.sqrt(0.45) * SPREAD)))))
    return season


def _species_file(folder: Path, number: int, paper: Series) -> str:
    rows = "\n".join(
        f'  {{ celsius = {t}, days = {d}, n = {n}, source = "simulated", status = "published" }},'
        for t, d, n in zip(paper.celsius, paper.days, paper.eggs, strict=True)
    )
    figures = (
        "[figures]\nclutch_interval_days = [{ low = 14, typical = 21, high = 30, "
        'unit = "days", status = "memory", source = "simulated" }]\n'
    )
    path = folder / f"simulated-{number}.toml"
    path.write_text(f'key = "simulated"\n[incubation]\ndurations = [\n{rows}\n]\n{figures}')
    return str(path)


def _warmth(rng: np.random.Generator, level: float, phase: float) -> np.ndarray:
    """Half-daily temperatures, C."""
    half_days = np.arange(2 * DAYS)
    wander = np.zeros(len(half_days))
    keep = np.sqrt(0.9)
    for i in range(1, len(half_days)):
        wander[i] = keep * wander[i - 1] + rng.normal(0, 0.6 * np.sqrt(1 - keep**2))
    season = np.sin(2 * np.pi * half_days / (2 * 365) + phase)
    celsius = level + wander + season
    celsius[rng.integers(0, len(half_days), 3)] = 20.0
    return celsius


def _read(
    rng: np.random.Generator, season: Season, warmth: list[np.ndarray], off: np.ndarray
) -> None:
    for i, celsius in enumerate(warmth):
        for day in range(DAYS):
            if rng.random() < 0.25:
                continue
            at = datetime.combine(START + timedelta(day), datetime.min.time(), UTC)
            seen = celsius[2 * day + 1] + off[i] + rng.normal(0, 0.2)
            season.readings.append(
                ClimateReading(at + timedelta(hours=19), f"incubator {i + 1}", round(seen, 1))
            )


def _lay(
    rng: np.random.Generator,
    season: Season,
    tag: str,
    day: int,
    species: Truth,
    warmth: list[np.ndarray],
    shift: float,
) -> None:
    laid = START + timedelta(day)
    clutch = Clutch(f"{tag}-{day}", tag, laid, 2)
    season.clutches.append(clutch)
    first, second = (int(each) for each in rng.integers(0, len(BOXES), 2))
    moved = day + 20 if rng.random() < 1 / 6 else None
    way = warmth[first][2 * day + 1 :].copy()
    stays = [Stay(laid, f"{BOXES[first]}1")]
    if moved is not None and moved + 1 < DAYS:
        way[40:] = warmth[second][2 * moved + 1 :]
        stays.append(Stay(START + timedelta(moved), f"{BOXES[second]}1"))
    done = np.cumsum(np.exp(-species.log_days(way)) / 2)
    stray = shift + rng.normal(0, 0.02)
    for number in range(2):
        needed = np.exp(stray + rng.normal(0, 0.025))
        end = int(np.searchsorted(done, needed))
        if end < len(done):
            hatched = laid + timedelta(round(end / 2))
            season.eggs.append(
                Egg(f"{clutch.key}-{number}", clutch.key, tag, laid, stays[0].slot,
                    season.species, end="hatched", ended=hatched, stays=tuple(stays))
            )  # fmt: skip
