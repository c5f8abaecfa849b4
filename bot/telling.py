"""Telling people what falls due: reminders to those who should have them, and morning digests.

What is to be told goes into the outbox in the transaction that marks it told, and to whom.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from bot import away, desk, digest, passing
from bot.book import households, reminders, standins, wakes
from bot.book.households import Household, Member
from bot.book.pages import Cache, Pages, remember
from bot.book.reminders import ReminderRow
from bot.book.store import Book
from bot.desk import care
from bot.desk.reminders import MOST_TOLD_APART, Manner, in_order, task_words
from bot.desk.talk import talk_from_json, talk_to_json
from bot.messages import Outgoing
from bot.people import People, next_at, quiet, quiet_end

LATE = timedelta(hours=1)  # told longer after its time than this, a reminder is marked late
NEW_DAY = time(0, 5)  # when each household's reminders are worked out for the day
DAWN = 6  # the hour before which no reminder is due: until then a new day is seen as it begins


class Telling:
    """Puts in the outbox what a household is to be told."""

    def __init__(self, book: Book, cache: Cache) -> None:
        self._book = book
        self._cache = cache

    def tell(self, number: int, now: datetime) -> list[Outgoing]:
        """Put in the outbox what one household is to be told by now, and give it.

        Nothing where another process sees to it just now, or has done so.
        """
        with self._book.writing() as conn:
            if not wakes.claim(conn, number, now):
                return []
            pages = Pages(conn, number, self._cache)
            household, today = pages.household, now.astimezone(pages.zone).date()
            fresh = wakes.fresh(conn, number)
            if fresh != today:
                reminders.refresh(pages, now, _why(fresh, now.astimezone(pages.zone)))
            out = passing.ways_shut(conn, household, now)
            out += away.put_out(pages, now)
            out += put_out_due(conn, household, now)
            out += digest.put_out(pages, now)
            wakes.sleep_until(conn, number, next_moment(conn, household, now), now, today)
            kept = pages.keeps()
        remember(self._cache, kept)
        return out


def _why(fresh: date | None, local: datetime) -> reminders.Why:
    """A new day, where we saw it begin; else a start: we were down, or the machine dozed."""
    seen = fresh == local.date() - timedelta(days=1) and local.hour < DAWN
    return reminders.Why.NEW_DAY if seen else reminders.Why.START


# --- what is due ----------------------------------------------------------------------------


def put_out_due(conn: Connection, household: Household, now: datetime) -> list[Outgoing]:
    """Tell what is due to all who should have it, and pass on what nobody answered."""
    rows = reminders.to_see_to(conn, household.id, now)
    if not rows:
        return []
    people = People(conn, household, now)
    out: list[Outgoing] = []
    bags: dict[int, list[ReminderRow]] = {}
    for row in rows:
        whom = [member.id for member in owed(row, people)]
        for each in people.one_voice(whom):
            bags.setdefault(each, []).append(row)
        whom = people.hearing(whom)
        if whom and _fresh(row):
            reminders.told(conn, household.id, row.key, now, whom)
        elif whom:
            reminders.told_too(conn, household.id, row, now, whom)
    for number, mine in bags.items():
        out += _send(people, people.members[number], mine)
    told = {row.key for mine in bags.values() for row in mine}
    wait = reminders.pass_on_after(conn, household.id)
    for member, before, passed in passing.put_on(
        [r for r in rows if r.key not in told], people, wait
    ):
        for row in passed:
            reminders.told_too(conn, household.id, row, now, [member.id], passed_on=True)
        out += _send(people, member, passed, before)
    return out


def owed(row: ReminderRow, people: People) -> list[Member]:
    """Who is to be told of a reminder now.

    All who should have it and are awake; later those who slept when the others were told.
    """
    awake = [m for m in people.first() if people.reached(m) and people.awake(m)]
    if _fresh(row):
        return awake
    if row.told is None or not row.told_to:
        return []
    first = min(row.told_to.values())
    return [m for m in awake if m.id not in row.told_to and quiet(m, people.household, first)]


def _fresh(row: ReminderRow) -> bool:
    """Not told yet, or put off until now."""
    return row.told is None or row.snoozed is not None


def _send(
    people: People, member: Member, rows: Sequence[ReminderRow], before: str = ""
) -> list[Outgoing]:
    """Tell one member; who helps is told where and how, and once a day to wash their hands."""
    now, conn = people.now, people.conn
    late = {row.key for row in rows if now - (row.snoozed or row.due) > LATE}
    keeper = people.whom_to_ask(member)
    after = care.hygiene(conn, people.household, member, now) if keeper else ""
    manner = Manner(keeper, before, after)
    if len(rows) > MOST_TOLD_APART:  # the numbers of the list hold for what is said next
        for each in people.hearing([member.id]):
            _number(conn, people.members[each], tuple(task_words(row) for row in in_order(rows)))
    replies = desk.tell(rows, member, people.household, now, late, manner)
    return [each for reply in replies for each in people.tell(member, reply)]


def _number(conn: Connection, member: Member, tasks: tuple[str, ...]) -> None:
    talk = replace(talk_from_json(member.talk), tasks=tasks)
    households.update_member(conn, member.id, talk=talk_to_json(talk))


# --- when to look again ---------------------------------------------------------------------


def next_moment(conn: Connection, household: Household, after: datetime) -> datetime:
    """The next moment at which a household may have something to be told."""
    found = [
        next_at(NEW_DAY, ZoneInfo(household.zone), after),
        reminders.next_due(conn, household.id, after),
        reminders.next_pass(conn, household.id, after),
        standins.next_moment(conn, household.id, ZoneInfo(household.zone), after),
    ]
    for member in households.of_household(conn, household.id):
        found += [quiet_end(member, household, after), digest.next_hour(member, household, after)]
    return min(each for each in found if each is not None)
