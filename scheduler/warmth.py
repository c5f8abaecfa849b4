"""The temperatures an egg lay at: readings carried forward, gaps seen, and what is to come.

A reading holds until the next one; before the first, the first. What comes after the last one is
the level it belongs to, or, where the last day shows a swing, that day over again.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property, lru_cache
from itertools import accumulate, pairwise
from operator import mul, sub

from scheduler.curve import RateCurve

_SWING = 2.0  # C: a day that moves more than this and comes back is a swing
_DAY_AND_A_BIT = 1.08  # days: two hours' leeway for who reads at about the same time
_LEVEL = 1.5  # C: readings this close to the mean of those after them are of one level
_LOOK_BACK = 21.0  # days over which a level is averaged
_DRIFT = 0.5  # C, before anything is known of a place (our own choice)
_DRIFT_WEIGHT = 3.0  # comparisons that this counts for
_DRIFT_WEEKS = 6
_DRIFT_LOOK_BACK = 40  # weeks
LONG_GAP = 3.0  # days without a reading that are worth mentioning


def in_days(moment: datetime) -> float:
    """The moment as days since the epoch, in UTC."""
    return moment.timestamp() / 86400.0


class Trace:
    """One place's temperatures: `times` in days (see `in_days`), oldest first, and `celsius`."""

    def __init__(self, readings: Iterable[tuple[float, float]]) -> None:
        pairs = sorted(readings)
        self.times = [at for at, _ in pairs]
        self.celsius = [celsius for _, celsius in pairs]

    def __len__(self) -> int:
        return len(self.times)

    @cached_property
    def outlook(self) -> tuple[tuple[float, float], ...]:
        """The temperatures to expect after the last reading, each with its share of the time."""
        last_at, last = self.times[-1], self.celsius[-1]
        first = bisect_left(self.times, last_at - _DAY_AND_A_BIT)
        day = self.celsius[first:]
        swings = len(day) > 2 and max(day) - min(day) > _SWING
        if swings and min(day[:-1]) <= last <= max(day[:-1]):
            whole = first + (last_at - self.times[first] > 0.9)  # the same hour is counted once
            return self._shares(list(range(whole, len(self.times))))
        return self._shares(self._level())

    def _level(self) -> list[int]:
        """The latest readings that are of one level with the last, oldest first.

        Going back, one reading off the level alone (a power cut) is passed over; two end it.
        """
        chosen, mean, off = [len(self.times) - 1], self.celsius[-1], 0
        for i in range(len(self.times) - 2, -1, -1):
            if self.times[-1] - self.times[i] > _LOOK_BACK:
                break
            if abs(self.celsius[i] - mean) > _LEVEL:
                off += 1
                if off > 1:
                    break
                continue
            off = 0
            chosen.append(i)
            mean += (self.celsius[i] - mean) / len(chosen)
        return chosen[::-1]

    def _shares(self, chosen: list[int]) -> tuple[tuple[float, float], ...]:
        """The chosen readings by the time each stood for (the last: as the others)."""
        times = [self.times[i] for i in chosen]
        if len(times) < 2 or times[-1] == times[0]:
            return ((self.celsius[-1], 1.0),)
        spans = [later - earlier for earlier, later in pairwise(times)]
        spans.append(sum(spans) / len(spans))
        total = sum(spans)
        return tuple((self.celsius[i], held / total) for i, held in zip(chosen, spans, strict=True))

    @cached_property
    def drift(self) -> float:
        """How far the weeks to come usually lie from the week just read, in C (one sd).

        From the trace's own weeks, each against the mean of the six after it; a few weeks of our
        own assumption stand in where the trace is short.
        """
        weeks = self._weekly_means()
        squares = _DRIFT_WEIGHT * _DRIFT**2
        count = _DRIFT_WEIGHT
        for i, week in enumerate(weeks[:-_DRIFT_WEEKS]):
            ahead = weeks[i + 1 : i + 1 + _DRIFT_WEEKS]
            # Six weeks overlap with the next six: each comparison counts for a third of one.
            squares += (sum(ahead) / len(ahead) - week) ** 2 / 3
            count += 1 / 3
        return math.sqrt(squares / count)

    def _weekly_means(self) -> list[float]:
        """Mean of each week's readings, oldest first; weeks without any are left out."""
        means = []
        end = len(self.times)
        for week in range(1, _DRIFT_LOOK_BACK + 1):
            start = bisect_right(self.times, self.times[-1] - 7 * week)
            if start < end:
                means.append(sum(self.celsius[start:end]) / (end - start))
            end = start
        return means[::-1]

    def longest_gap(self, start: float, end: float) -> float:
        """The longest time without a reading between two moments, in days (0 at best)."""
        inside = self.times[bisect_right(self.times, start) : bisect_left(self.times, end)]
        gaps: Iterable[float] = map(sub, [*inside, end], [start, *inside])
        return max(gaps)

    def count(self, start: float, end: float) -> int:
        """How many readings there are from one moment to another."""
        return bisect_right(self.times, end) - bisect_left(self.times, start)

    def last_before(self, end: float) -> Trace:
        """The trace as it was known at that moment."""
        known = bisect_right(self.times, end)
        return Trace(zip(self.times[:known], self.celsius[:known], strict=True))


@dataclass(frozen=True)
class Progress:
    """Development done (1 at hatching), with how far it may be out each way (log days, summed)."""

    done: float = 0.0
    low: float = 0.0
    high: float = 0.0

    def plus(self, other: Progress, times: float = 1.0) -> Progress:
        """Both together, the other `times` over."""
        return Progress(
            self.done + times * other.done,
            self.low + times * other.low,
            self.high + times * other.high,
        )


class Course:
    """How an egg of one species develops along a trace: sums kept so that asking is quick."""

    def __init__(self, trace: Trace, curve: RateCurve) -> None:
        self.trace = trace
        self.curve = curve
        self._levels: dict[float, float] = {}
        self._rates = [math.exp(-curve.middle(celsius)) for celsius in trace.celsius]
        self._spans = [later - earlier for earlier, later in pairwise(trace.times)]
        self._done = self._summed(self._rates)
        expected = [(math.exp(-curve.middle(celsius)), share) for celsius, share in trace.outlook]
        self._ahead = sum(rate * share for rate, share in expected)

    @cached_property
    def _widths(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Progress a day at each reading, times the width of the window each way."""
        _, low, high = zip(*map(self.curve.pace, self.trace.celsius), strict=True)
        return low, high

    @cached_property
    def _widths_ahead(self) -> tuple[float, float]:
        """As `_widths`, for what is to be expected after the last reading."""
        expected = [(self.curve.pace(celsius), share) for celsius, share in self.trace.outlook]
        low, high = (sum(pace[i] * share for pace, share in expected) for i in (1, 2))
        return low, high

    def _summed(self, paces: Sequence[float]) -> list[float]:
        """What paces that hold until the next reading come to, at each reading."""
        return list(accumulate(map(mul, paces, self._spans), initial=0.0))

    @cached_property
    def _low(self) -> list[float]:
        return self._summed(self._widths[0])

    @cached_property
    def _high(self) -> list[float]:
        return self._summed(self._widths[1])

    def _place(self, moment: float) -> tuple[int, float]:
        """The last reading before a moment (the first, before that), and the days since it."""
        place = max(bisect_right(self.trace.times, moment) - 1, 0)
        return place, moment - self.trace.times[place]

    def _beyond(self, place: int, span: float) -> bool:
        """Whether that is after the last reading."""
        return span > 0 and place == len(self._rates) - 1

    def _pace(self, place: int, span: float) -> float:
        """Progress a day that holds after a reading."""
        return self._ahead if self._beyond(place, span) else self._rates[place]

    def done_by(self, moment: float) -> float:
        """Development done from the first reading to a moment (negative before it)."""
        place, span = self._place(moment)
        return self._done[place] + span * self._pace(place, span)

    def until(self, moment: float) -> Progress:
        """Progress from the first reading to a moment (negative before it)."""
        place, span = self._place(moment)
        low, high = self._widths_ahead
        if not self._beyond(place, span):
            low, high = self._widths[0][place], self._widths[1][place]
        return Progress(
            self._done[place] + span * self._pace(place, span),
            self._low[place] + span * low,
            self._high[place] + span * high,
        )

    def between(self, start: float, end: float) -> Progress:
        """Progress made from one moment to another."""
        return self.until(end).plus(self.until(start), -1.0)

    def reaches(self, start: float, wanted: float) -> float:
        """The moment at which `wanted` has been done since `start`."""
        target = self.done_by(start) + wanted
        place = max(bisect_right(self._done, target) - 1, 0)
        left = target - self._done[place]
        return self.trace.times[place] + left / self._pace(place, left)

    def level(self, start: float) -> float:
        """The constant temperature (C) at which an egg laid then would take as long."""
        known = self._levels.get(start)
        if known is None:
            known = self.curve.celsius_of(self.reaches(start, 1.0) - start)
            self._levels[start] = known
        return known


@lru_cache(maxsize=256)
def trace(readings: tuple[tuple[float, float], ...]) -> Trace:
    """Those readings as a trace, the same object for the same ones, whatever else changes."""
    return Trace(readings)


@lru_cache(maxsize=1024)
def course(along: Trace, curve: RateCurve) -> Course:
    """The course along a trace; it is summed once, whatever else changes."""
    return Course(along, curve)


@dataclass(frozen=True)
class Leg:
    """Part of an egg's way: from `start` (days, see `in_days`) on, along a course."""

    start: float
    course: Course


def hatch_moment(legs: Sequence[Leg]) -> float:
    """When development is complete along the legs, in days since the epoch (see `in_days`)."""
    if len(legs) == 1:
        return legs[0].course.reaches(legs[0].start, 1.0)
    done = 0.0
    ends = [*(leg.start for leg in legs[1:]), math.inf]
    for leg, end in zip(legs, ends, strict=True):
        hatch = leg.course.reaches(leg.start, 1 - done)
        if hatch <= end:
            return hatch
        done += leg.course.done_by(end) - leg.course.done_by(leg.start)
    raise ValueError("an egg's way needs at least one leg")


def progress(legs: Sequence[Leg], until: float) -> Progress:
    """The progress made along the legs from their start to a moment."""
    made = Progress()
    ends = [*(leg.start for leg in legs[1:]), until]
    for leg, end in zip(legs, ends, strict=True):
        if leg.start < until:
            made = made.plus(leg.course.between(leg.start, min(end, until)))
    return made
