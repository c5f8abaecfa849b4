"""What happened to an animal or at a place: the lines of it, and when a thing happened last."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bot.desk.animals import as_record
from bot.desk.context import Context
from bot.desk.restate import Manner, restate, worded
from bot.language.reading import Request
from bot.messages import Reply
from bot.wording import day, lookup, say

if TYPE_CHECKING:
    from bot.book.rows import Happening

HISTORY_LINES = 60
"""At most so many lines; what a phone shows of them at first is for its channel to say."""


def history(request: Request, ctx: Context) -> Reply:
    """What happened to an animal or at a place, newest first; and by whom, where several write.

    "When did F3 last lay" gets that one thing first.
    """
    from bot.book import family

    about = request.get("tag") or request.get("place") or request.get("slot")
    found = ctx.pages.history(about)
    kind = _kind_asked(ctx.message.text)
    last = _last(kind, about, found, ctx) if kind else ""
    if not found:
        return Reply(last or say("history.none", about=about))
    if kind and not last:
        last = say("history.never", about=about)
    shown = found[:HISTORY_LINES]
    names = family.writers(ctx.pages.conn, ctx.pages.household.id, [e.entry for e in shown])
    lines = [_row(each, names.get(each.entry), ctx) for each in shown]
    more = len(found) - len(lines)
    lines += [say("history.more", n=more)] if more > 0 else []
    return Reply("\n".join([*([last] if last else []), *lines]))


def _kind_asked(text: str) -> str:
    """The kind of record that the message asks the last of, by its words; or nothing."""
    said = {word.strip(",.!?;:'\"").casefold() for word in text.split()}
    if not said & set(say("history.when").split()):
        return ""
    kinds: dict[str, str] = lookup("history.asked")
    return next((kind for kind, words in kinds.items() if said & set(words.split())), "")


def _last(kind: str, about: str, found: list[Happening], ctx: Context) -> str:
    """The latest happening of a kind and how long ago it was, as a sentence; nothing for none."""
    rows = [*found, *(_fed_with_others(about, ctx) if kind == "fed" else ())]
    rows = [each for each in rows if each.kind == kind and not each.fields.get("refused")]
    if not rows:
        return ""
    last = max(rows, key=lambda each: (each.on, each.at or "", each.entry))
    days = (ctx.today - last.on).days
    ago = say("history.ago", n=days) if days else say("days.today")
    then = day(last.on, ctx.today)
    return worded(f"history.last.{kind}", as_record(last), _manner(last, ctx), day=then, ago=ago)


def _fed_with_others(tag: str, ctx: Context) -> list[Happening]:
    """What everyone got since the animal came, and what its place got since it is there."""
    kept = ctx.pages.state.animals.get(tag)
    if kept is None:
        return []
    since = {"everyone": kept.arrived, kept.place: kept.placed}
    return [
        each
        for whom, first in since.items()
        if whom
        for each in ctx.pages.history(whom)
        if first is None or each.on >= first
    ]


def _row(each: Happening, name: str | None, ctx: Context) -> str:
    what = restate(as_record(each), _manner(each, ctx))
    when = day(each.on, ctx.today)
    if name is None:
        return say("history.row", day=when, what=what)
    return say("history.row_by", day=when, what=what.rstrip("."), name=name)


def _manner(each: Happening, ctx: Context) -> Manner:
    """As on its own day, so that the day is not said twice."""
    return Manner(each.on, ctx.member.temperature, ctx.member.weight)
