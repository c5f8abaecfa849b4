"""Passing on: a reminder that nobody answered, or that can't be brought, goes to somebody else."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from sqlalchemy import Connection, select, update

from bot.book import households, reminders
from bot.book.households import Household, Member
from bot.book.reminders import ReminderRow
from bot.book.tables import addresses, outbox
from bot.messages import Outgoing, Reply
from bot.people import KEEPERS, People
from bot.serve.words import said
from bot.wording import listed, say

SHUT = "shut"
LATELY = timedelta(days=1)


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


def ways_shut(conn: Connection, household: Household, now: datetime) -> list[Outgoing]:
    """See to every way of a household's members that was shut lately: see `way_shut`."""
    mine = (addresses.c.household == household.id) & (addresses.c.shut > now - LATELY)
    rows = conn.execute(select(addresses.c.channel, addresses.c.address).where(mine)).all()
    return [
        sent
        for channel, address in rows
        for sent in way_shut(conn, household.id, channel, address, now)
    ]


def way_shut(
    conn: Connection, household: int, channel: str, address: str, now: datetime
) -> list[Outgoing]:
    """An address takes nothing more: what waits for it goes another way, and a keeper is told.

    Once each time that it is shut, however often this is called. Where it was the member's last
    way, what they were told is passed on at the next look at the clock.
    """
    row = conn.execute(
        select(addresses.c.id, addresses.c.member, addresses.c.shut).where(
            addresses.c.household == household, addresses.c.channel == channel,
            addresses.c.address == address, addresses.c.shut.is_not(None),
        )
    ).first()  # fmt: skip
    if row is None or not reminders.once(conn, household, SHUT, f"{SHUT} {row.id} {row.shut}", now):
        return []
    people = People(conn, households.household(conn, household), now)
    member = people.members.get(row.member)
    if member is None:
        return []
    _other_way(people, member, channel, address)
    reply = Reply(said("unreachable", name=member.name, channel=said(f"channels.{channel}")))
    whom = _whom_to_tell(people)
    return people.send(whom, reply) if whom is not None else []


def _whom_to_tell(people: People) -> Member | None:
    """The owner, by a way that is open; where there is none, the first keeper who has one."""
    keepers = [m for m in people.members.values() if m.role in KEEPERS]
    keepers.sort(key=lambda each: (each.role != "owner", each.id))
    return next((each for each in keepers if people.reached(each)), None)


def _other_way(people: People, member: Member, channel: str, address: str) -> None:
    """What was to be told there and is not sent yet goes by their next way, if they have one.

    What answers a message stays: it belongs where that was written.
    """
    ways = people.ways.get(member.id)
    if not ways:
        return
    there = (outbox.c.channel == channel) & (outbox.c.address == address)
    waits = outbox.c.sent.is_(None) & outbox.c.given_up.is_(None) & outbox.c.message.is_(None)
    change = update(outbox).where(outbox.c.member == member.id, there, waits)
    people.conn.execute(change.values(channel=ways[0][0], address=ways[0][1], worker=None, tries=0))
