"""What an answer says for the field asked about: a choice, a number, a name, a slot."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bot.language.bare import CLASS_OF, bare_pieces
from bot.language.dates import when_of
from bot.language.drafts import Scene, Span
from bot.language.frames import frames
from bot.language.items import Item
from bot.language.reading import Ask
from bot.records import KINDS, FieldType, Record

_NUMERIC = frozenset({FieldType.COUNT, FieldType.GRAMS, FieldType.CELSIUS, FieldType.PERCENT})
_ORDINALS = {
    "first": 1,
    "1st": 1,
    "second": 2,
    "2nd": 2,
    "third": 3,
    "3rd": 3,
    "fourth": 4,
    "4th": 4,
    "former": 1,
    "latter": 2,
    "fifth": 5,
    "5th": 5,
    "sixth": 6,
}
_POINTING = frozenset({"the", "one", "#", "option", "choice", "please", "it", "'s", "was", "that"})
_OWN_ACTS = frozenset(
    {
        "put",
        "move",
        "at",
        "give",
        "take",
        "took",
        "lay",
        "egg",
        "feed",
        "weigh",
        "find",
        "new",
        "candle",
        "check",
        "hatch",
        "pair",
        "part",
        "sex",
        "out",
        "name",
    }
)


def _said(words: Sequence[str]) -> str:
    return " ".join(w for w in words if w.isalnum() or "'" in w)


def value_of(
    items: Sequence[Item],
    words: Sequence[str],
    scene: Scene,
    question: Ask,
    waiting: Record,
    word: str | None,
) -> Any:
    """What the message says for the field asked about; None where it says nothing of it."""
    about, choices = question.about, question.choices
    field = None if about in ("on", "at") else KINDS[waiting.kind].field(about)
    said = _said(words)
    numeric = field is not None and field.type in _NUMERIC
    chosen = _chosen(items, said, choices, numeric)
    if chosen is None and word == "yes" and len(choices) == 1:
        chosen = choices[0]
    if chosen is not None:
        return _as_field(chosen, waiting, about, scene)
    if numeric and word in ("no", "neither") and about in ("found", "spoiled"):
        return 0
    boxes = [b for e in items if e.what == "box" for b in e.value]
    boxed = [c for c in choices if len(boxes) == 1 and c.rstrip("0123456789") == boxes[0]]
    if about in ("slots", "to") and len(boxed) == 1:
        return (boxed[0],)
    if word is not None or not _only_answers(items, about, waiting):
        return None
    if about == "on":
        days = [e for e in items if e.what in ("date", "time")]
        return when_of(days, scene.now, ahead=waiting.kind == "plan").on if days else None
    return _from_pieces(items, words, scene, about, waiting)


def _chosen(items: Sequence[Item], said: str, choices: Sequence[str], numeric: bool) -> str | None:
    """A choice by number (from 1), by word, or by a part that only one of them holds."""
    folded = [c.casefold() for c in choices]
    if said in folded:
        return choices[folded.index(said)]
    bare = bare_pieces(items)
    lone = [e for e in bare if not e.is_("slotnoun") and e.text.casefold() not in _POINTING]
    if not numeric and len(lone) == 1 and lone[0].what == "num" and "whole" in lone[0].senses:
        at = int(lone[0].value)
        return choices[at - 1] if 1 <= at <= len(choices) else None
    for word in said.split():
        if word in _ORDINALS and len(said.split()) <= 4 and _ORDINALS[word] <= len(choices):
            return choices[_ORDINALS[word] - 1]
    if len(said.split()) <= 3 and said in ("the last", "last one", "the last one") and choices:
        return choices[-1]
    squeezed = said.replace(" ", "")
    if len(squeezed) > 0 and len(said.split()) <= 3:
        near = [
            c
            for c in choices
            if squeezed == c.casefold().replace(" ", "").replace("°", "")
            or (len(squeezed) > 2 and squeezed in c.casefold().replace(" ", ""))
            or (len(squeezed) == 1 and c.casefold().split()[-1].strip("°") == squeezed)
        ]
        if len(near) == 1:
            return near[0]
    return None


def _as_field(text: str, waiting: Record, about: str, scene: Scene) -> Any:
    """A choice's label as the field's value."""
    if about == "on":
        from datetime import timedelta

        today = scene.now.date()
        return {"today": today, "tomorrow": today + timedelta(days=1)}.get(text.casefold())
    kind = KINDS[waiting.kind].field(about).type
    if kind in (FieldType.SLOTS, FieldType.TAGS, FieldType.WHO, FieldType.ABOUT):
        given = waiting.get(about)
        return given if isinstance(given, tuple) and text in given else (text,)
    if kind is FieldType.CELSIUS:
        from bot.language.numbers import celsius_of

        number, _, unit = text.partition(" ")
        return celsius_of(float(number), "F" if "F" in unit else "C")
    if kind in _NUMERIC:
        return int(text) if text.isdigit() else None
    return text


def _only_answers(items: Sequence[Item], about: str, waiting: Record) -> bool:
    """True where the message holds no telling of its own beside the answer."""
    table = frames()
    hearts = [e for e in items if table.kinds_of(e)]
    for each in hearts:
        if each.what in ("grams", "temp", "pct", "num"):
            continue
        if about in ("tag", "tags") and waiting.kind in ("animal", "hatched") and each.is_("sex"):
            continue
        if each.is_(CLASS_OF.get(about, "-")) or waiting.kind in table.kinds_of(each):
            continue
        if each.is_("act", *_OWN_ACTS) and about in ("slots", "to", "place"):
            continue
        return False
    tags = sum(e.what == "tag" for e in items)
    return not (
        tags and hearts and about not in ("tag", "dam", "who", "male", "female", "tags", "sire")
    )


def _from_pieces(
    items: Sequence[Item], words: Sequence[str], scene: Scene, about: str, waiting: Record
) -> Any:
    field = KINDS[waiting.kind].field(about)
    span = Span(items, scene)
    kind = field.type
    if kind is FieldType.TAG:
        tags = [t for e in span.animals() for t in span.tag_names(e)]
        return tags[0] if len(tags) == 1 else None
    if kind in (FieldType.TAGS, FieldType.ABOUT):
        return tuple(t for e in span.animals() for t in span.tag_names(e)) or None
    if kind is FieldType.WHO:
        tags = [t for e in span.animals() for t in span.tag_names(e)]
        tags += [name for name, _ in span.place_names()]
        return tuple(tags) or (("everyone",) if span.has("everyone") else None)
    if kind is FieldType.SLOTS:
        return _slots(span, waiting, about)
    if kind is FieldType.PLACE:
        places = [name for name, _ in span.place_names()]
        return places[-1] if places else None
    if kind in _NUMERIC:
        return _number(span, kind)
    if kind in (FieldType.CHOICE, FieldType.SPECIES):
        item = span.first(CLASS_OF.get(about, about))
        return item.get(CLASS_OF.get(about, about)) if item else None
    if kind is FieldType.TEXT:
        return " ".join(e.text for e in items if e.what != "stop") or None
    if kind is FieldType.WORD:
        food = span.first("food")
        if about == "food":
            return food.get("food") if food else None
        boxes = [b for e in span.what("box") for b in e.value]
        if about == "box":
            return boxes[0] if boxes else (words[0].upper() if len(words) == 1 else None)
        return (
            " ".join(e.text for e in bare_pieces(items)) if len(bare_pieces(items)) <= 3 else None
        )
    return None


def _slots(span: Span, waiting: Record, about: str) -> tuple[str, ...] | None:
    """Slots said in full, or numbers alone, which take the box in question."""
    slots: list[str] = []
    for item in span.slot_items():
        slots += span.slot_names(item)
    if not slots:
        slots = [f"?{int(n.value)}" for n in span.numbers(whole=True)]
    known = [
        s for s in (*(waiting.get("slots") or ()), *span.scene.told_slots) if not s.startswith("?")
    ]
    boxes = span.view.boxes
    sole = next(iter(boxes)) if len(boxes) == 1 else ""
    box = known[0].rstrip("0123456789") if known else sole
    return tuple(f"{box}{s[1:]}" if s.startswith("?") and box else s for s in slots) or None


def _number(span: Span, kind: FieldType) -> Any:
    wanted = {
        FieldType.GRAMS: ("grams", "num"),
        FieldType.CELSIUS: ("temp", "num"),
        FieldType.PERCENT: ("pct", "num"),
        FieldType.COUNT: ("num",),
    }[kind]
    found = [e for e in span.items if e.what in wanted]
    if len(found) != 1:
        if kind is FieldType.COUNT and not found and span.has("mood", "neg"):
            return 0
        return None
    item = found[0]
    if kind is FieldType.CELSIUS and item.what == "num":
        from bot.language.numbers import celsius_of

        return celsius_of(float(item.value), None)
    if kind in (FieldType.GRAMS, FieldType.CELSIUS):
        return round(float(item.value), 1) if item.value is not None else None
    return int(item.value)
