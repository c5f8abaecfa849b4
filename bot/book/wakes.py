"""When to look at a household again: a tick costs what is due, not how many households there are.

`wakes` is the next moment at which a household may have something to be told; none is now. `slept`
is when that was worked out: a clock that shows an earlier time was set back, and so the household
is looked at. `fresh` is the local day for which its reminders are worked out.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, bindparam, or_, select, update

from bot.book.tables import addresses, households

APART = timedelta(seconds=5)  # by how much the clocks of two machines may differ


def due(conn: Connection, now: datetime, most: int | None = None) -> tuple[int, ...]:
    """The households to look at now; so many at most, those that have waited longest first."""
    query = select(households.c.id).where(_awake(now))
    ordered = query.order_by(households.c.wakes.nulls_first(), households.c.id)
    return tuple(conn.execute(ordered.limit(most)).scalars())


def claim(conn: Connection, household: int, now: datetime) -> bool:
    """Take a household for this transaction; false where another has it, or has just seen to it."""
    query = select(households.c.id).where(households.c.id == household, _awake(now))
    locked = query.with_for_update(key_share=True, skip_locked=True)
    return conn.execute(locked).first() is not None


def sleep_until(
    conn: Connection, household: int, moment: datetime, now: datetime, day: date | None = None
) -> None:
    """Nothing more is to be told before this moment, as far as is known now.

    `day` is the local day for which its reminders are worked out, where they are.
    """
    known = {} if day is None else {"fresh": day}
    conn.execute(
        update(households)
        .where(households.c.id == household)
        .values(wakes=moment, slept=now, **known)
    )


_WAKE = (
    update(households)
    .where(
        households.c.id == bindparam("number"),
        or_(
            households.c.wakes.is_not(None),
            households.c.fresh.is_distinct_from(bindparam("day", type_=households.c.fresh.type)),
        ),
    )
    .values(wakes=None, fresh=bindparam("day", type_=households.c.fresh.type))
)


def wake(conn: Connection, household: int, day: date | None = None) -> None:
    """Something changed: look at it in the next tick.

    Its reminders are to be worked out anew then, unless they are for `day` already.
    """
    conn.execute(_WAKE, {"number": household, "day": day})


def wake_at(conn: Connection, channel: str, address: str) -> None:
    """An address opened or closed: look at the households whose members are reached there."""
    there = select(addresses.c.household).where(
        addresses.c.channel == channel, addresses.c.address == address
    )
    conn.execute(update(households).where(households.c.id.in_(there)).values(wakes=None))


def fresh(conn: Connection, household: int) -> date | None:
    """The local day for which reminders are worked out; None where they have to be, in any case."""
    return conn.execute(
        select(households.c.fresh).where(households.c.id == household)
    ).scalar_one_or_none()


def _awake(now: datetime) -> Any:
    return or_(
        households.c.wakes.is_(None), households.c.wakes <= now, households.c.slept > now + APART
    )
