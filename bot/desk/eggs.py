"""Clutches, eggs and boxes: what a laying means next, what hatches when, what lies where."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING

from bot.desk import drawn
from bot.desk.context import Context
from bot.language.reading import Request
from bot.messages import Reply
from bot.records import Record
from bot.wording import capped, day, joined, listed, near, say, span
from scheduler.facts import HOPELESS, slot_order

if TYPE_CHECKING:
    from scheduler.colony import Box, Egg
    from scheduler.window import Window

MOST_LISTED = 20
MARKS = {None: "", "fertile": "+", "infertile": "-"}
"""What a box map puts behind the dam's tag for an egg's state; anything else is marked "!"."""


def after_laying(record: Record, ctx: Context) -> str:
    """When they hatch, or where they went if that was not said."""
    slots = record.get("slots", ())
    if not slots:
        return say("next.where", n=good(record)) if good(record) > 0 else ""
    if len(slots) == 1 and good(record) > 1:
        both = say("next.same_slot", n=good(record), slot=slots[0])
        return joined([_hatch_said(slots, ctx), both])
    short = good(record) - len(slots)
    more = say("next.rest_slots", n=short) if short > 0 else ""
    return joined([_hatch_said(slots[:1], ctx), more])


def after_checking(record: Record, ctx: Context) -> str:
    """When fertile eggs hatch; what to do with hopeless ones."""
    if record.get("state") in HOPELESS:
        return say("next.hopeless", slot=record.get("slots")[0])
    return _hatch_said(record.get("slots")[:1], ctx) if record.get("state") == "fertile" else ""


def after_shifting(record: Record, ctx: Context) -> str:
    """A move may mean another temperature, so the window is said anew."""
    return _hatch_said(record.get("to")[:1], ctx)


def after_hatching(record: Record, ctx: Context) -> str:
    """A young one without a tag needs one."""
    if record.get("tags"):
        return ""
    return say("next.tag", n=young(record)) if young(record) > 0 else ""


def good(record: Record) -> int:
    """How many eggs of a laying are worth incubating."""
    found: int = record.get("eggs") - (record.get("spoiled") or 0)
    return found


def young(record: Record) -> int:
    """How many young a hatch gave: one an egg unless it was said."""
    said: int | None = record.get("young")
    return len(record.get("slots")) if said is None else said


def _hatch_said(slots: Iterable[str], ctx: Context) -> str:
    eggs = [egg for slot in slots for egg in ctx.pages.state.eggs_in(slot)]
    return hatch_said(eggs[-1], ctx) if eggs else ""


def hatch_said(egg: Egg, ctx: Context) -> str:
    """ "Hatch about 14 May (9 to 19 May)." """
    window = _window(egg, ctx)
    assumed = say("next.assumed") if window.assumed else ""
    return joined([say("next.hatch", **said(window, ctx.today)), assumed])


def said(window: Window, today: date) -> dict[str, str]:
    """A window's centre and span in words."""
    return {
        "day": day(window.centre, today),
        "span": span(window.start, window.end, today),
    }


def _window(egg: Egg, ctx: Context) -> Window:
    from scheduler.development import egg_window

    return egg_window(ctx.colony, egg, ctx.today)


def hatching(request: Request, ctx: Context) -> Reply:
    """Every clutch whose hatch window touches the days asked about, the soonest first; of an egg
    that is named its own story."""
    if request.get("slot"):
        return Reply(egg_story(request.get("slot"), ctx))
    start = request.get("from", ctx.today)
    end = request.get("to", start)
    rows, later = [], []
    for (dam, laid), eggs in _clutches(ctx):
        window = _window(eggs[0], ctx)
        if window.start > end:
            later.append((window.centre, listed(egg.slot or "?" for egg in eggs)))
        if window.start <= end and max(window.end, ctx.today) >= start:
            slots = listed(egg.slot or "?" for egg in eggs)
            values = {"slots": slots, "dam": dam or "?", "laid": day(laid, ctx.today)}
            values["state"] = _progress(eggs, window, ctx.today)
            rows.append((window.centre, say("hatching.row", **values, **said(window, ctx.today))))
    when = near(start, ctx.today) if start == end else span(start, end, ctx.today)
    if not rows:
        return Reply(joined([say("hatching.none", when=when), _first_of(later, ctx)]))
    lines = capped([row for _, row in sorted(rows)], MOST_LISTED)
    return Reply("\n".join([say("hatching.head", when=when), *lines]))


def _first_of(later: Sequence[tuple[date, str]], ctx: Context) -> str:
    """What hatches next after the days asked about; nothing where nothing will."""
    if not later:
        return ""
    when, slots = min(later)
    return say("hatching.next", slots=slots, day=day(when, ctx.today))


def _progress(eggs: Sequence[Egg], window: Window, today: date) -> str:
    """That some are pipping, or that the window is over."""
    pipping = [egg.slot or "?" for egg in eggs if egg.pipped]
    if pipping:
        return say("hatching.pipping", slots=listed(pipping))
    return say("hatching.late") if window.end < today else ""


def _clutches(ctx: Context) -> list[tuple[tuple[str | None, date], list[Egg]]]:
    """The eggs that a hatch is waited for, by dam and day laid."""
    waited = [
        egg
        for egg in ctx.pages.state.eggs.values()
        if egg.end is None and egg.slot and egg.state not in HOPELESS
    ]
    waited.sort(key=lambda egg: (egg.dam or "", egg.laid, slot_order(egg.slot or "")))
    return [(key, list(eggs)) for key, eggs in groupby(waited, lambda egg: (egg.dam, egg.laid))]


def box(request: Request, ctx: Context) -> Reply:
    """A map of one box, one egg's story where a slot is asked about, or all boxes in short."""
    slot = request.get("slot")
    if slot:
        return Reply(egg_story(slot, ctx))
    asked = request.get("box")
    boxes = ctx.pages.state.boxes
    if asked is None:
        return Reply("\n".join(map(_box_head, _filled(ctx))) or say("box.no_boxes"))
    if not boxes:
        return Reply(say("box.no_boxes"))
    if asked not in boxes:
        return Reply(say("box.unknown", box=asked, boxes=listed(sorted(boxes))))
    return drawn.with_box(Reply(box_map(boxes[asked], ctx)), asked, ctx)


def egg_story(slot: str, ctx: Context) -> str:
    """The egg in a slot: its dam, day, state and when it hatches."""
    eggs = ctx.pages.state.eggs_in(slot)
    if not eggs:
        return say("box.empty_slot", slot=slot)
    return "\n".join(_egg_story(slot, egg, ctx) for egg in eggs)


def _egg_story(slot: str, egg: Egg, ctx: Context) -> str:
    state = say(f"state.{egg.state or 'unchecked'}")
    if egg.checked and egg.state:
        state += say("box.checked", day=day(egg.checked, ctx.today))
    values = {"slot": slot, "dam": egg.dam or "?", "laid": day(egg.laid, ctx.today)}
    hatch = "" if egg.state in HOPELESS else hatch_said(egg, ctx)
    pipping = say("box.pipping", day=day(egg.pipped, ctx.today)) if egg.pipped else ""
    return joined([say("box.egg", state=state, **values), pipping or hatch])


def box_map(box: Box, ctx: Context) -> str:
    """The box as rows of slots: number, dam and a mark for the state."""
    total = box.rows * box.columns
    cells = [_cell(box.box, number, ctx) for number in range(1, total + 1)]
    wide = max(map(len, cells))
    rows = [
        " ".join(cell.ljust(wide) for cell in cells[start : start + box.columns]).rstrip()
        for start in range(0, total, box.columns)
    ]
    return "\n".join([_box_head((box, _taken(box, ctx))), *rows, say("box.legend")])


def _cell(box: str, number: int, ctx: Context) -> str:
    eggs = ctx.pages.state.eggs_in(f"{box}{number}")
    what = f"{eggs[0].dam or '?'}{MARKS.get(eggs[0].state, '!')}" if eggs else "."
    return f"{box}{number} {what}"


def _taken(box: Box, ctx: Context) -> int:
    slots = (f"{box.box}{n}" for n in range(1, box.rows * box.columns + 1))
    return sum(bool(ctx.pages.state.eggs_in(slot)) for slot in slots)


def _filled(ctx: Context) -> list[tuple[Box, int]]:
    return [(box, _taken(box, ctx)) for _, box in sorted(ctx.pages.state.boxes.items())]


def _box_head(filled: tuple[Box, int]) -> str:
    box, taken = filled
    where = say("part.incubator", value=box.incubator) if box.incubator else ""
    return say("box.head", box=box.box, where=where, taken=taken, all=box.rows * box.columns)


def free(request: Request, ctx: Context) -> Reply:
    """Free slots, box by box, runs said as "B1 to B3"."""
    boxes = ctx.pages.state.boxes
    wanted = request.get("box")
    lines = [_free_line(box, ctx) for name, box in sorted(boxes.items()) if wanted in (None, name)]
    if not lines:
        return Reply(say("box.no_boxes"))
    return Reply("\n".join(lines))


def _free_line(box: Box, ctx: Context) -> str:
    numbers = [
        n
        for n in range(1, box.rows * box.columns + 1)
        if not ctx.pages.state.eggs_in(f"{box.box}{n}")
    ]
    if not numbers:
        return say("box.full", box=box.box)
    return say("box.free", box=box.box, n=len(numbers), slots=", ".join(runs(box.box, numbers)))


def runs(box: str, numbers: Sequence[int]) -> list[str]:
    """Neighbouring slots together: B 1, 2, 3, 7 is "B1 to B3", "B7"."""
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return [_run(f"{box}{run[0]}", f"{box}{run[-1]}") for run in found]


def _run(first: str, last: str) -> str:
    return first if first == last else say("days.span", first=first, last=last)
