"""Holds a record against the book: what it still lacks, or what in it can't be."""

from __future__ import annotations

from bot.language.drafts import Draft, Scene, check_slots, check_tag
from bot.language.fill_animals import HEAVIEST
from bot.language.fill_laying import MOST_EGGS
from bot.language.reading import Ask
from bot.records import KINDS, FieldType, Record

_SEXES = {"dam": "female", "female": "female", "male": "male", "sire": "male"}
_WANTS = {
    "laid": "free",
    "checked": "egg",
    "discarded": "egg",
    "pipped": "egg",
    "hatched": "egg",
    "shifted": "egg",
}

# What an answer may say at most; a message that says it at once is held to the same.
_MOST: dict[str, float] = {
    "eggs": MOST_EGGS, "spoiled": MOST_EGGS, "found": MOST_EGGS, "grams": HEAVIEST, "count": 1000,
}  # fmt: skip


def completed(record: Record, scene: Scene) -> tuple[Record, Ask | None]:
    """The record with what the book can add (the partner of a pairing), and the first question it
    still raises, if any."""
    draft = Draft(record.kind, dict(record.fields))
    _partner(draft, scene)
    for field in KINDS[record.kind].fields:
        value = draft.fields.get(field.name)
        if value is None:
            if field.needed:
                choices = field.choices if field.type is FieldType.CHOICE else ()
                draft.ask(field.name, choices=choices)
            continue
        if isinstance(value, int | float) and value > _MOST.get(field.name, value):
            draft.ask(field.name, "impossible", (), f"{value:g}")
        elif field.type is FieldType.TAG and not (record.kind == "animal" and field.name == "tag"):
            check_tag(draft, field.name, value, scene, _SEXES.get(field.name))
        elif field.type is FieldType.TAG and value in scene.view.animals:
            draft.ask(field.name, "duplicate", (), value)
        elif field.type is FieldType.SLOTS:
            want = "free" if field.name == "to" else _WANTS.get(record.kind, "egg")
            check_slots(draft, field.name, value, scene, want)
    whole = Record(record.kind, record.on, record.at, draft.fields)
    trouble = draft.trouble
    if trouble is None:
        return whole, None
    waiting = whole.with_fields(**{trouble.about: None}) if trouble.about in draft.fields else whole
    return whole, Ask(trouble.about, trouble.choices, waiting, trouble.why, trouble.said)


def _partner(draft: Draft, scene: Scene) -> None:
    """A parting with one animal named takes the other from the one open pairing."""
    if draft.kind != "parted" or ("male" in draft.fields) == ("female" in draft.fields):
        return
    side, other = ("male", "female") if "male" in draft.fields else ("female", "male")
    partners = [getattr(p, other) for p in scene.pairings(draft.fields[side])]
    if len(partners) == 1:
        draft.fields[other] = partners[0]
    else:
        draft.ask(other, "ambiguous" if partners else "no-open-pairing", tuple(partners))
