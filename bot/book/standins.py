"""Standing in: who gets another member's reminders, from when until when. Moments are UTC."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, bindparam, delete, insert, select, update

from bot.book.tables import reminders, standins

MORNING = time(8)  # when people are told of what begins or ends with a day (our convention)
WANTED = "standin-wanted"
"""The kind of a row among the reminders that keeps what was asked while there was nobody to do it:
closed from the start, so that it is never told; `due` and `until` are the span asked for."""


@dataclass(frozen=True)
class StandIn:
    """`member` stands in for `for_member` from `starts` up to `ends`; both are members' numbers.

    `reported` is when the one who was away got the account of it: it is over then.
    """

    id: int
    for_member: int
    member: int
    starts: datetime
    ends: datetime
    reported: datetime | None = None


@dataclass(frozen=True)
class Wanted:
    """A stand-in that was asked for when there was nobody: `who` are the words used."""

    key: str
    for_member: int
    who: str
    starts: datetime
    ends: datetime
    asked: datetime


def begin(
    conn: Connection, household: int, *, for_member: int, member: int, starts: datetime,
    ends: datetime, now: datetime,
) -> StandIn:  # fmt: skip
    """Let a member stand in for another; it takes the place of what that one asked before.

    Where the same member stands in already it is the same one, with another end.
    """
    for each in call_off(conn, household, for_member, now):
        if each.member == member and each.starts <= now < each.ends and starts <= now:
            starts = each.starts
            conn.execute(delete(standins).where(standins.c.id == each.id))
    values = {"for_member": for_member, "member": member, "starts": starts, "ends": ends}
    made = conn.execute(insert(standins).values(household=household, **values))
    key = made.inserted_primary_key
    assert key is not None
    return StandIn(int(key[0]), for_member, member, starts, ends)


def call_off(conn: Connection, household: int, for_member: int, now: datetime) -> list[StandIn]:
    """End what runs for a member now, and forget what was to come; gives them, as they were."""
    found = [each for each in unreported(conn, household) if each.for_member == for_member]
    for each in found:
        if each.starts > now:
            conn.execute(delete(standins).where(standins.c.id == each.id))
        else:
            _change(conn, each.id, ends=min(each.ends, now))
    return found


_UNREPORTED = (
    select(standins)
    .where(standins.c.household == bindparam("household"), standins.c.reported.is_(None))
    .order_by(standins.c.id)
)


def unreported(conn: Connection, household: int) -> list[StandIn]:
    """Those to come, those running, and those over whose account is still owed."""
    rows = conn.execute(_UNREPORTED, {"household": household}).mappings()
    return [StandIn(**{k: row[k] for k in StandIn.__dataclass_fields__}) for row in rows]


def reported(conn: Connection, number: int, now: datetime) -> None:
    """The account of it is in the outbox: it is given once."""
    _change(conn, number, reported=now)


def civil(moment: datetime, zone: ZoneInfo) -> datetime:
    """When something of that moment is said: what begins or ends with a day, in the morning."""
    local = moment.astimezone(zone)
    whole_day = (local.hour, local.minute) == (0, 0)
    return datetime.combine(local.date(), MORNING, zone) if whole_day else moment


def next_moment(
    conn: Connection, household: int, zone: ZoneInfo, after: datetime
) -> datetime | None:
    """The next moment at which one begins or ends, or is to be spoken of."""
    rows = conn.execute(
        select(standins.c.starts, standins.c.ends).where(
            standins.c.household == household,
            standins.c.reported.is_(None),
        )
    )
    moments = [each for row in rows for at in row for each in (at, civil(at, zone))]
    return min((each for each in moments if each > after), default=None)


# --- what waits for somebody to join --------------------------------------------------------


def want(
    conn: Connection, household: int, *, for_member: int, who: str, starts: datetime,
    ends: datetime, now: datetime,
) -> None:  # fmt: skip
    """Keep what was asked until somebody has joined who can do it; the last asking counts."""
    key = f"{WANTED} {for_member}"
    forget(conn, household, key)
    conn.execute(
        insert(reminders).values(
            household=household, key=key, kind=WANTED, about=[for_member], text=who, why="",
            due=starts, until=ends, told=now, closed=now, closed_as="done",
        )
    )  # fmt: skip


def wanted(conn: Connection, household: int, now: datetime) -> list[Wanted]:
    """What still waits and is not past."""
    rows = conn.execute(
        select(reminders).where(reminders.c.household == household, reminders.c.kind == WANTED)
    ).mappings()
    found = [
        Wanted(row["key"], int(row["about"][0]), row["text"], row["due"], row["until"], row["told"])
        for row in rows
    ]
    return [each for each in found if each.ends > now]


def forget(conn: Connection, household: int, key: str) -> None:
    """What was asked is taken up, or asked anew."""
    conn.execute(
        delete(reminders).where(reminders.c.household == household, reminders.c.key == key)
    )


def _change(conn: Connection, number: int, **values: Any) -> None:
    conn.execute(update(standins).where(standins.c.id == number).values(**values))
