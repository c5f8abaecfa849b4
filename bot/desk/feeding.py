"""Feeding: how many feeders for the days asked about."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from bot.desk.context import Context
from bot.language.reading import Request
from bot.messages import Reply
from bot.wording import say, span

if TYPE_CHECKING:
    from scheduler.feeders import Need

WEEK = timedelta(days=6)


def feeders(request: Request, ctx: Context) -> Reply:
    """How many of which feeder, for young and grown, from what was fed lately."""
    from scheduler.feeders import feeders as needed

    start: date = request.get("from") or ctx.today
    end: date = request.get("to") or start + WEEK
    needs, remarks = needed(ctx.colony, start, end, ctx.today)
    if not needs:
        return Reply("\n".join(remarks) or say("feeders.none"))
    head = say("feeders.head", when=span(start, end, ctx.today))
    return Reply("\n".join([head, *map(_row, needs), *remarks]))


def _row(need: Need) -> str:
    both = need.young and need.grown
    sizes = say("feeders.sizes", young=need.young, grown=need.grown) if both else ""
    dusted = say("feeders.dusted", percent=f"{need.dusted:.0%}") if need.dusted else ""
    return say(
        "feeders.row", n=need.count, food=need.food, sizes=sizes, dusted=dusted, why=need.why
    )
