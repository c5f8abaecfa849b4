"""How fast embryos develop at each temperature: days from laying to hatching, and how sure.

The curve of a species is a straight line of rate on temperature above a zero of development,
softened near that zero (eggs still creep on below it) and slowed by heat, with a smooth departure
of the species' own. What is known of other reptiles is the prior; published durations and the
household's own hatches move it. All of it is Gaussian in log days, except the zero of development
and the roughness of the figures, which are summed over a small grid. So two points, one or none
still give an answer, each with the width it deserves.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise
from operator import mul
from statistics import NormalDist

OWN = "the household's own hatches"


@dataclass(frozen=True)
class Prior:
    """What is known of reptiles at large, before a species' own durations.

    Zero of development: median 15.1 C, robust sd 2.6 between 100 series of 64 species (Reptile
    Development Database, Noble et al. 2018, Scientific Data; computed from it): a t law of scale
    2.4 has about that, and heavy tails let in the steeper and the flatter geckos. Heat slows
    development against the line above about 30 C, and 3 to 7% of the days remain between eggs of
    one temperature in one laboratory (same source). How that splits into departure, treatment,
    laboratory, clutch and egg was set on simulated series with the same spread of errors as those
    100 (memory: our own choice), and is checked in `tests/bench/hatch_accuracy.py`.
    """

    zero: float = 15.1  # C
    zero_sd: float = 2.4  # C, scale of a t distribution
    zero_tails: float = 2.0  # degrees of freedom
    softness: float = 2.0  # C, how gradually development sets in
    knee: float = 30.0  # C, where heat begins to slow it
    heat: float = 0.005  # log days per C squared above the knee
    heat_sd: float = 0.006
    departure: float = 0.025  # log days, the species' own smooth departure
    departure_reach: float = 4.0  # C
    treatment: float = 0.022  # log days, one treatment about its own curve
    laboratory: float = 0.027  # log days, one source against the rest
    household: float = 0.025  # log days, one household against the laboratories
    clutch: float = 0.02  # log days, one clutch within a household
    egg: float = 0.025  # log days, one egg within a clutch
    published_egg: float = 0.05  # log days, one egg of a published treatment
    days: float = 60.0  # about the middle of gecko incubation; a very weak prior
    days_sd: float = 1.0  # log days
    roughness: tuple[tuple[float, float], ...] = (
        (0.6, 0.25), (1.0, 0.45), (1.7, 0.25), (3.0, 0.05),
    )  # fmt: skip  # how much rougher than usual a series may be, and how often


PRIOR = Prior()
_ZEROS = (-25.0, -15.0, -9.0, -5.0, -2.0, 0.0, 2.0, 3.5, 5.0, *(6 + 0.5 * i for i in range(33)))
_WARMTH = 28.0  # C, where all lines are pinned together
_STEP = 0.5  # C between the temperatures at which a fit is worked out
_ROOT_HALF = math.sqrt(0.5)
_MOST_PACES = 10_000  # temperatures kept for a curve
_PHASES = tuple(math.sin(2 * math.pi * (i + 0.5) / 8) for i in range(8))


@dataclass(frozen=True)
class Point:
    """One duration to fit: `days` at `celsius`, standing for `eggs` eggs of one `source`.

    `swing` is the full daily range (C); `doubt` is extra uncertainty, as a standard deviation of
    log days. For a point of `OWN`, `eggs` and `clutches` count what it is the mean of.
    """

    celsius: float
    days: float
    eggs: float = 5.0
    swing: float = 0.0
    doubt: float = 0.0
    source: str = ""
    clutches: int = 1


@dataclass(frozen=True)
class Spread:
    """Log days of one egg at one temperature: the median and both ends of the window."""

    middle: float
    low: float
    high: float


def _log_days(celsius: float, zero: float, prior: Prior) -> float:
    """Log days at a constant temperature by the softened line, up to a constant, before heat."""
    above = (celsius - zero) / prior.softness
    if above < -30:
        return -math.log(prior.softness) - above
    return -math.log(prior.softness * (above if above > 30 else math.log1p(math.exp(above))))


def _heat(celsius: float, prior: Prior) -> float:
    return max(0.0, celsius - prior.knee) ** 2


def _shape(celsius: float, swing: float, zero: float, prior: Prior) -> float:
    """Expected log days against those at 28 C; under a daily swing the rate is averaged over it."""
    pinned = _log_days(_WARMTH, zero, prior)
    if swing < 1.0:
        return _log_days(celsius, zero, prior) - pinned + prior.heat * _heat(celsius, prior)
    around = [celsius + swing / 2 * phase for phase in _PHASES]
    rates = [math.exp(-_log_days(t, zero, prior) - prior.heat * _heat(t, prior)) for t in around]
    return -math.log(sum(rates) / len(rates)) - pinned


@lru_cache(maxsize=2048)
def _shapes(celsius: float, swing: float, line: Prior) -> tuple[float, ...]:
    """`_shape` for every zero of the grid; curves whose priors share a line share it."""
    return tuple(_shape(celsius, swing, zero, line) for zero in _ZEROS)


def _cholesky(matrix: list[list[float]]) -> list[list[float]]:
    size = len(matrix)
    lower = [[0.0] * size for _ in range(size)]
    for i, row in enumerate(matrix):
        for j in range(i):
            inner = sum(lower[i][k] * lower[j][k] for k in range(j))
            lower[i][j] = (row[j] - inner) / lower[j][j]
        lower[i][i] = math.sqrt(row[i] - sum(each * each for each in lower[i][:i]))
    return lower


def _forward(lower: list[list[float]], right: list[float]) -> list[float]:
    solved: list[float] = []
    for row, wanted in zip(lower, right, strict=True):
        solved.append((wanted - sum(map(mul, row, solved))) / row[len(solved)])
    return solved


def _log_zero_weights(prior: Prior) -> list[float]:
    """Log prior weight of each zero on the grid: a t density times the grid's spacing."""
    edges = (
        _ZEROS[0],
        *((low + high) / 2 for low, high in pairwise(_ZEROS)),
        _ZEROS[-1],
    )
    power = (prior.zero_tails + 1) / 2
    return [
        math.log(max(high - low, 1e-9))
        - power * math.log1p(((zero - prior.zero) / prior.zero_sd) ** 2 / prior.zero_tails)
        for zero, (low, high) in zip(_ZEROS, pairwise(edges), strict=True)
    ]


@dataclass(frozen=True)
class _Part:
    """One zero and one roughness, with its weight and the residuals it leaves (whitened)."""

    zero: int  # its place in the grid
    rough: int
    weight: float
    residuals: list[float]


class RateCurve:
    """A species' fitted curve. Ask `spread(celsius)`; answers are worked out once and kept."""

    def __init__(
        self, points: Iterable[Point], coverage: float = 0.8, prior: Prior = PRIOR
    ) -> None:
        self.points = tuple(points)
        self.coverage = coverage
        self.prior = prior
        self._line = Prior(softness=prior.softness, knee=prior.knee, heat=prior.heat)
        self._factors = [_cholesky(self._covariances(rough)) for rough, _ in prior.roughness]
        self._parts = self._weighed_parts()
        self._nodes: dict[int, Spread] = {}
        self._mixtures: dict[int, list[tuple[float, float, float]]] = {}
        self._node_middles: dict[int, float] = {}
        self._paces: dict[float, tuple[float, float, float]] = {}
        self._middles: dict[float, float] = {}

    @cached_property
    def fitted_range(self) -> tuple[float, float] | None:
        """The lowest and highest temperature it was fitted to, in C; None without any."""
        known = [point.celsius for point in self.points if point.doubt < 0.15]
        return (min(known), max(known)) if known else None

    def spread(self, celsius: float) -> Spread:
        """Log days at a constant temperature, between neighbouring nodes half a degree apart."""
        place = min(max(celsius, 2.0), 45.0) / _STEP
        node = math.floor(place)
        share = place - node
        cool = self._at(node)
        if share < 1e-9:
            return cool
        warm = self._at(node + 1)
        return Spread(
            cool.middle + share * (warm.middle - cool.middle),
            cool.low + share * (warm.low - cool.low),
            cool.high + share * (warm.high - cool.high),
        )

    def middle(self, celsius: float) -> float:
        """Median log days from laying to hatching at a constant temperature."""
        known = self._middles.get(celsius)
        if known is None:
            place = min(max(celsius, 2.0), 45.0) / _STEP
            node = math.floor(place)
            known, share = self._middle_at(node), place - node
            if share >= 1e-9:
                known += share * (self._middle_at(node + 1) - known)
            if len(self._middles) < _MOST_PACES:
                self._middles[celsius] = known
        return known

    def days(self, celsius: float) -> float:
        """Median days from laying to hatching at a constant temperature."""
        return math.exp(self.middle(celsius))

    def slope(self, celsius: float) -> float:
        """Log days saved by a degree more, around a temperature."""
        return max(self.middle(celsius - 0.5) - self.middle(celsius + 0.5), 0.0)

    def pace(self, celsius: float) -> tuple[float, float, float]:
        """Progress a day, and that progress times the log width of the window each way.

        Summed along an egg's way they give its hatch and its window, as if what is uncertain
        at one temperature were as uncertain, and in the same direction, at the others.
        """
        known = self._paces.get(celsius)
        if known is None:
            spread = self.spread(celsius)
            rate = math.exp(-spread.middle)
            known = (
                rate,
                rate * (spread.middle - spread.low),
                rate * (spread.high - spread.middle),
            )
            if len(self._paces) < _MOST_PACES:
                self._paces[celsius] = known
        return known

    def celsius_of(self, days: float) -> float:
        """The constant temperature (C) at which it takes that many days; the curve's inverse.

        Looked for between 5 C and a little above the knee, where days still fall with warmth.
        """
        log, middles = math.log(days), self._node_middles
        cool, warm = round(5.0 / _STEP), round((self.prior.knee + 4.0) / _STEP)
        while warm - cool > 1:
            node = (cool + warm) // 2
            known = middles.get(node)
            if (self._middle_at(node) if known is None else known) > log:
                cool = node
            else:
                warm = node
        high, low = self._middle_at(cool), self._middle_at(warm)
        share = min(max((high - log) / (high - low), 0.0), 1.0) if high > low else 0.5
        return (cool + share) * _STEP

    def _shared(self, one: float, other: float, rough: float) -> float:
        """Covariance of the curve at two temperatures, given the zero of development."""
        prior = self.prior
        apart = (one - other) / prior.departure_reach
        return (
            prior.days_sd**2
            + prior.heat_sd**2 * _heat(one, prior) * _heat(other, prior)
            + (rough * prior.departure) ** 2 * math.exp(-0.5 * apart * apart)
        )

    def _noise(self, point: Point, rough: float) -> float:
        prior = self.prior
        if point.source == OWN:
            return prior.clutch**2 / point.clutches + prior.egg**2 / point.eggs + point.doubt**2
        treatment = (rough * prior.treatment) ** 2
        return treatment + prior.published_egg**2 / point.eggs + point.doubt**2

    def _same_source(self, one: Point, other: Point, rough: float) -> float:
        if one.source != other.source:
            return 0.0
        if one.source == OWN:
            return self.prior.household**2
        return (rough * self.prior.laboratory) ** 2

    def _covariances(self, rough: float) -> list[list[float]]:
        return [
            [
                self._shared(one.celsius, other.celsius, rough)
                + self._same_source(one, other, rough)
                + (self._noise(one, rough) if i == j else 0.0)
                for j, other in enumerate(self.points)
            ]
            for i, one in enumerate(self.points)
        ]

    def _weighed_parts(self) -> list[_Part]:
        prior = self.prior
        seen = [math.log(point.days / prior.days) for point in self.points]
        found: list[tuple[float, int, int, list[float]]] = []
        shapes = [_shapes(point.celsius, point.swing, self._line) for point in self.points]
        scales = [sum(math.log(row[i]) for i, row in enumerate(f)) for f in self._factors]
        for zero, log_weight in enumerate(_log_zero_weights(prior)):
            left = [log - shape[zero] for log, shape in zip(seen, shapes, strict=True)]
            for number, (_, share) in enumerate(prior.roughness):
                white = _forward(self._factors[number], left)
                fit = -scales[number] - 0.5 * sum(map(mul, white, white))
                found.append((log_weight + math.log(share) + fit, zero, number, white))
        top = max(each[0] for each in found)
        total = sum(math.exp(each[0] - top) for each in found)
        parts = [
            _Part(zero, number, math.exp(log_weight - top) / total, white)
            for log_weight, zero, number, white in found
        ]
        return [part for part in parts if part.weight > 1e-4]

    def _at(self, node: int) -> Spread:
        return self._nodes.get(node) or self._node(node)

    def _node(self, node: int) -> Spread:
        middle, mixture = self._middle_at(node), self._mixtures.pop(node)
        tail = (1 - self.coverage) / 2
        low, high = (_quantile(mixture, share) for share in (tail, 1 - tail))
        spread = self._nodes[node] = Spread(middle, low, high)
        return spread

    def _middle_at(self, node: int) -> float:
        """The middle alone, for whoever needs no more; the mixture waits for who needs the rest."""
        middle = self._node_middles.get(node)
        if middle is None:
            mixture = self._mixtures[node] = self._mixture(node * _STEP)
            middle = self._node_middles[node] = _quantile(mixture, 0.5)
        return middle

    def _mixture(self, celsius: float) -> list[tuple[float, float, float]]:
        """Weight, mean and sd of log days of one egg of this household, for every part."""
        prior = self.prior
        noise = prior.household**2 + prior.clutch**2 + prior.egg**2
        reach, variance = [], []
        for lower, (rough, _) in zip(self._factors, prior.roughness, strict=True):
            towards = [
                self._shared(celsius, point.celsius, rough)
                + (prior.household**2 if point.source == OWN else 0.0)
                for point in self.points
            ]
            weights = _forward(lower, towards)
            reach.append(weights)
            explained = sum(each * each for each in weights)
            variance.append(self._shared(celsius, celsius, rough) - explained + noise)
        usual = math.log(prior.days)
        shapes = [usual + shape for shape in _shapes(celsius, 0.0, self._line)]
        sds = [math.sqrt(each) for each in variance]
        return [
            (
                part.weight,
                shapes[part.zero] + sum(map(mul, reach[part.rough], part.residuals)),
                sds[part.rough],
            )
            for part in self._parts
        ]


@lru_cache(maxsize=64)
def _deviations(share: float) -> float:
    """Standard deviations from the middle below which that share of a normal law lies."""
    return NormalDist().inv_cdf(share)


def _quantile(mixture: list[tuple[float, float, float]], share: float) -> float:
    """The value below which `share` of a mixture of normals lies (Newton's steps, kept inside)."""
    weights, means, sds = zip(*mixture, strict=True)
    total = sum(weights)
    scaled = [(weight / total, mean, _ROOT_HALF / sd) for weight, mean, sd in mixture]
    low, high = min(means) - 6 * max(sds), max(means) + 6 * max(sds)
    value: float = sum(map(mul, weights, means)) / total
    if share != 0.5:  # a tail is looked for from where that of one normal law would be
        squares = sum(w * (sd * sd + (m - value) ** 2) for w, m, sd in mixture) / total
        value += math.sqrt(squares) * _deviations(share)
    erfc, exp = math.erfc, math.exp
    while high - low > 1e-6:
        below = density = 0.0
        for weight, mean, scale in scaled:
            off = (value - mean) * scale
            below += weight * erfc(-off)
            density += weight * scale * exp(-off * off)
        miss = below / 2 - share
        low, high = (value, high) if miss < 0 else (low, value)
        step = miss * math.sqrt(math.pi) / density if density > 1e-12 else math.inf
        if abs(step) < 1e-6:
            return value - step
        value = value - step if low < value - step < high else (low + high) / 2
    return value


@lru_cache(maxsize=256)
def fitted(points: tuple[Point, ...], coverage: float = 0.8, prior: Prior = PRIOR) -> RateCurve:
    """The curve fitted to the points; the same points are fitted once."""
    return RateCurve(points, coverage, prior)
