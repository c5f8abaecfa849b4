"""Words of leaving, people and sexes beside neighbours that turn them ("to a lad")."""

from __future__ import annotations

import itertools

from bot.language.near import Near

_MONTH_LEADS = frozenset({"last", "in", "of", "early", "late", "hatched", "born"})
_CAUGHT = frozenset({"caught", "recaptured", "got her back", "got him back"})


def given_food(near: Near) -> None:
    """ "have given to G3 and G4 two mealworms": fed, and not given away."""
    if near.item.is_("how", "given") and "away" not in near.word:
        rest = itertools.takewhile(lambda e: e.what != "stop", near.items[near.k + 1 :])
        if any(e.is_("food") for e in rest):
            near.mean("act", "give")


_BUYING = frozenset({"bought", "buys", "has bought", "purchased", "paid for", "took home"})


def bought_from_us(near: Near) -> None:
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


def looked_for_sex(near: Near) -> None:
    """ "looked under C11, no pores": nobody's sand was searched."""
    looked = near.item.is_("act", "search") and near.word.startswith(_LOOKING)
    if looked and near.told("sexmark"):
        near.drop("act")


def found_again(near: Near) -> None:
    """ "escaped but I caught her" is no loss."""
    later = near.items[near.k + 1 :]
    if near.item.is_("how", "lost") and any(
        e.is_("act", "find") or e.word in _CAUGHT for e in later
    ):
        near.mean("mood", "almost")


def cant_find_a_thing(near: Near) -> None:
    """ "can't find the eggs": a thing is looked for, and no gecko."""
    small = ("the", "my", "any")
    thing = any(e.is_("act", "egg") or e.word in small for e in near.after)
    if near.item.is_("how", "lost") and "find" in near.word and thing:
        near.drop("how")


def no_sign_of(near: Near) -> None:
    """ "no sign of eggs" denies; "no sign of F3" is a loss."""
    if near.word in ("no sign of", "no trace of") and any(
        e.is_("act") or e.is_("sign") or e.is_("fed") for e in near.after
    ):
        near.mean("mood", "neg")


def one_of_the(near: Near) -> None:
    """ "one of the crested girls": which one is left open; no sex or species is told."""
    if (near.item.is_("sex") or near.item.is_("species")) and any(
        e.is_("mood", "either") for e in near.before[-4:]
    ):
        near.drop("sex", "species")


def somebody(near: Near) -> None:
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


def month_of_may(near: Near) -> None:
    """ "hatched May 2025": a month, and no "may"."""
    if near.word != "may" or not near.before:
        return
    year = bool(near.after) and near.after[0].what == "num" and near.after[0].value > 31
    if near.before[-1].text.casefold() in _MONTH_LEADS or year:
        near.item.senses = {}
