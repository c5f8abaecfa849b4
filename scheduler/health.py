"""What to watch in an animal: weight lost, clutch after clutch, straining, weakness, meals refused.

It names what the book shows and when to ask a reptile vet. It never names an illness or a dose.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import takewhile

from scheduler.cautions import caution
from scheduler.colony import Colony
from scheduler.condition import loss_said, rest_called_for, weight_loss
from scheduler.facts import Facts, facts
from scheduler.readiness import FOR_A_VET, SIGN_DAYS, WORRYING
from scheduler.windows import laying_window
from scheduler.words import counted, day

REFUSALS = 3
"""So many meals refused in a row are worth telling (our convention)."""
LEVELS = ("watch", "act", "vet")


@dataclass(frozen=True)
class Concern:
    """One thing to watch. `level` is watch, act or vet (ask one today); `advice` what to do.

    `caution` is the key of the caution that goes with it.
    """

    tag: str
    level: str
    since: date
    what: str
    advice: str
    caution: str


def concerns(colony: Colony, tag: str, today: date) -> tuple[Concern, ...]:
    """What there is to watch in one animal, the gravest first; empty where nothing shows.

    Raises KeyError for an unknown tag.
    """
    known = facts(colony)
    if colony.animals[tag].status != "kept":
        return ()
    found = [c for rule in _RULES for c in rule(known, tag, today)]
    return tuple(sorted(found, key=lambda c: (-LEVELS.index(c.level), c.since)))


def household_concerns(colony: Colony, today: date) -> tuple[Concern, ...]:
    """What there is to watch in all animals, the gravest first."""
    found = [c for a in facts(colony).all_kept for c in concerns(colony, a.tag, today)]
    return tuple(sorted(found, key=lambda c: (-LEVELS.index(c.level), c.since, c.tag)))


def vet_line() -> str:
    """The line that goes with every answer about health."""
    return caution("not-a-vet").text


def _weight(known: Facts, tag: str, today: date) -> Iterator[Concern]:
    """The species' three steps of weight lost: watch, tell the keeper, vet."""
    loss = weight_loss(known, tag, today)
    alert = known.figure(known.species_of(tag), "weight_loss_alert_pct")
    if loss is None:
        return
    steps = [s for s in (alert.low, alert.typical, alert.high) if s is not None]
    passed = sum(loss.percent >= step for step in steps)
    if not passed:
        return
    advice = (
        "Weigh again in a week.",
        "Check food, heat and stool, and weigh again in a week.",
        "Ask a reptile vet.",
    )[passed - 1]
    what = loss_said(known, loss, today)
    yield Concern(tag, LEVELS[passed - 1], loss.last.on, what, advice, "weight-alert")


def _signs(known: Facts, tag: str, today: date) -> Iterator[Concern]:
    """The latest of each worrying sign seen in the last two weeks."""
    latest = {s.sign: s.on for s in known.signs_of.get(tag, ()) if s.on <= today}
    for sign, on in latest.items():
        if sign not in WORRYING or (today - on).days >= SIGN_DAYS:
            continue
        what = f"Seen {sign} on {day(on, today)}."
        if sign in FOR_A_VET:
            key = {"straining": "dystocia", "weak": "welfare-end"}.get(sign, "not-a-vet")
            yield Concern(tag, "vet", on, what, "Ask a reptile vet today.", key)
        elif sign == "thin":
            advice = "Feed up, weigh weekly, no pairing; a vet if it goes on."
            yield Concern(tag, "act", on, what, advice, "weight-alert")
        else:
            advice = "Keep it clean and quiet, and feed well; a vet if it looks sore."
            yield Concern(tag, "watch", on, what, advice, "tail")


def _laying(known: Facts, tag: str, today: date) -> Iterator[Concern]:
    """Clutch after clutch without a rest."""
    rest = rest_called_for(known, tag, today)
    if rest and rest.after.startswith("clutch"):
        advice = "Feed her up, offer calcium, and leave the male out."
        yield Concern(tag, "act", rest.since, rest.reasons[0], advice, "female-rest")


def _late_clutch(known: Facts, tag: str, today: date) -> Iterator[Concern]:
    """Seen gravid and past her window: trouble only together with a bad sign."""
    signs = [s for s in known.signs_of.get(tag, ()) if s.on <= today]
    laid = [c.laid for c in known.clutches_of.get(tag, ()) if c.laid <= today]
    since = laid[-1] if laid else date.min
    gravid = next((s for s in signs if s.sign == "gravid" and s.on > since), None)
    if gravid is None or any(s.sign == "slim" and s.on >= gravid.on for s in signs):
        return
    window = laying_window(known, tag, gravid.on)
    if window is None or today <= window.end:
        return
    recent = {s.sign for s in signs if (today - s.on).days < SIGN_DAYS}
    what = f"Gravid since {day(gravid.on, today)}, and the window ended {day(window.end, today)}."
    if recent & FOR_A_VET:
        yield Concern(tag, "vet", window.end, what, "Ask a reptile vet today.", "dystocia")
    else:
        advice = "Bright and active is a good sign. Check her lay spot; note weight daily."
        yield Concern(tag, "watch", window.end, what, advice, "dystocia-calm")


def _meals(known: Facts, tag: str, today: date) -> Iterator[Concern]:
    """Meals refused in a row, as told of the animal itself."""
    meals = [f for f in known.feedings_of.get(tag, ()) if f.on <= today]
    refused = list(takewhile(lambda f: f.refused, reversed(meals)))
    if len(refused) >= REFUSALS and today - refused[0].on <= timedelta(SIGN_DAYS):
        since = refused[-1].on
        what = f"{counted(len(refused), 'meal')} refused in a row since {day(since, today)}."
        advice = "Check heat and weight; a vet if it goes on or weight falls."
        yield Concern(tag, "act", since, what, advice, "weight-alert")


_RULES = (_signs, _weight, _late_clutch, _laying, _meals)
