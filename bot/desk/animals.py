"""Animals: what an arrival, a weight or a sign means next, the card, the place."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bot.desk import care, young
from bot.desk.context import Context
from bot.desk.restate import parents
from bot.language.reading import Request
from bot.messages import Reply
from bot.records import KINDS, Record, record_from_json
from bot.wording import day, joined, say, sentence, weight

if TYPE_CHECKING:
    from bot.book.rows import Happening
    from scheduler.colony import Animal

MOST_CONCERNS = 2
DAYS_A_MONTH = 30.44


def after_arrival(record: Record, ctx: Context) -> str:
    """Forecasts rest on the species, so a missing one is said."""
    return "" if record.get("species") else say("next.species", tag=record.get("tag"))


def after_weighing(record: Record, ctx: Context) -> str:
    """How the weight changed since the weighing before."""
    tag, grams = record.get("tag"), record.get("grams")
    before = [h for h in ctx.pages.history(tag) if h.kind == "weighed" and h.on < record.on]
    if not before:
        return ""
    since, change = day(before[0].on, ctx.today), round(grams - before[0].fields["grams"], 1)
    if not change:
        return say("next.no_change", since=since)
    way = "gone_up" if change > 0 else "gone_down"
    said = say(f"next.{way}", change=weight(abs(change), ctx.member.weight), since=since)
    return joined([said, *(_concerns(tag, ctx, "weight-alert") if change < 0 else ())])


def _concerns(tag: str, ctx: Context, about: str | None = None) -> list[str]:
    """What there is to watch, the gravest first, with what to do; `about` is a caution's key."""
    from scheduler.health import concerns

    found = concerns(ctx.colony, tag, ctx.today)
    return [
        say("animal.concern", what=each.what, advice=each.advice)
        for each in found
        if about in (None, each.caution)
    ]


def after_sign(record: Record, ctx: Context) -> str:
    """A sign of trouble names the vet; one of eggs to come says when."""
    sign = record.get("sign")
    if sign == "gravid":
        return next_clutch_said(record.get("tag"), ctx)
    return care.at_sign(sign)


def next_clutch_said(tag: str, ctx: Context) -> str:
    """ "F3 may lay about 14 May (9 to 19 May)."; nothing where nothing says that she will."""
    from scheduler.laying import clutch_window

    window = clutch_window(ctx.colony, tag, ctx.today)
    if window is None:
        return ""
    from bot.desk.eggs import said

    return say("next.clutch", tag=tag, **said(window, ctx.today))


def animal(request: Request, ctx: Context) -> Reply:
    """The animal's card: who it is, where, its last weight, its mate, its eggs, its health."""
    tag = request.get("tag")
    kept = ctx.pages.state.animals.get(tag)
    if kept is None:
        return Reply(unknown(tag))
    return Reply("\n".join(line for line in card(kept, ctx) if line))


def unknown(tag: str) -> str:
    """The sentence for a tag that the book does not have."""
    return say("animal.unknown", tag=tag)


def card(kept: Animal, ctx: Context) -> list[str]:
    """The lines of a card; a line with nothing to say is empty."""
    lines = [_who(kept, ctx.today), _standing(kept, ctx)]
    if kept.status != "kept":
        return lines
    lines += [joined([_last_weight(kept.tag, ctx), mate_said(kept.tag, ctx)])]
    if kept.sex == "female":
        lines += [joined([_last_laid(kept.tag, ctx), next_clutch_said(kept.tag, ctx)])]
    lines += [*_health(kept.tag, ctx), *young.grown(kept.tag, ctx)]
    return [*lines, *_notes(kept.tag, ctx)]


def _health(tag: str, ctx: Context) -> list[str]:
    """What there is to watch, and that a vet decides wherever the gravest calls for one."""
    from scheduler.health import concerns, vet_line

    found = concerns(ctx.colony, tag, ctx.today)
    for_a_vet = any(each.level == "vet" for each in found)
    return [*_concerns(tag, ctx)[:MOST_CONCERNS], *([vet_line()] if for_a_vet else [])]


def _who(kept: Animal, today: date) -> str:
    name = say("animal.name", name=kept.name) if kept.name else ""
    what = [say(f"sexed_as.{kept.sex}"), kept.species or ""]
    traits = say("part.traits", value=", ".join(kept.traits)) if kept.traits else ""
    head = f"{kept.tag}{name}: {' '.join(w for w in what if w)}{traits}"
    if kept.hatched:
        head += say("animal.hatched", day=day(kept.hatched, today), age=age(kept.hatched, today))
    return f"{head}{parents(kept.sire, kept.dam)}."


def age(hatched: date, today: date) -> str:
    """An age as one says it: "12 days", "5 months", "3 years"."""
    days = (today - hatched).days
    if days < 60:
        return say("days_of", n=days)
    if days < 730:
        return say("months_of", n=round(days / DAYS_A_MONTH))
    return say("years_of", n=days // 365)


def _standing(kept: Animal, ctx: Context) -> str:
    if kept.status != "kept":
        on = say("days.on", day=day(kept.ended, ctx.today)) if kept.ended else ""
        return sentence(say("animal.left", how=say(f"how.{kept.status}"), on=on))
    return say("animal.place", place=kept.place) if kept.place else ""


def _last_weight(tag: str, ctx: Context) -> str:
    last = last_happening(tag, "weighed", ctx)
    if last is None:
        return ""
    grams = weight(last.fields["grams"], ctx.member.weight)
    return say("animal.weight", weight=grams, day=day(last.on, ctx.today))


def last_happening(tag: str, kind: str, ctx: Context) -> Happening | None:
    """The latest thing of a kind that happened to it, or None."""
    return next((each for each in ctx.pages.history(tag) if each.kind == kind), None)


def mate_said(tag: str, ctx: Context) -> str:
    """Who is in with whom now, and since when."""
    for session in ctx.pages.state.open_pairings():
        if tag in (session.male, session.female):
            other = session.female if tag == session.male else session.male
            return say("animal.mate", mate=other, day=day(session.put_in, ctx.today))
    return ""


def _last_laid(tag: str, ctx: Context) -> str:
    last = last_happening(tag, "laid", ctx)
    if last is None:
        return ""
    return say("animal.laid", eggs=last.fields.get("eggs", "?"), day=day(last.on, ctx.today))


def _notes(tag: str, ctx: Context) -> list[str]:
    notes = [each for each in ctx.pages.history(tag) if each.kind == "note"][:2]
    return [
        say("animal.note", day=day(each.on, ctx.today), text=each.fields["text"]) for each in notes
    ]


def as_record(each: Happening) -> Record:
    """The record that a line of history came from."""
    assert each.kind in KINDS
    plain = {"kind": each.kind, "on": each.on.isoformat(), "at": each.at}
    return record_from_json(plain | dict(each.fields))


def where(request: Request, ctx: Context) -> Reply:
    """Where an animal is: its place, and with whom."""
    tag = request.get("tag")
    kept = ctx.pages.state.animals.get(tag)
    if kept is None:
        return Reply(unknown(tag))
    if kept.status != "kept":
        return Reply(f"{tag}: {_standing(kept, ctx)}")
    for session in ctx.pages.state.open_pairings():
        if tag == session.male:
            return Reply(_with_her(tag, session.female, session.put_in, ctx))
    place = say("where.in" if kept.place else "where.unknown", tag=tag, place=kept.place)
    return Reply(joined([place, mate_said(tag, ctx)]))


def _with_her(male: str, female: str, since: date, ctx: Context) -> str:
    her = ctx.pages.state.animals.get(female)
    place = say("part.place", value=her.place) if her and her.place else ""
    return say("where.mate", tag=male, mate=female, place=place, day=day(since, ctx.today))
