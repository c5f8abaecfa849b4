"""Charts and labels as plain text, in lines that fit a phone (at most 40 columns)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from bot import wording
from bot.desk import drawn
from bot.desk.animals import age
from bot.desk.context import Context
from bot.language.reading import Request
from bot.messages import Reply
from bot.wording import day, say

if TYPE_CHECKING:
    from scheduler.colony import Egg

WIDTH = 40
ROWS = 14
BAR = "▇"
Row = tuple[str, float, str]
"""What stands before the bar, the figure it shows, and how the figure is said."""


def chart(request: Request, ctx: Context) -> Reply:
    """Bars under a head; with nothing to show, what to log so that there is."""
    of = request.get("of")
    if of not in ROWS_OF:
        return Reply(say("chart.which"))
    about = request.get("tag") or request.get("place")
    rows = ROWS_OF[of](about, ctx)
    if not rows:
        return Reply(say(f"chart.no_{of}", about=about or say("chart.book")))
    head = say(f"chart.{of}", about=about or say("chart.book"))
    reply = Reply("\n".join([head, *bars(rows[-ROWS:], from_zero=of in COUNTED)]))
    return drawn.with_chart(reply, of, about, ctx)


def bars(rows: Sequence[Row], *, from_zero: bool) -> list[str]:
    """One line a row. Bars start at zero, or, where only changes matter, just below the least."""
    ahead = max(len(label) for label, _, _ in rows)
    behind = max(len(said) for _, _, said in rows)
    room = WIDTH - ahead - behind - 2
    low, high = min(value for _, value, _ in rows), max(value for _, value, _ in rows)
    floor = 0.0 if from_zero else low - max((high - low) * 0.25, 0.5)
    return [
        f"{label:>{ahead}} {said:>{behind}} {BAR * round(room * (value - floor) / (high - floor))}"
        for label, value, said in rows
    ]


def _weights(about: str | None, ctx: Context) -> list[Row]:
    unit = ctx.member.weight
    found = [h for h in ctx.pages.history(about or "") if h.kind == "weighed"]
    return [
        (day(h.on, ctx.today), h.fields["grams"], wording.weight(h.fields["grams"], unit))
        for h in reversed(found)
    ]


def _temperatures(about: str | None, ctx: Context) -> list[Row]:
    unit = ctx.member.temperature
    found = [
        h
        for h in ctx.pages.state.happenings.values()
        if h.kind == "reading" and h.fields.get("celsius") is not None and about in (None, h.about)
    ]
    found.sort(key=lambda h: (h.on, h.at or "", h.entry))
    return [
        (day(h.on, ctx.today), h.fields["celsius"], wording.temperature(h.fields["celsius"], unit))
        for h in found
    ]


def _hatchings(about: str | None, ctx: Context) -> list[Row]:
    return _by_month(
        [
            egg.ended
            for egg in ctx.pages.state.eggs.values()
            if egg.end == "hatched" and egg.ended and about in (None, egg.dam, *egg.sires)
        ]
    )


def _layings(about: str | None, ctx: Context) -> list[Row]:
    clutches = ctx.pages.state.clutches.values()
    return _by_month(
        [each.laid for each in clutches if about in (None, each.dam) for _ in range(each.eggs)]
    )


def _by_month(days: Sequence[date]) -> list[Row]:
    counts = Counter((each.year, each.month) for each in days)
    months = wording.words()["months"]
    return [
        (f"{months[month - 1]} {year}", float(number), str(number))
        for (year, month), number in sorted(counts.items())
    ]


ROWS_OF: dict[str, Callable[[str | None, Context], list[Row]]] = {
    "weight": _weights,
    "temperature": _temperatures,
    "hatching": _hatchings,
    "laying": _layings,
}
COUNTED = frozenset({"hatching", "laying"})


def label(request: Request, ctx: Context) -> Reply:
    """A label to copy or print: an animal's, a box's, or an egg's in its slot."""
    of = str(request.get("of") or "").strip()
    lines = _label_lines(of, ctx)
    if not lines:
        return Reply(say("label.none", of=of or say("ask.that")))
    return drawn.with_label(Reply("\n".join(lines)), of, lines, ctx)


def _label_lines(of: str, ctx: Context) -> list[str]:
    state = ctx.pages.state
    if of in state.animals:
        return _animal_label(of, ctx)
    name = of.removeprefix("box ").strip()
    if name in state.boxes:
        return _box_label(name, ctx)
    eggs = state.eggs_in(of)
    if not eggs:
        return []
    return [_egg_label(of, eggs[0], ctx)]


def _egg_label(slot: str, egg: Egg, ctx: Context) -> str:
    return say("label.egg", slot=slot, dam=egg.dam or "?", laid=day(egg.laid, ctx.today))


def _animal_label(tag: str, ctx: Context) -> list[str]:
    kept = ctx.pages.state.animals[tag]
    hatched = kept.hatched
    lines = [
        f"{tag} {kept.name}" if kept.name else tag,
        _species_name(kept.species),
        say(f"sexed_as.{kept.sex}"),
        ", ".join(kept.traits),
        say("label.hatched", day=day(hatched, ctx.today), age=age(hatched, ctx.today))
        if hatched
        else "",
        say("label.parents", sire=kept.sire or "?", dam=kept.dam or "?")
        if kept.sire or kept.dam
        else "",
    ]
    return [line for line in lines if line]


def _species_name(key: str | None) -> str:
    if key is None:
        return ""
    from scheduler.species import SpeciesError, load

    try:
        return load(key).name
    except SpeciesError:
        return key


def _box_label(name: str, ctx: Context) -> list[str]:
    box = ctx.pages.state.boxes[name]
    slots = [f"{name}{n}" for n in range(1, box.rows * box.columns + 1)]
    eggs = [(slot, egg) for slot in slots for egg in ctx.pages.state.eggs_in(slot)]
    where = say("part.incubator", value=box.incubator) if box.incubator else ""
    head = say("label.box", box=name, where=where)
    return [head, *(
        _egg_label(slot, egg, ctx) for slot, egg in eggs
    )]  # fmt: skip
