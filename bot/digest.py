"""The morning digest: what is due today, to each member who asked for it, at their own hour, once.

That a day's digest went out is a closed reminder with a key of its own, so that neither a restart
nor a second process nor a clock set back sends it again.
"""

from __future__ import annotations

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, insert, select

from bot import desk
from bot.book import households, post
from bot.book.households import Household, Member
from bot.book.pages import Pages
from bot.book.tables import reminders
from bot.desk.context import Context
from bot.desk.talk import talk_from_json, talk_to_json
from bot.language.reading import Outcome, Reading, Request
from bot.messages import Message, Outgoing

KIND = "digest"
CATCH_UP = timedelta(hours=4)  # later than this after its hour, a morning's digest is no use


def wanting(conn: Connection, household: Household, now: datetime) -> list[tuple[Member, str]]:
    """Whose hour has come today, and who has not had it; each with the key of their digest."""
    found = []
    for member in households.of_household(conn, household.id):
        if not member.digest:
            continue
        local = now.astimezone(ZoneInfo(member.zone or household.zone))
        at = datetime.combine(local.date(), time.fromisoformat(member.digest), local.tzinfo)
        key = f"{KIND} {member.id} {local.date().isoformat()}"
        if at <= now < at + CATCH_UP and not _told(conn, household, key):
            found.append((member, key))
    return found


def put_out(
    pages: Pages, wanted: list[tuple[Member, str]], ways: dict[int, tuple[str, str]], now: datetime
) -> list[Outgoing]:
    """Put each digest in the outbox. `ways` is how members are reached, by their number."""
    out = []
    for member, key in wanted:
        _mark(pages, key, now)
        if member.id in ways:
            out.append(_digest(pages, member, key, *ways[member.id], now))
    return out


def _digest(
    pages: Pages, member: Member, key: str, channel: str, address: str, now: datetime
) -> Outgoing:
    """What "what's due today" answers, so that "done 2" can be said to it."""
    today = now.astimezone(pages.zone).date()
    reading = Reading(Outcome.REQUEST, request=Request("tasks", {"from": today, "to": today}))
    message = Message(channel, key, address, "", now)
    talk = talk_from_json(member.talk)
    reply, talk = desk.answer(reading, Context(pages, member, message, None, talk, now))
    households.update_member(pages.conn, member.id, talk=talk_to_json(talk))
    return post.put_out(pages.conn, reply, member, channel, address, now)


def _told(conn: Connection, household: Household, key: str) -> bool:
    mine = (reminders.c.household == household.id) & (reminders.c.key == key)
    return conn.execute(select(reminders.c.key).where(mine)).first() is not None


def _mark(pages: Pages, key: str, now: datetime) -> None:
    pages.conn.execute(
        insert(reminders).values(
            household=pages.household.id, key=key, kind=KIND, about=[], due=now, text="", why="",
            told=now, closed=now, closed_as="done",
        )
    )  # fmt: skip
