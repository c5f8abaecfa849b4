"""The morning digest: what is due today, to each member who asked for it, at their own hour, once.

Who is away hears at that hour what was done meanwhile, and by whom.
"""

from __future__ import annotations

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from bot import desk
from bot.book import households, reminders
from bot.book.households import Household, Member
from bot.book.pages import Pages
from bot.desk.context import Context
from bot.desk.standing import account_so_far
from bot.desk.talk import talk_from_json, talk_to_json
from bot.language.reading import Outcome, Reading, Request
from bot.messages import Message, Outgoing, Reply
from bot.people import People, next_at

KIND = "digest"
CATCH_UP = timedelta(hours=4)  # later than this after its hour, a morning's digest is no use


def put_out(pages: Pages, now: datetime) -> list[Outgoing]:
    """Put each digest whose hour has come in the outbox."""
    out: list[Outgoing] = []
    everyone = households.of_household(pages.conn, pages.household.id)
    for member in everyone:
        key = _due(member, pages.household, now)
        if key and reminders.once(pages.conn, pages.household.id, KIND, key, now):
            people = People(pages.conn, pages.household, now)
            if people.reached(member):
                out += people.send(member, _digest(pages, people, member, key, now))
    return out


def _due(member: Member, household: Household, now: datetime) -> str:
    """The key of the digest whose hour has come today; "" where none has."""
    if not member.digest:
        return ""
    local = now.astimezone(_zone(member, household))
    at = datetime.combine(local.date(), time.fromisoformat(member.digest), local.tzinfo)
    return f"{KIND} {member.id} {local.date().isoformat()}" if at <= now < at + CATCH_UP else ""


def next_hour(member: Member, household: Household, after: datetime) -> datetime | None:
    """When this member's next digest is due; None for who asked for none."""
    if not member.digest:
        return None
    return next_at(time.fromisoformat(member.digest), _zone(member, household), after)


def _digest(pages: Pages, people: People, member: Member, key: str, now: datetime) -> Reply:
    """What "what's due today" answers, so that "done 2" can be said to it."""
    if people.away(member):
        return account_so_far(pages, people.running[member.id], people)
    today = now.astimezone(pages.zone).date()
    reading = Reading(Outcome.REQUEST, request=Request("tasks", {"from": today, "to": today}))
    channel, address = people.ways[member.id][0]
    message = Message(channel, key, address, "", now)
    talk = talk_from_json(member.talk)
    reply, talk = desk.answer(reading, Context(pages, member, message, None, talk, now))
    households.update_member(pages.conn, member.id, talk=talk_to_json(talk))
    return reply


def _zone(member: Member, household: Household) -> ZoneInfo:
    return ZoneInfo(member.zone or household.zone)
