"""What falls due by the book: worked out whole, or only where the records since can change it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from bot.book.pages import Pages
from scheduler.colony import Colony, Due


@dataclass(frozen=True)
class WorkedOut:
    """What was due on a day by a colony's facts, by key.

    It is kept beside the `State` it follows from: a transaction that fails takes both away.
    """

    colony: Colony
    today: date
    dues: Mapping[str, Due]


def work_out(
    pages: Pages, now: datetime, ahead: timedelta, *, anew: bool
) -> tuple[dict[str, Due], Collection[str] | None]:
    """What is due up to so long `ahead`, by key, and the keys that it takes the place of.

    Those keys are None where everything was worked out: then the answer is all there is. `anew`
    does that whatever was kept; so do a new day and another time zone.
    """
    from scheduler.changes import changed
    from scheduler.reminders import due, due_for

    colony, state = pages.colony(), pages.state
    today = now.astimezone(pages.zone).date()
    kept = state.worked_out
    if anew or kept is None or kept.today != today or kept.colony.zone != colony.zone:
        dues = {each.key: each for each in due(colony, today, today + ahead, now)}
        state.worked_out = WorkedOut(colony, today, dues)
        return dues, None
    if kept.colony is colony:
        return {}, ()
    parts = changed(kept.colony, colony, today)
    before = [key for key, each in kept.dues.items() if each.part in parts]
    wanted = {each.key: each for each in due_for(colony, parts, today, today + ahead, now)}
    others = {key: each for key, each in kept.dues.items() if each.part not in parts}
    state.worked_out = WorkedOut(colony, today, {**others, **wanted})
    return wanted, before
