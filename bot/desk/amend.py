"""Putting right what was written: undo, and the correction of single fields."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from bot.desk import acts
from bot.desk.animals import as_record
from bot.desk.context import Context
from bot.desk.records import confirmation, gap, manner, undo_choice
from bot.desk.restate import restate
from bot.language.reading import Request
from bot.messages import Reply
from bot.records import KINDS, LISTS, FieldType, Record
from bot.wording import say

if TYPE_CHECKING:
    from bot.book.rows import Happening
    from bot.book.state import State

SEX_OF = {"dam": "female", "female": "female", "sire": "male", "male": "male"}
"""Fields that an animal of one sex alone can fill."""
FOR_EMPTY_SLOTS = {("laid", "slots"), ("shifted", "to")}
NEW_TAGS = {("animal", "tag"), ("hatched", "tags")}
WHEN = frozenset({"on", "at"})


def undo(request: Request, ctx: Context) -> Reply:
    """Take back what the member did last: what a message wrote, or a reminder closed or put off.

    Of a correction, say what stands again.

    While something waits that is not written yet, that alone is dropped.
    """
    if _waits_unwritten(ctx):
        ctx.talk = replace(ctx.talk, question=None, offer=None)
        stands = bool(ctx.pages.last_written(ctx.member))
        return Reply(say("undo.closed" if stands else "talk.nothing_written"))
    opened, alone = acts.take_back(ctx)
    if alone:
        return Reply("\n".join(opened))
    before = ctx.pages.state
    gone = ctx.pages.undo_last(ctx.member, **_said(ctx))
    if not gone:
        return Reply(say("undo.nothing"))
    left = tuple(record for _, record in ctx.pages.last_written(ctx.member))
    ctx.talk = replace(ctx.talk, last=left, question=None, offer=None)
    lines = [say("undo.gone", what=restate(each, manner(ctx))) for each in gone]
    again = _stand_again(before, ctx.pages.state)
    lines += [say("undo.as_before", what=restate(each, manner(ctx))) for each in again]
    return Reply("\n".join([*opened, *lines]))


def _waits_unwritten(ctx: Context) -> bool:
    """Whether the member is asked about, or offered, something that is not in the book yet."""
    asked = ctx.talk.question
    return ctx.talk.offer is not None or (
        asked is not None and (asked.waiting is None or asked.waiting not in ctx.talk.last)
    )


def _stand_again(before: State, now: State) -> list[Record]:
    """The records that a correction stood for until it was undone, in the ledger's order."""
    was, are = (_by_entry(each) for each in (before, now))
    both = sorted(was.keys() & are.keys())
    return [as_record(are[each]) for each in both if _told(was[each]) != _told(are[each])]


def _by_entry(state: State) -> dict[int, Happening]:
    """One happening of each entry; they all hold the same record."""
    return {each.entry: each for each in state.happenings.values()}


def _told(each: Happening) -> tuple[Any, ...]:
    return each.kind, each.on, each.at, dict(each.fields)


def _said(ctx: Context) -> dict[str, Any]:
    return {
        "channel": ctx.message.channel,
        "arrived": ctx.message.at,
        "text": ctx.message.text,
        "message": ctx.message_id,
    }


def correct(request: Request, ctx: Context) -> Reply:
    """Put fields of what was written last right; the corrected records are said again."""
    changes = dict(request.fields)
    written = ctx.pages.last_written(ctx.member)
    meant = [(entry, record) for entry, record in written if _fits(record, changes)]
    if not meant or not changes:
        return Reply(say("correct.nothing" if not written else "correct.unfit"))
    if set(changes) - WHEN:
        meant = meant[-1:]
    put_right = []
    for entry, record in meant:
        fields = {name: _typed(record, name, value) for name, value in changes.items()}
        wrong = objection(record, fields, ctx)
        if wrong:
            return Reply(wrong)
        put_right.append((entry, record.with_fields(**fields)))
    return corrected(put_right, ctx)


def corrected(put_right: list[tuple[int, Record]], ctx: Context) -> Reply:
    """Write the corrections, each in its entry's place, and say them again."""
    records = _write(put_right, ctx)
    lines = [say("correct.done", what=confirmation(each, ctx)) for each in records]
    return Reply("\n".join(lines), choices=(undo_choice(),), wrote=True)


def filled(entry: int, record: Record, ctx: Context) -> Reply:
    """What was still to be said about a written record is said now; it goes in its place."""
    wrong = objection(record, record.fields, ctx)
    if wrong:
        return Reply(wrong)
    before, known = dict(ctx.pages.last_written(ctx.member))[entry], ctx.talk.last
    _write([(entry, record)], ctx)
    last = tuple(record if each == before else each for each in known)
    ctx.talk = replace(ctx.talk, last=last, question=gap(last))
    return Reply(confirmation(record, ctx), choices=(undo_choice(),), wrote=True)


def _write(put_right: list[tuple[int, Record]], ctx: Context) -> tuple[Record, ...]:
    for entry, record in put_right:
        ctx.pages.correct(entry, record, member=ctx.member, **_said(ctx))
    records = tuple(record for _, record in put_right)
    ctx.talk = replace(ctx.talk, last=records, question=None, offer=None)
    return records


def _fits(record: Record, changes: Mapping[str, Any]) -> bool:
    """Whether the record's kind has every field that is put right."""
    names = {each.name for each in KINDS[record.kind].fields} | WHEN
    return set(changes) <= names


def _typed(record: Record, name: str, value: Any) -> Any:
    if name in WHEN:
        return value
    kind = KINDS[record.kind].field(name).type
    if kind in LISTS and value is not None and not isinstance(value, tuple):
        return tuple(value) if isinstance(value, list) else (value,)
    return value


def objection(record: Record, fields: Mapping[str, Any], ctx: Context) -> str | None:
    """What speaks against a correction, as a sentence; None where nothing does."""
    on = fields.get("on")
    if on and record.kind == "plan" and on < ctx.today:
        return say("correct.past")
    if on and record.kind != "plan" and on > ctx.today:
        return say("correct.future")
    for name, value in fields.items():
        kind = FieldType.DATE if name in WHEN else KINDS[record.kind].field(name).type
        wrong = None
        if (record.kind, name) in NEW_TAGS:
            wrong = _new_tag_objection(record, name, value, ctx)
        elif kind is FieldType.TAG and record.kind != "animal":
            wrong = _tag_objection(name, value, ctx)
        elif kind is FieldType.SLOTS and value:
            wrong = _slots_objection(record, name, value, ctx)
        if wrong:
            return wrong
    return None


def _new_tag_objection(record: Record, name: str, value: Any, ctx: Context) -> str | None:
    """A new animal's tag must be new, unless the record itself brought it."""
    own = _many(record.get(name))
    known = [tag for tag in _many(value) if tag not in own and tag in ctx.pages.state.animals]
    return say("ask.duplicate.any", said=known[0]) if known else None


def _many(value: Any) -> tuple[str, ...]:
    if value is None:
        return ()
    return value if isinstance(value, tuple) else (value,)


def _tag_objection(name: str, tag: str, ctx: Context) -> str | None:
    animal = ctx.pages.state.animals.get(tag)
    if animal is None:
        return say("ask.unknown-tag.any", said=tag)
    sex = SEX_OF.get(name)
    if sex and animal.sex not in (sex, "unknown"):
        return say(f"ask.not-a-{sex}.any", said=tag)
    return None


def _slots_objection(record: Record, name: str, slots: tuple[str, ...], ctx: Context) -> str | None:
    own = record.get(name, ())
    for slot in slots:
        if not slot_exists(slot, ctx):
            return say("ask.unknown-slot.any", said=slot)
        full = bool(ctx.pages.state.eggs_in(slot))
        if (record.kind, name) in FOR_EMPTY_SLOTS:
            if full and slot not in own:
                return say("ask.slot-taken.any", said=slot)
        elif not full and slot not in own and record.kind != "hatched":
            return say("ask.slot-empty.any", said=slot)
    return None


def slot_exists(slot: str, ctx: Context) -> bool:
    """Whether the box is there and has that slot."""
    box = ctx.pages.state.boxes.get(slot.rstrip("0123456789"))
    number = slot[len(box.box) :] if box else ""
    return bool(box and number.isdigit() and 1 <= int(number) <= box.rows * box.columns)
