"""Verbs beside neighbours with which they tell nothing ("has laid", "changed her sand")."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.items import ENTITIES, Item
from bot.language.near import Near

_HELPING = frozenset({"has", "had", "have", "has had", "got", "made", "given", "having"})
_MEASURING = frozenset(
    {"scale", "scales", "came in", "comes in", "hit", "up to", "down to", "clocked", "mass"}
)
_SURE = frozenset(
    {
        *("definitely", "def", "deffo", "defo", "confirmed", "proven", "popped"),
        *("turned out", "turns out"),
    }
)
_SEEN_TO = frozenset({"let", "lets", "allowed", "saw", "seen", "watched", "caught", "did"})
_TURNING = ("gone", "went", "goes", "going")


def empty_verb(near: Near) -> None:
    """ "has", "left" or "lost" with nothing that is had, left or lost."""
    item, after = near.item, near.after
    if item.is_("act", "give"):
        gift = near.word in ("given", "gave") and any(e.is_("prep", "to") for e in after)
        empty = near.word in _HELPING and not gift and not _has_object(after)
    elif item.is_("act", "leave"):
        empty = not _left_something(after)
    else:
        empty = item.is_("act", "lose") and _lost_weight(after)
    if empty:
        near.drop("act")


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


def _left_something(after: Sequence[Item]) -> bool:
    return any(e.what == "num" or e.is_("act", "egg") or e.is_("food") for e in after[:5])


def _lost_weight(after: Sequence[Item]) -> bool:
    if after and after[0].text.casefold() in ("a", "an", "her", "his", "its", "some"):
        return True  # "lost a gram", "lost her appetite": a thing, and no gecko
    return any(
        e.what in ("grams", "num")
        or e.is_("unit")
        or e.word in ("weight", "condition", "some", "bit", "count", "track", "interest")
        for e in after[:4]
    )


def tried(near: Near) -> None:
    """ "M2 tried, F3 wasn't having it": what he tried is told by what she did."""
    tagged = bool(near.before) and near.before[-1].what == "tag"
    if near.word == "tried" and tagged and not near.after:
        near.drop("mood")


def no_interest(near: Near) -> None:
    """ "M2 and F3: no interest" is told of two; of one it may be food that is left."""
    tags = sum(len(e.value) for e in near.items if e.what == "tag")
    if near.word == "no interest" and (tags < 2 or near.told("food") or near.told("act", "feed")):
        near.drop("sign")


def done_two(near: Near) -> None:
    """ "F3's done two, one's a dud": eggs, where a slot or an egg's state is told as well."""
    after = near.after
    counted = bool(after) and after[0].what == "num" and "whole" in after[0].senses
    tagged = any(e.what == "tag" for e in near.before[-2:])
    eggs = near.holds("slot") or near.told("spoil") or near.told("state") or near.told("act", "egg")
    if near.word in ("done", "did") and counted and len(after) < 3 and tagged and eggs:
        near.mean("act", "lay")


def let(near: Near) -> None:
    """ "let M2 in" puts; "let M2 ..." and something else does not."""
    into = any(e.is_("prep", "in") or e.is_("act", "pair") for e in near.after)
    if near.word == "let" and not into:
        near.drop("act")


def mate(near: Near) -> None:
    """ "did not mate", "F3 mate M2"; else a friend."""
    before, after = near.before, near.after
    if near.word != "mate" or not before:
        return
    let = [e for e in before if e.word in _SEEN_TO]
    if let and before[-1].what == "tag":
        for each in let:  # "F3 let M2 mate": nobody was put anywhere
            each.senses.pop("act", None)
    if (
        before[-1].is_("mood", "neg")
        or (after and before[-1].what == after[0].what == "tag")
        or (let and before[-1].what in ("tag", "word"))
    ):
        near.mean("sign", "mating")


def weight_lost(near: Near) -> None:
    """ "dropped 2g" is a change of weight."""
    if near.item.is_("act", "drop", "lose") and near.after and near.after[0].what == "grams":
        near.drop("act")


def put_down(near: Near) -> None:
    """ "put F3 down" is her end; "put down 2 eggs" is a laying."""
    after = near.after
    if not near.item.is_("act", "put") or len(after) < 2 or after[0].what != "tag":
        return
    if after[1].word == "down" and not any(e.what == "num" for e in after):
        near.mean("how", "died")


def changed(near: Near) -> None:
    """ "changed her sand" moves nobody."""
    moved = any(e.what in ("place", "slot") for e in near.after)
    if near.item.is_("act", "move") and near.word == "changed" and not moved:
        near.drop("act")


def gone_bad(near: Near) -> None:
    """ "has gone mouldy", "went thin": it turned so, and was moved nowhere."""
    item, after = near.item, near.after
    if item.is_("act", "move", "put") and near.word.endswith(_TURNING):
        if not after and any(e.what == "slot" for e in near.items):
            near.drop("act")  # "A1 smells, gone"
        turned = [e for e in after[:4] if e.is_("state") or e.is_("sign")]
        if turned and not any(e.what in ENTITIES for e in after[: after.index(turned[0])]):
            near.drop("act")


def to_a_number(near: Near) -> None:
    """ "dropped to 26.1", "went up to 28": a measure moves."""
    if not near.item.is_("act", "drop", "put", "move", "lose"):
        return
    small = ("back", "down", "right", "a", "bit", "from")
    words = [e for e in near.after if e.word not in small][:2]
    measured = (
        len(words) == 2
        and words[0].is_("prep", "to", "at")
        and words[1].what in ("num", "temp", "pct", "grams")
    )
    if measured or (near.after and near.after[0].word in ("up to", "down to")):
        near.drop("act")


def place_weighed(near: Near) -> None:
    """ "incubator 1 hit 28" weighs nobody, and "came in" with no figure neither."""
    if not near.item.is_("act", "weigh"):
        return
    of_place = any(e.what in ("place", "box") for e in near.before)
    tagged = any(e.what == "tag" for e in near.before)
    if near.word in ("hit", "up to", "down to", "came in", "comes in") and of_place and not tagged:
        near.drop("act")
    if near.word in _MEASURING and not any(e.what in ("grams", "num") for e in near.around):
        near.drop("act")


def handled_for_sexing(near: Near) -> None:
    """ "took H1 out, saw pores": the taking is by the way."""
    if near.item.is_("act", "put", "take", "took", "drop", "move") and any(
        e.is_("sexmark") or e.is_("act", "sex", "candle") for e in near.after
    ):
        near.drop("act")


def surely_what(near: Near) -> None:
    """ "definitely" tells a sex only where one is named."""
    sexed = any(e.is_("sex") or e.is_("sexmark") for e in near.around)
    if near.item.is_("act", "sex") and near.word in _SURE and not sexed:
        near.drop("act")
