"""Shares with intervals, and how a clutch's eggs turn out over time with some still in the box."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

Z95 = 1.959963984540054
"""The 97.5% point of the normal law: two-sided 95%."""

TOO_FEW = 10
"""Below this many a share is called "too few to say" (our convention): at 9 the 95% interval of a
share near one half is still more than 50 points wide."""


@dataclass(frozen=True)
class Rate:
    """`hits` of `n`, with the 95% Wilson interval of the share."""

    hits: int
    n: int

    @property
    def share(self) -> float | None:
        """hits / n, None of nothing."""
        return self.hits / self.n if self.n else None

    @property
    def interval(self) -> tuple[float, float]:
        """The 95% interval; 0 to 1 of nothing."""
        return wilson(self.hits, self.n)

    @property
    def enough(self) -> bool:
        """Whether there are enough to speak of a share."""
        return self.n >= TOO_FEW

    @property
    def said(self) -> str:
        """ "18 of 20 (90%; 70 to 97%)", or "3 of 4, too few to say"."""
        if not self.n:
            return "none yet"
        counts = f"{self.hits} of {self.n}"
        if not self.enough:
            return f"{counts}, too few to say"
        low, high = self.interval
        return f"{counts} ({self.hits / self.n:.0%}; {100 * low:.0f} to {high:.0%})"


def wilson(hits: int, n: int, z: float = Z95) -> tuple[float, float]:
    """Wilson score interval of a share, no continuity correction.

    Wilson 1927 (J Am Stat Assoc 22:209-212); method 3 of Newcombe 1998 (Stat Med 17:857-872).

    >>> [round(limit, 4) for limit in wilson(81, 263)]
    [0.2553, 0.3662]

    Raises ValueError where hits are not between 0 and n.
    """
    if not 0 <= hits <= n:
        raise ValueError(f"{hits} of {n} is no share")
    if n == 0:
        return 0.0, 1.0
    centre = (2 * hits + z * z) / (2 * (n + z * z))
    half = z * math.sqrt(z * z + 4 * hits * (n - hits) / n) / (2 * (n + z * z))
    low = 0.0 if hits == 0 else max(0.0, centre - half)
    high = 1.0 if hits == n else min(1.0, centre + half)
    return low, high


@dataclass(frozen=True)
class Step:
    """One day of a hatch curve: eggs at risk just before it, and the shares by its end.

    `hatched` and `lost` are cumulative incidences (0 to 1); what is left is still in the box.
    """

    day: int
    at_risk: int
    hatched: float
    lost: float


def hatch_curve(eggs: Iterable[tuple[int, str | None]]) -> tuple[Step, ...]:
    """Cumulative incidence of hatching, a lost egg being an event of another kind.

    `eggs` are (days from laying, "hatched", "lost" or None for still in the box). The
    Aalen-Johansen estimate for competing risks (Aalen & Johansen 1978, Scand J Stat 5:141-150);
    with nothing lost, one minus Kaplan & Meier's (1958, J Am Stat Assoc 53:457-481). An egg that
    leaves the record on a day counts as at risk through that day. One step a day with an event.
    """
    rows = sorted(eggs, key=_day)
    steps: list[Step] = []
    remaining, hatched, lost, at_risk = 1.0, 0.0, 0.0, len(rows)
    for day, group in groupby(rows, key=_day):
        ends = [end for _, end in group]
        out, gone = ends.count("hatched"), ends.count("lost")
        if out or gone:
            hatched += remaining * out / at_risk
            lost += remaining * gone / at_risk
            remaining *= 1 - (out + gone) / at_risk
            steps.append(Step(day, at_risk, hatched, lost))
        at_risk -= len(ends)
    return tuple(steps)


def _day(egg: tuple[int, str | None]) -> int:
    return egg[0]


def median_day(curve: Iterable[Step]) -> int | None:
    """The first day by which half of the eggs have hatched, None where it is not reached."""
    return next((step.day for step in curve if step.hatched >= 0.5 - 1e-12), None)
