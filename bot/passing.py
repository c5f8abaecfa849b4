"""Passing on: a reminder that nobody answered, or that can't be brought, goes to somebody else."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from sqlalchemy import Connection, select, update

from bot.book import households, reminders
from bot.book.households import Member
from bot.book.reminders import ReminderRow
from bot.book.tables import households as households_table
from bot.book.tables import outbox
from bot.messages import Outgoing, Reply
from bot.people import KEEPERS, People
from bot.serve.words import said
from bot.wording import listed, say


def put_on(
    rows: Sequence[ReminderRow], people: People, wait: timedelta | None
) -> list[tuple[Member, str, list[ReminderRow]]]:
    """To whom what goes now, with the sentence that says from whom it comes. Each goes on once."""
    found: dict[tuple[int, str], list[ReminderRow]] = {}
    for row in rows:
        before = _from(row, people, wait)
        member = people.next(row.told_to) if before else None
        if member is not None:
            found.setdefault((member.id, before), []).append(row)
    return [(people.members[number], before, mine) for (number, before), mine in found.items()]


def _from(row: ReminderRow, people: People, wait: timedelta | None) -> str:
    """From whom it is passed on and why; "" where it stays with those who have it."""
    if row.told is None or row.snoozed is not None:
        first = people.first()
        unreached = not any(people.reached(each) for each in first)
        return _words("unreached", first) if unreached else ""
    if row.passed_on or not row.told_to:
        return ""
    have = [people.members[each] for each in row.told_to if each in people.members]
    if not any(people.reached(each) for each in have):
        return _words("unreached", have)
    at = reminders.passes(row, wait) if wait is not None else None
    return _words("unanswered", have) if at is not None and at <= people.now else ""


def _words(why: str, whom: Iterable[Member]) -> str:
    return say(f"passed.{why}", names=listed(each.name for each in whom))


# --- a way that is shut ---------------------------------------------------------------------


def way_shut(conn: Connection, sent: Outgoing, now: datetime) -> list[Outgoing]:
    """An address takes nothing more: what waits for it goes another way, and a keeper is told.

    Call it once the address is shut in the book. Where it was the member's last way, what they were
    told is passed on at the next look at the clock, which this calls for.
    """
    row = conn.execute(
        select(outbox.c.household, outbox.c.member).where(outbox.c.id == sent.id)
    ).one()
    people = People(conn, households.household(conn, row.household), now)
    member = people.members.get(row.member)
    _wake(conn, row.household)
    if member is None:
        return []
    _other_way(people, member, sent)
    shut = said(f"channels.{sent.channel}")
    reply = Reply(said("unreachable", name=member.name, channel=shut))
    whom = _whom_to_tell(people, member)
    return people.send(whom, reply) if whom is not None else []


def _whom_to_tell(people: People, member: Member) -> Member | None:
    """The owner, by a way that is open; where there is none, the first keeper who has one."""
    keepers = [m for m in people.members.values() if m.role in KEEPERS]
    keepers.sort(key=lambda each: (each.role != "owner", each.id))
    return next((each for each in keepers if people.reached(each)), None)


def _other_way(people: People, member: Member, sent: Outgoing) -> None:
    """What was to be told there and is not sent yet goes by their next way, if they have one.

    What answers a message stays: it belongs where that was written.
    """
    ways = people.ways.get(member.id)
    if not ways:
        return
    channel, address = ways[0]
    people.conn.execute(
        update(outbox)
        .where(
            outbox.c.household == member.household, outbox.c.member == member.id,
            outbox.c.channel == sent.channel, outbox.c.address == sent.address,
            outbox.c.sent.is_(None), outbox.c.given_up.is_(None), outbox.c.message.is_(None),
        )
        .values(channel=channel, address=address, claimed=None, tries=0)
    )  # fmt: skip


def _wake(conn: Connection, household: int) -> None:
    """Have the household looked at now."""
    mine = households_table.c.id == household
    conn.execute(update(households_table).where(mine).values(wakes=None))
