"""Pairing sessions: the species' plan, the sessions of a pair as one course, what comes next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from scheduler.colony import Pairing
from scheduler.condition import rest_called_for
from scheduler.facts import Facts
from scheduler.species import Figure, Species
from scheduler.words import counted, day, span, tag_order

COURSE_GAP_DAYS = 14
"""A longer pause than this between two sessions of a pair begins a new course (our convention)."""
RETRY_DAYS = 1
"""After a refusal or a bite he may be tried again after a day (common practice: "another day")."""
REFUSALS_BEFORE_REST = 3
REFUSAL_REST_DAYS = 14
"""After three refusals in a row, two weeks' rest before trying again (our convention)."""

_LAPSED = COURSE_GAP_DAYS + 60  # certainly over by then, whatever the species' pause: saves work

REFUSING = frozenset({"biting", "unreceptive"})


@dataclass(frozen=True)
class SessionPlan:
    """A species' plan for a pair, as figures: days in, days out, sessions in a course."""

    days_in: Figure
    days_out: Figure
    sessions: Figure

    @property
    def stay(self) -> int:
        """Days he stays in: taken out on the day put in plus these."""
        return math.ceil(self.days_in.typical or 2)

    @property
    def pause(self) -> int:
        """Days between being taken out and the next session."""
        return math.ceil(self.days_out.typical or 2)

    @property
    def times(self) -> int:
        """Sessions that make a course."""
        return math.ceil(self.sessions.typical or 3)


@dataclass(frozen=True)
class Course:
    """The sessions of one pair with no long pause between them, oldest first."""

    sessions: tuple[Pairing, ...]
    done: int  # sessions that count: long enough, or mating seen
    refused: int  # refusals at the end, in a row

    @property
    def first(self) -> Pairing:
        """The session the course began with."""
        return self.sessions[0]

    @property
    def last(self) -> Pairing:
        """The latest session."""
        return self.sessions[-1]


@dataclass(frozen=True)
class NextSession:
    """When the male should next go in with the female; `after` is the last session's key."""

    male: str
    female: str
    on: date
    why: str
    after: str
    number: int  # which session of the course it would be


def session_plan(facts: Facts, species: str | None) -> SessionPlan:
    """The species' plan; general gecko values where its own file has none."""
    return _plan(facts.species(species))


@lru_cache(maxsize=256)
def _plan(species: Species) -> SessionPlan:
    return SessionPlan(
        species.figure("pairing_male_in_days"),
        species.figure("pairing_male_out_days"),
        species.figure("pairing_sessions"),
    )


def latest_course(facts: Facts, male: str, female: str, today: date) -> Course | None:
    """The pair's latest course up to today, None where they were never together."""
    rows = [p for p in facts.pairings_of.get(female, ()) if p.male == male and p.put_in <= today]
    if not rows:
        return None
    plan = session_plan(facts, facts.species_of(female))
    sessions = _latest_run(rows)
    outcomes = [outcome(facts, session, plan, today) for session in sessions]
    closed = [o for o, s in zip(outcomes, sessions, strict=True) if s.taken_out is not None]
    refused = next((i for i, o in enumerate(reversed(closed)) if o != "refused"), len(closed))
    return Course(tuple(sessions), outcomes.count("held"), refused)


def course_began(facts: Facts, male: str, female: str, today: date) -> Pairing | None:
    """The session with which the pair's latest course up to today began."""
    rows = [p for p in facts.pairings_of.get(female, ()) if p.male == male and p.put_in <= today]
    return _latest_run(rows)[0] if rows else None


def outcome(facts: Facts, session: Pairing, plan: SessionPlan, today: date) -> str:
    """How a session went: "held", "refused" (a bite, no interest) or "short" (pulled early).

    Seen mating, it was held however short; an open session counts as held until something
    says otherwise.
    """
    until = session.taken_out or today
    signs = {
        sign.sign
        for tag in (session.male, session.female)
        for sign in facts.signs_of.get(tag, ())
        if session.put_in <= sign.on <= until
    }
    if "mating" in signs:
        return "held"
    if signs & REFUSING:
        return "refused"
    lasted = (until - session.put_in).days
    if session.taken_out is not None and lasted < (plan.days_in.low or plan.stay):
        return "short"
    return "held"


def pull_day(facts: Facts, session: Pairing, today: date) -> tuple[date, str]:
    """The day an open session ends, and why: its last day, or at once after a refusal."""
    plan = session_plan(facts, facts.species_of(session.female))
    if outcome(facts, session, plan, today) == "refused":
        return _refused_on(facts, session, today)
    since = f"In since {day(session.put_in, today)}; "
    return (
        session.put_in + timedelta(plan.stay),
        f"{since}sessions last {span(plan.days_in, 'day')}.",
    )


def next_session(facts: Facts, course: Course, today: date) -> NextSession | None:
    """The next session of a pair, None where the course is over, lapsed or she should rest.

    While he is still in, it is counted from the day he is to come out. What other females the male
    is wanted by is not looked at here: see `male_agenda`.
    """
    last, female = course.last, course.last.female
    plan = session_plan(facts, facts.species_of(female))
    if course.done >= plan.times or not _both_kept(facts, last) or _settled(facts, course, today):
        return None
    if rest_called_for(facts, female, today):
        return None
    out = last.taken_out
    if out is not None and (today - out).days > COURSE_GAP_DAYS + _pause(course, plan):
        return None
    leaves = out or max(pull_day(facts, last, today)[0], today)
    on = leaves + timedelta(_pause(course, plan))
    return NextSession(
        last.male, female, on, _why(course, plan, leaves, today), last.key, course.done + 1
    )


def male_agenda(facts: Facts, male: str, today: date) -> tuple[NextSession, ...]:
    """The male's next sessions one after the other, never in two tubs on one day.

    The session wanted first goes first; whoever waits for him is told why.
    """
    rows = facts.pairings_of.get(male, ())
    wanted = []
    recent = [p for p in rows if p.taken_out is None or (today - p.taken_out).days <= _LAPSED]
    for female in sorted({p.female for p in recent if p.male == male}):
        course = latest_course(facts, male, female, today)
        if course and course.last == _latest(facts, female, today):
            following = next_session(facts, course, today)
            wanted += [following] if following else []
    busy, holder = _busy_until(facts, rows, male, today)
    agenda: list[NextSession] = []
    for each in sorted(wanted, key=lambda n: (n.on, tag_order(n.female))):
        start, why = each.on, each.why
        if busy is not None and holder != each.female and start <= busy:
            start = busy + timedelta(1)
            why = f"{why} {male} is with {holder} until {day(busy, today)}."
        agenda.append(NextSession(male, each.female, start, why, each.after, each.number))
        stay = session_plan(facts, facts.species_of(each.female)).stay
        busy, holder = start + timedelta(stay), each.female
    return tuple(agenda)


def open_session(facts: Facts, tag: str) -> Pairing | None:
    """The session an animal is in now, if it is in one."""
    return next((p for p in reversed(facts.pairings_of.get(tag, ())) if p.taken_out is None), None)


def _latest_run(rows: Sequence[Pairing]) -> list[Pairing]:
    run = [rows[-1]]
    for row in reversed(rows[:-1]):
        if (run[-1].put_in - (row.taken_out or row.put_in)).days > COURSE_GAP_DAYS:
            break
        run.append(row)
    return run[::-1]


def _latest(facts: Facts, female: str, today: date) -> Pairing | None:
    rows = [p for p in facts.pairings_of.get(female, ()) if p.put_in <= today]
    return rows[-1] if rows else None


def _refused_on(facts: Facts, session: Pairing, today: date) -> tuple[date, str]:
    seen = [
        sign
        for tag in (session.female, session.male)
        for sign in facts.signs_of.get(tag, ())
        if sign.sign in REFUSING and session.put_in <= sign.on <= today
    ]
    first = min(seen, key=lambda sign: sign.on)
    return first.on, (
        f"{first.tag} seen {first.sign} on {day(first.on, today)}; "
        f"take him out and try another day (common practice)."
    )


def _both_kept(facts: Facts, session: Pairing) -> bool:
    return bool(facts.kept(session.male) and facts.kept(session.female))


def _settled(facts: Facts, course: Course, today: date) -> bool:
    """She was seen gravid since the course began: nothing more is needed of him."""
    return any(
        sign.sign == "gravid" and course.first.put_in <= sign.on <= today
        for sign in facts.signs_of.get(course.last.female, ())
    )


def _pause(course: Course, plan: SessionPlan) -> int:
    if course.refused >= REFUSALS_BEFORE_REST:
        return REFUSAL_REST_DAYS
    return RETRY_DAYS if course.refused else plan.pause


def _why(course: Course, plan: SessionPlan, leaves: date, today: date) -> str:
    leaving = "out since" if course.last.taken_out else "to come out on"
    he = f"{course.last.male} {leaving} {day(leaves, today)}"
    if course.refused >= REFUSALS_BEFORE_REST:
        rest = counted(REFUSAL_REST_DAYS, "day")
        return f"{he}, refused {course.refused} times; {rest} of rest before trying again (ours)."
    if course.refused:
        return f"{he} after a refusal; try again after a day (common practice)."
    done = f"{course.done} of {counted(plan.times, 'session')} done"
    return f"{he}, {done}; the pause is {span(plan.days_out, 'day')}."


def _busy_until(
    facts: Facts, rows: Sequence[Pairing], male: str, today: date
) -> tuple[date | None, str | None]:
    """Until when the male is in some female's tub, and whose."""
    inside = [p for p in rows if p.male == male and p.taken_out is None and p.put_in <= today]
    if inside:
        return max(pull_day(facts, inside[-1], today)[0], today), inside[-1].female
    out = [p for p in rows if p.male == male and p.taken_out == today]
    return (today, out[-1].female) if out else (None, None)
