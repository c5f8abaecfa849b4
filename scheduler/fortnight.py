"""Who goes where in the coming two weeks: sessions laid out so that no male is in two tubs at once.

Females seen receptive come first, then courses under way, then females that are ready; each gets
her pause between sessions. Where several want one male, SciPy's HiGHS solver (Huangfu & Hall 2018,
Math Program Comput 10:119-142) finds the layout worth most; where nobody competes there is nothing
to solve.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.colony import Colony
from scheduler.facts import Facts, facts
from scheduler.readiness import may_pair
from scheduler.sessions import (
    latest_course,
    next_session,
    open_session,
    pull_day,
    session_plan,
)
from scheduler.words import day, listed, tag_order

DAYS = 14
RECEPTIVE_DAYS = 7
"""A female seen receptive comes first for a week (our convention)."""
WORTH = {"receptive": 4.0, "under way": 2.0, "ready": 1.0}
"""What a session is worth to the layout, by what speaks for it (our convention)."""
WAITING = 0.4
"""Share of that worth lost by waiting until the last day: sooner is better (our convention)."""


@dataclass(frozen=True)
class Wish:
    """A pair that wants sessions: from which day, how many are left, and what speaks for it."""

    male: str
    female: str
    since: date
    left: int
    stay: int  # days in
    pause: int  # days out between two sessions
    claim: str  # a key of WORTH
    why: str


@dataclass(frozen=True)
class Planned:
    """A session laid out: in on `put_in`, out on `take_out`, and why then."""

    male: str
    female: str
    put_in: date
    take_out: date
    why: str


@dataclass(frozen=True)
class Fortnight:
    """The sessions of the days to come by day, and what could not be fitted in, in words."""

    sessions: tuple[Planned, ...]
    notes: tuple[str, ...]


def fortnight(
    colony: Colony,
    today: date,
    days: int = DAYS,
    pairs: Iterable[tuple[str, str]] = (),
) -> Fortnight:
    """The sessions of the coming days for every pair under way, and for others that are ready.

    A female that is ready counts with the male she was with last; `pairs` adds wishes of the
    keeper's, as (male, female). A session begins within the days; it may end after them.
    """
    known = facts(colony)
    wishes, notes = _wishes(known, today, days, pairs)
    busy = {wish.male: _busy(known, wish.male, today) for wish in wishes}
    by_male: dict[str, list[Wish]] = defaultdict(list)
    for wish in wishes:
        by_male[wish.male].append(wish)
    sessions: list[Planned] = []
    for male, wanting in sorted(by_male.items(), key=lambda row: tag_order(row[0])):
        laid_out = _lay_out(wanting, busy[male], today, days)
        sessions += _explained(wanting, laid_out, busy[male], today)
        missed = [w.female for w in wanting if not laid_out[w.female]]
        if missed:
            notes.append(f"{male} has no days left for {listed(missed)} in these {days} days.")
    return Fortnight(tuple(sorted(sessions, key=_by_day)), tuple(notes))


def _by_day(session: Planned) -> tuple[object, ...]:
    return session.put_in, tag_order(session.male), tag_order(session.female)


def _wishes(
    known: Facts, today: date, days: int, pairs: Iterable[tuple[str, str]]
) -> tuple[list[Wish], list[str]]:
    """One wish a female: her course under way, else the keeper's, else her last male if ready."""
    asked = {female: male for male, female in pairs}
    wishes, notes = [], []
    for animal in sorted(known.all_kept, key=lambda a: tag_order(a.tag)):
        female = animal.tag
        rows = [p for p in known.pairings_of.get(female, ()) if p.put_in <= today]
        if animal.sex != "female" or not (rows or female in asked):
            continue
        wish = _under_way(known, female, today) if rows else None
        if wish is None:
            male = asked.get(female) or (rows[-1].male if rows else "")
            wish, said = _ready(known, male, female, today)
            notes += [said] if said and female in asked else []
        if wish and wish.since < today + timedelta(days):
            wishes.append(wish)
    return wishes, notes


def _under_way(known: Facts, female: str, today: date) -> Wish | None:
    male = [p for p in known.pairings_of[female] if p.put_in <= today][-1].male
    course = latest_course(known, male, female, today)
    following = next_session(known, course, today) if course else None
    if course is None or following is None:
        return None
    plan = session_plan(known, known.species_of(female))
    receptive = _receptive(known, female, today)
    claim, why = receptive or ("under way", f"session {following.number} of {plan.times} is next")
    left = plan.times - course.done
    return Wish(male, female, max(following.on, today), left, plan.stay, plan.pause, claim, why)


def _ready(known: Facts, male: str, female: str, today: date) -> tuple[Wish | None, str]:
    """A first session of a new course, if nothing but other sessions stands in the way."""
    if known.kept(male) is None:
        return None, f"{male} is not here for {female}."
    verdict = may_pair(known.colony, female, male, today)
    since = today if verdict.answer == "yes" else verdict.until
    if verdict.answer == "no" or since is None:
        return None, f"{male} and {female}: {verdict.reasons[0]}"
    plan = session_plan(known, known.species_of(female))
    claim, why = _receptive(known, female, today) or ("ready", "she may be paired")
    if verdict.answer != "yes":
        why = f"she may be paired from {day(since, today)}"
    return Wish(male, female, since, plan.times, plan.stay, plan.pause, claim, why), ""


def _receptive(known: Facts, female: str, today: date) -> tuple[str, str] | None:
    for sign in reversed(known.signs_of.get(female, ())):
        if sign.sign == "receptive" and 0 <= (today - sign.on).days < RECEPTIVE_DAYS:
            return "receptive", f"seen receptive on {day(sign.on, today)}"
    return None


def _busy(known: Facts, male: str, today: date) -> date | None:
    """The last day on which the male is in a tub already."""
    session = open_session(known, male)
    if session:
        return max(pull_day(known, session, today)[0], today)
    rows = known.pairings_of.get(male, ())
    return today if any(p.male == male and p.taken_out == today for p in rows) else None


def _lay_out(
    wanting: list[Wish], busy: date | None, today: date, days: int
) -> Mapping[str, list[date]]:
    """The first days of each female's sessions with one male."""
    free = {wish.female: max(wish.since, _free(busy, today)) for wish in wanting}
    if len(wanting) > 1:
        return _solve(wanting, free, today, days)
    (wish,) = wanting
    starts: list[date] = []
    start = free[wish.female]
    while len(starts) < wish.left and (start - today).days < days:
        starts.append(start)
        start += timedelta(wish.stay + wish.pause)
    return {wish.female: starts}


def _free(busy: date | None, today: date) -> date:
    return today if busy is None else busy + timedelta(1)


def _solve(
    wanting: list[Wish], free: Mapping[str, date], today: date, days: int
) -> Mapping[str, list[date]]:
    """The layout worth most, as a small 0-1 program: one variable a possible first day."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    choices = [
        (wish, start) for wish in wanting for start in range((free[wish.female] - today).days, days)
    ]
    if not choices:
        return {wish.female: [] for wish in wanting}
    worth = [WORTH[w.claim] * (1 - WAITING * start / days) for w, start in choices]
    # Equal worth must not be left to chance: the tag that sorts first wins by a hair.
    worth = [v - 1e-6 * wanting.index(w) for v, (w, _) in zip(worth, choices, strict=True)]
    rows, most = _limits(wanting, choices, days)
    found = milp(
        c=-np.array(worth),
        constraints=LinearConstraint(np.array(rows, dtype=float), ub=np.array(most, dtype=float)),
        integrality=np.ones(len(choices)),
        bounds=Bounds(0, 1),
    )
    if found.x is None:
        raise RuntimeError(f"the layout of sessions could not be solved: {found.message}")
    chosen: dict[str, list[date]] = {wish.female: [] for wish in wanting}
    for (wish, start), taken in zip(choices, found.x, strict=True):
        if taken > 0.5:
            chosen[wish.female].append(today + timedelta(start))
    return {female: sorted(starts) for female, starts in chosen.items()}


def _limits(
    wanting: list[Wish], choices: list[tuple[Wish, int]], days: int
) -> tuple[list[list[int]], list[int]]:
    """Rows of the program: one tub a day for him; her pause and no more than she has left."""
    rows, most = [], []
    longest = max(wish.stay for wish in wanting)
    for number in range(days + longest):
        rows.append([int(start <= number <= start + w.stay) for w, start in choices])
        most.append(1)
    for wish in wanting:
        rows.append([int(w is wish) for w, _ in choices])
        most.append(wish.left)
        cycle = wish.stay + wish.pause
        for number in range(days):
            rows.append(
                [int(w is wish and number <= start < number + cycle) for w, start in choices]
            )
            most.append(1)
    return rows, most


def _explained(
    wanting: list[Wish], laid_out: Mapping[str, list[date]], busy: date | None, today: date
) -> list[Planned]:
    """The sessions with the reason for each: what speaks for her, and what she waits for."""
    made = []
    for wish in wanting:
        wished = max(wish.since, today)
        for number, start in enumerate(laid_out[wish.female]):
            why = wish.why if number == 0 else f"{wish.pause} days after the session before"
            if number == 0 and start > wished:
                why += f"; {_waits(wish, start, wanting, laid_out, busy, today)}"
            end = start + timedelta(wish.stay)
            why = f"{why[:1].upper()}{why[1:]}."
            made.append(Planned(wish.male, wish.female, start, end, why))
    return made


def _waits(
    wish: Wish, start: date, wanting: list[Wish], laid_out: Mapping[str, list[date]],
    busy: date | None, today: date,
) -> str:  # fmt: skip
    """Whom she waits for: those he goes to first, or the tub that he is in now."""
    before = [
        w.female for w in wanting if w is not wish and any(s < start for s in laid_out[w.female])
    ]
    if before:
        return f"{wish.male} goes to {listed(before)} first"
    return f"{wish.male} is in a tub until {day(busy, today)}" if busy else f"{wish.male} rests"
