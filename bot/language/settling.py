"""Takes away senses that a word has elsewhere but not beside these neighbours ("has laid")."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

from bot.language.codes import split_slot
from bot.language.frames import frames
from bot.language.items import BREAKS, ENTITIES, Item
from bot.language.view import View
from bot.language.wording import Sense

_MEASURED = frozenset({"grams", "num", "temp", "pct"})
_HELPING = frozenset({"has", "had", "have", "has had", "got", "made", "given", "having"})
_LIGHT = frozenset(
    {
        "put",
        "take",
        "took",
        "out",
        "move",
        "give",
        "leave",
        "drop",
        "lose",
        "find",
        "check",
        "egg",
        "at",
        "sex",
        "new",
        "name",
        "hatch",
    }
)


def settled(items: Sequence[Item], view: View) -> list[Item]:
    """The same pieces, each with only the senses that its neighbours allow."""
    items = [
        item
        for k, item in enumerate(items)
        if not (_ties(items, k) or _slashed(items, k) or _bracketed(items, k))
    ]
    for k, item in enumerate(items):
        if item.what != "word" or not item.senses:
            continue
        fragment_end = next(
            (n for n in range(k + 1, len(items)) if items[n].what in BREAKS), len(items)
        )
        after = items[k + 1 : fragment_end]
        start = next((n + 1 for n in range(k - 1, -1, -1) if items[n].what in BREAKS), 0)
        before = items[start:k]
        _settle_one(item, before, after, items, k)
    for one, two in itertools.pairwise(items):
        if one.what == "pct" and two.text.casefold() in ("het", "hets"):
            one.what = "share"  # "66% het stripe" is no humidity
    box = next((k for k, e in enumerate(items) if e.is_("act", "box")), None)
    if box is not None:  # "new box called H, 3 by 4": nothing else is told
        for each in items[box + 1 : box + 3]:
            if each.what == "word" and (len(each.text) == 1 or each.is_("act", "name")):
                each.senses = {}
    _names_mean_nothing(items)
    _all_but(items)
    if any(e.is_("act", "sex") for e in items) or _only_letters(items):
        _lettered_sexes(items)
    items = _ranged(items, view)
    for k, item in enumerate(items):
        _stand_in(items, k, item)
    return items


def _names_mean_nothing(items: Sequence[Item]) -> None:
    """ "H1 is called Pip": a name given is no word of the trade."""
    for k, item in enumerate(items):
        if not item.is_("act", "name") or item.form != "past":
            continue
        for each in items[k + 1 : k + 4]:
            if each.what in BREAKS:
                break
            if each.what == "word" and each.text[:1].isupper() and not each.text.isupper():
                each.senses = {}


def _all_but(items: Sequence[Item]) -> None:
    """ "everyone but F3" leaves F3 out."""
    for one, two, three in zip(items, items[1:], items[2:], strict=False):
        if one.is_("everyone") and two.text.casefold() == "but" and three.what in ENTITIES:
            two.what, two.senses = "word", {"mood": Sense("mood", "except")}


def _ranged(items: Sequence[Item], view: View) -> list[Item]:
    """ "A1 to A4" where all of them hold eggs: a range and no move."""
    out = list(items)
    if any(e.is_("act", "move", "put", "drop") for e in out):
        return out
    for k in range(len(out) - 2):
        if k + 2 >= len(out):
            break
        one, two = out[k], out[k + 2]
        if not (out[k + 1].is_("prep", "to") and one.what == two.what == "slot"):
            continue
        (box, first), (other, last) = split_slot(one.value[-1]), split_slot(two.value[0])
        slots = tuple(f"{box}{n}" for n in range(first, min(last, first + 60) + 1))
        sure = all(slot in view.eggs for slot in slots) or any(
            e.is_("act", "candle") or e.is_("state") for e in out
        )
        if box == other and first < last and sure:
            out[k : k + 3] = [replace(one, value=one.value[:-1] + slots, j=two.j)]
    return out


def _only_letters(items: Sequence[Item]) -> bool:
    """ "H1 m, H2 f": nothing but animals and the two letters."""
    words = [e.text.casefold() for e in items if e.what == "word"]
    others = {e.what for e in items} <= {"word", "tag", "comma", "joint", "stop"}
    return bool(words) and others and set(words) <= {"m", "f"} and items[0].what == "tag"


def _lettered_sexes(items: Sequence[Item]) -> None:
    """ "sexed H1 m, H2 f": single letters are sexes where sexing is spoken of."""
    for item in items:
        letter = item.text.casefold()
        if item.what == "word" and letter in ("m", "f") and not item.is_("sex"):
            item.senses = {"sex": Sense("sex", "male" if letter == "m" else "female")}


def _stand_in(items: Sequence[Item], k: int, item: Item) -> None:
    """Lets "with" or "to" between two names be the verb where its fragment has none."""
    value = item.get("prep")
    if item.text.casefold() == "out of" and 0 < k < len(items) - 1:
        one, two = items[k - 1], items[k + 1]
        if one.what == two.what == "tag" and all(c.tag for c in one.codes + two.codes):
            item.senses["act"] = Sense("act", "part")
        return
    into = item.text.casefold() in ("into", "in to")
    if (value not in ("with", "to") and not into) or item.is_("act") or not 0 < k < len(items) - 1:
        return
    one, two = items[k - 1], items[k + 1]
    if one.text in ("'s", "s") or two.text.casefold() in ("her", "his", "the", "him"):
        return
    pair = (one.what, two.what)
    if pair not in (("tag", "tag"), ("tag", "place"), ("slot", "slot"), ("tag", "box")):
        return
    table = frames()
    start = next((n + 1 for n in range(k - 1, -1, -1) if items[n].what in BREAKS), 0)
    end = next((n for n in range(k + 1, len(items)) if items[n].what in BREAKS), len(items))
    if any(table.kinds_of(e) for e in items[start:end]) or any(
        e.is_("prep", "from", "of") for e in items[start:k]
    ):
        return
    if pair == ("tag", "tag"):
        item.senses["act"] = Sense("act", "pair")
    elif value == "to" or (into and one.what == "slot"):
        item.senses["act"] = Sense("act", "at")


def _ties(items: Sequence[Item], k: int) -> bool:
    """True for a colon or dash between a name and what is told of it."""
    item = items[k]
    if (
        item.what != "comma"
        or item.value not in (":", "-", "–", "—", "|")
        or not 0 < k < len(items) - 1
    ):
        return False
    return items[k - 1].what in ENTITIES and items[k + 1].what not in ENTITIES


def _bracketed(items: Sequence[Item], k: int) -> bool:
    """True for the bracket of "F5 (20.1g) and F7 (24.3g)"."""
    item = items[k]
    if item.what != "comma" or item.value not in ("(", ")") or not 0 < k < len(items):
        return False
    if item.value == "(":
        follow = items[k + 1] if k + 1 < len(items) else None
        return items[k - 1].what in ENTITIES and follow is not None and follow.what in _MEASURED
    return items[k - 1].what in _MEASURED and k > 2 and items[k - 2].value == "("


def _slashed(items: Sequence[Item], k: int) -> bool:
    """True for the stroke of "27.3/78%"."""
    item = items[k]
    if item.what != "comma" or item.value != "/" or not 0 < k < len(items) - 1:
        return False
    return items[k - 1].what in ("num", "temp") and items[k + 1].what in ("num", "pct")


def _drop(item: Item, *classes: str) -> None:
    for cls in classes:
        item.senses.pop(cls, None)


def _settle_one(
    item: Item, before: Sequence[Item], after: Sequence[Item], items: Sequence[Item], k: int
) -> None:
    if _empty_verb(item, after):
        _drop(item, "act")
    if (
        item.text.casefold() == "mate"
        and before
        and (
            before[-1].is_("mood", "neg")
            or (bool(after) and before[-1].what == after[0].what == "tag")
        )
    ):
        item.senses = {"sign": Sense("sign", "mating")}
    if (
        item.is_("state", "too-early", "unsure")
        and item.text.casefold().startswith(("no", "nothing"))
        and (not any(e.what in ("slot", "box") or e.is_("act", "candle") for e in items))
    ):
        item.senses = {"mood": Sense("mood", "neg")}
    if item.is_("fed", "each") and (
        (bool(after) and after[0].text.casefold() == "other")
        or not any(e.is_("food") or e.what == "num" or e.is_("act", "feed") for e in items)
    ):
        _drop(item, "fed")
    if (
        item.is_("fed", "refused")
        and "eaten" in item.text.casefold()
        and any(e.text.casefold() == "yet" for e in after)
    ):
        item.senses = {"mood": Sense("mood", "neg")}
    if (
        item.text.casefold() == "may"
        and before
        and (
            before[-1].text.casefold() in ("last", "in", "of", "early", "late", "hatched", "born")
            or bool(after and after[0].what == "num" and after[0].value > 31)
        )
    ):
        item.senses = {}
    if item.is_("species") and _told_of_an_egg(items):
        _drop(item, "species")
    if item.is_("fed", "refused"):
        _settle_refusal(item, after, items)
    if (
        item.is_("act", "water")
        and after
        and after[0].text.casefold()
        in ("dish", "bowl", "bottle", "tray", "dispenser", "feature", "cup")
    ):
        _drop(item, "act")
    if item.is_("act", "drop", "lose") and after and after[0].what == "grams":
        _drop(item, "act")
    if (
        item.is_("act", "put")
        and len(after) > 1
        and after[0].what == "tag"
        and (after[1].text.casefold() == "down" and not any(e.what == "num" for e in after))
    ):
        item.senses = {"how": Sense("how", "died")}
    if item.is_("how", "lost") and any(
        e.is_("act", "find")
        or e.text.casefold() in ("caught", "recaptured", "got her back", "got him back")
        for e in items[k + 1 :]
    ):
        item.senses = {"mood": Sense("mood", "almost")}
    if (
        item.is_("act", "egg")
        and _in_her(before, after)
        and not any(e.is_("act", "lay", "find") or e.what == "slot" for e in items)
    ):
        item.senses = {"sign": Sense("sign", "gravid")}
    if (
        item.is_("how", "lost")
        and "find" in item.text.casefold()
        and any(e.is_("act", "egg") or e.text.casefold() in ("the", "my", "any") for e in after)
    ):
        _drop(item, "how")
    if (
        item.text.casefold() == "nothing"
        and before
        and before[-1].what == "slot"
        and any(e.is_("act", "candle") or (e.is_("state") and e is not item) for e in items)
    ):
        item.senses = {"state": Sense("state", "unsure")}
    if item.is_("fed", "each") and any(e.is_("act", "lay") for e in items):
        _drop(item, "fed")
    if item.text.casefold() in ("no sign of", "no trace of") and any(
        e.is_("act") or e.is_("sign") or e.is_("fed") for e in after
    ):
        item.senses = {"mood": Sense("mood", "neg")}
    if (
        item.is_("act", "move")
        and item.text.casefold() == "changed"
        and not any(e.what in ("place", "slot") for e in after)
    ):
        _drop(item, "act")
    if item.is_("act", "drop", "put", "move", "lose") and _goes_to_number(after):
        _drop(item, "act")
    if (
        item.is_("act", "weigh")
        and item.text.casefold() in ("hit", "up to", "down to", "came in", "comes in")
        and (
            not any(e.what == "tag" for e in before)
            and any(e.what in ("place", "box") for e in before)
        )
    ):
        _drop(item, "act")
    if (
        item.is_("act", "egg")
        and before
        and before[-1].text.casefold() == "my"
        and not any(e.what in ("slot", "num") for e in items)
    ):
        _drop(item, "act")
    if item.is_("sex") and _somebody(before):
        _drop(item, "sex")
    if (
        item.is_("everyone")
        and item.text.casefold() in ("all", "everything")
        and not _feeding(items)
    ):
        _drop(item, "everyone")
    if item.is_("act", "put", "take", "took", "drop", "move") and any(
        e.is_("sexmark") or e.is_("act", "sex", "candle") for e in after
    ):
        _drop(item, "act")
    if (
        item.is_("act", "hatch")
        and item.text.casefold() in ("babies", "hatchlings", "little one", "hatchling")
        and (not any(e.what == "slot" for e in items))
    ):
        _drop(item, "act")
    if (
        item.is_("act", "weigh")
        and item.text.casefold()
        in ("scale", "scales", "came in", "comes in", "hit", "up to", "down to", "clocked", "mass")
        and not any(e.what in ("grams", "num") for e in (*before, *after))
    ):
        _drop(item, "act")
    if (
        item.is_("act", "sex")
        and item.text.casefold()
        in (
            "definitely",
            "def",
            "deffo",
            "defo",
            "confirmed",
            "proven",
            "popped",
            "turned out",
            "turns out",
        )
        and not any(e.is_("sex") or e.is_("sexmark") for e in (*before, *after))
    ):
        _drop(item, "act")
    if (
        item.is_("act", "water")
        and item.text.casefold() in ("water", "wet", "drink", "spray", "mist", "soaked")
        and (
            any(e.is_("act") and not e.is_("act", "give", "put", "find") for e in (*before, *after))
        )
    ):
        _drop(item, "act")


_SHY = frozenset(
    {
        "ignored",
        "ignoring",
        "ignores",
        "rejected",
        "turned down",
        "skipped",
        "declined",
        "snubbed",
        "passed on",
        "wouldn't have",
        "not having",
        "not taking",
        "uneaten",
        "untouched",
        "spat out",
        "doesn't want",
        "didn't want",
        "didnt want",
        "didn't fancy",
        "pushed away",
        "were left",
        "wouldn't look at",
        "walked away from",
        "no thanks to",
        "snubbing",
        "not touched",
    }
)


def _settle_refusal(item: Item, after: Sequence[Item], items: Sequence[Item]) -> None:
    """ "refuses to lay" denies, "refused M2" is about pairing, "ignoring each other" nothing."""
    first = after[0] if after else None
    if (
        first is not None
        and first.is_("prep", "to")
        and not any(e.is_("act", "feed") for e in after[:3])
    ):
        item.senses = {"mood": Sense("mood", "neg")}
    elif first is not None and first.what == "tag" and not any(e.is_("food") for e in items):
        item.senses = {"sign": Sense("sign", "unreceptive")}
    elif item.text.casefold() in _SHY and not any(
        e.is_("food")
        or e.is_("act", "feed")
        or e.text.casefold()
        in ("food", "meal", "bugs", "feeders", "dinner", "supper", "tea", "them")
        for e in items
    ):
        _drop(item, "fed")


def _told_of_an_egg(items: Sequence[Item]) -> bool:
    """ "K2: one tiny crestie climbed out" tells of an egg and adds no animal."""
    return any(e.what == "slot" for e in items) and not any(e.is_("act", "new") for e in items)


def _has_object(after: Sequence[Item]) -> bool:
    """True where "had" and the like give something: feeders, eggs, water."""
    for each in after:
        if each.is_("act") and not each.is_("act", "egg", "give", "water"):
            return False
        if each.is_("sign") or each.is_("how") or each.is_("state") or each.is_("sex"):
            return False
        if (
            each.is_("food")
            or each.is_("fed")
            or each.what in ("num", "ml")
            or each.is_("act", "egg")
        ):
            return True
    return False


def _empty_verb(item: Item, after: Sequence[Item]) -> bool:
    """True for "has", "left" or "lost" with nothing that is had, left or lost."""
    if item.is_("act", "give"):
        return item.text.casefold() in _HELPING and not _has_object(after)
    if item.is_("act", "leave"):
        return not _left_something(after)
    return item.is_("act", "lose") and _lost_weight(after)


_BELLY = frozenset({"belly", "tummy", "side", "sides", "abdomen", "stomach", "tum"})


def _in_her(before: Sequence[Item], after: Sequence[Item]) -> bool:
    """ "two eggs in F3's belly": not laid yet."""
    if any(e.text.casefold() in _BELLY for e in (*before, *after)):
        return True
    inside = len(after) > 1 and after[0].is_("prep", "in") and after[1].what == "tag"
    return inside and (len(after) == 2 or after[2].text.casefold() not in ("'s", "s", "tub"))


def _goes_to_number(after: Sequence[Item]) -> bool:
    """ "dropped to 26.1", "went up to 28": a measure moves."""
    words = [
        e for e in after if e.text.casefold() not in ("back", "down", "right", "a", "bit", "from")
    ][:2]
    return (
        len(words) == 2
        and words[0].is_("prep", "to", "at")
        and words[1].what in ("num", "temp", "pct", "grams")
    ) or (bool(after) and after[0].text.casefold() in ("up to", "down to"))


def _left_something(after: Sequence[Item]) -> bool:
    return any(e.what == "num" or e.is_("act", "egg") or e.is_("food") for e in after[:5])


def _lost_weight(after: Sequence[Item]) -> bool:
    return any(
        e.what in ("grams", "num")
        or e.text.casefold() in ("weight", "condition", "some", "bit", "count", "track", "interest")
        for e in after[:4]
    )


def _somebody(before: Sequence[Item]) -> bool:
    """ "to a lad", "to our neighbour's girl": people, not geckos."""
    for each in reversed(before[-5:]):
        if each.is_("prep", "to", "from", "with", "at", "for"):
            return not each.is_("act") and each.text.casefold() != "by"
        if each.what != "word" or each.is_("act") or each.text.casefold() == "is":
            return False
    return False


def _feeding(items: Sequence[Item]) -> bool:
    return any(e.is_("food") or e.is_("act", "feed", "give") or e.is_("fed") for e in items)


def slight(items: Sequence[Item]) -> bool:
    """True for a clause whose only hearts are everyday verbs and that names nothing of the book."""
    if any(
        e.what in ("tag", "slot", "box", "place")
        or e.is_("placenoun")
        or e.what in ("grams", "temp", "pct")
        for e in items
    ):
        return False
    if any(e.is_("species") for e in items) or (
        any(e.is_("act", "new") for e in items) and any(e.is_("sex") for e in items)
    ):
        return False
    hearts = [
        e
        for e in items
        if e.what == "word"
        and (
            e.is_("act")
            or e.is_("sign")
            or e.is_("state")
            or e.is_("how")
            or e.is_("food")
            or e.is_("fed")
            or e.is_("sex")
        )
    ]
    return all(
        (e.is_("act", *_LIGHT) or not e.is_("act"))
        and not e.is_("sign")
        and not e.is_("how")
        and not e.is_("food")
        and not e.is_("fed")
        for e in hearts
    )
