"""The last records said again, of another animal, slot or place."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.completing import completed
from bot.language.drafts import Scene, Span
from bot.language.frames import frames
from bot.language.items import Item
from bot.language.reading import Outcome, Reading, Talk
from bot.records import KINDS, Record


def again(bare: Sequence[Item], scene: Scene, talk: Talk) -> Reading | None:
    """ "and F7 too", "same for F7": the last records, said of another animal, slot or place."""
    if not talk.last or not any(e.is_("answer", "same") for e in bare):
        return None
    table = frames()
    if any(table.kinds_of(e) and e.what != "num" for e in bare):
        return None
    span = Span(bare, scene)
    tags = [t for e in span.animals() for t in span.tag_names(e)]
    slots = [s for e in span.items if e.what == "slot" for s in span.slot_names(e)]
    places = [name for name, _ in span.place_names()]
    if not (tags or slots or places):
        return None
    return repeated(list(talk.last), tags, slots, places, scene)


def repeated(
    last: Sequence[Record],
    tags: Sequence[str],
    slots: Sequence[str],
    places: Sequence[str],
    scene: Scene,
) -> Reading | None:
    """The last record that fits, once for each animal, slot or place named."""
    for record in reversed(last):
        made = [each for each in _copies(record, tags, slots, places, scene) if each is not None]
        if not made:
            continue
        done: list[Record] = []
        for each in made:
            whole, ask = completed(each, scene)
            if ask is not None:
                return Reading(Outcome.ASK, tuple(done), ask=ask, reasons=("the same of another",))
            done.append(whole)
        return Reading(Outcome.RECORDS, tuple(done), reasons=("the same of another",))
    return None


def _copies(
    record: Record, tags: Sequence[str], slots: Sequence[str], places: Sequence[str], scene: Scene
) -> list[Record | None]:
    names = {f.name for f in KINDS[record.kind].fields}
    out: list[Record | None] = []
    for tag in tags:
        if record.kind == "paired":
            side = "male" if scene.sex(tag) == "male" else "female"
            out.append(record.with_fields(**{side: tag}))
        elif record.kind == "parted":
            side, other = ("male", "female") if scene.sex(tag) == "male" else ("female", "male")
            out.append(record.with_fields(**{side: tag, other: None}))
        elif "who" in names:
            out.append(record.with_fields(who=(tag,)))
        elif "dam" in names and record.kind == "laid":
            out.append(record.with_fields(dam=tag, slots=None, spoiled=None))
        elif "tag" in names and record.kind != "animal":
            out.append(record.with_fields(tag=tag, grams=None))
    if slots and "slots" in names and record.kind not in ("laid", "shifted"):
        out.append(record.with_fields(slots=tuple(slots), tags=None, young=None))
    for place in places:
        if "who" in names:
            out.append(record.with_fields(who=(place,)))
        elif record.kind == "watered":
            out.append(record.with_fields(place=place))
    return out
