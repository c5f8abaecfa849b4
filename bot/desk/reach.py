"""By which channel a member's reminders come, and how one person comes to write by two."""

from __future__ import annotations

from bot.desk.context import Context
from bot.wording import lookup, say

HERE = frozenset(("here", "this", "this one"))


def by_channel(to: str, ctx: Context) -> str | None:
    """Have this member's reminders come by one channel: "sms", "telegram", or "here".

    None where `to` names none. Where they do not write by it yet, the answer gives a code that lets
    them in there as the same person; from then on their reminders come that way.
    """
    from bot.book import households

    names: dict[str, str] = lookup("settings.channels")
    said: dict[str, str] = lookup("settings.channels_said")
    channel = ctx.message.channel if to.casefold() in HERE else said.get(to.casefold())
    if channel not in names:
        return None
    households.update_member(ctx.pages.conn, ctx.member.id, prefers=channel)
    routes = households.routes(ctx.pages.conn, ctx.pages.household.id)
    if any(member.id == ctx.member.id and each == channel for member, each, _ in routes):
        return say("settings.channel", by=names[channel])
    return say("settings.channel_code", by=names[channel], code=_code_for_myself(ctx))


def _code_for_myself(ctx: Context) -> str:
    """A code that adds an address to this member, instead of a member to the book."""
    from sqlalchemy import insert

    from bot.book.tables import codes
    from bot.desk.sharing import CODE_LASTS, CODE_LENGTH, made_up

    code = made_up(ctx.chance, CODE_LENGTH)
    ctx.pages.conn.execute(
        insert(codes).values(
            code=code, household=ctx.pages.household.id, role=ctx.member.role,
            member=ctx.member.id, made=ctx.now, ends=ctx.now + CODE_LASTS, made_by=ctx.member.id,
        )
    )  # fmt: skip
    return code
