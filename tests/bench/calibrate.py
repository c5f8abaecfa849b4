"""Calibration: how often the stated 80% windows hold, and how near the middle day is.

Simulates households over a season from stated distributions (see `simulated_colony.py`), tells
each to Rackside as a keeper would type it (`talked_season.py`), asks the desk once a week for the
hatch of every egg two weeks old and for the next clutch of every female that laid that week, and
compares the windows in its replies with what then happened. Wanted: 75 to 85% of windows hold, and
a median hatch error at most half that of the rule of a fixed number of days.
"""

from __future__ import annotations

import math
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np

from tests.bench.simulated_colony import START, TYPICAL, Season, simulate
from tests.bench.talked_season import Said, evenings

HOUSEHOLDS = 8
USUAL = 27.0  # C: the fixed rule gives the days at this temperature, the middle of those kept


@dataclass(frozen=True)
class Outcome:
    """One window against what happened: errors in days, and whether it held."""

    error: float
    fixed: float
    held: bool
    early: bool


def judged(window: Said, happened: date, by_rule: date, early: bool) -> Outcome:
    """Compare a window, and the fixed rule, with the day it happened on."""
    return Outcome(
        error=abs((window.centre - happened).days),
        fixed=abs((by_rule - happened).days),
        held=window.start <= happened <= window.end,
        early=early,
    )


def fixed_days(season: Season) -> int:
    """The rule's days: the truth at the usual temperature, which is more than a keeper knows."""
    return round(math.exp(float(season.truth.log_days(np.array([USUAL]))[0])))


def outcomes(season: Season) -> tuple[list[Outcome], list[Outcome]]:
    """Hatch and clutch outcomes of one household, looked at once a week."""
    hatches: list[Outcome] = []
    clutches: list[Outcome] = []
    rule, usual = timedelta(fixed_days(season)), timedelta(round(TYPICAL))
    for keeper in evenings(season):
        day = keeper.today
        if (day - START).days % 7 != 6:
            continue
        early = day < START + timedelta(110)
        for egg in season.eggs:
            if 14 <= (day - egg.laid).days < 21 and egg.ended and egg.ended > day:
                hatches.append(judged(keeper.asked_hatch(egg), egg.ended, egg.laid + rule, early))
        for (tag, laid), following in _layings(season):
            if 0 <= (day - laid).days < 7 and following > day:
                clutches.append(judged(keeper.asked_clutch(tag), following, laid + usual, early))
    return hatches, clutches


def _layings(season: Season) -> Iterator[tuple[tuple[str, date], date]]:
    """Each laying (female, day) that was followed by another, with the day of that."""
    for tag in season.females:
        days = [clutch.laid for clutch in season.clutches if clutch.dam == tag]
        for earlier, later in pairwise(days):
            yield (tag, earlier), later


def report(name: str, rows: list[Outcome]) -> str:
    """One line of figures."""
    error, fixed = ([getattr(row, each) for row in rows] for each in ("error", "fixed"))
    return (
        f"{name:16} {len(rows):5} windows, {np.mean([row.held for row in rows]):4.0%} held; "
        f"median error {np.median(error):.1f} days (fixed days {np.median(fixed):.1f}), "
        f"mean {np.mean(error):.1f} ({np.mean(fixed):.1f})"
    )


def measure(households: int) -> dict[str, list[Outcome]]:
    """All outcomes of that many simulated households, by name."""
    hatches: list[Outcome] = []
    clutches: list[Outcome] = []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(households):
            found = outcomes(simulate(number, Path(folder)))
            hatches += found[0]
            clutches += found[1]
    return {
        "hatch": hatches,
        "hatch, new book": [each for each in hatches if each.early],
        "clutch": clutches,
        "clutch, new book": [each for each in clutches if each.early],
    }


def main() -> int:
    """Measure, print, and say by the exit status whether it is as wanted."""
    rows = measure(int(sys.argv[1]) if len(sys.argv) > 1 else HOUSEHOLDS)
    for name, found in rows.items():
        print(report(name, found))
    held = [np.mean([each.held for each in rows[name]]) for name in ("hatch", "clutch")]
    error = np.median([each.error for each in rows["hatch"]])
    fixed = np.median([each.fixed for each in rows["hatch"]])
    good = all(0.75 <= each <= 0.85 for each in held) and error <= fixed / 2
    print("as wanted" if good else "not as wanted: 75 to 85% held, half the fixed rule's error")
    return 0 if good else 1


if __name__ == "__main__":
    raise SystemExit(main())
