"""Words of feeding and water beside neighbours that turn them ("water dish")."""

from __future__ import annotations

from bot.language.near import Near

_WATER_THINGS = frozenset({"dish", "bowl", "bottle", "tray", "dispenser", "feature", "cup"})


def each_other(near: Near) -> None:
    """ "each other", "2 each" of eggs: no feeding."""
    if not near.item.is_("fed", "each"):
        return
    other = bool(near.after) and near.after[0].word == "other"
    fed = near.told("food") or near.holds("num") or near.told("act", "feed")
    if other or not fed or near.told("act", "lay"):
        near.drop("fed")


def not_eaten_yet(near: Near) -> None:
    """ "hasn't eaten yet" refuses nothing."""
    yet = any(e.word == "yet" for e in near.after)
    if near.item.is_("fed", "refused") and "eaten" in near.word and yet:
        near.mean("mood", "neg")


_SHY = frozenset(
    {
        *("ignored", "ignoring", "ignores", "rejected", "turned down", "skipped", "declined"),
        *("snubbed", "passed on", "wouldn't have", "not having", "not taking", "uneaten"),
        *("untouched", "spat out", "doesn't want", "didn't want", "didnt want", "didn't fancy"),
        *("pushed away", "were left", "wouldn't look at", "walked away from", "no thanks to"),
        *("snubbing", "not touched"),
    }
)
_MEALS = frozenset({"food", "meal", "bugs", "feeders", "dinner", "supper", "tea", "them"})


def refusal(near: Near) -> None:
    """ "refuses to lay" denies, "refused M2" is about pairing, "ignoring each other" nothing."""
    if not near.item.is_("fed", "refused"):
        return
    first = near.after[0] if near.after else None
    to_eat = any(e.is_("act", "feed") for e in near.after[:3])
    if first is not None and first.is_("prep", "to") and not to_eat:
        near.mean("mood", "neg")
    elif first is not None and first.what == "tag" and not near.told("food"):
        near.mean("sign", "unreceptive")
    elif near.word in _SHY and not any(
        e.is_("food") or e.is_("act", "feed") or e.word in _MEALS for e in near.items
    ):
        near.drop("fed")


def all_of_what(near: Near) -> None:
    """ "all" is everyone only where feeding is spoken of."""
    fed = near.told("food") or near.told("act", "feed", "give") or near.told("fed")
    if near.item.is_("everyone") and near.word in ("all", "everything") and not fed:
        near.drop("everyone")


_SHOPS = frozenset({"bought", "ordered", "buying", "ordering", "stocked up", "got in", "restocked"})


def shopping(near: Near) -> None:
    """ "bought 200 crickets" feeds nobody."""
    bought = any(e.word in _SHOPS for e in near.before)
    if near.item.is_("food") and bought and not near.holds("tag", "place"):
        near.drop("food")


def water_bowl(near: Near) -> None:
    """A water dish waters no box, and "water" beside another deed is none."""
    if not near.item.is_("act", "water"):
        return
    thing = bool(near.after) and near.after[0].word in _WATER_THINGS
    noun = near.word in ("water", "wet", "drink", "spray", "mist", "soaked")
    deed = any(e.is_("act") and not e.is_("act", "give", "put", "find") for e in near.around)
    if thing or (noun and deed):
        near.drop("act")
