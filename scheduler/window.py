"""A window: the days between which something is expected, how surely, and what that rests on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

NEVER = 1000.0  # days: no gecko egg is waited for that long (our own choice)


@dataclass(frozen=True)
class Window:
    """An expectation. `days`, `low` and `high` count from the day it starts from (the laying).

    `coverage` is the share of such windows that should hold what really happens. `centre`,
    `start` and `end` are the same as dates. `basis` says in short words what it rests on;
    `assumed` is true where something that matters (a temperature) was never logged.
    """

    days: float
    low: float
    high: float
    coverage: float
    centre: date
    start: date
    end: date
    basis: str
    assumed: bool = False


def counted_from(
    day: date,
    days: tuple[float, float, float],
    *,
    basis: str,
    coverage: float = 0.8,
    assumed: bool = False,
) -> Window:
    """The window whose middle, low and high lie so many `days` after `day`.

    Beyond `NEVER` days it says that nothing is to be expected, and stops there.
    """
    if days[0] > NEVER:
        basis += f"; so cold that nothing is to be expected within {NEVER:.0f} days"
    middle, low, high = min(days[0], NEVER), min(days[1], NEVER), min(days[2], NEVER)
    centre = day + timedelta(round(middle))
    start, end = day + timedelta(round(low)), day + timedelta(round(high))
    return Window(middle, low, high, coverage, centre, start, end, basis, assumed)
