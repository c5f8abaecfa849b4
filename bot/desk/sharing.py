"""Sharing the book and taking it along: invitation codes, the tables, the calendar."""

from __future__ import annotations

from datetime import timedelta
from random import Random

from bot import links
from bot.desk.context import Context
from bot.language.reading import Request
from bot.messages import Reply
from bot.wording import say

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ23456789"
CODE_LENGTH = 8
CODE_LASTS = timedelta(days=1)
SECRET_LENGTH = 40
ROLES = ("keeper", "helper", "watcher")


def share(request: Request, ctx: Context) -> Reply:
    """An invitation code for a role, good once and for a day, alone on a line; and as a link."""
    from sqlalchemy import insert

    from bot.book.tables import codes

    role = request.get("role")
    if role not in ROLES:
        return Reply(say("share.which"))
    code = made_up(ctx.chance, CODE_LENGTH)
    ctx.pages.conn.execute(
        insert(codes).values(
            code=code,
            household=ctx.pages.household.id,
            role=role,
            made=ctx.now,
            ends=ctx.now + CODE_LASTS,
            made_by=ctx.member.id,
        )
    )
    link = say("share.link", link=links.to(ctx.bot, code)) if ctx.bot else ""
    return Reply(say("share.code", code=code, may=say(f"share.{role}"), link=link))


def made_up(chance: Random, length: int) -> str:
    """A code that nobody guesses: letters and digits that are not taken for one another."""
    return "".join(chance.choice(LETTERS) for _ in range(length))


def export(request: Request, ctx: Context) -> Reply:
    """The whole book as tables, the same that an import reads."""
    from bot.book.csv_out import export as write_tables

    if ctx.export_folder is None:
        return Reply(say("export.nowhere"))
    files = tuple(write_tables(ctx.pages, ctx.export_folder))
    return Reply(say("export.done", n=len(files)), files=files)


def calendar(request: Request, ctx: Context) -> Reply:
    """The address of the household's calendar; its secret is made the first time it is asked."""
    from sqlalchemy import select, update

    from bot.book.tables import households

    mine = households.c.id == ctx.pages.household.id
    secret = ctx.pages.conn.execute(select(households.c.calendar).where(mine)).scalar()
    if secret is None:
        secret = made_up(ctx.chance, SECRET_LENGTH).lower()
        ctx.pages.conn.execute(update(households).where(mine).values(calendar=secret))
    path = f"/calendar/{secret}.ics"
    address = f"{ctx.url}{path}" if ctx.url else say("calendar_address", path=path)
    return Reply(say("calendar", address=address))
