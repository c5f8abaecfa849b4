"""Takes away senses that a word has elsewhere but not beside these neighbours ("has laid")."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

from bot.language.codes import split_slot
from bot.language.frames import frames
from bot.language.items import BREAKS, ENTITIES, Item
from bot.language.near import Near
from bot.language.neighbours import settle
from bot.language.view import View
from bot.language.wording import Sense

_MEASURED = frozenset({"grams", "num", "temp", "pct"})
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
        settle(Near(item, before, after, items, k))
    for one, two in itertools.pairwise(items):
        if one.what == "pct" and two.text.casefold() in ("het", "hets"):
            one.what = "share"  # "66% het stripe" is no humidity
    box = next((k for k, e in enumerate(items) if e.is_("act", "box")), None)
    if box is not None:  # "new box called H, 3 by 4": nothing else is told
        for each in items[box + 1 : box + 3]:
            if each.what == "word" and (len(each.text) == 1 or each.is_("act", "name")):
                each.senses = {}
    for k, item in enumerate(items):
        if _texted_to(items, k):
            item.what, item.value = "word", None
            item.senses = {"prep": Sense("prep", "to")}
    _names_mean_nothing(items)
    _all_but(items)
    if any(e.is_("act", "sex") for e in items) or _only_letters(items):
        _lettered_sexes(items)
    items = _ranged(items, view)
    for k, item in enumerate(items):
        _stand_in(items, k, item)
    return items


def _texted_to(items: Sequence[Item], k: int) -> bool:
    """ "receptive 2 Ziggy", "moved G1 2 shelf 3": the 2 of a hurried thumb is "to"."""
    item = items[k]
    if item.what != "num" or item.text != "2" or not 0 < k < len(items) - 1:
        return False
    one, two = items[k - 1], items[k + 1]
    if one.is_("sign") or one.is_("act", "out"):
        return two.what == "tag"
    moved = any(e.is_("act", "move") for e in items[:k])
    return moved and one.what in ("tag", "slot") and two.what in ("place", "slot", "box")


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
