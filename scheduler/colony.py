"""The plain facts that thinking rests on: one household's animals, eggs and readings.

Frozen dataclasses, filled by the book. Dates are the household's local dates; moments are aware
datetimes. Nothing here touches a database or a clock.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class Animal:
    """One animal. `status` is kept, sold, given, died or lost; `sex` female, male or unknown."""

    tag: str
    species: str | None = None
    sex: str = "unknown"
    name: str | None = None
    hatched: date | None = None
    sire: str | None = None
    dam: str | None = None
    place: str | None = None
    traits: tuple[str, ...] = ()
    status: str = "kept"
    arrived: date | None = None  # the day it came into the book
    placed: date | None = None  # the day it was put where it is
    ended: date | None = None  # the day it left


@dataclass(frozen=True)
class Pairing:
    """One session: a male in with a female, from `put_in` to `taken_out` (None: still in).

    `key` is stable (it goes into reminder keys).
    """

    key: str
    male: str
    female: str
    put_in: date
    taken_out: date | None = None


@dataclass(frozen=True)
class Clutch:
    """Eggs found together. `eggs` counts all found, `spoiled` those not worth incubating."""

    key: str
    dam: str
    laid: date
    eggs: int
    spoiled: int = 0
    sires: tuple[str, ...] = ()


@dataclass(frozen=True)
class Stay:
    """Where an egg lay from a day on: a box (and through it an incubator)."""

    since: date
    slot: str


@dataclass(frozen=True)
class Egg:
    """One incubated egg. `state` as last checked (None: not yet); `ended` with `end` hatched,
    discarded or None while in the box. `pipped` is the day it was seen pipping."""

    key: str
    clutch: str | None
    dam: str | None
    laid: date
    slot: str | None
    species: str | None = None
    sires: tuple[str, ...] = ()
    state: str | None = None
    checked: date | None = None
    pipped: date | None = None
    end: str | None = None
    ended: date | None = None
    young: str | None = None
    stays: tuple[Stay, ...] = ()


@dataclass(frozen=True)
class Box:
    """An egg box; `incubator` names where it stands ("1" is incubator 1)."""

    box: str
    rows: int
    columns: int
    incubator: str | None = None


@dataclass(frozen=True)
class ClimateReading:
    """Temperature in degrees Celsius and relative humidity in percent, at a place."""

    at: datetime
    place: str
    celsius: float | None = None
    humidity: float | None = None


@dataclass(frozen=True)
class Weight:
    """A weighing in grams."""

    tag: str
    on: date
    grams: float


@dataclass(frozen=True)
class Sign:
    """Something seen: gravid, slim, mating, receptive, unreceptive, biting, injured, thin, weak,
    straining, digging, tail-drop."""

    tag: str
    on: date
    sign: str


@dataclass(frozen=True)
class Search:
    """A look through a female's sand; `found` counts eggs."""

    tag: str
    on: date
    found: int


@dataclass(frozen=True)
class Watering:
    """Water added to a box (its moisture seen to)."""

    place: str
    on: date


@dataclass(frozen=True)
class Feeding:
    """Feeders given to animals or places (or "everyone"); `count` is for each animal."""

    on: date
    who: tuple[str, ...]
    food: str | None = None
    count: int | None = None
    dusted: bool = False
    refused: bool = False


@dataclass(frozen=True)
class Plan:
    """A reminder the keeper set. `key` is stable; with no `at` it is due in the morning."""

    key: str
    text: str
    on: date
    at: time | None = None


@dataclass(frozen=True)
class Trait:
    """A trait as the keeper defines it.

    `inheritance` is recessive, dominant, incomplete dominant, sex-linked or polygenic. `double`
    names the look of two copies of an incomplete dominant ("super snow"; None: "super" and the
    name). `system` is ZW or XY, for a sex-linked trait (a recessive on the Z or the X).
    """

    name: str
    inheritance: str
    double: str | None = None
    system: str = "ZW"


@dataclass(frozen=True)
class Colony:
    """One household's facts at one moment, as the book has them."""

    zone: ZoneInfo
    animals: Mapping[str, Animal] = field(default_factory=dict)
    pairings: tuple[Pairing, ...] = ()
    clutches: tuple[Clutch, ...] = ()
    eggs: tuple[Egg, ...] = ()
    boxes: Mapping[str, Box] = field(default_factory=dict)
    readings: tuple[ClimateReading, ...] = ()
    weights: tuple[Weight, ...] = ()
    signs: tuple[Sign, ...] = ()
    searches: tuple[Search, ...] = ()
    waterings: tuple[Watering, ...] = ()
    feedings: tuple[Feeding, ...] = ()
    plans: tuple[Plan, ...] = ()
    traits: tuple[Trait, ...] = ()


@dataclass(frozen=True)
class Due:
    """Something that is due, and why.

    `key` says what it is ("pull-male, pairing 17"), so that it is one and the same however often
    it is worked out. `due` and `until` are aware, in the household's zone. `text` is what to do
    in plain words, `why` the facts and figures it rests on. `about` lists tags or slots. `place`
    tells a helper where to go.
    """

    key: str
    kind: str
    about: tuple[str, ...]
    due: datetime
    until: datetime | None
    text: str
    why: str
    place: str | None = None
    part: str = ""  # the part of the household it was worked out for: see `duties`


DUE_KINDS = (
    "pull-male", "put-male-in", "check-gravid", "search-eggs", "candle", "wet-box",
    "read-incubator", "watch-hatch", "overdue-egg", "separate-sexes", "sex-young", "weigh",
    "rest-female", "first-pairing", "plan",
)  # fmt: skip
