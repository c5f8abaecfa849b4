"""The slots that a clause is about, and what the fillers of eggs share."""

from __future__ import annotations

from bot.language.drafts import Span

BAD_STATES = ("infertile", "mould", "dented", "collapsed")


def slots_of(span: Span, carry: bool = True, codes: bool = True) -> tuple[str, ...]:
    """The slots told, or those the last clause was about; `codes` takes unknown codes for slots."""
    found = [
        slot
        for each in span.slot_items()
        if codes or each.what == "slot"
        for slot in span.slot_names(each)
    ]
    if not found and carry:
        found = list(span.scene.slots) or (
            list(span.scene.told_slots) if span.has("pron") and not span.animals() else []
        )
    return tuple(dict.fromkeys(found))
