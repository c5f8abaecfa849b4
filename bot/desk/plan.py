"""The pairing sessions of the coming two weeks, who goes where on which day, in a few lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bot.desk.context import Context
from bot.wording import capped, say, span

if TYPE_CHECKING:
    from scheduler.fortnight import Fortnight, Planned

MOST_LINES = 6


def plan(ctx: Context) -> list[str]:
    """The plan of the two weeks to come, in lines; nothing where no session is due."""
    return lines_of(coming(ctx), ctx)


def coming(ctx: Context) -> Fortnight:
    """The sessions of the two weeks to come."""
    from scheduler.fortnight import fortnight

    return fortnight(ctx.colony, ctx.today)


def lines_of(found: Fortnight, ctx: Context) -> list[str]:
    """A head, the sessions by day and what could not be fitted in; nothing where none is due."""
    lines = [*(_session(each, ctx) for each in found.sessions), *found.notes]
    return [say("plan.head"), *capped(lines, MOST_LINES)] if lines else []


def _session(each: Planned, ctx: Context) -> str:
    days = span(each.put_in, each.take_out, ctx.today)
    return say("plan.row", days=days, male=each.male, female=each.female, why=each.why)
