"""One household's incubation: which readings count for an egg, and what has hatched so far.

An egg's way is the boxes it lay in; a box's warmth is what was read in the box itself and in the
incubator it stands in. Worked out when first asked for and kept as long as the `Colony` lives.
"""

from __future__ import annotations

import math
import weakref
from collections import defaultdict
from collections.abc import Callable, Collection
from datetime import date, datetime, time, timedelta
from functools import cached_property
from operator import attrgetter

from scheduler.colony import Colony, Egg
from scheduler.curve import RateCurve, fitted
from scheduler.facts import box_name, box_of, facts, incubator_name, place_name
from scheduler.figures import incubation_points, temperature_doubt, usual_celsius
from scheduler.own import OwnHatch, household_curve
from scheduler.species import Species
from scheduler.warmth import Course, Leg, Trace, course, hatch_moment, in_days, trace
from scheduler.window import Window

NOON = time(12)  # an egg found on a day was laid, for the reckoning, at noon
_LATEST = 80  # own hatches of a species that count: incubators and thermometers change
_RECENT = 300  # days: readings further back are looked at only for eggs laid before that
_LATELY = 240  # days: hatches further back are looked at only where there are few since
_KEPT_DAYS = 4  # days for which answers are kept beside each other


class Incubation:
    """One colony's incubators and eggs as known at the end of one day."""

    def __init__(self, colony: Colony, today: date) -> None:
        self._colony = weakref.ref(colony)
        self.today = today
        self.zone = colony.zone
        self._recent = today - timedelta(_RECENT)
        self._laid_recently = self._recent + timedelta(1)
        self._noons: dict[date, float] = {}
        self._courses: dict[tuple[str, bool, RateCurve], Course | None] = {}
        self._traces: dict[tuple[tuple[str, ...], bool], Trace] = {}
        self._windows: dict[tuple[str | None, object, object], Window] = {}
        self._curves: dict[tuple[str | None, float], RateCurve] = {}

    @property
    def colony(self) -> Colony:
        """The colony this is about."""
        colony = self._colony()
        if colony is None:
            raise ReferenceError("the colony of this incubation is gone")
        return colony

    def species(self, key: str | None) -> Species:
        """The species of that key; general gecko values where no file is known for it."""
        return facts(self.colony).species(key)

    def noon(self, day: date) -> float:
        """Noon of a local day, in days since the epoch."""
        if day not in self._noons:
            self._noons[day] = in_days(datetime.combine(day, NOON, tzinfo=self.zone))
        return self._noons[day]

    def curve(self, key: str | None, coverage: float = 0.8) -> RateCurve:
        """The species' curve as the household's own hatches have moved it."""
        curve = self._curves.get((key, coverage))
        if curve is None:
            curve = household_curve(self.species(key), self.hatches(key), coverage)
            self._curves[key, coverage] = curve
        return curve

    def window(self, egg: Egg, make: Callable[[Incubation, Egg], Window]) -> Window:
        """The egg's window as `make` works it out; eggs that share their way share it."""
        way = (egg.species, egg.laid, _boxes(egg))
        if way not in self._windows:
            self._windows[way] = make(self, egg)
        return self._windows[way]

    def legs(self, egg: Egg, curve: RateCurve) -> list[Leg]:
        """The egg's way from its laying on; empty where no temperature was ever logged for it.

        A stay in a box that nothing is known of counts as if it had gone on where it was before
        (the first: where it went next).
        """
        recent = egg.laid > self._laid_recently
        legs: list[Leg] = []
        for since, box in _boxes(egg):
            key = (box, recent, curve)
            if key not in self._courses:
                self._courses[key] = self._course(box_name(box), curve, recent)
            course = self._courses[key]
            if course is None or (legs and legs[-1].course is course):
                continue
            legs.append(Leg(self.noon(since if legs else egg.laid), course))
        return legs

    def hatches(self, key: str | None) -> list[OwnHatch]:
        """The household's latest hatches of a species, each with the warmth it had."""
        curve = fitted(incubation_points(self.species(key)))
        hatches = []
        for egg in self._latest(key):
            days, celsius, doubt = self._warmth(egg, curve)
            hatches.append(OwnHatch(days, celsius, egg.clutch or (egg.dam, egg.laid), doubt))
        return hatches

    def _warmth(self, egg: Egg, curve: RateCurve) -> tuple[float, float, float]:
        """Days the egg took, the constant temperature its way amounts to, and the doubt in it."""
        days = float(((egg.ended or egg.laid) - egg.laid).days)
        legs = self.legs(egg, curve) if days > 0 else []
        if not legs:
            species = self.species(egg.species)
            return days, usual_celsius(species), temperature_doubt(species)
        start = legs[0].start
        if len(legs) == 1:  # whatever day it hatched: eggs laid on one day share what they had
            return days, legs[0].course.level(start), 0.0
        return days, curve.celsius_of(hatch_moment(legs) - start), 0.0

    def _latest(self, key: str | None) -> list[Egg]:
        """The species' latest hatches: those of late, or of all time where these are few."""
        lately = self._hatched_lately.get(key, [])
        return latest(lately if len(lately) >= _LATEST else self._hatched.get(key, []))

    @cached_property
    def _hatched(self) -> dict[str | None, list[Egg]]:
        """Every hatched egg by species."""
        return self._hatched_since(date.min)

    @cached_property
    def _hatched_lately(self) -> dict[str | None, list[Egg]]:
        return self._hatched_since(self.today - timedelta(_LATELY))

    def _hatched_since(self, since: date) -> dict[str | None, list[Egg]]:
        groups: dict[str | None, list[Egg]] = defaultdict(list)
        today = self.today
        for egg in self.colony.eggs:
            ended = egg.ended
            if ended is not None and since <= ended <= today and egg.end == "hatched":
                groups[egg.species].append(egg)
        return groups

    @cached_property
    def _readings(self) -> dict[str, list[tuple[float, float]]]:
        """Temperatures by place, each a moment in days and degrees C, up to the end of today."""
        return self._read_since(self.noon(self._recent))

    @cached_property
    def _all_readings(self) -> dict[str, list[tuple[float, float]]]:
        """As `_readings`, from the first one on: for eggs laid long ago."""
        return self._read_since(-math.inf)

    def _read_since(self, start: float) -> dict[str, list[tuple[float, float]]]:
        end = self.noon(self.today) + 0.5
        groups: dict[str, list[tuple[float, float]]] = defaultdict(list)
        for row in self.colony.readings:
            if row.celsius is not None and start <= (at := in_days(row.at)) <= end:
                groups[row.place].append((at, row.celsius))
        named: dict[str, list[tuple[float, float]]] = defaultdict(list)
        for place, rows in groups.items():
            named[place_name(place)] += rows
        return named

    @cached_property
    def _incubators(self) -> dict[str, str]:
        """The place of readings of each box's incubator; the only one, where none was named."""
        places = [place for place in self._readings if place.startswith("incubator")]
        only = places[0] if len(places) == 1 else ""
        return {
            box_name(box.box): f"incubator {incubator_name(box.incubator)}"
            if box.incubator
            else only
            for box in self.colony.boxes.values()
        }

    def places(self, egg: Egg) -> frozenset[str]:
        """The places whose readings count for an egg's warmth, were there any."""
        boxes = {box_name(box) for _, box in _boxes(egg)}
        inside = {f"box {box}" for box in boxes}
        return frozenset(inside | {self._incubators.get(box, "") for box in boxes})

    def take_over(
        self, earlier: Incubation, *, warmth: bool = True, other: Collection[str | None] = ()
    ) -> None:
        """Keep what was worked out for an earlier colony that its rows leave as it was.

        `warmth`: the readings and boxes are the same; `other` are the species of which other eggs
        hatched.
        """
        self._noons = earlier._noons
        kept = [] if other else ["_hatched", "_hatched_lately"]
        if warmth:
            kept += ["_readings", "_all_readings", "_incubators"]
            self._courses, self._traces = earlier._courses, earlier._traces
            self._curves = {k: v for k, v in earlier._curves.items() if k[0] not in other}
            self._windows = {k: v for k, v in earlier._windows.items() if k[0] not in other}
        vars(self).update((name, vars(earlier)[name]) for name in kept if name in vars(earlier))

    def _course(self, box: str, curve: RateCurve, recent: bool) -> Course | None:
        """The course of a box; boxes that share their readings share it."""
        known = self._readings if recent else self._all_readings
        wanted = (f"box {box}", self._incubators.get(box, ""))
        places = tuple(place for place in wanted if place in known)
        if not places:
            return None
        if (places, recent) not in self._traces:
            rows = tuple(row for place in places for row in known[place])
            self._traces[places, recent] = trace(rows)
        return course(self._traces[places, recent], curve)


def latest(hatched: list[Egg]) -> list[Egg]:
    """The latest hatched of them, latest first; of one day in the order of their keys."""
    since = sorted(egg.ended or date.min for egg in hatched)[-_LATEST:]
    last = [egg for egg in hatched if since and (egg.ended or date.min) >= since[0]]
    return sorted(last, key=attrgetter("ended", "key"), reverse=True)[:_LATEST]


def _boxes(egg: Egg) -> tuple[tuple[date, str], ...]:
    """The boxes the egg lay in, each with the day from which it did."""
    stays = egg.stays
    if len(stays) == 1:  # nearly every egg
        return ((stays[0].since, box_of(stays[0].slot)),)
    if not stays and egg.slot:
        return ((egg.laid, box_of(egg.slot)),)
    return tuple([(stay.since, box_of(stay.slot)) for stay in stays])


_known: dict[int, tuple[weakref.ref[Colony], dict[date, Incubation]]] = {}


def _forget(number: int) -> None:
    _known.pop(number, None)


def incubation(colony: Colony, today: date) -> Incubation:
    """The incubation of a colony at the end of `today`, built once while that `Colony` lives."""
    number = id(colony)
    known = _known.get(number)
    if known is None or known[0]() is not colony:
        known = (weakref.ref(colony, lambda _: _forget(number)), {})
        _known[number] = known
    days = known[1]
    if today not in days:
        while len(days) >= _KEPT_DAYS:
            days.pop(next(iter(days)))
        days[today] = Incubation(colony, today)
    return days[today]


def take_over(
    before: Colony, after: Colony, *, warmth: bool = True, other: Collection[str | None] = ()
) -> None:
    """Keep the incubation of a colony for a later one, as far as its rows are the same.

    See `Incubation.take_over`.
    """
    known = _known.get(id(before))
    if known is not None and known[0]() is before:
        for day, earlier in known[1].items():
            incubation(after, day).take_over(earlier, warmth=warmth, other=other)
