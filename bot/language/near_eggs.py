"""Words of eggs and young beside neighbours that turn them ("eggs in her belly")."""

from __future__ import annotations

from bot.language.near import Near

_BELLY = frozenset({"belly", "tummy", "side", "sides", "abdomen", "stomach", "tum"})


def nothing_seen(near: Near) -> None:
    """ "nothing yet" tells of an egg only where one is spoken of."""
    egg = near.holds("slot", "box") or near.told("act", "candle")
    nothing = near.word.startswith(("no", "nothing"))
    if near.item.is_("state", "too-early", "unsure") and nothing and not egg:
        near.mean("mood", "neg")


def eggs_inside(near: Near) -> None:
    """ "two eggs in F3's belly" are not laid yet."""
    if not near.item.is_("act", "egg"):
        return
    laid = near.told("act", "lay", "find") or near.holds("slot")
    if not laid and _in_her(near):
        near.mean("sign", "gravid")


def _in_her(near: Near) -> bool:
    after = near.after
    if any(e.word in _BELLY for e in near.around):
        return True
    inside = len(after) > 1 and after[0].is_("prep", "in") and after[1].what == "tag"
    return inside and (len(after) == 2 or after[2].text.casefold() not in ("'s", "s", "tub"))


def eggs_looked_for(near: Near) -> None:
    """ "dug through her sand, zero eggs in there": what was looked for; she carries none."""
    lead = near.before[-1] if near.before else None
    none = lead is not None and lead.what == "num" and lead.value == 0
    where = near.told("ground") or "there" in near.word
    seen_in_sand = near.told("act", "search") and where
    if near.item.is_("sign", "gravid") and "egg" in near.word and (none or seen_in_sand):
        near.mean("act", "egg")


_PUSHED = frozenset(
    {"popped", "pushed", "squeezed", "pooped", "plopped", "dropped", "shot", "spat", "put", "had"}
)


def pushed_out(near: Near) -> None:
    """ "popped 2 out, N7+N8": laid, and nobody was taken out."""
    if near.word not in _PUSHED or len(near.after) < 2 or near.after[0].what != "num":
        return
    out = [e for e in near.after[1:3] if e.is_("act", "out")]
    if out and any(e.what == "tag" for e in near.before) and near.after[0].value <= 4:
        out[0].senses.pop("act", None)
        near.mean("act", "lay")


def my_eggs(near: Near) -> None:
    """ "my eggs" for breakfast are none of a gecko's."""
    mine = bool(near.before) and near.before[-1].text.casefold() == "my"
    if near.item.is_("act", "egg") and mine and not near.holds("slot", "num"):
        near.drop("act")


def nothing_in_it(near: Near) -> None:
    """ "B1 veins, B2 nothing": what is seen of an egg is left open."""
    if near.word != "nothing" or not near.before or near.before[-1].what != "slot":
        return
    other = any(e.is_("state") and e is not near.item for e in near.items)
    if near.told("act", "candle") or other:
        near.mean("state", "unsure")


def young_spoken_of(near: Near) -> None:
    """ "the babies" hatch only out of an egg that is named."""
    young = ("babies", "hatchlings", "little one", "hatchling")
    if near.item.is_("act", "hatch") and near.word in young and not near.holds("slot"):
        near.drop("act")


def species_of_an_egg(near: Near) -> None:
    """ "K2: one tiny crestie climbed out" tells of an egg and adds no animal."""
    if near.item.is_("species") and near.holds("slot") and not near.told("act", "new"):
        near.drop("species")
