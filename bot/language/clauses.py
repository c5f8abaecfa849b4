"""Cuts a message into clauses, each about one thing that happened, and joins lists of animals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from bot.language.frames import NO_KINDS, Frames
from bot.language.items import BREAKS, ENTITIES, Item
from bot.language.view import View

_SKIPPED = frozenset({"date", "time", "span"})


@dataclass(slots=True)
class Clause:
    """Pieces that tell one thing. `kinds` are the kinds of record it could be.

    `lead` holds a day told ahead of the whole sentence; `moods` how it is told.
    """

    items: list[Item]
    kinds: frozenset[str] = NO_KINDS
    moods: set[str] = field(default_factory=set)
    lead: list[Item] = field(default_factory=list)
    asked: bool = False
    first: bool = False  # the first clause of its sentence
    word: str = ""  # that word itself
    joined: str = ""  # what parts it from the one before: and, or, then, comma


def sentences(items: Sequence[Item]) -> list[tuple[list[Item], str]]:
    """The message cut at full stops, question marks and line ends, with the mark of each."""
    out: list[tuple[list[Item], str]] = []
    current: list[Item] = []
    for k, item in enumerate(items):
        if item.what in ("comma", "joint") and current and _asks_next(items, k):
            out.append((current, ","))
            current = []
            continue
        if item.what != "stop":
            current.append(item)
            continue
        if current:
            out.append((current, item.value))
            current = []
        elif out and item.value == "?" and out[-1][1] != "\n":
            out[-1] = (out[-1][0], "?")
    if current:
        out.append((current, ""))
    return out


_QUESTION_WORDS = frozenset({"when", "whens", "what", "whats", "how", "where", "who", "which"})
_HELPERS = frozenset(
    {"will", "is", "'s", "does", "did", "should", "do", "are", "was", "can", "has", "many", "would"}
)


def _asks_next(items: Sequence[Item], k: int) -> bool:
    """True at a comma after which a question begins: "P1 62.0, when will she lay next"."""
    if k + 2 >= len(items):
        return False
    first, second = (items[n].text.casefold().split()[:1] for n in (k + 1, k + 2))
    return (
        bool(first and second)
        and first[0] in _QUESTION_WORDS
        and (second[0] in _HELPERS or first[0] in ("whens", "whats"))
    )


def _lying(items: Sequence[Item], k: int) -> bool:
    """True for the eggs of "the eggs in D9 and D10": they are told of by where they lie."""
    if k < 0 or not items[k].is_("act", "egg"):
        return False
    rest = items[k + 1 :]
    return not rest or (len(rest) == 1 and rest[0].is_("prep", "in"))


class Cutter:
    """Cuts one sentence into clauses."""

    def __init__(self, frames: Frames, view: View) -> None:
        self.frames = frames
        self.view = view

    # -- lists: "F1, F2 and F4" -------------------------------------------------------------------

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
            if j >= len(items) or items[j].what != item.what:
                return item, k
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

    # -- clauses ----------------------------------------------------------------------------------

    def _heart(self, item: Item) -> bool:
        return bool(self.frames.kinds_of(item))

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

    def _kinds(self, items: Sequence[Item]) -> frozenset[str]:
        kinds: frozenset[str] = NO_KINDS
        for item in items:
            found = self.frames.kinds_of(item)
            if found:
                kinds = (kinds & found) or kinds if kinds else found
        return kinds

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
        fragment = self._fragment(items, k)
        if not fragment:
            return False
        if self._weighed_again(current, fragment):
            return True
        kinds = self._kinds(fragment)
        subject = self._subject_of(fragment)
        if (
            not current.kinds
            and kinds
            and subject is not None
            and any(e.is_("mood", "neg") for e in current.items)
            and (
                any(e.what == subject.what for e in current.items)
                or (
                    current.items[-1].is_("mood", "neg")
                    and any(e.what in ENTITIES for e in current.items)
                )
            )
        ):
            return True
        if (
            not current.kinds
            and kinds
            and subject is not None
            and any(e.what == "num" for e in current.items)
            and any(e.what == subject.what for e in current.items)
        ):
            return True  # "Juno 5 dubia and Marigold 6, S1 refused"
        if not current.kinds:
            return (
                subject is not None
                and any(e.what == "num" for e in current.items)
                and (self._gapped(current, fragment))
            )
        if (
            not kinds
            and subject is not None
            and any(e.is_("answer", "same") or e.is_("mood", "neg", "plan") for e in fragment)
        ):
            return True
        both_in = fragment[0].is_("pron", "both", "they") and any(
            e.is_("prep", "in", "to") for e in fragment
        )
        if not kinds and both_in and any(e.what == "place" for e in fragment):
            return True  # "..., both in nursery 4"
        if not kinds and fragment[0].is_("mood", "neg"):  # "P1 laid 2, nothing in P2's"
            return all(any(e.what == "tag" for e in part) for part in (current.items, fragment))
        if not kinds:
            return subject is not None and self._gapped(current, fragment)
        heart_at = next(n for n, each in enumerate(fragment) if self._heart(each))
        if "animal" in current.kinds and self._newcomer(current):
            return not self._describes(fragment, kinds)
        if subject is not None and fragment[heart_at].is_("fed", "refused"):
            return True
        fed_already = any(e.is_("food") for e in current.items)
        if subject is not None and fed_already and any(e.is_("food") for e in fragment):
            return True
        if (
            fragment[0].is_("pron", "both", "they", "she", "he")
            and any(e.what == "place" for e in fragment)
            and fragment[heart_at].is_("act", "move", "put", "at")
        ):
            return True  # "A1 and A2 hatched, both went into nursery 4"
        shared = self._shared(current, kinds)
        if (
            subject is None
            and self._laying(current)
            and not any(e.what in ("tag", "place") for e in fragment)
            and (
                (
                    fragment[heart_at].is_("act", "toss")
                    and not any(e.what == "slot" for e in fragment)
                )
                or (
                    fragment[heart_at].is_("act", "move", "at")
                    and any(e.what in ("slot", "box") for e in fragment)
                    and not any(e.what == "slot" for e in current.items)
                )
            )
        ):
            return False
        own = any(e.what in ("tag", "slot") for e in fragment) and not (
            self._laying(current) and subject is None
        )
        own = own or items[k].get("joint") == "then"  # "put M2 in, then took him out"
        if own and self._another_deed(current, fragment[heart_at]):
            return True
        if not shared or self._turns(current, fragment, heart_at):
            return True
        if subject is not None and any(e.what == subject.what for e in current.items):
            place = fragment.index(subject)
            return (
                place < heart_at
                or (items[k].what == "joint" and heart_at == 0)
                or (fragment[heart_at].is_("act") and not fragment[heart_at].is_("act", "egg"))
            )
        if fragment[heart_at].is_("act") and any(
            e.is_("act")
            and e.get("act") == fragment[heart_at].get("act")
            and e.get("act") not in ("egg", "sex")
            for e in current.items
        ):
            return subject is not None
        return False

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
        if "animal" in kinds:
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
