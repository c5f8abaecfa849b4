"""May this female be paired, with whom, and when: yes, not yet or no, each with its reasons."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.colony import Animal, Colony
from scheduler.condition import loss_alert, loss_said, rest_called_for, weight_loss
from scheduler.facts import Facts, facts
from scheduler.kinship import (
    CLOSE,
    PedigreeLoop,
    from_colony,
    inbreeding,
    shared_ancestors,
)
from scheduler.sessions import (
    REFUSAL_REST_DAYS,
    REFUSALS_BEFORE_REST,
    RETRY_DAYS,
    latest_course,
    open_session,
    pull_day,
    session_plan,
)
from scheduler.words import counted, day, listed, origin, span

PLATEAU_DAYS = 28
PLATEAU_PERCENT = 5.0
"""Full grown: less than 5% gained over the last 28 days or more (our convention)."""
SIGN_DAYS = 14
"""How long a worrying sign keeps a female from being paired (our convention)."""
WORRYING = frozenset({"weak", "straining", "injured", "thin", "tail-drop"})
FOR_A_VET = frozenset({"weak", "straining", "injured"})
OFFER_DAYS = 60
"""A first pairing is offered until this long past the usual age (our convention)."""


@dataclass(frozen=True)
class Verdict:
    """Whether `female` may be paired (with `male`, where one is asked about).

    `answer` is "yes", "not yet" or "no". `until` is the day from which "not yet" may become yes,
    None where no date can be told. `reasons` are sentences, what stands in the way first;
    `inbreeding` is F of the young, None without a male or with a circle in the pedigree.
    """

    answer: str
    until: date | None
    reasons: tuple[str, ...]
    female: str
    male: str | None = None
    inbreeding: float | None = None


@dataclass(frozen=True)
class Mate:
    """A possible mate: the verdict on the pair, and the traits that both show or carry."""

    tag: str
    verdict: Verdict
    shared_traits: tuple[str, ...]


@dataclass(frozen=True)
class Bar:
    """Something in the way: why, until when if that can be told, and whether it is for good."""

    why: str
    until: date | None = None
    final: bool = False


@dataclass(frozen=True)
class FirstPairing:
    """From when a young female is old (and, where known, heavy) enough, and why."""

    on: date
    until: date | None
    why: str


def may_pair(colony: Colony, female: str, male: str | None, today: date) -> Verdict:
    """Whether she may be paired today, with this male if one is named.

    Raises KeyError for a tag that the colony does not know.
    """
    known = facts(colony)
    if female not in colony.animals or (male is not None and male not in colony.animals):
        raise KeyError(male if female in colony.animals else female)
    bars = [bar for rule in _FEMALE_RULES for bar in rule(known, female, today)]
    remarks = list(_remarks(known, female, today))
    close: float | None = None
    if male is not None:
        bars += _pair_bars(known, female, male, today)
        close, said = relatedness(colony, male, female)
        remarks = said + remarks
    return _verdict(bars, remarks, female, male, close)


def ready_females(colony: Colony, today: date) -> tuple[Verdict, ...]:
    """A verdict for every kept female, the ready ones first, then by the day they may be."""
    females = [a.tag for a in facts(colony).all_kept if a.sex == "female"]
    return tuple(sorted((may_pair(colony, tag, None, today) for tag in females), key=_first_ready))


def match(colony: Colony, tag: str, today: date) -> tuple[Mate, ...]:
    """Mates for an animal, best first: may be paired, least related, most traits in common.

    Raises KeyError for an unknown tag and ValueError for an animal of unknown sex.
    """
    animal = colony.animals[tag]
    if animal.sex not in ("female", "male"):
        raise ValueError(f"{tag} is of unknown sex")
    mates = []
    for other in facts(colony).all_kept:
        if other.sex == ("male" if animal.sex == "female" else "female"):
            pair = (tag, other.tag) if animal.sex == "female" else (other.tag, tag)
            verdict = may_pair(colony, *pair, today)
            shared = tuple(sorted(set(animal.traits) & set(other.traits)))
            mates.append(Mate(other.tag, verdict, shared))
    possible = [mate for mate in mates if mate.verdict.answer != "no"]
    return tuple(sorted(possible, key=_best_mate))


def relatedness(colony: Colony, male: str, female: str) -> tuple[float | None, list[str]]:
    """F of the pair's young, and what there is to say about it (nothing for strangers)."""
    pedigree = from_colony(colony)
    try:
        close = inbreeding(pedigree, male, female)
    except PedigreeLoop as loop:
        return None, [str(loop)]
    if not close:
        return close, []
    shared = listed(shared_ancestors(pedigree, male, female))
    said = f"{male} and {female} share {shared}: F of their young would be {close:.3g}."
    if close >= CLOSE:
        said += f" That is close ({CLOSE:g} or more, a convention): think twice, and tell buyers."
    return close, [said]


def first_pairing(known: Facts, tag: str, today: date) -> FirstPairing | None:
    """When a female that never bred may first be paired; None where she may not be offered.

    Held back while she is lighter than her species' weight for it or, where no such weight is
    known, still growing. No longer offered well past the usual age.
    """
    animal = known.kept(tag)
    if animal is None or animal.sex != "female" or animal.hatched is None:
        return None
    if _has_bred(known, tag):
        return None
    age = known.figure(animal.species, "first_pairing_age_days")
    if age.typical is None:
        return None
    on = animal.hatched + timedelta(round(age.typical))
    until = animal.hatched + timedelta(math.ceil(age.high or age.typical) + OFFER_DAYS)
    if today > until or list(_too_light(known, tag, today)):
        return None
    reached = _weight_reached(known, tag, today)
    weighed = known.weights_of.get(tag)
    weight = (
        f"{weighed[-1].grams:g} g on {day(weighed[-1].on, today)}."
        if weighed
        else "No weight noted yet: weigh her first."
    )
    why = f"Hatched {day(animal.hatched, today)}; first paired at {span(age, 'day')}. {weight}"
    return FirstPairing(max(on, reached) if reached else on, until, why)


def _verdict(
    bars: list[Bar], remarks: list[str], female: str, male: str | None, close: float | None
) -> Verdict:
    reasons = tuple(dict.fromkeys([bar.why for bar in bars] + remarks))
    if any(bar.final for bar in bars):
        return Verdict("no", None, reasons, female, male, close)
    if bars:
        days = [bar.until for bar in bars if bar.until]
        until = max(days) if len(days) == len(bars) else None
        return Verdict("not yet", until, reasons, female, male, close)
    fine = ("Nothing in the book speaks against it.",)
    return Verdict("yes", None, reasons or fine, female, male, close)


def _first_ready(verdict: Verdict) -> tuple[int, date, str]:
    order = ("yes", "not yet", "no").index(verdict.answer)
    return order, verdict.until or date.max, verdict.female


def _best_mate(mate: Mate) -> tuple[int, bool, float, int, date, str]:
    verdict = mate.verdict
    close = 1.0 if verdict.inbreeding is None else verdict.inbreeding
    order = ("yes", "not yet").index(verdict.answer)
    until = verdict.until or date.max
    return order, close >= CLOSE, close, -len(mate.shared_traits), until, mate.tag


def _has_bred(known: Facts, tag: str) -> bool:
    return bool(known.pairings_of.get(tag) or known.clutches_of.get(tag) or tag in known.parents)


# What may stand in a female's way, one rule each: a generator of bars.


def _who_she_is(known: Facts, tag: str, today: date) -> Iterator[Bar]:
    animal = known.colony.animals[tag]
    if animal.status != "kept":
        yield Bar(f"{tag} is no longer here ({animal.status}).", final=True)
    if animal.sex == "male":
        yield Bar(f"{tag} is a male.", final=True)
    if animal.sex == "unknown":
        yield Bar(f"The sex of {tag} is not known.")


def _too_young(known: Facts, tag: str, today: date) -> Iterator[Bar]:
    animal = known.colony.animals[tag]
    age = known.figure(animal.species, "first_pairing_age_days")
    if animal.hatched is None or age.typical is None:
        return
    ready = animal.hatched + timedelta(round(age.typical))
    if today < ready:
        months = counted(round((today - animal.hatched).days / 30.44), "month")
        yield Bar(f"{tag} is {months} old; first paired at {span(age, 'day')}.", ready)


def _too_light(known: Facts, tag: str, today: date) -> Iterator[Bar]:
    """Below her species' weight or, never bred and no such weight known, still growing."""
    weights = [w for w in known.weights_of.get(tag, ()) if w.on <= today]
    if not weights:
        return
    figure = known.figure(known.species_of(tag), "first_pairing_weight_g")
    least = figure.low if figure.low is not None else figure.typical
    last = weights[-1]
    if least is not None and last.grams < least:
        yield Bar(f"{tag} weighed {last.grams:g} g; {least:g} g is wanted ({origin(figure)}).")
    if least is None and not _has_bred(known, tag):
        before = next((w for w in reversed(weights) if (last.on - w.on).days >= PLATEAU_DAYS), None)
        if before and last.grams > before.grams * (1 + PLATEAU_PERCENT / 100):
            yield Bar(
                f"{tag} is still growing: {before.grams:g} g on {day(before.on, today)}, "
                f"{last.grams:g} g on {day(last.on, today)}. Wait until her weight holds."
            )


def _weight_reached(known: Facts, tag: str, today: date) -> date | None:
    """The day a weighing first showed the species' weight for a first pairing, if there is one."""
    figure = known.figure(known.species_of(tag), "first_pairing_weight_g")
    least = figure.low if figure.low is not None else figure.typical
    if least is None:
        return None
    return next(
        (w.on for w in known.weights_of.get(tag, ()) if w.grams >= least and w.on <= today), None
    )


def _lost_weight(known: Facts, tag: str, today: date) -> Iterator[Bar]:
    loss = weight_loss(known, tag, today)
    if loss and loss.percent >= loss_alert(known, tag):
        yield Bar(loss_said(known, loss, today))


def _needs_rest(known: Facts, tag: str, today: date) -> Iterator[Bar]:
    rest = rest_called_for(known, tag, today)
    if rest and rest.after.startswith("clutch"):
        yield Bar(rest.reasons[0], rest.until)


def _unwell(known: Facts, tag: str, today: date) -> Iterator[Bar]:
    for sign in known.signs_of.get(tag, ()):
        if sign.sign in WORRYING and 0 <= (today - sign.on).days < SIGN_DAYS:
            vet = " Ask a reptile vet." if sign.sign in FOR_A_VET else ""
            yield Bar(
                f"{tag} seen {sign.sign} on {day(sign.on, today)}.{vet}",
                None if sign.sign in FOR_A_VET else sign.on + timedelta(SIGN_DAYS),
            )


def _carrying(known: Facts, tag: str, today: date) -> Iterator[Bar]:
    clutches = [c.laid for c in known.clutches_of.get(tag, ()) if c.laid <= today]
    laid = clutches[-1] if clutches else date.min
    signs = [s for s in known.signs_of.get(tag, ()) if laid < s.on <= today]
    gravid = next((s for s in reversed(signs) if s.sign in ("gravid", "slim")), None)
    if gravid and gravid.sign == "gravid":
        yield Bar(f"{tag} seen gravid on {day(gravid.on, today)}: let her lay first.")


def _in_a_tub(known: Facts, tag: str, today: date) -> Iterator[Bar]:
    session = open_session(known, tag)
    if session:
        ends = max(pull_day(known, session, today)[0], today) + timedelta(1)
        yield Bar(f"{session.male} is in with {session.female} now.", ends)


_FEMALE_RULES: tuple[Callable[[Facts, str, date], Iterator[Bar]], ...] = (
    _who_she_is, _unwell, _too_young, _too_light, _lost_weight, _carrying, _needs_rest, _in_a_tub,
)  # fmt: skip


def _remarks(known: Facts, tag: str, today: date) -> Iterator[str]:
    """What does not stand in the way but is worth a look."""
    animal = known.colony.animals[tag]
    if animal.hatched is None:
        yield f"The age of {tag} is not known."
    if not known.weights_of.get(tag):
        yield f"No weight of {tag} noted: weigh her first."
    loss = weight_loss(known, tag, today)
    alert = known.figure(animal.species, "weight_loss_alert_pct").low
    if loss and alert is not None and alert <= loss.percent < loss_alert(known, tag):
        yield f"Her weight is {loss.percent:.0f}% below her recent peak: keep an eye on it."


def _pair_bars(known: Facts, female: str, male: str, today: date) -> list[Bar]:
    """What stands in the way of this pair."""
    him, her = known.colony.animals[male], known.colony.animals[female]
    return [
        *_who_he_is(known, him, today),
        *_not_alike(him, her),
        *_lately(known, male, female, today),
    ]


def _who_he_is(known: Facts, him: Animal, today: date) -> Iterator[Bar]:
    if him.status != "kept":
        yield Bar(f"{him.tag} is no longer here ({him.status}).", final=True)
    if him.sex == "female":
        yield Bar(f"{him.tag} is a female.", final=True)
    if him.sex == "unknown":
        yield Bar(f"The sex of {him.tag} is not known.")
    mature = known.figure(him.species, "sexual_maturity_age_days")
    if him.hatched and mature.typical is not None:
        ready = him.hatched + timedelta(round(mature.typical))
        if today < ready:
            yield Bar(f"{him.tag} is too young: mature at {span(mature, 'day')}.", ready)
    yield from _unwell(known, him.tag, today)
    yield from _in_a_tub(known, him.tag, today)


def _not_alike(him: Animal, her: Animal) -> Iterator[Bar]:
    if him.tag == her.tag:
        yield Bar("That is one and the same animal.", final=True)
    if him.species and her.species and him.species != her.species:
        yield Bar(
            f"{him.tag} is {him.species} and {her.tag} is {her.species}: two species.", final=True
        )


def _lately(known: Facts, male: str, female: str, today: date) -> Iterator[Bar]:
    """Refusals of this pair, and a course just finished."""
    course = latest_course(known, male, female, today)
    if course is None:
        return
    out = course.last.taken_out
    if course.refused and out:
        long = course.refused >= REFUSALS_BEFORE_REST
        until = out + timedelta(REFUSAL_REST_DAYS if long else RETRY_DAYS)
        times = "time" if course.refused == 1 else "times in a row"
        if today < until:
            yield Bar(f"Refused {course.refused} {times}, last on {day(out, today)}.", until)
    plan = session_plan(known, known.species_of(female))
    visible = known.figure(known.species_of(female), "gravid_visible_days").low or 21
    tells = course.first.put_in + timedelta(round(visible))
    if course.done >= plan.times and today < tells:
        yield Bar(
            f"{counted(course.done, 'session')} since {day(course.first.put_in, today)} are "
            f"enough: look whether she is gravid first.",
            tells,
        )
