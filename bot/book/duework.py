"""What falls due by the book: worked out whole, or only where the records since can change it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from bot.book.pages import Pages
from scheduler.colony import Colony, Due


@dataclass(frozen=True)
class WorkedOut:
    """The colony by which the reminders' rows were last put right, and the day they were for.

    It is kept beside the `State` it follows from: a transaction that fails takes both away.
    """

    colony: Colony
    today: date


def lean_on_rows(pages: Pages, now: datetime) -> None:
    """Take it that the rows say what is due as the book stands, where they were made today.

    To be called before anything is written: then a message works out only what it can change,
    also of a household of which nothing is kept.
    """
    today = now.astimezone(pages.zone).date()
    if pages.fresh == today and pages.state.worked_out is None:
        pages.state.worked_out = WorkedOut(pages.colony(), today)


def work_out(
    pages: Pages, now: datetime, ahead: timedelta, *, anew: bool
) -> tuple[dict[str, Due], Mapping[str, Due] | None]:
    """What is due up to so long `ahead`, by key, and what was due that it takes the place of.

    That is None where everything was worked out: then the answer is all there is. `anew` does so
    whatever was kept; so do a new day and another time zone.
    """
    from scheduler.changes import changed
    from scheduler.reminders import due, due_for

    colony, state = pages.colony(), pages.state
    today = now.astimezone(pages.zone).date()
    kept, state.worked_out = state.worked_out, WorkedOut(colony, today)
    if anew or kept is None or kept.today != today or kept.colony.zone != colony.zone:
        return _by_key(due(colony, today, today + ahead, now)), None
    if kept.colony is colony:
        return {}, {}
    parts = changed(kept.colony, colony, today)
    span = (today, today + ahead, now)
    before, after = (due_for(each, parts, *span) for each in (kept.colony, colony))
    return _by_key(after), _by_key(before)


def _by_key(dues: Iterable[Due]) -> dict[str, Due]:
    return {each.key: each for each in dues}
