"""What shape a female is in: weight against her own peak, clutches in a row, whether to rest."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from operator import attrgetter

from scheduler.colony import Clutch, Weight
from scheduler.facts import Facts
from scheduler.words import counted, day, origin

PEAK_DAYS = 120
"""How far back a peak weight still counts as recent (our convention)."""
REST_AFTER_CLUTCHES = 3
"""A rest is proposed after each third clutch in a row (common practice)."""
REST_INTERVALS = 2
"""Without a known season's rest, a pause of two of the longest usual intervals is a rest (ours)."""


@dataclass(frozen=True)
class Loss:
    """Weight lost since a recent peak. `allowed` is the mass in grams of the eggs laid between."""

    peak: Weight
    last: Weight
    allowed: float

    @property
    def percent(self) -> float:
        """Loss in percent of the peak, what the eggs explain left out; below 0 is a gain."""
        return 100 * (self.peak.grams - self.allowed - self.last.grams) / self.peak.grams


@dataclass(frozen=True)
class Rest:
    """A rest that is called for: since when, until when as far as it is known, and why."""

    since: date
    until: date | None
    reasons: tuple[str, ...]
    after: str  # the fact it follows from: "clutch 12", "weight 2026-03-01"


def weight_loss(facts: Facts, tag: str, today: date) -> Loss | None:
    """The last weight against the highest of the 120 days before it; None with fewer than two.

    The eggs of the first clutch laid after the peak were part of the peak, so their mass (the
    species' published egg weight, where there is one) is not counted as lost.
    """
    found = _peak_and_last(facts, tag, today)
    if found is None:
        return None
    peak, last = found
    return Loss(peak, last, _eggs_between(facts, tag, peak.on, last.on))


def _peak_and_last(facts: Facts, tag: str, today: date) -> tuple[Weight, Weight] | None:
    """The recent peak and the last weighing, where they are two."""
    weights = facts.weights_of.get(tag, [])
    if weights and weights[-1].on > today:
        weights = [w for w in weights if w.on <= today]
    if len(weights) < 2:
        return None
    last = weights[-1]
    since = last.on - timedelta(PEAK_DAYS)
    peak = max([w for w in weights if w.on >= since], key=attrgetter("grams", "on"))
    return (peak, last) if peak != last else None


def loss_alert(facts: Facts, tag: str) -> float:
    """Percent of weight lost at which the keeper is told (the species' typical alert)."""
    figure = facts.figure(facts.species_of(tag), "weight_loss_alert_pct")
    return figure.typical if figure.typical is not None else 10.0


def clutch_run(facts: Facts, tag: str, today: date) -> tuple[Clutch, ...]:
    """Her latest clutches with no rest between them, oldest first; empty once she has rested."""
    clutches = facts.clutches_of.get(tag, ())
    if not clutches:
        return ()
    pause = timedelta(rest_days(facts, tag))
    run: list[Clutch] = []
    later = today
    for clutch in reversed(clutches):
        if clutch.laid > today:
            continue
        if later - clutch.laid > pause:
            break
        run.append(clutch)
        later = clutch.laid
    return tuple(reversed(run))


def rest_days(facts: Facts, tag: str) -> int:
    """Days without laying that count as a rest for her species."""
    species = facts.species_of(tag)
    season = facts.figure(species, "season_rest_days").low
    if season is not None:
        return math.ceil(season)
    interval = facts.figure(species, "clutch_interval_days")
    return math.ceil(REST_INTERVALS * (interval.high or interval.typical or 30))


def rest_called_for(facts: Facts, tag: str, today: date) -> Rest | None:
    """Whether she should rest now: after each third clutch in a row, or too much weight lost."""
    calls = [c for c in (_after_clutches(facts, tag, today), _after_loss(facts, tag, today)) if c]
    if not calls:
        return None
    first = min(calls, key=lambda c: c.since)
    untils = [c.until for c in calls if c.until]
    reasons = tuple(reason for call in calls for reason in call.reasons)
    open_end = len(untils) < len(calls)
    return Rest(first.since, None if open_end else max(untils), reasons, first.after)


def _after_clutches(facts: Facts, tag: str, today: date) -> Rest | None:
    run = clutch_run(facts, tag, today)
    if not run:
        return None
    season = facts.figure(facts.species_of(tag), "clutches_per_season")
    full_season = season.high or season.typical or math.inf
    if len(run) % REST_AFTER_CLUTCHES and len(run) < full_season:
        return None
    until = run[-1].laid + timedelta(rest_days(facts, tag))
    said = (
        f"{counted(len(run), 'clutch')} in a row since {day(run[0].laid, today)}; "
        f"a rest after each third is common practice."
    )
    return Rest(run[-1].laid, until, (said,), f"clutch {run[-1].key}")


def _after_loss(facts: Facts, tag: str, today: date) -> Rest | None:
    found, alert = _peak_and_last(facts, tag, today), loss_alert(facts, tag)
    if found is None or Loss(*found, allowed=0.0).percent < alert:
        return None  # eggs laid between make a loss smaller still
    loss = weight_loss(facts, tag, today)
    if loss is None or loss.percent < alert:
        return None
    return Rest(
        loss.last.on, None, (loss_said(facts, loss, today),), f"weight {loss.last.on.isoformat()}"
    )


def loss_said(facts: Facts, loss: Loss, today: date) -> str:
    """The loss in words: both weights, the share lost, what the eggs explain, the alert."""
    figure = facts.figure(facts.species_of(loss.last.tag), "weight_loss_alert_pct")
    eggs = f" beyond about {loss.allowed:.1f} g of eggs" if loss.allowed else ""
    return (
        f"Down from {loss.peak.grams:g} g on {day(loss.peak.on, today)} to {loss.last.grams:g} g "
        f"on {day(loss.last.on, today)}: {loss.percent:.0f}%{eggs}; the alert is at "
        f"{figure.typical:g}% ({origin(figure)})."
    )


def _eggs_between(facts: Facts, tag: str, after: date, by: date) -> float:
    """Grams of the first clutch laid after `after` and by `by`; 0 where no egg weight is known."""
    laid = next((c for c in facts.clutches_of.get(tag, ()) if after < c.laid <= by), None)
    each = facts.figure(facts.species_of(tag), "egg_weight_g").typical
    return laid.eggs * each if laid and each else 0.0
