"""Feeding: how many feeders for the days asked about."""

from __future__ import annotations

from bot.desk.context import Context
from bot.language.reading import Request
from bot.messages import Reply
from bot.wording import say


def feeders(request: Request, ctx: Context) -> Reply:
    """How many feeders of which size, worked out from heads and ages."""
    return Reply(say("feeders.not_yet"))
