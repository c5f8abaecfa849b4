"""What a word can't mean beside its neighbours ("has laid", "water dish", "no sign of eggs").

Each rule looks at one word and takes a sense away, or puts another in its place. They are tried in
the order of the table at the end, since one may clear the way for the next.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bot.language.items import ENTITIES, Item
from bot.language.wording import Sense


@dataclass(slots=True)
class Near:
    """A word with what stands before and after it in its fragment, and the whole message."""

    item: Item
    before: Sequence[Item]
    after: Sequence[Item]
    items: Sequence[Item]
    k: int

    @property
    def word(self) -> str:
        """The word itself, folded."""
        return self.item.word

    @property
    def around(self) -> tuple[Item, ...]:
        """The rest of its fragment."""
        return (*self.before, *self.after)

    def told(self, cls: str, *values: str) -> bool:
        """True where the message has such a sense anywhere."""
        return any(each.is_(cls, *values) for each in self.items)

    def holds(self, *whats: str) -> bool:
        """True where the message has a piece of those sorts."""
        return any(each.what in whats for each in self.items)

    def drop(self, *classes: str) -> None:
        """Takes those senses from the word."""
        for cls in classes:
            self.item.senses.pop(cls, None)

    def mean(self, cls: str, value: str) -> None:
        """Leaves the word that one sense."""
        self.item.senses = {cls: Sense(cls, value)}


Rule = Callable[[Near], None]

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
_MONTH_LEADS = frozenset({"last", "in", "of", "early", "late", "hatched", "born"})
_WATER_THINGS = frozenset({"dish", "bowl", "bottle", "tray", "dispenser", "feature", "cup"})
_CAUGHT = frozenset({"caught", "recaptured", "got her back", "got him back"})
_SEEN_TO = frozenset({"let", "lets", "allowed", "saw", "seen", "watched", "caught", "did"})
_TURNING = ("gone", "went", "goes", "going")
_BELLY = frozenset({"belly", "tummy", "side", "sides", "abdomen", "stomach", "tum"})


# -- verbs -----------------------------------------------------------------------------------


def _empty_verb(near: Near) -> None:
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


def _tried(near: Near) -> None:
    """ "M2 tried, F3 wasn't having it": what he tried is told by what she did."""
    tagged = bool(near.before) and near.before[-1].what == "tag"
    if near.word == "tried" and tagged and not near.after:
        near.drop("mood")


def _no_interest(near: Near) -> None:
    """ "M2 and F3: no interest" is told of two; of one it may be food that is left."""
    tags = sum(len(e.value) for e in near.items if e.what == "tag")
    if near.word == "no interest" and (tags < 2 or near.told("food") or near.told("act", "feed")):
        near.drop("sign")


def _let(near: Near) -> None:
    """ "let M2 in" puts; "let M2 ..." and something else does not."""
    into = any(e.is_("prep", "in") or e.is_("act", "pair") for e in near.after)
    if near.word == "let" and not into:
        near.drop("act")


def _mate(near: Near) -> None:
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


def _weight_lost(near: Near) -> None:
    """ "dropped 2g" is a change of weight."""
    if near.item.is_("act", "drop", "lose") and near.after and near.after[0].what == "grams":
        near.drop("act")


def _put_down(near: Near) -> None:
    """ "put F3 down" is her end; "put down 2 eggs" is a laying."""
    after = near.after
    if not near.item.is_("act", "put") or len(after) < 2 or after[0].what != "tag":
        return
    if after[1].word == "down" and not any(e.what == "num" for e in after):
        near.mean("how", "died")


def _changed(near: Near) -> None:
    """ "changed her sand" moves nobody."""
    moved = any(e.what in ("place", "slot") for e in near.after)
    if near.item.is_("act", "move") and near.word == "changed" and not moved:
        near.drop("act")


def _gone_bad(near: Near) -> None:
    """ "has gone mouldy", "went thin": it turned so, and was moved nowhere."""
    item, after = near.item, near.after
    if item.is_("act", "move", "put") and near.word.endswith(_TURNING):
        if not after and any(e.what == "slot" for e in near.items):
            near.drop("act")  # "A1 smells, gone"
        turned = [e for e in after[:4] if e.is_("state") or e.is_("sign")]
        if turned and not any(e.what in ENTITIES for e in after[: after.index(turned[0])]):
            near.drop("act")


def _to_a_number(near: Near) -> None:
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


def _place_weighed(near: Near) -> None:
    """ "incubator 1 hit 28" weighs nobody, and "came in" with no figure neither."""
    if not near.item.is_("act", "weigh"):
        return
    of_place = any(e.what in ("place", "box") for e in near.before)
    tagged = any(e.what == "tag" for e in near.before)
    if near.word in ("hit", "up to", "down to", "came in", "comes in") and of_place and not tagged:
        near.drop("act")
    if near.word in _MEASURING and not any(e.what in ("grams", "num") for e in near.around):
        near.drop("act")


def _handled_for_sexing(near: Near) -> None:
    """ "took H1 out, saw pores": the taking is by the way."""
    if near.item.is_("act", "put", "take", "took", "drop", "move") and any(
        e.is_("sexmark") or e.is_("act", "sex", "candle") for e in near.after
    ):
        near.drop("act")


def _surely_what(near: Near) -> None:
    """ "definitely" tells a sex only where one is named."""
    sexed = any(e.is_("sex") or e.is_("sexmark") for e in near.around)
    if near.item.is_("act", "sex") and near.word in _SURE and not sexed:
        near.drop("act")


# -- eggs and young --------------------------------------------------------------------------


def _nothing_seen(near: Near) -> None:
    """ "nothing yet" tells of an egg only where one is spoken of."""
    egg = near.holds("slot", "box") or near.told("act", "candle")
    nothing = near.word.startswith(("no", "nothing"))
    if near.item.is_("state", "too-early", "unsure") and nothing and not egg:
        near.mean("mood", "neg")


def _eggs_inside(near: Near) -> None:
    """ "two eggs in F3's belly" are not laid yet."""
    laid = near.told("act", "lay", "find") or near.holds("slot")
    if near.item.is_("act", "egg") and not laid and _in_her(near):
        near.mean("sign", "gravid")


def _in_her(near: Near) -> bool:
    after = near.after
    if any(e.word in _BELLY for e in near.around):
        return True
    inside = len(after) > 1 and after[0].is_("prep", "in") and after[1].what == "tag"
    return inside and (len(after) == 2 or after[2].text.casefold() not in ("'s", "s", "tub"))


def _eggs_looked_for(near: Near) -> None:
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


def _pushed_out(near: Near) -> None:
    """ "popped 2 out, N7+N8": laid, and nobody was taken out."""
    if near.word not in _PUSHED or len(near.after) < 2 or near.after[0].what != "num":
        return
    out = [e for e in near.after[1:3] if e.is_("act", "out")]
    if out and any(e.what == "tag" for e in near.before) and near.after[0].value <= 4:
        out[0].senses.pop("act", None)
        near.mean("act", "lay")


def _my_eggs(near: Near) -> None:
    """ "my eggs" for breakfast are none of a gecko's."""
    mine = bool(near.before) and near.before[-1].text.casefold() == "my"
    if near.item.is_("act", "egg") and mine and not near.holds("slot", "num"):
        near.drop("act")


def _nothing_in_it(near: Near) -> None:
    """ "B1 veins, B2 nothing": what is seen of an egg is left open."""
    if near.word != "nothing" or not near.before or near.before[-1].what != "slot":
        return
    other = any(e.is_("state") and e is not near.item for e in near.items)
    if near.told("act", "candle") or other:
        near.mean("state", "unsure")


def _young_spoken_of(near: Near) -> None:
    """ "the babies" hatch only out of an egg that is named."""
    young = ("babies", "hatchlings", "little one", "hatchling")
    if near.item.is_("act", "hatch") and near.word in young and not near.holds("slot"):
        near.drop("act")


def _species_of_an_egg(near: Near) -> None:
    """ "K2: one tiny crestie climbed out" tells of an egg and adds no animal."""
    if near.item.is_("species") and near.holds("slot") and not near.told("act", "new"):
        near.drop("species")


# -- feeding and water -----------------------------------------------------------------------


def _each_other(near: Near) -> None:
    """ "each other", "2 each" of eggs: no feeding."""
    if not near.item.is_("fed", "each"):
        return
    other = bool(near.after) and near.after[0].word == "other"
    fed = near.told("food") or near.holds("num") or near.told("act", "feed")
    if other or not fed or near.told("act", "lay"):
        near.drop("fed")


def _not_eaten_yet(near: Near) -> None:
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


def _refusal(near: Near) -> None:
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


def _all_of_what(near: Near) -> None:
    """ "all" is everyone only where feeding is spoken of."""
    fed = near.told("food") or near.told("act", "feed", "give") or near.told("fed")
    if near.item.is_("everyone") and near.word in ("all", "everything") and not fed:
        near.drop("everyone")


_SHOPS = frozenset({"bought", "ordered", "buying", "ordering", "stocked up", "got in", "restocked"})


def _shopping(near: Near) -> None:
    """ "bought 200 crickets" feeds nobody."""
    bought = any(e.word in _SHOPS for e in near.before)
    if near.item.is_("food") and bought and not near.holds("tag", "place"):
        near.drop("food")


def _water_bowl(near: Near) -> None:
    """A water dish waters no box, and "water" beside another deed is none."""
    if not near.item.is_("act", "water"):
        return
    thing = bool(near.after) and near.after[0].word in _WATER_THINGS
    noun = near.word in ("water", "wet", "drink", "spray", "mist", "soaked")
    deed = any(e.is_("act") and not e.is_("act", "give", "put", "find") for e in near.around)
    if thing or (noun and deed):
        near.drop("act")


# -- leaving and people ----------------------------------------------------------------------


def _given_food(near: Near) -> None:
    """ "have given to G3 and G4 two mealworms": fed, and not given away."""
    if near.item.is_("how", "given") and "away" not in near.word:
        rest = itertools.takewhile(lambda e: e.what != "stop", near.items[near.k + 1 :])
        if any(e.is_("food") for e in rest):
            near.mean("act", "give")


_BUYING = frozenset({"bought", "buys", "has bought", "purchased", "paid for", "took home"})


def _bought_from_us(near: Near) -> None:
    """ "a chap from the club bought J4": somebody else did, so it is sold."""
    if near.word not in _BUYING or not near.after or near.after[0].what != "tag":
        return
    if any(e.word in ("i", "we") for e in near.before) or not near.before:
        return
    if all(c.tag for c in near.after[0].codes):
        near.mean("how", "sold")
        for each in near.before:  # who it was is no hearsay
            each.senses.pop("mood", None)


_LOOKING = ("looked under", "checked under", "looked in", "had a look", "looked at", "checked")


def _looked_for_sex(near: Near) -> None:
    """ "looked under C11, no pores": nobody's sand was searched."""
    sexed = any(e.is_("sexmark") for e in near.items)
    if near.item.is_("act", "search") and near.word.startswith(_LOOKING) and sexed:
        near.drop("act")


def _found_again(near: Near) -> None:
    """ "escaped but I caught her" is no loss."""
    later = near.items[near.k + 1 :]
    if near.item.is_("how", "lost") and any(
        e.is_("act", "find") or e.word in _CAUGHT for e in later
    ):
        near.mean("mood", "almost")


def _cant_find_a_thing(near: Near) -> None:
    """ "can't find the eggs": a thing is looked for, and no gecko."""
    small = ("the", "my", "any")
    thing = any(e.is_("act", "egg") or e.word in small for e in near.after)
    if near.item.is_("how", "lost") and "find" in near.word and thing:
        near.drop("how")


def _no_sign_of(near: Near) -> None:
    """ "no sign of eggs" denies; "no sign of F3" is a loss."""
    if near.word in ("no sign of", "no trace of") and any(
        e.is_("act") or e.is_("sign") or e.is_("fed") for e in near.after
    ):
        near.mean("mood", "neg")


def _one_of_the(near: Near) -> None:
    """ "one of the crested girls": which one is left open; no sex or species is told."""
    if (near.item.is_("sex") or near.item.is_("species")) and any(
        e.is_("mood", "either") for e in near.before[-4:]
    ):
        near.drop("sex", "species")


def _somebody(near: Near) -> None:
    """ "to a lad", "to our neighbour's girl": people, not geckos."""
    if not near.item.is_("sex"):
        return
    for each in reversed(near.before[-5:]):
        if each.is_("how", "sold", "given") and " " in each.word:
            near.drop("sex")  # "sold to the schoolteacher's boy"
            return
        if each.is_("prep", "to", "from", "with", "at", "for"):
            if not each.is_("act") and each.word != "by":
                near.drop("sex")
            return
        if each.what != "word" or each.is_("act") or each.word == "is":
            return


def _month_of_may(near: Near) -> None:
    """ "hatched May 2025": a month, and no "may"."""
    if near.word != "may" or not near.before:
        return
    year = bool(near.after) and near.after[0].what == "num" and near.after[0].value > 31
    if near.before[-1].text.casefold() in _MONTH_LEADS or year:
        near.item.senses = {}


RULES: tuple[Rule, ...] = (
    _empty_verb,
    _mate,
    _nothing_seen,
    _each_other,
    _not_eaten_yet,
    _month_of_may,
    _species_of_an_egg,
    _refusal,
    _weight_lost,
    _put_down,
    _found_again,
    _eggs_inside,
    _cant_find_a_thing,
    _nothing_in_it,
    _no_sign_of,
    _changed,
    _gone_bad,
    _to_a_number,
    _my_eggs,
    _somebody,
    _all_of_what,
    _handled_for_sexing,
    _young_spoken_of,
    _place_weighed,
    _surely_what,
    _water_bowl,
    _eggs_looked_for,
    _pushed_out,
    _given_food,
    _bought_from_us,
    _looked_for_sex,
    _one_of_the,
    _let,
    _shopping,
    _tried,
    _no_interest,
)


def settle(near: Near) -> None:
    """Leaves the word only the senses that its neighbours allow."""
    for rule in RULES:
        rule(near)
