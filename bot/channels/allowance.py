"""How many messages a paid channel may send in a month: counted in the book, warned of once."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, insert, select, update
from sqlalchemy.exc import IntegrityError

from bot.book.tables import usage

NEARLY = 0.8  # of the month's messages used: time for a warning


@dataclass(frozen=True)
class Taken:
    """One message was allowed: the `sent`-th of `most` this month."""

    sent: int
    most: int

    @property
    def nearly_last(self) -> bool:
        """Whether it is past the share at which a warning is due."""
        return self.sent >= math.ceil(NEARLY * self.most)

    @property
    def last(self) -> bool:
        """Whether it is the last of the month."""
        return self.sent >= self.most


def take(conn: Connection, channel: str, month: str, most: int) -> Taken | None:
    """Count one message in a month ("2026-03"), or None where `most` have gone out."""
    if not _count(conn, channel, month, most):
        return None
    row = usage.c.channel == channel, usage.c.month == month
    return Taken(int(conn.execute(select(usage.c.sent).where(*row)).scalar_one()), most)


def warn(conn: Connection, channel: str, month: str) -> bool:
    """True the first time in a month: then the warning is to be given."""
    row = usage.c.channel == channel, usage.c.month == month
    first = update(usage).where(*row, usage.c.warned.is_(False)).values(warned=True)
    return conn.execute(first).rowcount == 1


def give_back(conn: Connection, channel: str, month: str) -> None:
    """The message was not sent after all."""
    conn.execute(
        update(usage)
        .where(usage.c.channel == channel, usage.c.month == month, usage.c.sent > 0)
        .values(sent=usage.c.sent - 1)
    )


def _count(conn: Connection, channel: str, month: str, most: int) -> bool:
    row = usage.c.channel == channel, usage.c.month == month
    one_more = update(usage).where(*row, usage.c.sent < most).values(sent=usage.c.sent + 1)
    if conn.execute(one_more).rowcount == 1:
        return True
    if most < 1 or conn.execute(select(usage.c.sent).where(*row)).first() is not None:
        return False
    try:
        with conn.begin_nested():
            conn.execute(insert(usage).values(channel=channel, month=month, sent=1))
    except IntegrityError:  # another process began the month in between
        return conn.execute(one_more).rowcount == 1
    return True


def month_of(now: datetime) -> str:
    """ "2026-03"; `now` is in the zone whose months count."""
    return now.strftime("%Y-%m")


def until_next_month(now: datetime) -> float:
    """Seconds from `now` (in the zone whose months count) to the first of the next month."""
    first = (now.replace(day=1) + timedelta(days=32)).replace(day=1)
    return (first.replace(hour=0, minute=0, second=0, microsecond=0) - now).total_seconds()
