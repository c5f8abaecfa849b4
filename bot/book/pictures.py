"""Pictures that came with messages: kept by the channel's own file id, under what they show."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, insert, select

from bot.book.tables import happenings, ledger, messages, pictures

SHOWN = 1  # the newest is what a keeper wants to see


def keep(conn: Connection, household: int, message: int, file: str, now: datetime) -> None:
    """Keep a message's picture under each animal and egg that the message wrote about."""
    written = select(ledger.c.id).where(ledger.c.message == message)
    query = select(happenings.c.about).distinct()
    mine = (happenings.c.household == household) & happenings.c.entry.in_(written)
    for about in conn.execute(query.where(mine)).scalars():
        conn.execute(
            insert(pictures).values(
                household=household, message=message, about=about, file=file, taken=now
            )
        )


def of(conn: Connection, household: int, about: str, channel: str) -> tuple[str, ...]:
    """The newest picture of an animal or slot that this channel can show."""
    query = (
        select(pictures.c.file)
        .join(messages, messages.c.id == pictures.c.message)
        .where(
            pictures.c.household == household,
            pictures.c.about == about,
            messages.c.channel == channel,
        )
        .order_by(pictures.c.id.desc())
        .limit(SHOWN)
    )
    return tuple(conn.execute(query).scalars())
