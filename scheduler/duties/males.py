"""What falls due for a male: pull him from a tub, put him back in."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import timedelta

from scheduler.colony import Due, Pairing
from scheduler.duties import Asked, item
from scheduler.sessions import NextSession, male_agenda, pull_day, session_plan


def of_male(asked: Asked, male: str) -> Iterator[Due]:
    """pull-male for the session he is in, put-male-in for those to come."""
    part = f"male {male}"
    for session in asked.facts.pairings_of.get(male, ()):
        if session.male == male and session.taken_out is None:
            yield _pull(asked, session, part)
    for following in male_agenda(asked.facts, male, asked.today):
        yield _put_in(asked, following, part)


def _pull(asked: Asked, session: Pairing, part: str) -> Due:
    facts, female = asked.facts, session.female
    on, why = pull_day(facts, session, asked.today)
    longest = session_plan(facts, facts.species_of(female)).days_in.high
    until = session.put_in + timedelta(math.ceil(longest)) if longest else on
    return item(
        asked, "pull-male", part, f"pairing {session.key}", (session.male, female), on,
        f"Pull {session.male} from {female}.", why,
        until=max(until, on), place=_tub(asked, female),
    )  # fmt: skip


def _put_in(asked: Asked, following: NextSession, part: str) -> Due:
    male, female = following.male, following.female
    pause = session_plan(asked.facts, asked.facts.species_of(female)).days_out
    slack = max(0.0, (pause.high or 0) - (pause.typical or 0))
    return item(
        asked, "put-male-in", part, f"after pairing {following.after}", (male, female),
        following.on, f"Put {male} in with {female} again, session {following.number}.",
        following.why, until=following.on + timedelta(math.ceil(slack)), place=_tub(asked, female),
    )  # fmt: skip


def _tub(asked: Asked, tag: str) -> str | None:
    animal = asked.facts.kept(tag)
    return animal.place if animal else None
