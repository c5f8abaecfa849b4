"""Fills layings and searches: who laid, how many, how many no good, where they went."""

from __future__ import annotations

from bot.language.drafts import Draft, Span, check_slots, check_tag
from bot.language.fill_slots import BAD_STATES, slots_of
from bot.language.items import Item

MOST_EGGS = 12


def fill_laid(span: Span) -> list[Draft]:
    """`laid`: who laid, how many, how many no good, and where they went; each of "both"."""
    drafts = _one_laying(span)
    dams = [t for e in span.animals() for t in span.tag_names(e) if span.scene.sex(t) == "female"]
    shared = span.has("pron", "both") or any(e.word == "each" for e in span.items)
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
    slots = slots_of(span, carry=False, codes=False)
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
    if total is not None and both and span.has("state", *BAD_STATES):
        spoiled = total
    if total is not None and not spoiled and (span.has("act", "toss") or _all_bad(span)):
        spoiled = total
    if total is not None and spoiled > total:
        total = spoiled + good
    return total, spoiled or None


def _all_bad(span: Span) -> bool:
    """ "laid infertile eggs", "2 bad eggs": said of all of them."""
    return any(
        one.is_("act", "egg") and (lead.is_("state", *BAD_STATES) or lead.is_("spoil", "bad"))
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
        or lead.is_("state", *BAD_STATES)
    ):
        return "bad"
    if lead is not None and lead.is_("spoil", "good") and not _pronoun_one(span, number):
        return "good"
    for each in span.items[k + 1 : k + 6]:
        if each.what in ("comma", "joint", "num", "slot", "box", "tag"):
            return None
        if each.is_("state", *BAD_STATES, "unsure"):
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
    if number.word not in ("one", "ones") or span.near(number, "act", "egg", reach=1):
        return False
    lead = span.before(number)
    k = span.index(number)
    raw = span.items[k - 1].word if k else ""
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
        bad = each.is_("state", *BAD_STATES) or (
            each.is_("spoil", "bad") and not each.is_("act", "toss")
        )
        if not bad or each.word.startswith("lost"):
            continue
        lead = list(span.items[max(0, k - 4) : k])
        words = {e.word for e in lead}
        if any(e.is_("mood", "neg") for e in lead[-2:]):
            continue
        if any(e.is_("pron", "both") for e in lead):
            return total or 2, good
        if words & {"a", "other", "second"} or any(e.is_("pron", "one") for e in lead):
            return 1, good
        if total == 1:
            return 1, good
        if each.word.endswith("s") and each.is_("state", "infertile") and total:
            return total, good
    return spoiled, good


def _only(span: Span) -> bool:
    return any(e.word in ("only", "just") for e in span.items)


def _an_egg(span: Span) -> int | None:
    egg = span.first("act", "egg")
    if egg is None:
        return None
    word = egg.word
    k = span.index(egg)
    lead = {e.word for e in span.items[max(0, k - 3) : k]}
    if word == "egg" and not span.numbers() and len(slots_of(span, carry=False, codes=False)) == 1:
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
        e.word in ("empty", "empty again", "zilch", "nada", "nought", "nil", "blank", "eggless")
        for e in span.items
    )
    bare = (
        nothing
        and (span.has("ground") or any(e.word == "'s" for e in span.items))
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
        e.is_("act", "egg") and n > 0 and span.items[n - 1].word in ("no", "zero")
        for n, e in enumerate(span.items)
    )


def _denies_search(span: Span, item: Item) -> bool:
    """ "didn't search P1" found nothing out."""
    k = span.index(item)
    if item.word in ("nothing", "none", "nil", "zilch", "nada", "nowt"):
        return False  # "G3 has nothing, I dug through her sand"
    return any(e.is_("act", "search", "check") for e in span.items[k + 1 : k + 4])
