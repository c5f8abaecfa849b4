"""Tells where another thing is told after a comma, an "and" or a dash."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.clauses import Clause
from bot.language.frames import NO_KINDS
from bot.language.items import BREAKS, ENTITIES, Item
from bot.language.listing import Lists


class Breaks(Lists):
    """Looks at what follows a break within one sentence."""

    def _fragment(self, items: Sequence[Item], k: int) -> list[Item]:
        """The pieces after the break at `k` up to the next break."""
        out: list[Item] = []
        for item in items[k + 1 :]:
            if item.what in BREAKS:
                if out:
                    break
                continue
            out.append(item)
        return out

    def _new_clause_after(self, current: Clause, items: Sequence[Item], k: int) -> bool:
        """True where another thing is told after the break at `k`."""
        fragment = self._fragment(items, k)
        if not fragment:
            return False
        if self._weighed_again(current, fragment) or self._measured_apart(current, fragment):
            return True
        kinds = self._kinds(fragment)
        subject = self._subject_of(fragment)
        if not current.kinds:
            return subject is not None and self._after_no_heart(current, fragment, kinds, subject)
        if not kinds:
            return self._without_heart(current, fragment, subject)
        if "animal" in current.kinds and self._newcomer(current):
            return not self._describes(fragment, kinds)
        heart_at = next(n for n, each in enumerate(fragment) if self._heart(each))
        if self._told_apart(fragment, heart_at, subject, current):
            return True
        if subject is None and self._goes_on_laying(current, fragment, heart_at):
            return False
        if self._own_deed(current, items[k], fragment, heart_at, subject):
            return True
        if not self._shared(current, kinds) or self._turns(current, fragment, heart_at):
            return True
        return self._said_again(current, items[k], fragment, heart_at, subject)

    def _after_no_heart(
        self, current: Clause, fragment: Sequence[Item], kinds: frozenset[str], subject: Item
    ) -> bool:
        """What follows pieces that told nothing by themselves yet."""
        same = any(e.what == subject.what for e in current.items)
        counted = any(e.what == "num" for e in current.items)
        if kinds and any(e.is_("mood", "neg") for e in current.items):
            denied = current.items[-1].is_("mood", "neg") and any(
                e.what in ENTITIES for e in current.items
            )
            if same or denied:
                return True
        if kinds and counted and same:
            return True  # "Juno 5 dubia and Marigold 6, S1 refused"
        return counted and self._gapped(current, fragment)

    def _without_heart(
        self, current: Clause, fragment: Sequence[Item], subject: Item | None
    ) -> bool:
        """What follows has no verb of its own."""
        if subject is not None and any(
            e.is_("answer", "same") or e.is_("mood", "neg", "plan") for e in fragment
        ):
            return True
        both_in = fragment[0].is_("pron", "both", "they") and any(
            e.is_("prep", "in", "to") for e in fragment
        )
        if both_in and any(e.what == "place" for e in fragment):
            return True  # "..., both in nursery 4"
        if fragment[0].is_("mood", "neg"):  # "P1 laid 2, nothing in P2's"
            return all(any(e.what == "tag" for e in part) for part in (current.items, fragment))
        return subject is not None and self._gapped(current, fragment)

    def _told_apart(
        self, fragment: Sequence[Item], heart_at: int, subject: Item | None, current: Clause
    ) -> bool:
        """A refusal, another feeder, or where "both" went: always told apart."""
        heart = fragment[heart_at]
        if subject is not None and heart.is_("fed", "refused"):
            return True
        fed_already = any(e.is_("food") for e in current.items)
        if subject is not None and fed_already and any(e.is_("food") for e in fragment):
            return True
        placed = any(e.what == "place" for e in fragment) and heart.is_("act", "move", "put", "at")
        return placed and fragment[0].is_("pron", "both", "they", "she", "he")

    def _goes_on_laying(self, current: Clause, fragment: Sequence[Item], heart_at: int) -> bool:
        """ "laid 2, binned both", "laid 2, moved them to B7": of the same eggs."""
        heart = fragment[heart_at]
        if not self._laying(current) or any(e.what in ("tag", "place") for e in fragment):
            return False
        slotted = any(e.what == "slot" for e in fragment)
        put = heart.is_("act", "move", "at") and any(e.what in ("slot", "box") for e in fragment)
        return (heart.is_("act", "toss") and not slotted) or (
            put and not any(e.what == "slot" for e in current.items)
        )

    def _own_deed(
        self,
        current: Clause,
        mark: Item,
        fragment: Sequence[Item],
        heart_at: int,
        subject: Item | None,
    ) -> bool:
        own = any(e.what in ("tag", "slot") for e in fragment) and not (
            self._laying(current) and subject is None
        )
        own = own or mark.get("joint") == "then"  # "put M2 in, then took him out"
        return own and self._another_deed(current, fragment[heart_at])

    def _said_again(
        self,
        current: Clause,
        mark: Item,
        fragment: Sequence[Item],
        heart_at: int,
        subject: Item | None,
    ) -> bool:
        """The same sort of thing of another, or the same verb once more."""
        heart = fragment[heart_at]
        if subject is not None and any(e.what == subject.what for e in current.items):
            return (
                list(fragment).index(subject) < heart_at
                or (mark.what == "joint" and heart_at == 0)
                or (heart.is_("act") and not heart.is_("act", "egg"))
            )
        repeated = heart.is_("act") and any(
            e.is_("act") and e.get("act") == heart.get("act") and e.get("act") not in ("egg", "sex")
            for e in current.items
        )
        return repeated and subject is not None

    def _weighed_again(self, current: Clause, fragment: Sequence[Item]) -> bool:
        """ "yesterday F3 was 22 and today 21.5": a second day with its own weight."""
        whats = {e.what for e in fragment if not e.is_("prep")}
        told = {e.what for e in current.items}
        figures = {"num", "grams"}
        weighing = not current.kinds or "weighed" in current.kinds
        return (
            weighing
            and "date" in whats
            and len(whats & figures) == 1
            and whats <= {"date", *figures}
            and {"tag", "date"} <= told
            and bool(told & figures)
        )

    def _measured_apart(self, current: Clause, fragment: Sequence[Item]) -> bool:
        """ "Juniper 63.2, inc 1 27.2 77%": a weight and the air of a place, by figures alone."""
        sides = [{e.what for e in part if not e.is_("plain")} for part in (current.items, fragment)]
        weight, air = {"tag", "num", "date"}, {"place", "box", "num", "temp", "pct", "joint"}
        weighed = [{"tag", "num"} <= side <= weight for side in sides]
        aired = [bool(side & {"place", "box"}) and side <= air and len(side) > 1 for side in sides]
        return (weighed[0] and aired[1]) or (aired[0] and weighed[1])

    def _turns(self, current: Clause, fragment: Sequence[Item], heart_at: int) -> bool:
        """True where what follows is denied or planned and what went before is not."""
        if any(e.is_("sexmark") for e in (*current.items, *fragment)) or "checked" in current.kinds:
            return False
        moods = ("neg", "plan", "almost", "hedge")
        turned = any(e.is_("mood", *moods) for e in fragment[:heart_at]) or any(
            e.is_("mood", "plan") for e in fragment
        )
        if "searched" in current.kinds and any(
            e.is_("act", "search", "check") for e in current.items
        ):
            return False
        return turned != any(e.is_("mood", *moods) for e in current.items)

    def _shared(self, clause: Clause, kinds: frozenset[str]) -> frozenset[str]:
        """The kinds that a clause and a new heart have in common; `animal` only for a newcomer."""
        shared = clause.kinds & kinds
        if (
            shared == {"animal"}
            and not self._newcomer(clause)
            and not any(e.is_("species") for e in clause.items)
        ):
            return NO_KINDS
        return shared

    def _another_deed(self, current: Clause, heart: Item) -> bool:
        """True where a second verb of doing tells of another thing: "lifted the cork, moved Y5"."""
        deeds = ("put", "move", "take", "took", "part", "pair", "feed", "water", "toss")
        return heart.is_("act", *deeds) and any(
            e.is_("act", *deeds) and e.get("act") != heart.get("act") for e in current.items
        )

    def _newcomer(self, clause: Clause) -> bool:
        return any(each.is_("act", "new") for each in clause.items)

    def _describes(self, fragment: Sequence[Item], kinds: frozenset[str]) -> bool:
        """True for more of a newcomer's description: sex, hatch day, parents, place, weight."""
        if "animal" in kinds or self._both_parents(fragment):
            return True
        if any(e.is_("act", "name") for e in fragment):
            return any(e.what == "tag" for e in fragment)
        if all(
            e.what in ("grams", "comma")
            or e.text.casefold() in ("weighs", "weighing", "at", "about", "is")
            for e in fragment
        ):
            return True
        if kinds & {"placed", "shifted"} and any(e.what == "place" for e in fragment):
            return not any(e.what == "tag" for e in fragment)
        return any(e.is_("trait") for e in fragment) and not any(e.what == "tag" for e in fragment)

    def _both_parents(self, fragment: Sequence[Item]) -> bool:
        """ "M2 x F3" alone: of a newcomer they are the parents, and no pairing."""
        kinds = [each.what for each in fragment]
        return kinds == ["tag", "word", "tag"] and fragment[1].word == "x"

    def _subject_of(self, fragment: Sequence[Item]) -> Item | None:
        for n, item in enumerate(fragment):
            if item.what in ENTITIES:
                led = n > 0 and fragment[n - 1].is_("prep", "in", "to", "from", "on", "of", "at")
                return None if led else item
        return None

    def _gapped(self, current: Clause, fragment: Sequence[Item]) -> bool:
        """ "F4 to tub 13", "F7 1", "M1 with F7": a second round of the same, its verb left out."""
        if any(each.is_("act", "new") for each in current.items):
            return False
        subject = next(e for e in fragment if e.what in ENTITIES)
        if (
            subject.what == "tag"
            and "laid" in current.kinds
            and not any(e.what == "tag" for e in current.items)
        ):
            return any(e.what == "num" for e in fragment) and any(
                e.what == "num" for e in current.items
            )
        if not any(e.what == subject.what for e in current.items):
            return subject.what in ("place", "box") and any(e.what == "num" for e in fragment)
        rest = fragment[fragment.index(subject) + 1 :]
        if any(e.what == "num" for e in rest) or any(e.what == "num" for e in fragment):
            return True
        into = "placed" in current.kinds and any(e.is_("prep", "in", "on", "at") for e in rest)
        if into and any(e.what == "place" for e in rest):
            return True  # "moved K11 in tub 24 and K12 in tub 25"
        return any(e.is_("prep", "to", "with") for e in rest) and any(
            e.what in ENTITIES for e in rest
        )

    def _laying(self, clause: Clause) -> bool:
        """True for a clause that tells of eggs laid or found, not merely of an egg's state."""
        if "laid" not in clause.kinds:
            return False
        if any(e.is_("act", "lay", "find", "give", "drop", "leave") for e in clause.items):
            return True
        lying = any(e.is_("state") for e in clause.items) and not any(
            e.what in ("tag", "num") for e in clause.items
        )  # "the egg in A4 has collapsed" tells of one that lies there
        return any(e.is_("act", "egg") for e in clause.items) and not lying
