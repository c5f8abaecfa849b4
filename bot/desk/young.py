"""Young animals: how one keeps up with its siblings, and what its coming ages bring."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bot.desk.context import Context
from bot.wording import day, say, weight

if TYPE_CHECKING:
    from scheduler.young import Milestone

MOST_MILESTONES = 2


def grown(tag: str, ctx: Context) -> list[str]:
    """Lines for the card of a young animal; none for a grown one, or where its age is not known."""
    from scheduler.young import milestones

    coming = milestones(ctx.colony, tag, ctx.today)
    young = any(each.kind == "mature" for each in coming)
    return [*([_against_siblings(tag, ctx)] if young else []), _coming(coming, ctx.today)]


def _against_siblings(tag: str, ctx: Context) -> str:
    """Its last weight as a share of its siblings' at that age; nothing where too few compare."""
    from scheduler.young import growth

    found = growth(ctx.colony, tag, ctx.today)
    if found is None or found.usual is None or found.share is None:
        return ""
    return say(
        "young.behind" if found.behind else "young.growth",
        age=say("days_of", n=found.age),
        n=found.siblings,
        usual=weight(found.usual, ctx.member.weight),
        percent=round(100 * found.share),
    )


def _coming(found: tuple[Milestone, ...], today: date) -> str:
    rows = [_milestone(each, today) for each in found[:MOST_MILESTONES]]
    return say("young.coming", milestones="; ".join(rows)) if rows else ""


def _milestone(each: Milestone, today: date) -> str:
    """ "about 14 May sex can be told"; once its usual day is past, the last one stands."""
    what = say(f"young.at.{each.kind.replace(' ', '-')}")
    if each.on < today and each.last:
        return say("young.by", what=what, day=day(each.last, today))
    return say("young.about", what=what, day=day(each.on, today))
