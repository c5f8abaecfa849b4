"""Which reminders a message may be an answer to: those told to the member lately, still open."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from bot.language.reading import Told

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bot.book.households import Member
    from bot.book.reminders import ReminderRow

LATELY = timedelta(days=2)
"""For so long a message may lean on a reminder, or while the time that it is for lasts (ours)."""
UNANSWERED = timedelta(days=7)
"""For so long it may where the member wrote nothing since: it still stands last in their chat."""


def lately_told(
    conn: Connection, rows: Iterable[ReminderRow], member: Member, now: datetime, before: int
) -> tuple[Told, ...]:
    """What was told to a member lately and nobody has answered, newest last.

    `rows` are the household's reminders that were told and are open, oldest first. `before` is the
    row of the message that is being read: what was told after the member's message before that one
    is fresh.
    """
    from bot.book import reminders
    from bot.desk.reminders import told_at

    until = now + reminders.AHEAD
    mine = ((told_at(row, member.id), row) for row in rows if row.due <= until)
    told = [(at, row) for at, row in mine if at is not None]
    if not told:
        return ()
    wrote = _last_wrote(conn, member, before)
    return tuple(
        Told(row.key, row.kind, row.about, row.place, row.text, at, fresh)
        for at, row in sorted(told, key=lambda each: each[0])
        if _leans_on(row, now - at, now, fresh := wrote is None or at > wrote)
    )


def _leans_on(row: ReminderRow, age: timedelta, now: datetime, fresh: bool) -> bool:
    lasts = row.until is not None and now <= row.until
    return age <= LATELY or lasts or (fresh and age <= UNANSWERED)


def _last_wrote(conn: Connection, member: Member, before: int) -> datetime | None:
    """When the member's message before this one came."""
    from sqlalchemy import select

    from bot.book.tables import messages

    mine = (messages.c.household == member.household) & (messages.c.member == member.id)
    found = select(messages.c.arrived).where(mine, messages.c.id < before)
    return conn.execute(found.order_by(messages.c.id.desc()).limit(1)).scalar()
