"""When a female's next clutch is due: her own intervals, pooled with the household's and species'.

Log intervals are normal at three levels: the household about the species' figure, a female about
her household, a clutch about its female. Everything follows in closed form: a female with none of
her own gets the household's mean, or the species' figure, as wide as that deserves.
"""

from __future__ import annotations

import math
import weakref
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from statistics import NormalDist

from scheduler.colony import Colony, Sign
from scheduler.facts import Facts, facts
from scheduler.species import Figure, Species
from scheduler.window import Window, counted_from
from scheduler.words import day

__all__ = ["Intervals", "Window", "clutch_window", "next_clutch"]

ONE_CLUTCH = 4  # days: eggs found closer together than this are one clutch (our own choice)
_RUN_ENDS = 2.0  # times the longest usual interval: after that it is another run of clutches
# How the spread of a species' intervals divides (shares of variance; our own choice, no source):
_HOUSEHOLD, _FEMALE, _CLUTCH = 0.35, 0.2, 0.45
_PRIOR_WEIGHT = 6.0  # intervals that the clutch-to-clutch spread of the species counts for
_TEN_TO_NINETY = 2.563  # standard deviations between the 10th and the 90th percentile
_NORMAL = NormalDist()
_ROOT_TWO = math.sqrt(2.0)
_GRAVID_DAYS = 14.0  # from seen gravid to laid, at most, where the figures don't say (memory)


@dataclass(frozen=True)
class Intervals:
    """Log intervals between one female's clutches: how many, their mean, squares about it."""

    count: int = 0
    mean: float = 0.0
    squares: float = 0.0


@lru_cache(maxsize=1024)
def _deviations(share: float) -> float:
    """Standard deviations from the middle below which that share lies."""
    return _NORMAL.inv_cdf(share)


@dataclass(frozen=True)
class Spread:
    """A normal law of log days: the middle and the standard deviation."""

    middle: float
    sd: float

    def days(self, share: float) -> float:
        """The day by which `share` of clutches are laid."""
        return math.exp(self.middle + self.sd * _deviations(share))

    def laid_by(self, days: float) -> float:
        """The share of clutches laid by a day."""
        if days <= 0:
            return 0.0
        off = (math.log(days) - self.middle) / (self.sd * _ROOT_TWO)
        return 0.5 * (1 + math.erf(off))


def of_figure(figure: Figure) -> Spread:
    """A species' figure as a law: typical in the middle, low to high holding 80%."""
    typical = figure.typical or math.sqrt((figure.low or 21.0) * (figure.high or 21.0))
    low, high = figure.low or typical / 1.4, figure.high or typical * 1.4
    return Spread(math.log(typical), max(math.log(high / low) / _TEN_TO_NINETY, 0.08))


def intervals(laid: Iterable[date], longest: float) -> Intervals:
    """The intervals between layings; those longer than `longest` days are breaks, and left out."""
    logs = []
    start = before = -math.inf
    for found in sorted([each.toordinal() for each in laid]):
        if found - before >= ONE_CLUTCH:
            if found - start <= longest:
                logs.append(math.log(found - start))
            start = found
        before = found
    if not logs:
        return Intervals()
    mean = sum(logs) / len(logs)
    return Intervals(len(logs), mean, sum([(log - mean) ** 2 for log in logs]))


@dataclass(frozen=True)
class Pool:
    """What a household's females say together: sums over females, from which one can be taken out.

    `precision` and `weighted` are sums over females of 1/v and mean/v, v being how far a female's
    mean may lie from the household's.
    """

    prior: Spread
    clutch: float = 0.0  # variance of a clutch about its female
    precision: float = 0.0
    weighted: float = 0.0
    females: int = 0
    count: int = 0

    @staticmethod
    def of(prior: Spread, females: Sequence[Intervals]) -> Pool:
        """The pool of all the household's females of one species."""
        degrees = sum(each.count - 1 for each in females if each.count)
        squares = sum(each.squares for each in females)
        usual = _CLUTCH * prior.sd**2
        clutch = (_PRIOR_WEIGHT * usual + squares) / (_PRIOR_WEIGHT + degrees)
        known = [each for each in females if each.count]
        pool = Pool(prior, clutch)
        return Pool(
            prior,
            clutch,
            sum(1 / pool.about(each) for each in known),
            sum(each.mean / pool.about(each) for each in known),
            len(known),
            sum(each.count for each in known),
        )

    def about(self, female: Intervals) -> float:
        """Variance of a female's mean about the household's."""
        return _FEMALE * self.prior.sd**2 + self.clutch / female.count

    def for_female(self, female: Intervals) -> Spread:
        """The law of her next interval: the others' say, then her own."""
        precision, weighted = self.precision, self.weighted
        if female.count:
            precision -= 1 / self.about(female)
            weighted -= female.mean / self.about(female)
        household = 1 / (_HOUSEHOLD * self.prior.sd**2)
        total = household + precision
        middle = (household * self.prior.middle + weighted) / total
        variance = 1 / total + _FEMALE * self.prior.sd**2
        if female.count:
            trust = variance / (variance + self.clutch / female.count)
            middle += trust * (female.mean - middle)
            variance *= 1 - trust
        return Spread(middle, math.sqrt(variance + self.clutch))


@dataclass(frozen=True)
class Herself:
    """What is known of one female on a day: when she laid, was with a male, and what was seen.

    `mated` is the first day with a male after her last clutch; `last_with` the last. `gravid` and
    `slim` are the latest such signs after her last clutch.
    """

    laid: tuple[date, ...] = ()
    mated: date | None = None
    last_with: date | None = None
    gravid: date | None = None
    slim: date | None = None


def next_clutch(
    species: Species,
    herself: Herself | Sequence[date],
    others: Mapping[str, Sequence[date]] | None = None,
    *,
    on: date,
    coverage: float = 0.8,
) -> Window | None:
    """When a female's next clutch is due, as known on a day; None where nothing says she will lay.

    `herself` is what is known of her, or simply the days she laid; `others` the laying days of the
    household's other females of the species. `days` of the window count from her last clutch (or,
    for a first one, from the first day with a male).
    """
    if not isinstance(herself, Herself):
        herself = Herself(tuple(day for day in herself if day <= on))
    longest = longest_interval(species)
    own = intervals(herself.laid, longest)
    rest = [intervals(days, longest) for days in (others or {}).values()]
    pool = Pool.of(of_figure(species.figure("clutch_interval_days")), [own, *rest])
    return window_from(species, herself, own, pool, on=on, coverage=coverage)


@lru_cache(maxsize=256)
def longest_interval(species: Species) -> float:
    """The longest interval, in days, that still belongs to one run of clutches."""
    figure = species.figure("clutch_interval_days")
    return _RUN_ENDS * (figure.high or figure.typical or 30.0)


def window_from(
    species: Species,
    herself: Herself,
    own: Intervals,
    pool: Pool,
    *,
    on: date,
    coverage: float = 0.8,
) -> Window | None:
    """As `next_clutch`, with the sums over the household already made."""
    if herself.gravid and herself.slim and herself.slim >= herself.gravid:
        return _search_now(herself, coverage)
    window = _by_interval(species, herself, own, pool, on, coverage) or _by_mating(
        species, herself, on, coverage
    )
    if herself.gravid is None:
        return window
    return _with_gravid(species, herself.gravid, window, coverage)


def _by_interval(
    species: Species, herself: Herself, own: Intervals, pool: Pool, on: date, coverage: float
) -> Window | None:
    """From her last clutch, unless that is too long ago to belong to the same run."""
    if not herself.laid:
        return None
    last = max(herself.laid)
    waited = (on - last).days
    if waited > longest_interval(species):
        return None
    law = pool.for_female(own)
    days, late = _still_to_come(law, waited, coverage)
    if late and herself.mated and herself.mated > last:
        return None  # the new mating says more than an interval that has run out
    basis = _interval_basis(species, own, pool)
    if late:
        usual = last + timedelta(round(law.days((1 + coverage) / 2)))
        basis += f"; late: her window ended on {day(usual, on)}"
    return counted_from(last, days, basis=basis, coverage=coverage)


def _still_to_come(
    law: Spread, waited: float, coverage: float
) -> tuple[tuple[float, float, float], bool]:
    """Middle, low and high, and whether the usual window has passed without a clutch.

    She has not laid yet, so the middle and the end are those of the clutches still to come; the
    beginning stays where it was, however late she is.
    """
    tail = (1 - coverage) / 2
    gone = min(law.laid_by(waited), 0.9999)
    left = 1 - gone
    low, usual = law.days(tail), law.days(1 - tail)
    middle = max(law.days(gone + left / 2), waited)
    high = law.days(max(1 - tail, gone + left * coverage))
    return (middle, low, max(high, waited + 1, middle)), waited > usual


def _interval_basis(species: Species, own: Intervals, pool: Pool) -> str:
    others = pool.females - bool(own.count)
    parts = [
        f"{own.count} interval{'s' * (own.count != 1)} of her own"
        if own.count
        else "no interval of her own yet",
        f"{pool.count - own.count} of {others} other female{'s' * (others != 1)}" if others else "",
        _usual_interval(species),
    ]
    return "; ".join([part for part in parts if part])


@lru_cache(maxsize=256)
def _usual_interval(species: Species) -> str:
    """The species' interval in words, with its status."""
    figure = species.figure("clutch_interval_days")
    general = ", general gecko value" if figure.note.startswith("general gecko") else ""
    if figure.low and figure.high:
        return f"{species.name} {figure.low:g} to {figure.high:g} days ({figure.status}{general})"
    return f"{species.name} about {figure.typical or figure.low or 0:g} days ({figure.status})"


def _by_mating(species: Species, herself: Herself, on: date, coverage: float) -> Window | None:
    """From the first day with a male, where there is no clutch to count from."""
    if herself.mated is None:
        return None
    law, basis = _first_clutch(species)
    tail = (1 - coverage) / 2
    later = ((herself.last_with or herself.mated) - herself.mated).days
    high = law.days(1 - tail) + later
    if (on - herself.mated).days > high * _RUN_ENDS:
        return None
    days = (law.days(0.5) + later / 2, law.days(tail), high)
    return counted_from(herself.mated, days, basis=basis, coverage=coverage)


@lru_cache(maxsize=256)
def _first_clutch(species: Species) -> tuple[Spread, str]:
    """The law of days from mating to a first clutch, and what it rests on in words."""
    figure = species.figure("mating_to_first_clutch_days")
    general = ", general gecko value" if figure.note.startswith("general gecko") else ""
    basis = (
        f"no clutch to count from; {figure.low:g} to {figure.high:g} days from mating to the "
        f"first clutch ({figure.status}{general})"
        if figure.low and figure.high
        else f"no clutch to count from; counted from the mating ({figure.status}{general})"
    )
    return of_figure(figure), basis


def said(when: date) -> str:
    """A date in a basis, as one says it: "8 Mar"."""
    return day(when, when)


def _gravid_days(species: Species) -> float:
    """Days from being seen gravid to laying, at most: first clutch at the latest, less earliest
    sight of eggs."""
    first = species.figure("mating_to_first_clutch_days").high
    seen = species.figure("gravid_visible_days").low
    return max(first - seen, _GRAVID_DAYS / 2) if first and seen else _GRAVID_DAYS


def _with_gravid(
    species: Species, gravid: date, window: Window | None, coverage: float
) -> Window | None:
    """A female seen gravid lays while eggs can be seen: that ends a window, or makes one."""
    most = _gravid_days(species)
    if window is None:
        basis = f"seen gravid on {said(gravid)}; eggs follow within about {most:.0f} days"
        return counted_from(gravid, (most / 3, 0.0, most), basis=basis, coverage=coverage)
    counted = window.start - timedelta(round(window.low))
    latest = (gravid - counted).days + most
    earliest = float((gravid - counted).days)
    if latest >= window.high and earliest <= window.low:
        return window
    low = max(window.low, earliest) if earliest < window.high else window.low
    high = max(min(window.high, latest), low + 1)
    middle = min(max(window.days, low), high)
    basis = f"{window.basis}; seen gravid on {said(gravid)}"
    return counted_from(counted, (middle, low, high), basis=basis, coverage=coverage)


def _search_now(herself: Herself, coverage: float) -> Window:
    """Slim after gravid and no eggs found: she has laid, and the search is on."""
    assert herself.gravid and herself.slim
    counted = max(herself.laid, default=herself.mated or herself.gravid)
    low = float((herself.slim - counted).days)
    basis = (
        f"seen gravid on {said(herself.gravid)}, slim on {said(herself.slim)}, "
        "no eggs found: she has probably laid, search now"
    )
    return counted_from(counted, (low, low, low + 3), basis=basis, coverage=coverage)


Female = tuple[str | None, tuple[date, ...]]
"""A female's species, and the days she laid, in order."""
_NONE: tuple[Female, Intervals] = (None, ()), Intervals()


@lru_cache(maxsize=256)
def _pool(figure: Figure, females: tuple[Intervals, ...]) -> Pool:
    """The pool of females of a species; of the same ones it is made once."""
    return Pool.of(of_figure(figure), females)


class Layings:
    """One colony's laying females as known on a day: intervals by female, pools by species."""

    def __init__(self, colony: Colony, today: date, earlier: Layings | None = None) -> None:
        """`earlier` are those of an earlier colony on that day: what is the same is kept."""
        self.today = today
        known = facts(colony)
        self._own: dict[str, tuple[Female, Intervals]] = {}
        females: dict[str | None, list[Intervals]] = defaultdict(list)
        for tag, clutches in known.clutches_of.items():
            key = known.species_of(tag)
            female = (key, tuple([clutch.laid for clutch in clutches if clutch.laid <= today]))
            kept = earlier._own.get(tag) if earlier else None
            if kept is None or kept[0] != female:
                longest = longest_interval(known.species(key))
                kept = female, intervals(female[1], longest)
            self._own[tag] = kept
            females[key].append(kept[1])
        self._pools = {
            key: _pool(known.figure(key, "clutch_interval_days"), tuple(rows))
            for key, rows in females.items()
        }

    def window(self, colony: Colony, tag: str) -> Window | None:
        """The female's next clutch."""
        known = facts(colony)
        animal = known.kept(tag)
        if animal is None or animal.sex == "male":
            return None
        species = known.species(animal.species)
        pool = self._pools.get(animal.species) or Pool.of(
            of_figure(species.figure("clutch_interval_days")), []
        )
        _, own = self._own.get(tag, _NONE)
        return window_from(species, self._herself(known, tag), own, pool, on=self.today)

    def _herself(self, known: Facts, tag: str) -> Herself:
        """What the book knows of a female up to today."""
        today = self.today
        (_, laid), _ = self._own.get(tag, _NONE)
        last = laid[-1] if laid else date.min
        signs = [s for s in known.signs_of.get(tag, ()) if last < s.on <= today]
        with_male: list[date] = [
            p.put_in
            for p in known.pairings_of.get(tag, ())
            if last < p.put_in <= today and p.female == tag
        ]
        if signs:
            with_male += [s.on for s in signs if s.sign == "mating"]
        return Herself(
            laid=laid,
            mated=min(with_male, default=None),
            last_with=max(with_male, default=None),
            gravid=_latest(signs, "gravid") if signs else None,
            slim=_latest(signs, "slim") if signs else None,
        )


def _latest(signs: Sequence[Sign], sign: str) -> date | None:
    return max((each.on for each in signs if each.sign == sign), default=None)


_known: dict[int, tuple[weakref.ref[Colony], Layings]] = {}


def _forget(number: int) -> None:
    _known.pop(number, None)


def clutch_window(colony: Colony, tag: str, today: date) -> Window | None:
    """When the female's next clutch is due, as known on `today`; None where nothing says so.

    None for a male, an animal no longer kept, one that never met a male nor laid, and one whose
    last clutch is too long ago (she rests) with no mating since.
    """
    number = id(colony)
    known = _known.get(number)
    if known is None or known[0]() is not colony or known[1].today != today:
        known = (weakref.ref(colony, lambda _: _forget(number)), Layings(colony, today))
        _known[number] = known
    return known[1].window(colony, tag)


def take_over(before: Colony, after: Colony, *, same: bool) -> None:
    """Keep the layings of a colony for a later one; all, if its clutches are the `same`."""
    known = _known.get(id(before))
    if known is not None and known[0]() is before:
        number = id(after)
        layings = known[1] if same else Layings(after, known[1].today, known[1])
        _known[number] = (weakref.ref(after, lambda _: _forget(number)), layings)


def counts_from_interval(known: Facts, tag: str, today: date) -> bool:
    """Whether a female's next clutch is counted from her last: if not, no interval moves it."""
    clutches = known.clutches_of.get(tag)
    if not clutches:
        return False
    longest = longest_interval(known.species(known.species_of(tag)))
    return any(0 <= (today - each.laid).days <= longest for each in clutches)
