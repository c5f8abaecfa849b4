"""Cuts a sentence into clauses, each about one thing that happened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bot.language.breaking import Breaks
from bot.language.clauses import Clause
from bot.language.items import BREAKS, ENTITIES, Item


class Cutter(Breaks):
    """Cuts one sentence into clauses."""

    def cut(self, items: Sequence[Item]) -> list[Clause]:
        """The clauses of one sentence, in order."""
        clauses: list[Clause] = []
        current = Clause([], first=True)
        for k, item in enumerate(items):
            if item.what in BREAKS:
                if self._new_clause_after(current, items, k):
                    clauses.append(current)
                    current = Clause(
                        [], joined=item.get("joint") or "comma", word=item.text.casefold()
                    )
                elif current.items:
                    current.items.append(item)
                elif item.is_("joint", "and", "or"):
                    current.joined = item.get("joint") or "comma"
                continue
            if item.what in ENTITIES and self._restarts(
                current, items, k, clauses[-1] if clauses else None
            ):
                clauses.append(current)
                current = Clause([])
            kinds = self.frames.kinds_of(item)
            if (
                kinds
                and not current.kinds
                and item.is_("act")
                and not item.is_("act", "egg", "weigh")
                and (
                    current.items
                    and current.items[-1].what == "num"
                    and any(e.what == "tag" for e in current.items)
                    and k + 1 < len(items)
                    and items[k + 1].what in ENTITIES
                )
            ):
                clauses.append(current)
                current = Clause([])
            if kinds and current.kinds and not self._fits(current, item, kinds):
                current, done = self._cut_before(current, item)
                clauses.append(done)
            self._take(current, item, kinds)
        clauses.append(current)
        return [each for each in clauses if each.items]

    def _take(self, clause: Clause, item: Item, kinds: frozenset[str]) -> None:
        clause.items.append(item)
        if kinds:
            clause.kinds = (clause.kinds & kinds or clause.kinds) if clause.kinds else kinds

    def _fits(self, clause: Clause, item: Item, kinds: frozenset[str]) -> bool:
        """True where a new heart can belong to the clause that is being read."""
        if (
            "animal" in clause.kinds
            and self._newcomer(clause)
            and ("placed" in kinds or item.what == "grams" or item.is_("act", "name"))
        ):
            return True
        if self._after_laying(clause, item):
            return True
        if item.is_("state") and not any(e.what in ENTITIES for e in clause.items):
            return any(e.is_("act", "toss") for e in clause.items)
        if not self._shared(clause, kinds):
            return False
        if item.is_("act", "put") and "laid" in clause.kinds and not self._eggs_put(clause):
            return False
        if item.is_("sign") and any(each.is_("sign") for each in clause.items):
            same = [each for each in clause.items if each.is_("sign")]
            return item.get("sign") == same[-1].get("sign")
        if item.what == "grams" and any(each.what in ("grams",) for each in clause.items):
            return True
        return True

    def _after_laying(self, clause: Clause, item: Item) -> bool:
        """What becomes of the eggs just laid: "moved them to B7", "binned both"."""
        if not self._laying(clause) or not any(e.what in BREAKS for e in clause.items[-4:]):
            return False
        return item.is_("act", "toss") or (
            item.is_("act", "move", "at") and not any(e.what == "slot" for e in clause.items)
        )

    def _eggs_put(self, clause: Clause) -> bool:
        """ "laid 2, put them in B4", and not "lays I'll put her in"."""
        return any(e.what in BREAKS for e in clause.items[-4:]) or any(
            e.what == "num" or e.is_("act", "egg") for e in clause.items[-3:]
        )

    def _cut_before(self, clause: Clause, item: Item) -> tuple[Clause, Clause]:
        """Cuts off what belongs to a new heart: from the last break or the last real piece."""
        items = clause.items
        at = len(items)
        for k in range(len(items) - 1, -1, -1):
            if self._heart(items[k]):
                at = k + 1
                break
        breaks = [k for k in range(at, len(items)) if items[k].what in BREAKS]
        if breaks:
            cut = breaks[-1] + 1
        else:
            solid = [
                k
                for k in range(at, len(items))
                if items[k].what in ENTITIES
                or items[k].what in ("num", "grams", "temp", "pct", "date", "time", "ml")
            ]
            cut = solid[-1] + 1 if solid else at
            subject_before = any(each.what in ENTITIES for each in items[: at - 1])
            if (
                len(solid) >= 1
                and items[solid[-1]].what in ENTITIES
                and self._own_subject(items, at, solid, subject_before)
            ):
                cut = solid[-1]
        rest, done_items = items[cut:], items[:cut]
        done = replace(clause, items=done_items, kinds=self._kinds(done_items))
        return Clause(list(rest), kinds=self._kinds(rest), lead=list(clause.lead)), done

    def _own_subject(
        self, items: list[Item], at: int, solid: list[int], subject_before: bool
    ) -> bool:
        """True where the piece before a new heart is its subject and not the last one's object."""
        last = items[solid[-1]]
        led = items[solid[-1] - 1] if solid[-1] > 0 else None
        if led is not None and (led.is_("prep") or led.is_("act", "pair", "part")):
            return False
        if last.what not in self._taken(items[: solid[-1]]):
            return True
        kin = ("place", "box") if last.what in ("place", "box") else (last.what,)
        others = [k for k in solid[:-1] if items[k].what in kin]
        return bool(others) or (subject_before and any(e.what in kin for e in items[: at - 1]))

    def _taken(self, items: Sequence[Item]) -> frozenset[str]:
        """Sorts of pieces that the kinds still possible here take; all where none is."""
        named = {e.what for e in items if e.what in ENTITIES}
        kinds = self._kinds(items)
        able = [self.frames.takes.get(k, ENTITIES) for k in kinds]
        fits = [takes for takes in able if named <= takes]
        return frozenset().union(*fits) if fits and named else ENTITIES

    def _measured_next(self, items: Sequence[Item], k: int) -> bool:
        """True for an animal with its weight right after it: "F13 20.1"."""
        follow = items[k + 1] if k + 1 < len(items) else None
        return (
            items[k].what == "tag"
            and follow is not None
            and (follow.what == "grams" or (follow.what == "num" and "whole" not in follow.senses))
        )

    def _told_already(self, current: Clause) -> bool:
        """True for a clause that has its verb and whom it is about."""
        return any(e.what in ENTITIES for e in current.items) and not any(
            e.is_("act", "weigh", "new", "check", "put") for e in current.items
        )

    def _restarts(
        self, current: Clause, items: Sequence[Item], k: int, before: Clause | None
    ) -> bool:
        """True at a name that begins a new telling with no mark before it ("H1 boy H2 girl")."""
        if not current.items:
            return False
        if not current.kinds:
            return (
                any(e.what == items[k].what for e in current.items)
                and any(e.what == "num" for e in current.items[-2:])
                and k + 1 < len(items)
                and (items[k + 1].what == "num")
            )
        item, last = items[k], current.items[-1]
        if (
            last.is_("prep")
            or last.what in BREAKS
            or last.is_("act", "pair", "candle", "part", "note")
        ):
            return False
        if self._measured_next(items, k) and self._told_already(current):
            return True
        kin = ("place", "box") if item.what in ("place", "box") else (item.what,)
        if last.what == "grams" and len(current.items) == 1 and before is not None:
            return any(e.what in kin for e in before.items) and self._predicate(items, k + 1, True)
        if not any(e.what in kin for e in current.items) and not (
            before is not None
            and (last.is_("sign") or last.is_("state") or last.is_("sex"))
            and any(e.what in kin for e in before.items)
        ):
            return False
        if (
            last.is_("act")
            and last.form in ("past", "base")
            and not any(e.what in ENTITIES for e in current.items[:-1])
        ):
            return False
        return self._predicate(items, k + 1, True)
