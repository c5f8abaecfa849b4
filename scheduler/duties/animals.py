"""What falls due for each animal by its age or its last weighing: weigh, sex, a keeper's plan."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, timedelta
from operator import attrgetter

from scheduler.colony import Animal, Due, Plan
from scheduler.duties import Asked, item, latest, latest_turn
from scheduler.wall import HOURS, moment
from scheduler.words import counted, day, listed, span

WEIGH_FEMALE_DAYS = 30
"""A breeding female is weighed monthly (common practice)."""
WEIGH_YOUNG_DAYS = 14
"""A young animal is weighed every two weeks (common practice)."""
BREEDING_DAYS = 120
"""A female counts as breeding for so long after a session or a clutch (our convention)."""

_on = attrgetter("on")


def of_animal(asked: Asked, tag: str) -> Iterator[Due]:
    """weigh, for a breeding female or a young animal."""
    animal = asked.facts.kept(tag)
    weighing = _weighing(asked, animal) if animal else None
    if animal is None or weighing is None:
        return
    began, every, what = weighing
    last = latest(asked.facts.weights_of.get(tag, ()), _on, asked.today)
    at_once = last is None and what != "young"  # a female that begins to breed, never weighed
    on = latest_turn(last.on if last else began, every, asked.today, first=0 if at_once else 1)
    if asked.beyond(on):
        return
    told = (
        f"Last weighed {day(last.on, asked.today)}, {last.grams:g} g" if last else "Not weighed yet"
    )
    usual = "monthly" if every == WEIGH_FEMALE_DAYS else f"every {counted(every, 'day')}"
    yield item(
        asked, "weigh", f"animal {tag}", f"{tag} on {on.isoformat()}", (tag,), on,
        f"Weigh {tag}.", f"{told}; {what} are weighed {usual} (common practice).",
        place=animal.place,
    )  # fmt: skip


def _weighing(asked: Asked, animal: Animal) -> tuple[date, int, str] | None:
    """Since when, how often and as what an animal is weighed; None where it need not be."""
    if animal.hatched is not None:
        mature = asked.facts.figure(animal.species, "sexual_maturity_age_days").typical
        if mature is not None and (asked.today - animal.hatched).days < mature:
            return animal.hatched, WEIGH_YOUNG_DAYS, "young"
    began_breeding = _breeding_since(asked, animal) if animal.sex == "female" else None
    return (began_breeding, WEIGH_FEMALE_DAYS, "breeding females") if began_breeding else None


def _breeding_since(asked: Asked, animal: Animal) -> date | None:
    facts, today, tag = asked.facts, asked.today, animal.tag
    since = today - timedelta(BREEDING_DAYS)
    pairings, clutches = facts.pairings_of.get(tag, ()), facts.clutches_of.get(tag, ())
    lately = [p.put_in for p in pairings if since <= p.put_in <= today and p.female == tag]
    lately += [c.laid for c in clutches if since <= c.laid <= today]
    return min(lately, default=None)


def of_litter(asked: Asked, dam: str, hatched: date) -> Iterator[Due]:
    """sex-young, for the siblings of a clutch whose sex is not known."""
    young = asked.facts.unsexed.get((dam, hatched), ())
    if not young:
        return
    age = asked.facts.figure(young[0].species, "sexable_age_days")
    if age.typical is None:
        return
    on = hatched + timedelta(round(age.typical))
    if asked.beyond(on):
        return
    tags = [animal.tag for animal in young]
    places = {animal.place for animal in young}
    yield item(
        asked, "sex-young", f"litter {dam} {hatched.isoformat()}", f"{dam} {hatched.isoformat()}",
        tags, on, f"Sex {listed(tags)}.",
        f"Hatched {day(hatched, asked.today)}; males show at {span(age, 'day')}.",
        until=hatched + timedelta(math.ceil(age.high)) if age.high else None,
        place=places.pop() if len(places) == 1 else None,
    )  # fmt: skip


def of_plan(asked: Asked, plan: Plan) -> Iterator[Due]:
    """plan, at the time the keeper set, else in the morning."""
    text = plan.text.strip()
    yield Due(
        key=f"plan, {plan.key}",
        kind="plan",
        about=(),
        due=moment(asked.facts.colony.zone, plan.on, plan.at or HOURS["plan"]),
        until=None,
        text=f"{text[:1].upper()}{text[1:]}",
        why="You asked to be reminded.",
        part="plans",
    )
