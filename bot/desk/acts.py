"""What a member did with reminders (done, skip, snooze), kept so that "undo" can take it back."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from bot.desk.context import Context
from bot.language.reading import Act
from bot.wording import say, sentence

if TYPE_CHECKING:
    from bot.book.reminders import ReminderRow

MOST_KEPT = 20
SNOOZED = "snoozed"
UNTOLD = timedelta(hours=1)
"""What was closed before it was told, and is due, is told so long after it is opened again."""


def note(row: ReminderRow, how: str, ctx: Context) -> None:
    """Keep in the talk that the member's message closed a reminder or put it off."""
    act = Act(row.key, how, ctx.message.at, ctx.message_id, row.snoozed)
    ctx.talk = replace(ctx.talk, acts=(*ctx.talk.acts, act)[-MOST_KEPT:])


def take_back(ctx: Context) -> tuple[list[str], bool]:
    """Undo what the last message did with reminders, where no record came after it.

    It gives a line for each that is open again, and whether that was all the message did. What
    no longer stands (it was told again, somebody else closed it) is passed over.
    """
    written = ctx.pages.last_said(ctx.member)
    while ctx.talk.acts:
        last = ctx.talk.acts[-1]
        mine = [act for act in ctx.talk.acts if _moment(act) == _moment(last)]
        with_records = written is not None and written == _moment(last)
        if written is not None and not with_records and _later(written, _moment(last)):
            break
        kept = tuple(act for act in ctx.talk.acts if act not in mine)
        ctx.talk = replace(ctx.talk, acts=kept)
        lines = [line for act in reversed(mine) if (line := _open_again(act, ctx))]
        if lines or with_records:
            return lines, not with_records
    return [], False


Moment = tuple[int | None, datetime]


def _moment(act: Act) -> Moment:
    return act.message, act.at


def _later(one: Moment, other: Moment) -> bool:
    """Whether one came after the other: by the message's row; where there is none, by the hour."""
    if one[0] is not None and other[0] is not None:
        return one[0] > other[0]
    return one[1] > other[1]


def _open_again(act: Act, ctx: Context) -> str:
    """Open one again, and let the others who were told of it know; "" where it can't be."""
    from bot.book import reminders
    from bot.heard import tell_open_again

    conn, household = ctx.pages.conn, ctx.pages.household.id
    row = reminders.take_back(conn, household, act.key, act.how, ctx.member, act.snoozed)
    ctx.pages.state.worked_out = None  # while it was closed its row did not follow the facts
    if row is None:
        return ""
    if row.told is None and row.snoozed is None and row.due <= ctx.now:
        reminders.snooze(conn, household, row.key, ctx.now + UNTOLD)
    if act.how != SNOOZED:  # of that the others heard nothing
        others = tell_open_again(ctx.pages, row, ctx.member, ctx.message_id, ctx.now)
        ctx.others += others
    return say("undo.open_again", what=sentence(row.text))
