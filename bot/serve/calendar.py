"""The calendar of what is due, for the keeper's own calendar to fetch."""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta

from sqlalchemy import select

from bot.book.pages import Pages
from bot.book.store import Book
from bot.book.tables import households

AHEAD = timedelta(days=60)
LASTS = timedelta(minutes=15)  # how long an entry is shown to last; it only has to be seen


def calendar(book: Book, secret: str, now: datetime) -> bytes | None:
    """The calendar under this secret (iCalendar, RFC 5545), or None where there is none."""
    if not (secret.isascii() and secret.isprintable()):  # none of ours, and no database takes NUL
        return None
    from icalendar import Calendar, Event

    from scheduler.reminders import due

    with book.reading() as conn:
        number = conn.execute(
            select(households.c.id).where(households.c.calendar == secret)
        ).scalar()
        if number is None:
            return None
        pages = Pages(conn, number)
        today = now.astimezone(pages.zone).date()
        wanted = due(pages.colony(), today, today + AHEAD, now)
    made = Calendar()
    made.add("prodid", "-//Rackside//EN")
    made.add("version", "2.0")
    for each in wanted:
        event = Event()
        event.add("uid", f"{hashlib.sha256(each.key.encode()).hexdigest()[:32]}@rackside")
        event.add("dtstamp", now)
        event.add("dtstart", each.due)
        event.add("duration", LASTS)
        event.add("summary", each.text)
        event.add("description", each.why)
        if each.place:
            event.add("location", each.place)
        made.add_component(event)
    return bytes(made.to_ical())
