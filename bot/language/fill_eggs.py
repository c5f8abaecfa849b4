"""Fills what becomes of eggs in their slots: checked, discarded, pipped, hatched, shifted."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from bot.language.codes import box_slots
from bot.language.drafts import Draft, Span, check_slots
from bot.language.fill_air import fill_box, fill_reading, fill_watered
from bot.language.fill_animals import Filler
from bot.language.fill_laying import fill_laid, fill_searched
from bot.language.fill_slots import BAD_STATES, slots_of
from bot.language.items import Item

_EVERY = frozenset({"all", "everything", "every", "both", "whole"})


def _whole_box(span: Span) -> tuple[str, ...]:
    """ "all of box B": every egg of it."""
    return tuple(_lying(span)) if _said_every(span) and not span.animals() else ()


def _lying(span: Span) -> Iterator[str]:
    """The slots with an egg in them of the boxes named."""
    for each in span.what("box"):
        for box in each.value:
            for slot in box_slots(box, span.view) if box in span.view.boxes else ():
                if slot in span.view.eggs:
                    yield slot


def _of_a_dam(span: Span) -> tuple[str, ...]:
    """ "both of F7's eggs in B": those of hers that lie there, where they are as many as said."""
    tags = [t for e in span.animals() for t in span.tag_names(e)]
    every = span.has("pron", "both") or _said_every(span)
    if len(tags) != 1 or not every or not span.what("box"):
        return ()
    found = tuple(s for s in _lying(span) if span.view.eggs[s].dam == tags[0])
    both = any(e.word.startswith("both") for e in span.items)
    return found if len(found) == 2 or not both else ()


def _judged_first(span: Span, slots: tuple[str, ...]) -> tuple[str, ...]:
    """ "A1 good A2 bad": the question is about the first."""
    words = [n for n, e in enumerate(span.items) if e.is_("better") or e.is_("spoil")]
    ahead = [s for e in span.slot_items() if span.index(e) < words[0] for s in span.slot_names(e)]
    return tuple(ahead) if len(words) > 1 and ahead else slots


def _said_every(span: Span) -> bool:
    return any(set(e.word.split()) & _EVERY for e in span.items)


def fill_checked(span: Span) -> list[Draft]:
    """`checked`: slots in a state, as last said; "good" counts only beside a candling."""
    states = [e for e in span.items if e.is_("state")]
    candled = span.has("act", "candle", "check")
    slots = slots_of(span, carry=not span.what("box")) or _of_a_dam(span) or _whole_box(span)
    state = None
    if states:
        sure = [e.get("state") for e in states if e.get("state") != "unsure"]
        early = "too-early" in sure
        state = "too-early" if early else (sure[-1] if sure else "unsure")
        if state == "fertile" and _denied(span, states[-1]):
            state = "unsure"
    elif span.has("better") and candled:
        state = "fertile"
    judged = span.has("better") or span.has("spoil")
    if state is None and not candled and not (judged and slots):
        return []
    if span.has("act", "check") and not states and not slots:
        return []
    if not slots and not candled and not (state and span.what("box")):
        return []
    if state is None and not candled:
        slots = _judged_first(span, slots)
    score = 2.0 + bool(candled) + bool(state) + bool(span.slot_items())
    score += 2 if slots and not span.slot_items() else 0
    draft = Draft("checked", {"slots": slots} if slots else {}, score=score)
    if not slots:
        lying = tuple(_lying(span))[:6]
        draft.fields.update({"state": state} if state not in (None, "unsure") else {})
        return [draft.ask("slots", choices=lying)] if state or not span.animals() else []
    check_slots(draft, "slots", slots, span.scene, "egg")
    if len(slots) > 1 and _one_of_them(span):
        draft.fields.update({"state": state} if state not in (None, "unsure") else {})
        return [draft.ask("slots", "ambiguous", slots)]
    if state == "unsure" or state is None:
        choices = (
            ("infertile", "too-early")
            if state
            else ("fertile", "infertile", "mould", "dented", "collapsed", "sweating", "too-early")
        )
        return [draft.ask("state", "ambiguous" if state else "missing", choices)]
    draft.fields["state"] = state
    return [draft]


def _one_of_them(span: Span) -> bool:
    """ "one of A1 and A2 is clear": which one is left open."""
    return span.has("mood", "either") or any(e.either for e in span.slot_items())


def _denied(span: Span, item: Item) -> bool:
    k = span.index(item)
    return any(e.is_("mood", "neg") for e in span.items[max(0, k - 2) : k])


def fill_discarded(span: Span) -> list[Draft]:
    """`discarded`: eggs thrown away; a mere "removed" is asked about."""
    slots = slots_of(span)
    tossed = span.has("act", "toss")
    if not slots:
        return (
            [Draft("discarded", {}, score=1).ask("slots")]
            if tossed and not (span.animals() or (span.scene.tags and not span.has("act", "egg")))
            else []
        )
    draft = Draft("discarded", {"slots": slots}, score=4 if tossed else 1.5)
    check_slots(draft, "slots", slots, span.scene, "egg")
    if not tossed or _it_and_more(span):
        draft.ask("slots", "ambiguous", slots)
    state = span.first("state", *BAD_STATES)
    if tossed and state is not None:  # "chucked the dud in B2"
        seen = Draft("checked", {"slots": slots, "state": state.get("state")}, score=3)
        return [draft, check_slots(seen, "slots", slots, span.scene, "egg")]
    return [draft]


def _it_and_more(span: Span) -> bool:
    """ "binned it B6": which of them, the one told before or the one after?"""
    return any(
        one.is_("pron", "it") and two.what == "slot" for one, two in itertools.pairwise(span.items)
    )


def fill_pipped(span: Span) -> list[Draft]:
    """`pipped`: the shell is open and the young one still in it."""
    if not span.has("act", "pip"):
        return []
    slots = slots_of(span)
    draft = Draft("pipped", {"slots": slots} if slots else {}, score=3 if slots else 1)
    if not slots:
        return [draft.ask("slots")]
    return [check_slots(draft, "slots", slots, span.scene, "egg")]


def fill_hatched(span: Span) -> list[Draft]:
    """`hatched`: slots, how many young, and the new tags they are given."""
    slots = slots_of(span, codes=False)
    if not span.what("slot") and not (span.has("act", "hatch") and slots):
        if not span.has("act", "hatch"):
            return []
        if span.animals() and any(c.tag for a in span.animals() for c in a.codes):
            return []
    weak = not span.has("act", "hatch")
    fresh = any(a.what == "tag" and not any(c.tag for c in a.codes) for a in span.animals())
    if weak and not fresh and not span.has("act", "out", "part", "give", "name"):
        return []
    parted = span.first("act", "part")
    if weak and parted is not None and "out" not in parted.word:
        return []
    if weak and not span.what("slot"):
        return []
    if (
        span.has("act", "give")
        and weak
        and not any(a.what == "tag" and not any(c.tag for c in a.codes) for a in span.animals())
    ):
        return []
    draft = Draft("hatched", {}, score=(2 if weak else 3) + (1 if slots else 0))
    if slots:
        draft.fields["slots"] = slots
        check_slots(draft, "slots", slots, span.scene, "egg")
    else:
        draft.ask("slots")
    young = [
        int(n.value)
        for n in span.numbers(whole=True)
        if span.near(n, "act", "hatch", reach=3) or _of_young(span, n)
    ]
    if weak and not young and len(span.numbers(whole=True)) == 1:
        young = [int(span.numbers(whole=True)[0].value)]
    if young and 0 < young[0] <= 4 * max(1, len(slots)):
        draft.fields["young"] = young[0]
    tags = [tag for each in span.animals() if each.what == "tag" for tag in span.tag_names(each)]
    tags = [t for t in tags if not _parent_named(span, t)]
    if tags:
        draft.fields["tags"] = tuple(tags)
        known = [tag for tag in tags if tag in span.view.animals or tag in span.scene.born]
        if known:
            draft.ask("tags", "duplicate", (), known[0])
    return [draft]


_YOUNG = frozenset({"baby", "babies", "young", "youngster", "youngsters", "gecko", "geckos"})


def _of_young(span: Span, number: Item) -> bool:
    """ "one baby", "two healthy little geckos"."""
    k = span.index(number)
    return any(each.word in _YOUNG for each in span.items[k + 1 : k + 4])


def _parent_named(span: Span, tag: str) -> bool:
    """ "B4 hatched, from F3": a parent that the book knows, led by from, of, or and x."""
    item = next((a for a in span.animals() if tag in span.tag_names(a)), None)
    return (
        item is not None and tag in span.view.animals and span.prep(item) in ("from", "of", "with")
    )


def fill_shifted(span: Span) -> list[Draft]:
    """`shifted`: from the first slots told to the last; several to several one record each."""
    items = span.slot_items()
    boxes = span.what("box")
    if not items and not span.scene.slots:
        return []
    if span.has("act", "put", "drop") and len(items) < 2 and not span.has("pron", "it", "they"):
        return []
    goal = _goal(span, items)
    froms = [slot for each in items if each is not goal for slot in span.slot_names(each)]
    if not froms and goal is not None:
        froms = list(span.scene.slots)
    if not froms and items and goal is None:
        froms = list(span.slot_names(items[0]))
    if not froms:
        return []
    score = 2.0 + (1 if span.has("act", "move", "at") else 0) + (1.5 if goal is not None else 0)
    if goal is None:
        if span.what("place") or not span.has("act", "move"):
            return []
        draft = Draft("shifted", {"slots": tuple(froms)}, score=score)
        check_slots(draft, "slots", froms, span.scene, "egg")
        choices = _free_in(span, boxes)
        return [draft.ask("to", choices=choices)]
    to = list(span.slot_names(goal))
    pairs = list(zip(froms, to, strict=False)) if len(froms) == len(to) else None
    if pairs is None:
        draft = Draft("shifted", {"slots": tuple(froms)}, score=score)
        return [draft.ask("to", "ambiguous", tuple(to))]
    drafts = []
    for one, two in pairs:
        draft = Draft("shifted", {"slots": (one,), "to": (two,)}, score=score)
        check_slots(draft, "slots", (one,), span.scene, "egg")
        leaving = {slot for slot, _ in pairs}
        if two not in leaving:
            check_slots(draft, "to", (two,), span.scene, "free")
        if draft.trouble is not None and draft.trouble.about == "to":
            draft.fields.pop("to")
            draft.trouble.about = (
                "slots" if draft.trouble.why in ("slot-taken", "unknown-slot") else "to"
            )
        drafts.append(draft)
    return drafts


def _goal(span: Span, items: Sequence[Item]) -> Item | None:
    """The slots that "to" or "in" leads, else the last of two."""
    led = [each for each in items if span.prep(each) in ("to", "in") or _after_move(span, each)]
    if led:
        return led[-1]
    return items[-1] if len(items) > 1 else None


def _after_move(span: Span, item: Item) -> bool:
    lead = span.before(item)
    return lead is not None and (
        lead.is_("act", "at") or (lead.is_("act", "move") and lead.word.endswith("in"))
    )


def _free_in(span: Span, boxes: Sequence[Item]) -> tuple[str, ...]:
    for each in boxes:
        if each.value[0] in span.view.boxes:
            return tuple(s for s in box_slots(each.value[0], span.view) if s not in span.view.eggs)[
                :6
            ]
    return ()


FILLERS: dict[str, Filler] = {
    "laid": fill_laid,
    "searched": fill_searched,
    "checked": fill_checked,
    "discarded": fill_discarded,
    "pipped": fill_pipped,
    "hatched": fill_hatched,
    "shifted": fill_shifted,
    "reading": fill_reading,
    "watered": fill_watered,
    "box": fill_box,
}
