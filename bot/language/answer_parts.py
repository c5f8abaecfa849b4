"""Answers that say more than was asked, or say it in a way of their own: days, boxes, plans."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from typing import Any

from bot.language.codes import box_slots
from bot.language.completing import completed
from bot.language.dates import HourHint, clock_time, when_of
from bot.language.drafts import Scene, Span
from bot.language.fill_laying import eggs_told
from bot.language.frames import frames
from bot.language.items import Item
from bot.language.jotting import Source, joined_text, tidy
from bot.language.reading import Ask, Outcome, Reading
from bot.records import Record

Part = Callable[[Sequence[Item], Scene, Ask, Record], Reading | None]


def in_parts(items: Sequence[Item], scene: Scene, question: Ask) -> Reading | None:
    """The reading of an answer that fills a field in a way of its own, or None."""
    waiting = question.waiting
    if waiting is None:
        return None
    for part in _PARTS.get((waiting.kind, question.about), ()):
        found = part(items, scene, question, waiting)
        if found is not None:
            return found
    return None


def besides(items: Sequence[Item], question: Ask, record: Record, scene: Scene) -> dict[str, Any]:
    """What an answer tells along with what was asked: a day, an hour, where the eggs went."""
    told: dict[str, Any] = {}
    days = [e for e in items if e.what in ("date", "time")]
    if question.choices and len(days) == len([e for e in items if e.what != "stop"]):
        days = []  # "the second" is a choice and no day
    if days and question.about not in ("on", "at") and record.kind not in ("animal", "box"):
        when = when_of(days, scene.now, ahead=record.kind == "plan")
        if not (when.future or when.wrong):
            told |= {"on": when.on, "at": when.at or record.at}
    if record.kind == "laid" and question.about == "eggs":
        span = Span(items, scene)
        spoiled = eggs_told(span)[1]
        slots = [s for e in span.slot_items() for s in span.slot_names(e)]
        if spoiled:
            told["spoiled"] = spoiled
        if slots and not record.get("slots"):
            told["slots"] = tuple(slots)
    return told


def _done(record: Record, scene: Scene, why: str, *more: Record) -> Reading:
    whole, ask = completed(record, scene)
    if ask is not None:
        return Reading(Outcome.ASK, ask=ask, answers=True, reasons=(why,))
    return Reading(Outcome.RECORDS, (whole, *more), answers=True, reasons=(why,))


# -- reminders -------------------------------------------------------------------------------


def _told_hours(items: Sequence[Item], scene: Scene) -> list[Item]:
    """The days and hours told; a bare "at 8" is an hour here."""
    out = [e for e in items if e.what in ("date", "time")]
    for one, two in itertools.pairwise(items):
        if one.is_("prep", "at") and two.what == "num" and two.value in range(25):
            hint = HourHint(int(two.value) % 24, 0, None)
            at = clock_time(hint, None, scene.now, None, True)
            half = "pm" if at.hour >= 12 else "am"
            hour = HourHint(int(two.value) % 24, 0, half if two.value <= 12 else None)
            out.append(Item("time", hour, one.i, two.j, two.text))
    return out


def _plan_words(
    items: Sequence[Item], scene: Scene, question: Ask, waiting: Record
) -> Reading | None:
    """What to be reminded of; an hour or a day is none of its words."""
    table = frames()
    logged = any(e.form == "past" and not e.is_("act", "egg") for e in items if table.kinds_of(e))
    if logged and any(e.what in ("tag", "slot", "place") for e in items):
        return None
    told = _told_hours(items, scene)
    hours = {k for e in told for k in range(e.i, e.j)}
    words = tidy([e for e in items if e.i not in hours and e.what != "stop"])
    if any(e.is_("answer") for e in words) and len(words) < 3:
        return None
    when = when_of(told, scene.now, ahead=True)
    if told:
        day = when.on if any(e.what == "date" for e in told) or not _dated(waiting, scene) else None
        waiting = waiting.with_fields(on=day or waiting.on, at=when.at or waiting.at)
    text = joined_text(words, Source("", ()))
    if not text:
        asked = Ask("text", (), waiting)
        return Reading(Outcome.ASK, ask=asked, answers=True, reasons=("a day for a reminder",))
    record = waiting.with_fields(text=text)
    if not told and not _dated(waiting, scene):
        asked = Ask("on", ("today", "tomorrow"), record)
        return Reading(Outcome.ASK, ask=asked, answers=True, reasons=("words for a reminder",))
    return _done(record, scene, "words for a reminder")


def _dated(waiting: Record, scene: Scene) -> bool:
    """True where a day or an hour was told for a reminder before."""
    return waiting.at is not None or waiting.on != scene.now.date()


def _plan_day(
    items: Sequence[Item], scene: Scene, question: Ask, waiting: Record
) -> Reading | None:
    told = _told_hours(items, scene)
    hours = {k for e in told for k in range(e.i, e.j)}
    rest = [e for e in items if e.i not in hours and e.what not in ("stop", "comma")]
    if not told or len(rest) > 3 or any(frames().kinds_of(e) for e in rest):
        return None
    when = when_of(told, scene.now, ahead=True)
    return _done(waiting.with_fields(on=when.on, at=when.at), scene, "the day of a reminder")


# -- eggs and boxes --------------------------------------------------------------------------


def _eggs(items: Sequence[Item], scene: Scene, question: Ask, waiting: Record) -> Reading | None:
    """ "one good, one bad"; "2, K5 and K6"."""
    span = Span(items, scene)
    if any(e.is_("act") and not e.is_("act", "egg", "lay") for e in items) or span.animals():
        return None
    eggs, spoiled = eggs_told(span)
    if not eggs or (not spoiled and len(span.numbers(whole=True)) > 1):
        return None
    record = waiting.with_fields(eggs=eggs)
    more = besides(items, question, record, scene)
    return _done(record.with_fields(**more), scene, "answers eggs")


def _box_of_slots(
    items: Sequence[Item], scene: Scene, question: Ask, waiting: Record
) -> Reading | None:
    """ "box L" alone: which slot of it; "5" where the question is about one box."""
    span = Span(items, scene)
    boxes = [b for e in span.what("box") for b in e.value if b in scene.view.boxes]
    fits = [c for c in question.choices if c.rstrip("0123456789") in boxes]
    if len(boxes) == 1 and len(fits) != 1 and not span.slot_items() and not span.numbers():
        taken = {*scene.view.eggs, *scene.filled} - scene.emptied
        free = tuple(s for s in box_slots(boxes[0], scene.view) if s not in taken)[:4]
        asked = Ask(question.about, free, waiting, "missing", f"box {boxes[0]}")
        return Reading(Outcome.ASK, ask=asked, answers=True, reasons=("the box is told",))
    homes = {c.rstrip("0123456789") for c in question.choices}
    numbers = list(span.numbers(whole=True)) or [
        e for e in items if e.what == "slot" and str(e.value[0]).startswith("?")
    ]
    rest = [e for e in items if e not in numbers and e.what not in ("stop", "comma", "joint")]
    if len(homes) != 1 or len(numbers) != 1 or len(rest) > 2 or span.animals():
        return None
    one = numbers[0]
    number = int(one.value) if one.what == "num" else int(str(one.value[0])[1:] or 0)
    if one.what == "num" and number <= len(question.choices):
        return None
    slot = f"{homes.pop()}{number}"
    return _done(waiting.with_fields(**{question.about: (slot,)}), scene, "answers slots")


def _grid(items: Sequence[Item], scene: Scene, question: Ask, waiting: Record) -> Reading | None:
    """ "3 by 4": rows and columns at once."""
    numbers = [int(e.value) for e in items if e.what == "num" and "whole" in e.senses]
    if len(numbers) != 2 or waiting.get("rows"):
        return None
    if not all(1 <= n <= 40 for n in numbers):
        return None
    record = waiting.with_fields(rows=numbers[0], columns=numbers[1])
    return _done(record, scene, "answers rows and columns")


def _looked(items: Sequence[Item], scene: Scene, question: Ask, waiting: Record) -> Reading | None:
    """ "good" of an egg candled; "dud, binned it"."""
    span = Span(items, scene)
    if span.slot_items() or span.animals():
        return None
    item = span.first("state")
    state = item.get("state") if item is not None else ("fertile" if span.has("better") else None)
    tossed = span.has("act", "toss")
    if state in (None, "unsure") or (item is not None and not tossed) or span.has("mood", "neg"):
        return None
    more = (Record("discarded", waiting.on, None, {"slots": waiting.get("slots")}),)
    return _done(
        waiting.with_fields(state=state), scene, "answers state", *(more if tossed else ())
    )


def _unit(items: Sequence[Item], scene: Scene, question: Ask, waiting: Record) -> Reading | None:
    """ "fahrenheit", or the number of a choice."""
    said = " ".join(e.text.casefold() for e in items if e.what not in ("stop", "comma"))
    letter = {"celsius": "C", "centigrade": "C", "fahrenheit": "F", "farenheit": "F"}.get(said)
    fits = [c for c in question.choices if letter and c.endswith(letter)]
    if said.isdigit() and 1 <= int(said) <= len(question.choices):
        fits = [question.choices[int(said) - 1]]
    if len(fits) != 1:
        return None
    from bot.language.numbers import celsius_of

    number, _, unit = fits[0].partition(" ")
    celsius = celsius_of(float(number), "F" if "F" in unit else "C")
    return _done(waiting.with_fields(celsius=celsius), scene, "answers celsius")


_PARTS: dict[tuple[str, str], tuple[Part, ...]] = {
    ("plan", "text"): (_plan_words,),
    ("plan", "on"): (_plan_day,),
    ("laid", "eggs"): (_eggs,),
    ("laid", "slots"): (_box_of_slots,),
    ("shifted", "to"): (_box_of_slots,),
    ("box", "rows"): (_grid,),
    ("checked", "state"): (_looked,),
    ("reading", "celsius"): (_unit,),
}
