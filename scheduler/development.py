"""When an egg will hatch: development summed over the temperatures it lay at, as a window."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, tzinfo
from functools import lru_cache

from scheduler.colony import Colony, Egg
from scheduler.curve import OWN, RateCurve
from scheduler.figures import temperature_doubt, usual_celsius
from scheduler.incubation import NOON, Incubation, incubation
from scheduler.own import OwnHatch, household_curve
from scheduler.species import Species
from scheduler.warmth import LONG_GAP, Course, Leg, Trace, hatch_moment, in_days, progress
from scheduler.window import Window, counted_from

__all__ = ["OwnHatch", "Window", "egg_window", "hatch_window"]

_NORMAL_80 = 1.2816


def hatch_window(
    species: Species,
    laid: date,
    temps: float | Sequence[tuple[datetime, float]] | None,
    *,
    asof: date | None = None,
    own: Iterable[OwnHatch] = (),
    coverage: float = 0.8,
) -> Window:
    """The days on which an egg laid on `laid` is expected to hatch.

    `temps` is a constant temperature in C, or readings (aware moment, C) in any order; readings
    after `asof` are left out. With neither (None or no readings) the species' usual temperature is
    assumed, and the window says so.
    """
    curve = household_curve(species, own, coverage)
    if isinstance(temps, int | float):
        return constant_window(species, laid, float(temps), curve)
    zone = temps[0][0].tzinfo if temps else UTC
    laid_at = noon(laid, zone)
    until = math.inf if asof is None else noon(asof, zone) + 0.5
    trace = Trace((in_days(at), celsius) for at, celsius in temps or ())
    if asof is not None:
        trace = trace.last_before(until)
    if not len(trace):
        return assumed_window(species, laid, curve)
    return way_window(species, laid, [Leg(laid_at, Course(trace, curve))], curve)


def egg_window(colony: Colony, egg: Egg, today: date) -> Window:
    """The days on which an egg in the book is expected to hatch, as known at the end of `today`.

    Rests on the readings of the boxes and incubators it lay in (a box's own readings and those of
    the incubator it stands in), and on the household's own hatches of the species.
    """
    known = incubation(colony, today)
    return known.window(egg, _egg_window)


def _egg_window(known: Incubation, egg: Egg) -> Window:
    curve = known.curve(egg.species)
    species = known.species(egg.species)
    legs = known.legs(egg, curve)
    if not legs:
        return assumed_window(species, egg.laid, curve)
    return way_window(species, egg.laid, legs, curve)


def noon(day: date, zone: tzinfo | None) -> float:
    """Noon of a local day, in days since the epoch."""
    return in_days(datetime.combine(day, NOON, tzinfo=zone))


def constant_window(species: Species, laid: date, celsius: float, curve: RateCurve) -> Window:
    """The window at a constant temperature, in C."""
    spread = curve.spread(celsius)
    days = (math.exp(spread.middle), math.exp(spread.low), math.exp(spread.high))
    basis = _basis(species, curve, f"{celsius:.1f} C throughout", celsius)
    return counted_from(laid, days, basis=basis, coverage=curve.coverage)


def assumed_window(species: Species, laid: date, curve: RateCurve) -> Window:
    """The window where no temperature was ever logged: the usual one, and how far it may be off."""
    celsius = usual_celsius(species)
    spread = curve.spread(celsius)
    doubt = temperature_doubt(species) * _tail(curve)
    days = (
        math.exp(spread.middle),
        math.exp(spread.middle - math.hypot(spread.middle - spread.low, doubt)),
        math.exp(spread.middle + math.hypot(spread.high - spread.middle, doubt)),
    )
    basis = _basis(species, curve, f"no temperature logged, {celsius:.1f} C assumed", celsius)
    return counted_from(laid, days, basis=basis, coverage=curve.coverage, assumed=True)


def way_window(species: Species, laid: date, legs: Sequence[Leg], curve: RateCurve) -> Window:
    """The window of an egg along the legs of its way, the first starting at its laying."""
    hatch = hatch_moment(legs)
    made = progress(legs, hatch)
    days = max(hatch - legs[0].start, 0.5)
    level = curve.celsius_of(days)
    unread = _unread(legs, hatch, curve.slope(level)) * _tail(curve)
    low = days * math.exp(-math.hypot(made.low, unread))
    high = days * math.exp(math.hypot(made.high, unread))
    basis = _basis(species, curve, _read(legs, hatch, level), level)
    return counted_from(laid, (days, low, high), basis=basis, coverage=curve.coverage)


def _unread(legs: Sequence[Leg], hatch: float, slope: float) -> float:
    """Log days of doubt (one sd) for the days after the last reading, whose warmth may drift."""
    trace = legs[-1].course.trace
    start = legs[0].start
    share = max(hatch - max(trace.times[-1], start), 0.0) / (hatch - start)
    return share * slope * trace.drift


def _tail(curve: RateCurve) -> float:
    """Standard deviations from the middle to an end of the window, for a normal spread."""
    if curve.coverage == 0.8:
        return _NORMAL_80
    from statistics import NormalDist

    return NormalDist().inv_cdf((1 + curve.coverage) / 2)


def _read(legs: Sequence[Leg], hatch: float, level: float) -> str:
    """What was read of the temperature, and how gaps in it were bridged."""
    ends = [leg.start for leg in legs[1:]] + [hatch]
    count, gap = 0, 0.0
    for leg, end in zip(legs, ends, strict=True):
        trace = leg.course.trace
        count += trace.count(leg.start - 0.5, end)
        seen = min(end, trace.times[-1])
        if seen > leg.start:
            gap = max(gap, trace.longest_gap(leg.start, seen))
    last = legs[-1].course.trace.times[-1]
    said = f"{count} readings, which come to {level:.1f} C"
    if count == 1:
        said = f"1 reading, {level:.1f} C"
    if not count:
        said = f"no reading since it was laid, the last before carried on, {level:.1f} C"
    if len(legs) > 1:
        said += f"; moved {len(legs) - 1} time{'s' * (len(legs) != 2)}"
    if gap > LONG_GAP:
        said += f"; a gap of {gap:.0f} days bridged with the reading next to it"
    if hatch - last > 1 and count:
        said += "; from the last reading on, its level carried on"
    return said


def _basis(species: Species, curve: RateCurve, warmth: str, celsius: float) -> str:
    """What a window rests on, in short words."""
    return "; ".join(
        part
        for part in (
            _sources(species),
            _own(curve),
            warmth,
            _reach(curve, celsius),
            _avoid(species, celsius),
        )
        if part
    )


@lru_cache(maxsize=256)
def _sources(species: Species) -> str:
    """The durations a window rests on: at which temperatures, and how many of them published."""
    rows = [row for row in species.durations if row.celsius is not None]
    published = sum(row.status == "published" for row in rows)
    said = f"{species.name}: no duration at a known temperature"
    if rows:
        known = sorted(row.celsius for row in rows if row.celsius is not None)
        at = f"at {known[0]:g} C" if known[0] == known[-1] else f"{known[0]:g} to {known[-1]:g} C"
        said = f"{species.name}: {len(rows)} duration{'s' * (len(rows) != 1)} {at}"
        said += f" ({published} published)" if published else ""
    practice = sum(1 for row in species.rows("incubation_days") if row.typical)
    others = len(species.durations) - len(rows) + practice
    if others:
        said += f", {others} other value{'s' * (others != 1)}"
    if not rows and not others:
        said += ", general gecko values"
    elif not species.figures:
        said += ", other reptiles and general gecko values for the rest"
    return said


@lru_cache(maxsize=256)
def _own(curve: RateCurve) -> str:
    eggs = sum(int(point.eggs) for point in curve.points if point.source == OWN)
    clutches = sum(point.clutches for point in curve.points if point.source == OWN)
    if not eggs:
        return "no own hatches yet"
    plural = "es" * (clutches != 1)
    return f"{eggs} own hatch{'es' * (eggs != 1)} from {clutches} clutch{plural}"


def _reach(curve: RateCurve, celsius: float) -> str:
    reach = curve.fitted_range
    if reach is None or reach[0] - 0.05 <= celsius <= reach[1] + 0.05:
        return ""
    low, high = reach
    known = f"{low:g} C" if low == high else f"{low:g} to {high:g} C"
    return f"beyond the temperatures known ({known}), so wider"


def _avoid(species: Species, celsius: float) -> str:
    """A warning where the temperature is one that eggs are said not to bear."""
    figure = species.figure("incubation_temp_avoid_c")
    if figure.high is not None and celsius > figure.high:
        return f"above {figure.high:g} C eggs may die ({figure.status})"
    if figure.low is not None and celsius < figure.low:
        return f"below {figure.low:g} C eggs may die ({figure.status})"
    return ""
