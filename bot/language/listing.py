"""Joins lists of animals, slots or places into one piece: "F1, F2 and F4"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bot.language.frames import NO_KINDS, Frames
from bot.language.items import BREAKS, ENTITIES, Item
from bot.language.view import View

_SKIPPED = frozenset({"date", "time", "span"})


def _lying(items: Sequence[Item], k: int) -> bool:
    """True for the eggs of "the eggs in D9 and D10": they are told of by where they lie."""
    if k < 0 or not items[k].is_("act", "egg"):
        return False
    rest = items[k + 1 :]
    return not rest or (len(rest) == 1 and rest[0].is_("prep", "in"))


def _the_place(items: Sequence[Item], j: int) -> bool:
    return j + 1 < len(items) and items[j].word == "the" and items[j + 1].what == "place"


def _goes_on(items: Sequence[Item], j: int) -> bool:
    """True for a slot with a "to" of its own after it."""
    return j + 2 < len(items) and items[j + 1].is_("prep", "to") and items[j + 2].what == "slot"


class Lists:
    """Joins the lists of one sentence."""

    def __init__(self, frames: Frames, view: View) -> None:
        self.frames = frames
        self.view = view

    def grouped(self, items: Sequence[Item]) -> list[Item]:
        """The same pieces with lists of animals, slots or places made one piece."""
        out: list[Item] = []
        k = 0
        fragment = 0  # where the fragment of the piece last added to `out` begins
        while k < len(items):
            item = items[k]
            if item.what in BREAKS:
                out.append(item)
                k += 1
                fragment = len(out)
                continue
            if item.what in ENTITIES:
                headed = any(
                    (self._heart(each) and not _lying(out, n))
                    or (each.is_("prep", "with", "to", "in") and not _lying(out, n - 1))
                    for n, each in enumerate(out[fragment:], fragment)
                )
                item, k = self._list_from(items, k, headed, out[fragment:])
                out.append(item)
                continue
            out.append(item)
            k += 1
        return out

    def _list_from(
        self, items: Sequence[Item], k: int, headed: bool, before: Sequence[Item]
    ) -> tuple[Item, int]:
        item = items[k]
        k += 1
        toward = any(each.is_("prep", "to") for each in before)
        closed = False  # after "F1, F2 and F3" the list is over
        while True:
            j, joined = k, ""
            while j < len(items) and items[j].what in ("comma", "joint") and j - k < 2:
                if items[j].what == "comma" and items[j].value not in (",", "/"):
                    break
                if items[j].what == "joint" and items[j].get("joint") == "then":
                    break
                joined = items[j].get("joint") or joined or "comma"
                j += 1
            if joined and item.what == "place" and _the_place(items, j):
                j += 1  # "the rack and the tower"
            if j >= len(items) or items[j].what != item.what:
                return item, k
            if toward and item.what == "slot" and _goes_on(items, j):
                return item, k  # "C5 to C7 and C6 to C8"
            told = any(each.what == item.what for each in before) and joined in ("", "and")
            told = told or (joined == "and" and any(each.is_("pron", "both") for each in before))
            if headed and (
                (closed and joined == "comma")
                or (not told and self._predicate(items, j + 1, toward))
            ):
                return item, k
            closed = joined == "and"
            bare = not joined and item.what == "tag" and headed and not told
            if bare and self._predicate(items, j + 1, True):
                return item, k
            item = self._joined(item, items[j], joined)
            k = j + 1

    def _joined(self, one: Item, two: Item, joined: str) -> Item:
        value = one.value if isinstance(one.value, tuple) else (one.value,)
        more = two.value if isinstance(two.value, tuple) else (two.value,)
        codes = one.codes + two.codes
        return replace(
            one,
            value=tuple(dict.fromkeys(value + more)),
            j=two.j,
            text=f"{one.text} {two.text}",
            codes=codes,
            either=one.either or joined == "or",
            via=two.via,
        )

    def _predicate(self, items: Sequence[Item], k: int, toward: bool) -> bool:
        """True where what follows a name tells something of it ("F4 gravid", "F4 to tub 3")."""
        for at in range(k, len(items)):
            item = items[at]
            if item.what in BREAKS:
                return False
            if item.what in _SKIPPED:
                continue
            if item.what in ("grams", "temp", "pct"):
                return True
            if item.what == "num":
                return self._number_tells(items, at)
            if item.is_("act", "pair") or item.is_("prep", "with") or item.is_("mood", "neg"):
                return True
            if item.is_("prep", "to"):
                return toward
            if item.is_("prep", "in"):
                return toward and at + 1 < len(items) and items[at + 1].what in ("place", "tag")
            if item.is_("food") or item.is_("fed", "each", "dusted") or item.is_("everyone"):
                return False
            if item.is_("act", "egg") and not self._heart_after(items, at + 1):
                return False
            if self._heart(item):
                return True
            if item.what in ENTITIES or item.is_("prep"):
                return False
        return False

    def _heart_after(self, items: Sequence[Item], k: int) -> bool:
        return any(self._heart(each) for each in items[k : k + 3])

    def _number_tells(self, items: Sequence[Item], at: int) -> bool:
        """ "F7 2 eggs" and "F7 24.6" tell; in "F4 five dubia" the number counts feeders."""
        if "whole" not in items[at].senses:
            return True
        follow = items[at + 1 : at + 3]
        return not any(each.is_("food") or each.is_("fed") for each in follow)

    def _heart(self, item: Item) -> bool:
        return bool(self.frames.kinds_of(item))

    def _kinds(self, items: Sequence[Item]) -> frozenset[str]:
        kinds: frozenset[str] = NO_KINDS
        for item in items:
            found = self.frames.kinds_of(item)
            if found:
                kinds = (kinds & found) or kinds if kinds else found
        return kinds
