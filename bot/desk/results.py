"""What came of it: hatch rates and the odds of a pair's young."""

from __future__ import annotations

from bot.desk.context import Context
from bot.language.reading import Request
from bot.messages import Reply
from bot.wording import say


def rates(request: Request, ctx: Context) -> Reply:
    """Fertility, hatch rate and sex ratio by season, female, male, pair or temperature."""
    return Reply(say("rates.not_yet"))


def odds(request: Request, ctx: Context) -> Reply:
    """What the young of a pair may show, from the traits of both."""
    return Reply(say("odds.not_yet"))
