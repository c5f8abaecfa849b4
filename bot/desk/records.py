"""Records into the book, and the one short confirmation that repeats what was understood."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from bot.desk import animals, care, eggs, pairings, reminders, results
from bot.desk.context import Context
from bot.desk.restate import Manner, restate
from bot.language.reading import Ask
from bot.messages import Choice, Reply
from bot.records import Record
from bot.wording import joined, say

After = Callable[[Record, Context], str]

AFTER: dict[str, After] = {
    "animal": animals.after_arrival,
    "weighed": animals.after_weighing,
    "seen": animals.after_sign,
    "paired": pairings.after_pairing,
    "laid": eggs.after_laying,
    "checked": eggs.after_checking,
    "shifted": eggs.after_shifting,
    "hatched": eggs.after_hatching,
    "note": results.after_note,
    "plan": reminders.after_plan,
    "described": results.after_description,
}
"""What a record means next, as a sentence or more; a kind that is not here means nothing more."""


def written(records: Sequence[Record], ctx: Context) -> Reply:
    """Write the records and confirm each; one that a gap follows asks for what is missing."""
    ctx.pages.write(
        records,
        member=ctx.member,
        channel=ctx.message.channel,
        arrived=ctx.message.at,
        text=ctx.message.text,
        message=ctx.message_id,
    )
    ctx.talk = replace(ctx.talk, last=tuple(records), question=gap(records), offer=None)
    thrown = {slot for r in records if r.kind == "discarded" for slot in r.get("slots")}
    lines = [
        restate(record, manner(ctx))
        if record.kind == "checked" and thrown.issuperset(record.get("slots"))
        else confirmation(record, ctx)
        for record in records
    ]
    lines += care.after_writing(records, ctx)
    return Reply("\n".join(lines), choices=(undo_choice(),), wrote=True)


def gap(records: Sequence[Record]) -> Ask | None:
    """The question about the first record that was written with something still to be said."""
    for record in records:
        if record.kind == "laid" and not record.get("slots") and eggs.good(record) > 0:
            return Ask("slots", waiting=record)
        if record.kind == "hatched" and not record.get("tags") and eggs.young(record) > 0:
            return Ask("tags", waiting=record)
    return None


def confirmation(record: Record, ctx: Context) -> str:
    """What was understood and what it means next, in one line."""
    after = AFTER.get(record.kind)
    return joined([restate(record, manner(ctx)), after(record, ctx) if after else ""])


def manner(ctx: Context) -> Manner:
    """How this member is spoken to."""
    return Manner(ctx.today, ctx.member.temperature, ctx.member.weight)


def undo_choice() -> Choice:
    """The way back, offered with everything that was written."""
    return Choice(say("talk.undo"), "undo")
