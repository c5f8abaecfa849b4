"""Telling people what falls due: reminders to those who should have them, and morning digests.

What is to be told goes into the outbox in the transaction that marks it told.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from bot import desk, digest
from bot.book import households, post, reminders
from bot.book.households import Household, Member
from bot.book.pages import Cache, Pages
from bot.book.store import Book
from bot.messages import Outgoing

LATE = timedelta(hours=1)  # told longer after its time than this, a reminder is marked late
NEW_DAY = time(0, 5)  # when each household's reminders are worked out for the day
DAWN = 6  # the hour before which no reminder is due: until then a new day is seen as it begins
TELLS = ("owner", "keeper")  # who gets reminders


class Telling:
    """Puts in the outbox what a household is to be told; knows for which day that is worked out."""

    def __init__(self, book: Book, cache: Cache) -> None:
        self._book = book
        self._cache = cache
        self._fresh: dict[int, date] = {}  # household -> local day whose reminders are made

    def refreshed(self, pages: Pages, now: datetime) -> None:
        """A message has just had this household's reminders worked out."""
        self._fresh[pages.household.id] = now.astimezone(pages.zone).date()

    def tell(self, household: Household, now: datetime) -> list[Outgoing]:
        """Put in the outbox what one household is to be told by now, and give it."""
        today = now.astimezone(ZoneInfo(household.zone)).date()
        with self._book.writing() as conn:
            kept: Cache = {}
            if self._fresh.get(household.id) != today:
                pages = Pages(conn, household.id, self._cache)
                reminders.refresh(pages, now, self._why(household, now))
                kept = pages.keeps()
            out = _put_out_due(conn, household, now)
            out += _put_out_digests(conn, household, now)
        self._cache.update(kept)
        self._fresh[household.id] = today
        return out

    def _why(self, household: Household, now: datetime) -> reminders.Why:
        """A new day, where we saw it begin; else a start: we were down, or the machine dozed."""
        local = now.astimezone(ZoneInfo(household.zone))
        yesterday = local.date() - timedelta(days=1)
        seen = self._fresh.get(household.id) == yesterday and local.hour < DAWN
        return reminders.Why.NEW_DAY if seen else reminders.Why.START


def _put_out_due(conn: Connection, household: Household, now: datetime) -> list[Outgoing]:
    due = reminders.to_tell(conn, household.id, now)
    ways = households.ways(conn, household.id)
    routes = [
        (member, channel, address)
        for member, channel, address in households.routes(conn, household.id)
        # The console shows it too: nobody carries a console about.
        if ((member, channel, address) in ways or channel == "console")
        and member.role in TELLS
        and not quiet(member, household, now)
    ]
    if not due or not routes:
        return []
    late = {row.key for row in due if now - (row.snoozed or row.due) > LATE}
    for row in due:
        reminders.told(conn, household.id, row.key, now)
    return [
        post.put_out(conn, reply, member, channel, address, now)
        for member, channel, address in routes
        for reply in desk.tell(due, member, household, now, late)
    ]


def _put_out_digests(conn: Connection, household: Household, now: datetime) -> list[Outgoing]:
    wanted = digest.wanting(conn, household, now)
    if not wanted:
        return []
    ways = {member.id: (c, a) for member, c, a in households.ways(conn, household.id)}
    return digest.put_out(Pages(conn, household.id, {}), wanted, ways, now)


def next_moment(conn: Connection, household: Household, after: datetime) -> datetime:
    """The next moment at which a household may have something to be told."""
    day = after.astimezone(ZoneInfo(household.zone)).date() + timedelta(days=1)
    found = [datetime.combine(day, NEW_DAY, ZoneInfo(household.zone))]
    due = reminders.next_due(conn, household.id, after)
    if due is not None:
        found.append(due)
    return min(found + _quiet_ends(conn, household, after))


def quiet(member: Member, household: Household, now: datetime) -> bool:
    """Whether it is now in this member's quiet hours: a reminder then waits for their end."""
    if not member.quiet_from or not member.quiet_to:
        return False
    wall = now.astimezone(ZoneInfo(member.zone or household.zone)).strftime("%H:%M")
    if member.quiet_from <= member.quiet_to:
        return member.quiet_from <= wall < member.quiet_to
    return wall >= member.quiet_from or wall < member.quiet_to


def _quiet_ends(conn: Connection, household: Household, after: datetime) -> list[datetime]:
    ends = []
    for member in households.of_household(conn, household.id):
        if member.quiet_to:
            zone = ZoneInfo(member.zone or household.zone)
            day = after.astimezone(zone).date()
            for each in (day, day + timedelta(days=1)):
                end = datetime.combine(each, time.fromisoformat(member.quiet_to), zone)
                if end > after:
                    ends.append(end)
    return ends
