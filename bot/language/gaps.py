"""Which kinds of record a clause with no verb of its own could be."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.clauses import Clause
from bot.language.items import Item

BLOCKING = frozenset({"neg", "almost", "plan", "if", "wish", "hearsay"})
"""Moods in which nothing is taken as done."""


def gap_kinds(clause: Clause, last: Clause | None) -> frozenset[str]:
    """Kinds for a clause with no verb of its own: the last one's, or what its pieces make."""
    whats = {e.what for e in clause.items}
    gapped: frozenset[str] = frozenset()
    if last is not None and last.kinds and not last.moods & BLOCKING:
        if "tag" in whats and "num" in whats:
            gapped = last.kinds & {"laid", "fed", "weighed"}
        elif "tag" in whats and "place" in whats:
            gapped = last.kinds & {"placed"}
        elif "tag" in whats and any(e.is_("prep", "with") for e in clause.items):
            gapped = last.kinds & {"paired"}
        elif "slot" in whats:
            gapped = last.kinds & {"shifted"}
        elif whats & {"place", "box"} and "num" in whats:
            gapped = last.kinds & {"reading", "fed"}
    if gapped:
        return gapped
    if whats <= {"tag", "place", "date", "comma"} and {"tag", "place"} <= whats:
        return frozenset({"placed"})
    if (
        whats <= {"tag", "slot", "date", "comma"}
        and {"tag", "slot"} <= whats
        and any(c.tag for e in clause.items for c in e.codes)
    ):
        return frozenset({"laid"})
    if "place" in whats and clause.items[0].is_("pron", "both", "they"):
        return frozenset({"placed"})
    tags = [e for e in clause.items if e.what == "tag"]
    fresh = [e for e in tags if not any(c.tag for c in e.codes)]
    if fresh and "slot" in whats and len(fresh) == len(tags):
        return frozenset({"hatched"})
    if (
        "tag" in whats
        and any(e.is_("ground") for e in clause.items)
        and any(e.is_("mood", "neg") or e.word == "empty" for e in clause.items)
    ):
        return frozenset({"searched"})
    if len(tags) == 1 and _nothing_in(clause.items):
        return frozenset({"searched"})
    if (
        tags
        and any(e.what == "num" and "whole" in e.senses for e in clause.items)
        and ("slot" in whats or any(e.is_("prep", "from") for e in clause.items))
    ):
        return frozenset({"laid"})
    if (
        len(tags) == 2
        and any(e.is_("prep", "in") for e in clause.items)
        and any(e.is_("ground") or e.is_("placenoun") for e in clause.items)
    ):
        return frozenset({"paired"})
    told = [e for e in clause.items if e.what not in ("date", "time")]
    if len(tags) == 1 and len(tags[0].value) == 2 and told[-1].is_("prep", "in"):
        return frozenset({"paired"})  # "M2/F5 in"
    if "tag" in whats and "place" in whats and any(e.is_("prep", "to", "in") for e in clause.items):
        return frozenset({"placed"})
    if "tag" in whats and any(e.is_("prep", "with") for e in clause.items):
        return frozenset({"paired"})
    if "slot" in whats and _judged(clause.items):
        return frozenset({"checked"})
    if "slot" in whats and any(e.is_("prep", "to") for e in clause.items):
        return frozenset({"shifted"})
    if (
        whats & {"place", "box"} or any(e.is_("placenoun", "incubator") for e in clause.items)
    ) and ("num" in whats):
        return frozenset({"reading"})
    if "tag" in whats and "num" in whats:
        return frozenset({"weighed"})
    if clause.joined and whats == {"date", "num"}:  # "yesterday F3 was 22 and today 21.5"
        return frozenset({"weighed"})
    return frozenset()


def told_behind(clauses: Sequence[Clause]) -> None:
    """Lets a feeder at the end tell of the figures ahead of it: "F1 3, F2 4, F3 5 crickets"."""
    food: Item | None = None
    for clause in reversed(clauses):
        own = next((e for e in clause.items if e.is_("food")), None)
        shape = [e.what for e in clause.items if e.what in ("tag", "num", "place", "slot", "grams")]
        feeding = any(e.is_("act", "feed", "give") for e in clause.items)
        others = len(clause.items) - len(shape) - feeding
        if shape[:2] not in (["tag", "num"], ["place", "num"]):
            food = None
        elif own is not None:
            food = own
        elif food is not None and len(shape) == 2 and not others and _whole(clause.items):
            clause.items.append(food)
            clause.kinds = frozenset({"fed"})
        else:
            food = None


def _judged(items: Sequence[Item]) -> bool:
    """ "A1 good", "A1's fine": an egg is called good or bad and nothing else is told."""
    good = any(e.is_("better") or e.is_("spoil") for e in items)
    others = any(e.what in ("tag", "num", "place", "grams", "temp", "pct") for e in items)
    return good and not others


def _whole(items: Sequence[Item]) -> bool:
    return all("whole" in e.senses for e in items if e.what == "num")


def _nothing_in(items: Sequence[Item]) -> bool:
    """ "nothing in R2's": an animal's sand was looked through."""
    for one, two, three, four in zip(items, items[1:], items[2:], items[3:], strict=False):
        if one.is_("mood", "neg") and two.is_("prep", "in", "under") and three.what == "tag":
            return four.word in ("'s", "s")
    return False
