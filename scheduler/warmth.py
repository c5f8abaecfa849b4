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
from functools import cached_property
from itertools import accumulate, pairwise

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
        inside = [at for at in self.times if start < at < end]
        edges = [start, *inside, end]
        return max(later - earlier for earlier, later in pairwise(edges))

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
        self._paces = [curve.pace(celsius) for celsius in trace.celsius]
        spans = [later - earlier for earlier, later in pairwise(trace.times)]
        self._done, self._low, self._high = (
            list(
                accumulate(
                    (pace[each] * span for pace, span in zip(self._paces, spans, strict=False)),
                    initial=0.0,
                )
            )
            for each in range(3)
        )
        expected = [(curve.pace(celsius), share) for celsius, share in trace.outlook]
        self._paces[-1] = (  # a day after the last reading
            sum(pace[0] * share for pace, share in expected),
            sum(pace[1] * share for pace, share in expected),
            sum(pace[2] * share for pace, share in expected),
        )
        self._before = curve.pace(trace.celsius[0])

    def until(self, moment: float) -> Progress:
        """Progress from the first reading to a moment (negative before it)."""
        times = self.trace.times
        place = bisect_right(times, moment) - 1
        if place < 0:
            place, pace = 0, self._before
        else:
            pace = self._paces[place]
        span = moment - times[place]
        return Progress(
            self._done[place] + span * pace[0],
            self._low[place] + span * pace[1],
            self._high[place] + span * pace[2],
        )

    def between(self, start: float, end: float) -> Progress:
        """Progress made from one moment to another."""
        return self.until(end).plus(self.until(start), -1.0)

    def reaches(self, start: float, wanted: float) -> float:
        """The moment at which `wanted` progress has been made since `start`."""
        target = self.until(start).done + wanted
        place = bisect_right(self._done, target) - 1
        if place < 0:
            return self.trace.times[0] + target / self._before[0]
        return self.trace.times[place] + (target - self._done[place]) / self._paces[place][0]


@dataclass(frozen=True)
class Leg:
    """Part of an egg's way: from `start` (days, see `in_days`) on, along a course."""

    start: float
    course: Course


def hatch_moment(legs: Sequence[Leg]) -> tuple[float, Progress]:
    """When development is complete along the legs, and the progress that made it up.

    The moment is in days since the epoch (see `in_days`).
    """
    made = Progress()
    for leg, following in zip(legs, [*legs[1:], None], strict=True):
        if following is not None:
            step = leg.course.between(leg.start, following.start)
            if made.done + step.done < 1:
                made = made.plus(step)
                continue
        hatch = leg.course.reaches(leg.start, 1 - made.done)
        return hatch, made.plus(leg.course.between(leg.start, hatch))
    raise ValueError("an egg's way needs at least one leg")
