"""Whoever sleeps until the next thing is due misses nothing: compared with looking every time."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import update

from bot.book.tables import households
from tests.book.test_wakes import EVENING, PAIRED, Street


def _told(sleeps: bool) -> list[tuple[datetime, str]]:
    street = Street("ann")
    street.say("ann", *PAIRED, "digest at 7:40", "quiet hours 21:30 to 7:20")
    street.say("ann", "remind me tomorrow at 6 to order roaches", "if nobody answers in 90 minutes"
               " tell the next person")  # fmt: skip
    told = []
    for step in range(2 * 24 * 6):
        street.now = EVENING + timedelta(minutes=10 * step)
        if step == 40:
            street.say("ann", "remind me in 3 hours to check incubator 1")
        if not sleeps:
            with street.book.writing() as conn:
                conn.execute(update(households).values(wakes=None))
        told += [(street.now, text) for _, text in street.tell()]
    return told


def test_sleeping_tells_the_same_at_the_same_moments_as_looking_every_time() -> None:
    """Digest, quiet hours, snoozes and reminders over two days, every ten minutes."""
    asleep, awake = _told(True), _told(False)
    assert asleep == awake
    assert len(asleep) >= 3
