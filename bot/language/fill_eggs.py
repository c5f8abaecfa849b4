"""Fills records about eggs, boxes and the air: laid, searched, checked, hatched, reading."""

from __future__ import annotations

import re
from collections.abc import Sequence

from bot.language.codes import box_slots, find_box
from bot.language.drafts import Draft, Span, check_slots, check_tag
from bot.language.fill_animals import Filler
from bot.language.items import Item
from bot.language.numbers import celsius_of

MOST_EGGS = 12
COLDEST, HOTTEST = -5.0, 50.0  # degrees Celsius that a gecko room or incubator could show
_BAD_STATES = ("infertile", "mould", "dented", "collapsed")


def _slots(span: Span, carry: bool = True, codes: bool = True) -> tuple[str, ...]:
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


# -- laying and searching -----------------------------------------------------------------


def fill_laid(span: Span) -> list[Draft]:
    """`laid`: who laid, how many, how many no good, and where they went; each of "both"."""
    drafts = _one_laying(span)
    dams = [t for e in span.animals() for t in span.tag_names(e) if span.scene.sex(t) == "female"]
    shared = span.has("pron", "both") or any(e.text.casefold() == "each" for e in span.items)
    if len(dams) < 2 or not shared or len(drafts) != 1 or drafts[0].trouble is not None:
        return drafts
    if "slots" in drafts[0].fields:
        return [drafts[0].ask("dam", "ambiguous", dams)]
    return [
        check_tag(
            Draft("laid", {**drafts[0].fields, "dam": dam}, score=drafts[0].score),
            "dam",
            dam,
            span.scene,
            "female",
        )
        for dam in dict.fromkeys(dams)
    ]


def _one_laying(span: Span) -> list[Draft]:
    if span.has("act", "search") and not span.has("act", "lay", "find") and not _found_some(span):
        return []
    eggy = span.has("act", "egg")
    if eggy and _no_eggs(span):
        return []
    dam, item = _dam(span)
    gapped = not any(e.is_("act") for e in span.items) and dam is not None
    told = span.has("act", "lay") or eggy or gapped or (span.has("act", "find") and dam is not None)
    if not told and not (span.has("act", "give", "drop", "leave") and dam and eggs_told(span)[0]):
        return []
    if not told and (span.has("food") or span.has("fed") or span.what("grams", "ml")):
        return []
    eggs, spoiled = eggs_told(span)
    if not eggy and span.has("act", "find") and not span.has("act", "lay") and not eggs:
        return []
    slots = _slots(span, carry=False, codes=False)
    if (
        eggy
        and not span.has("act", "lay", "find", "give", "drop", "leave", "put")
        and not (dam and (eggs or slots))
        and not span.has("act", "egg")
    ):
        return []
    if eggs == 0:
        return []
    score = 2.0 + (2 if span.has("act", "lay") else 0) + (1 if dam else 0) + (1 if eggs else 0)
    draft = Draft("laid", {}, score=score)
    if item is not None and item.either:
        draft.ask("dam", "ambiguous", item.value, item.text)
    elif dam is None:
        draft.ask("dam")
    else:
        draft.fields["dam"] = dam
        check_tag(draft, "dam", dam, span.scene, "female", item.text if item else dam)
    if eggs is None and slots and len(slots) > 1 and eggy and not span.numbers():
        eggs = len(slots)
    if eggs is None:
        draft.ask("eggs", choices=("1", "2"))
    elif eggs > MOST_EGGS:
        draft.ask("eggs", "impossible", (), str(eggs))
    else:
        draft.fields["eggs"] = eggs
    if spoiled:
        draft.fields["spoiled"] = spoiled
    if slots:
        draft.fields["slots"] = slots
        check_slots(draft, "slots", slots, span.scene, "free")
    elif span.what("box") and span.what("box")[0].value[0] not in span.view.boxes:
        draft.ask("slots", "unknown-slot", (), span.what("box")[0].text)
    return [draft]


def _no_eggs(span: Span) -> bool:
    """ "no eggs", "not an egg": nothing was laid."""
    egg = span.first("act", "egg")
    k = span.index(egg) if egg is not None else 0
    return any(e.is_("mood", "neg") for e in span.items[max(0, k - 2) : k])


def _found_some(span: Span) -> bool:
    return any(0 < n.value <= MOST_EGGS for n in span.numbers(whole=True))


def _dam(span: Span) -> tuple[str | None, Item | None]:
    animals = span.animals()
    females = [each for each in animals if span.scene.sex(span.tag_names(each)[0]) == "female"]
    chosen = (females or animals)[:1]
    if chosen:
        return span.tag_names(chosen[0])[0], chosen[0]
    tags = span.pronoun_tags()
    if len(tags) == 1 and span.scene.sex(tags[0]) == "female":
        return tags[0], None
    return None, None


def eggs_told(span: Span) -> tuple[int | None, int | None]:
    """How many eggs in all and how many of them no good."""
    total: int | None = None
    spoiled = 0
    good = 0
    both = span.has("pron", "both")
    for n in span.numbers(whole=True):
        value = int(n.value)
        bad = _quality(span, n)
        if bad == "bad":
            spoiled += value
        elif bad == "good":
            good += value
        elif total is None and not _pronoun_one(span, n):
            total = value
    spoiled, good = _wordy(span, spoiled, good, total)
    if total is None and span.has("act", "egg") and not (spoiled and good):
        total = _an_egg(span)
    if total is None and (spoiled or good):
        return spoiled + good, spoiled or None
    if total is not None and good and not spoiled and good < total and _only(span):
        spoiled = total - good
    if total is not None and both and span.has("state", *_BAD_STATES):
        spoiled = total
    if total is not None and not spoiled and (span.has("act", "toss") or _all_bad(span)):
        spoiled = total
    if total is not None and spoiled > total:
        total = spoiled + good
    return total, spoiled or None


def _all_bad(span: Span) -> bool:
    """ "laid infertile eggs", "2 bad eggs": said of all of them."""
    return any(
        one.is_("act", "egg") and (lead.is_("state", *_BAD_STATES) or lead.is_("spoil", "bad"))
        for lead, one in zip(span.items, span.items[1:], strict=False)
    )


def _quality(span: Span, number: Item) -> str | None:
    """Whether a number counts eggs that are bad or good: "1 dud", "one is bad", "2 good"."""
    k = span.index(number)
    lead = span.before(number)
    if k > 1 and span.items[k - 2].what == "num":
        lead = None  # "1 good 1 bad": the word belongs to the number before it
    if lead is not None and (
        lead.is_("spoil", "bad")
        or lead.is_("act", "toss", "lose")
        or lead.is_("state", *_BAD_STATES)
    ):
        return "bad"
    if lead is not None and lead.is_("spoil", "good") and not _pronoun_one(span, number):
        return "good"
    for each in span.items[k + 1 : k + 6]:
        if each.what in ("comma", "joint", "num", "slot", "box", "tag"):
            return None
        if each.is_("state", *_BAD_STATES, "unsure"):
            return "bad"
        if each.is_("spoil", "bad") and not each.is_("state", "fertile"):
            return "bad"
        if each.is_("act", "toss"):
            return "bad"
        if each.is_("spoil", "good") or each.is_("state", "fertile"):
            return "good"
        if each.is_("act", "egg") and each is not number:
            follow = span.items[span.index(each) + 1 : span.index(each) + 4]
            if number.value > 1 and follow and not follow[0].is_("spoil"):
                return None
    return None


def _pronoun_one(span: Span, number: Item) -> bool:
    """ "the good one is in B6", "this one": no count."""
    if number.text.casefold() not in ("one", "ones") or span.near(number, "act", "egg", reach=1):
        return False
    lead = span.before(number)
    k = span.index(number)
    raw = span.items[k - 1].text.casefold() if k else ""
    return raw in (
        "the",
        "this",
        "that",
        "other",
        "another",
        "good",
        "old",
        "new",
        "last",
        "first",
    ) or (lead is not None and lead.is_("spoil"))


def _wordy(span: Span, spoiled: int, good: int, total: int | None) -> tuple[int, int]:
    """ "a dud", "both duds", "the other dented" with no figure of its own."""
    if spoiled:
        return spoiled, good
    for k, each in enumerate(span.items):
        bad = each.is_("state", *_BAD_STATES) or (
            each.is_("spoil", "bad") and not each.is_("act", "toss")
        )
        if not bad or each.text.casefold().startswith("lost"):
            continue
        lead = list(span.items[max(0, k - 4) : k])
        words = {e.text.casefold() for e in lead}
        if any(e.is_("mood", "neg") for e in lead[-2:]):
            continue
        if any(e.is_("pron", "both") for e in lead):
            return total or 2, good
        if words & {"a", "other", "second"} or any(e.is_("pron", "one") for e in lead):
            return 1, good
        if total == 1:
            return 1, good
        if each.text.casefold().endswith("s") and each.is_("state", "infertile") and total:
            return total, good
    return spoiled, good


def _only(span: Span) -> bool:
    return any(e.text.casefold() in ("only", "just") for e in span.items)


def _an_egg(span: Span) -> int | None:
    egg = span.first("act", "egg")
    if egg is None:
        return None
    word = egg.text.casefold()
    k = span.index(egg)
    lead = {e.text.casefold() for e in span.items[max(0, k - 3) : k]}
    if word == "egg" and not span.numbers() and len(_slots(span, carry=False, codes=False)) == 1:
        return 1
    if word == "egg" and lead & {"an", "a", "her", "another", "1st", "the"}:
        return 1
    return 1 if word == "egg" and not span.numbers() and span.has("act", "lay", "find") else None


def fill_searched(span: Span) -> list[Draft]:
    """`searched`: looked through somebody's sand; 0 where nothing was found."""
    looked = span.has("act", "search") or (
        span.has("act", "check") and (span.has("ground") or span.has("act", "egg"))
    )
    nothing = any(e.is_("mood", "neg") and not _denies_search(span, e) for e in span.items) or any(
        e.text.casefold()
        in ("empty", "empty again", "zilch", "nada", "nought", "nil", "blank", "eggless")
        for e in span.items
    )
    bare = (
        nothing
        and (span.has("ground") or any(e.text.casefold() == "'s" for e in span.items))
        and bool(span.animals())
        and not span.has("act", "lay", "find", "put", "move")
    )
    tags, _item = span.subjects()
    vain = bool(tags) and _eggs_denied(span) and (span.has("act", "find") or span.has("ground"))
    if not (looked or bare or vain):
        return []
    if span.slot_items() and not any(a.what == "tag" for a in span.animals()):
        return []
    if not tags:
        tags = ()
    counts = [int(n.value) for n in span.numbers(whole=True)]
    fields: dict[str, object] = {}
    if nothing or counts == [0]:
        fields["found"] = 0
    elif counts:
        fields["found"] = counts[0]
    drafts = []
    for tag in tags:
        draft = Draft("searched", {"tag": tag, **fields}, score=3.0 if looked else 2.0)
        check_tag(draft, "tag", tag, span.scene)
        drafts.append(draft)
    if not drafts:
        drafts = [Draft("searched", dict(fields), score=1.5).ask("tag")]
    for draft in drafts:
        if "found" not in fields:
            draft.ask("found", choices=("0", "1", "2"))
    return drafts


def _eggs_denied(span: Span) -> bool:
    """ "no eggs found", "found no eggs": the eggs themselves are denied."""
    return any(
        e.is_("act", "egg") and n > 0 and span.items[n - 1].text.casefold() in ("no", "zero")
        for n, e in enumerate(span.items)
    )


def _denies_search(span: Span, item: Item) -> bool:
    """ "didn't search P1" found nothing out."""
    k = span.index(item)
    return any(e.is_("act", "search", "check") for e in span.items[k + 1 : k + 4])


# -- eggs in their slots ------------------------------------------------------------------


_EVERY = frozenset({"all", "everything", "every", "both", "whole"})


def _whole_box(span: Span) -> tuple[str, ...]:
    """ "all of box B": every egg of it."""
    if not any(e.text.casefold().split()[0] in _EVERY for e in span.items if e.text.strip()):
        return ()
    return tuple(
        slot
        for each in span.what("box")
        for box in each.value
        if box in span.view.boxes
        for slot in box_slots(box, span.view)
        if slot in span.view.eggs
    )


def fill_checked(span: Span) -> list[Draft]:
    """`checked`: slots in a state, as last said; "good" counts only beside a candling."""
    states = [e for e in span.items if e.is_("state")]
    candled = span.has("act", "candle", "check")
    slots = _slots(span) or _whole_box(span)
    state = None
    if states:
        sure = [e.get("state") for e in states if e.get("state") != "unsure"]
        early = "too-early" in sure
        state = "too-early" if early else (sure[-1] if sure else "unsure")
        if state == "fertile" and _denied(span, states[-1]):
            state = "unsure"
    elif span.has("better") and candled:
        state = "fertile"
    if state is None and not candled:
        return []
    if span.has("act", "check") and not states and not slots:
        return []
    if not slots and not candled:
        return []
    score = 2.0 + (1 if candled else 0) + (1 if state else 0) + (1 if span.slot_items() else 0)
    draft = Draft("checked", {"slots": slots} if slots else {}, score=score)
    if not slots:
        return [draft.ask("slots")] if state or not span.animals() else []
    check_slots(draft, "slots", slots, span.scene, "egg")
    if state == "unsure" or state is None:
        choices = (
            ("infertile", "too-early")
            if state
            else ("fertile", "infertile", "mould", "dented", "collapsed", "sweating", "too-early")
        )
        return [draft.ask("state", "ambiguous" if state else "missing", choices)]
    draft.fields["state"] = state
    return [draft]


def _denied(span: Span, item: Item) -> bool:
    k = span.index(item)
    return any(e.is_("mood", "neg") for e in span.items[max(0, k - 2) : k])


def fill_discarded(span: Span) -> list[Draft]:
    """`discarded`: eggs thrown away; a mere "removed" is asked about."""
    slots = _slots(span)
    tossed = span.has("act", "toss")
    if not slots:
        return (
            [Draft("discarded", {}, score=1).ask("slots")]
            if tossed and not (span.animals() or (span.scene.tags and not span.has("act", "egg")))
            else []
        )
    draft = Draft("discarded", {"slots": slots}, score=4 if tossed else 1.5)
    check_slots(draft, "slots", slots, span.scene, "egg")
    if not tossed:
        draft.ask("slots", "ambiguous", slots)
    state = span.first("state", *_BAD_STATES)
    if tossed and state is not None:  # "chucked the dud in B2"
        seen = Draft("checked", {"slots": slots, "state": state.get("state")}, score=3)
        return [draft, check_slots(seen, "slots", slots, span.scene, "egg")]
    return [draft]


def fill_pipped(span: Span) -> list[Draft]:
    """`pipped`: the shell is open and the young one still in it."""
    if not span.has("act", "pip"):
        return []
    slots = _slots(span)
    draft = Draft("pipped", {"slots": slots} if slots else {}, score=3 if slots else 1)
    if not slots:
        return [draft.ask("slots")]
    return [check_slots(draft, "slots", slots, span.scene, "egg")]


def fill_hatched(span: Span) -> list[Draft]:
    """`hatched`: slots, how many young, and the new tags they are given."""
    slots = _slots(span, codes=False)
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
    if weak and parted is not None and "out" not in parted.text.casefold():
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
    return any(each.text.casefold() in _YOUNG for each in span.items[k + 1 : k + 4])


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
        lead.is_("act", "at") or (lead.is_("act", "move") and lead.text.casefold().endswith("in"))
    )


def _free_in(span: Span, boxes: Sequence[Item]) -> tuple[str, ...]:
    for each in boxes:
        if each.value[0] in span.view.boxes:
            return tuple(s for s in box_slots(each.value[0], span.view) if s not in span.view.eggs)[
                :6
            ]
    return ()


# -- air and water ------------------------------------------------------------------------


def fill_reading(span: Span) -> list[Draft]:
    """`reading`: a place with degrees, percent, or both."""
    places = span.place_names()
    temps = span.what("temp")
    percents = span.what("pct")
    numbers = span.numbers()
    humidity = float(percents[0].value) if percents else None
    degrees: Item | None = temps[0] if temps else None
    between = False
    for n in numbers:
        led = _climate_word(span, n)
        if led == "humidity" and humidity is None:
            humidity = float(n.value)
        elif degrees is None and led != "humidity":
            degrees = n
        elif humidity is None and degrees is not None and n is not degrees and 40 <= n.value <= 100:
            humidity = float(n.value)
        elif degrees is not None and n is not degrees and n.what == degrees.what:
            between = True
    homeless = not places and not percents and not span.has("placenoun") and not span.has("climate")
    if degrees is not None and homeless:
        return []
    if degrees is None and humidity is None:
        if not (span.has("climate") and places):
            return []
        if not span.has("climate", "temperature", "humidity"):
            return []
        about = (
            "humidity"
            if span.has("climate", "humidity") and not span.has("climate", "temperature")
            else "celsius"
        )
        return [Draft("reading", {"place": places[0][0]}, score=1.5).ask(about)]
    airy = (
        places
        or span.has("placenoun", "room", "cupboard", "hatchery")
        or percents
        or temps
        or span.has("climate")
        or span.has("placenoun", "incubator")
    )
    if not airy:
        return []
    drafts = [_reading(span, name, degrees, humidity) for name in _air_places(span, places)]
    for draft in drafts if between else []:
        draft.ask("celsius", "ambiguous", ())
    return drafts


def _climate_word(span: Span, number: Item) -> str | None:
    k = span.index(number)
    for each in reversed(span.items[max(0, k - 3) : k]):
        if each.what in ("num", "temp", "pct", "comma", "joint"):
            break
        if each.is_("climate", "humidity", "temperature"):
            return each.get("climate")
    for each in span.items[k + 1 : k + 2]:
        follow = span.items[k + 2] if k + 2 < len(span.items) else None
        if (
            each.is_("climate", "humidity")
            and number.what == "num"
            and (follow is None or follow.what not in ("num", "pct"))
        ):
            # "29.3 humidity 78": the word belongs to the number that follows it.
            after = span.items[k + 2 : k + 3]
            return None if after and after[0].what in ("num", "pct") else "humidity"
    return None


def _air_places(span: Span, places: Sequence[tuple[str, Item]]) -> list[str]:
    if places:
        return list(dict.fromkeys(name for name, _ in places))
    noun = span.first("placenoun", "incubator")
    incubators = sorted({b.incubator for b in span.view.boxes.values() if b.incubator})
    if noun is not None and len(incubators) == 1:
        return [f"incubator {incubators[0]}"]
    if noun is not None and span.has("pron", "both") and len(incubators) == 2:
        return [f"incubator {n}" for n in incubators]
    bare = next(
        (e for e in span.items if e.is_("placenoun", "room", "cupboard", "hatchery", "house")), None
    )
    if bare is not None:
        return [bare.get("placenoun") or "room"]
    if (
        noun is None
        and len(span.scene.places) == 1
        and span.scene.last_kind in ("reading", "watered")
    ):
        return list(span.scene.places)
    return [""]


def _reading(span: Span, place: str, degrees: Item | None, humidity: float | None) -> Draft:
    draft = Draft("reading", {}, score=3.0 if place else 1.5)
    if place:
        draft.fields["place"] = place
    else:
        incubators = sorted({b.incubator for b in span.view.boxes.values() if b.incubator})
        draft.ask("place", choices=tuple(f"incubator {n}" for n in incubators))
    if degrees is not None:
        celsius = (
            degrees.value if degrees.what == "temp" else celsius_of(float(degrees.value), None)
        )
        if celsius is None:
            number = float(degrees.value) if degrees.value is not None else _figure(degrees.text)
            as_f = celsius_of(number, "F")
            draft.ask("celsius", "ambiguous", (f"{number:g} °C", f"{number:g} °F"), degrees.text)
            if as_f is None or number > 120:
                draft.trouble = None
                draft.ask("celsius", "impossible", (), degrees.text)
        elif not COLDEST <= celsius <= HOTTEST:
            draft.ask("celsius", "impossible", (), degrees.text)
        else:
            draft.fields["celsius"] = celsius
    if humidity is not None:
        if 0 <= humidity <= 100:
            draft.fields["humidity"] = round(humidity)
        else:
            draft.ask("humidity", "impossible", (), f"{humidity:g}")
    return draft


def _figure(text: str) -> float:
    digits = "".join(c for c in text if c.isdigit() or c == ".")
    return float(digits) if digits.replace(".", "", 1).isdigit() else 0.0


def fill_watered(span: Span) -> list[Draft]:
    """`watered`: each box or place told, "all boxes" too, or an animal's own place."""
    places = [name for name, _ in span.place_names()]
    if span.has("act", "give", "put") and not span.has("act", "water") and not span.what("ml"):
        return []
    if not places and any(each.is_("boxnoun", "boxes") for each in span.items):
        places = [f"box {box}" for box in list(span.view.boxes)[:40]]
    if not places:
        for item in span.animals():
            for tag in span.tag_names(item):
                seen = span.view.animals.get(tag)
                if seen is not None and seen.place:
                    places.append(seen.place)
    if not places:
        places = list(span.scene.places)
    if not places:
        return [Draft("watered", {}, score=1).ask("place")]
    drafts = [Draft("watered", {"place": place}, score=3) for place in dict.fromkeys(places)]
    for draft in drafts:
        place = str(draft.fields["place"])
        if place.startswith("box ") and find_box(place[4:], span.view) is None:
            draft.ask(
                "place", "missing", tuple(f"box {b}" for b in list(span.view.boxes)[:6]), place
            )
    return drafts


def fill_box(span: Span) -> list[Draft]:
    """`box`: a new egg box, its letter, rows and columns, and the incubator it stands in."""
    draft = Draft("box", {}, score=6)
    act = span.first("act", "box")
    if act is None:
        return []
    place = next((name for name, _ in span.place_names() if name.startswith("incubator")), None)
    letter, sides = _box_words(span, act)
    if letter is None:
        draft.ask("box")
    elif find_box(letter, span.view) is not None:
        draft.ask("box", "duplicate", (), letter)
    else:
        draft.fields["box"] = letter
    for name, value in zip(("rows", "columns"), (*sides, None, None), strict=False):
        if value is None:
            draft.ask(name)
        elif 1 <= value <= 40:
            draft.fields[name] = value
        else:
            draft.ask(name, "impossible", (), str(value))
    if place:
        draft.fields["incubator"] = place.removeprefix("incubator ")
    return [draft]


def _box_words(span: Span, act: Item) -> tuple[str | None, list[int]]:
    """The letter or name after "new box" and the two numbers of its grid."""
    words: list[str] = []
    for item in span.items[span.index(act) + 1 :]:
        if item.what == "place":
            continue
        words += [str(int(item.value))] if item.what == "num" else item.text.split()
    letter = next((w for k, w in enumerate(words) if _names_a_box(w, words[k + 1 : k + 2])), None)
    whole = " ".join(words)
    if letter is not None and any(c.isdigit() for c in letter):
        whole, letter = (
            whole.replace(
                letter,
                letter.strip("0123456789")
                + " "
                + letter.lstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"),
                1,
            ),
            letter.rstrip("0123456789"),
        )
    sides = [int(n[:4]) for n in re.findall(r"\d+", whole)][:2]
    return (letter.upper() if letter and len(letter) <= 2 else letter), sides


_NO_BOX_NAME = frozenset(
    {
        "called",
        "with",
        "is",
        "of",
        "the",
        "please",
        "in",
        "for",
        "named",
        "rows",
        "by",
        "x",
        "new",
        "box",
        "another",
        "egg",
    }
)


def _names_a_box(word: str, after: Sequence[str]) -> bool:
    """A letter or name; "a" is a letter as a capital, or where it leads no word."""
    if word == "a":
        return not after or not after[0][:1].isalpha() or after[0] == "with"
    return word[:1].isalpha() and word.casefold() not in _NO_BOX_NAME


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
