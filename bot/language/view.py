"""The small view of the book that reading needs: tags, names, slots, places, open pairings.

It is plain data that the book fills and keeps up to date; reading only looks things up
in it, so that the cost of a message does not grow with the book.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class AnimalSeen:
    """An animal as the reader sees it. `status` is kept, sold, given, died or lost."""

    tag: str
    sex: str = "unknown"
    species: str | None = None
    name: str | None = None
    place: str | None = None
    hatched: date | None = None
    status: str = "kept"
    grams: float | None = None  # as last weighed
    weighed: date | None = None


@dataclass(frozen=True)
class BoxSeen:
    """An egg box: slots run from 1 to rows x columns. `incubator` is "1" for incubator 1."""

    box: str
    rows: int
    columns: int
    incubator: str | None = None
    name: str | None = None


@dataclass(frozen=True)
class EggSeen:
    """An egg now lying in a slot."""

    slot: str
    dam: str | None = None
    state: str | None = None
    laid: date | None = None


@dataclass(frozen=True)
class PairingSeen:
    """A male now in with a female."""

    male: str
    female: str
    since: date


@lru_cache(maxsize=4096)
def words_of(name: str) -> str:
    """A name's words, folded, whatever parts them.

    >>> words_of("Grow-out 2")
    'grow out 2'
    """
    return " ".join("".join(c if c.isalnum() else " " for c in name.casefold()).split())


@dataclass
class View:
    """What reading may know of one household's book. Keys are as the book writes them ("F3", "B4").

    `names` maps a case-folded name to the tags that carry it; `places` maps a case-folded
    place ("rack b tub 4") to the book's spelling.
    """

    zone: ZoneInfo
    animals: dict[str, AnimalSeen] = field(default_factory=dict)
    names: dict[str, tuple[str, ...]] = field(default_factory=dict)
    boxes: dict[str, BoxSeen] = field(default_factory=dict)
    eggs: dict[str, EggSeen] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    pairings: tuple[PairingSeen, ...] = ()
    species: Mapping[str, str] = field(default_factory=dict)  # key -> scientific name
    last_species: str | None = None

    @property
    def box_names(self) -> dict[str, str]:
        """Case-folded letters and longer names of boxes and their letters."""
        known = self.__dict__.get("_box_names")
        if known is None or known[0] != len(self.boxes):
            names = {
                name.casefold(): box.box
                for box in self.boxes.values()
                for name in (box.name, box.box)
                if name
            }
            known = (len(self.boxes), names)
            self.__dict__["_box_names"] = known
        found: dict[str, str] = known[1]
        return found

    @property
    def incubators(self) -> dict[str, str]:
        """Case-folded names of incubators that have one ("wine cooler")."""
        known = self.__dict__.get("_incubators")
        if known is None or known[0] != len(self.boxes):
            names = {
                b.incubator for b in self.boxes.values() if b.incubator and len(b.incubator) > 2
            }
            known = (len(self.boxes), {name.casefold(): name for name in names})
            self.__dict__["_incubators"] = known
        found: dict[str, str] = known[1]
        return found

    @property
    def place_keys(self) -> dict[str, str]:
        """Places by their words alone ("grow out 2" for "grow-out 2"), incubators' names too."""
        known = self.__dict__.get("_place_keys")
        size = (len(self.places), len(self.boxes))
        if known is None or known[0] != size:
            names = {**self.incubators, **self.places}
            known = (size, {words_of(name): spelt for name, spelt in names.items()})
            self.__dict__["_place_keys"] = known
        found: dict[str, str] = known[1]
        return found

    @property
    def place_stems(self) -> dict[str, str]:
        """What numbered places begin with ("grow out"), as the book writes it ("grow-out")."""
        known = self.__dict__.get("_place_stems")
        if known is None or known[0] != len(self.places):
            stems = {}
            for spelt in self.places.values():
                stem, _, number = spelt.rpartition(" ")
                if stem and number.isdigit():
                    stems[words_of(stem)] = stem
            known = (len(self.places), stems)
            self.__dict__["_place_stems"] = known
        found: dict[str, str] = known[1]
        return found

    @property
    def place_firsts(self) -> frozenset[str]:
        """The first word of every place, so that most words need no look-up."""
        known = self.__dict__.get("_place_firsts")
        size = (len(self.places), len(self.boxes))
        if known is None or known[0] != size:
            known = (size, frozenset(n.split()[0] for n in self.place_keys if n))
            self.__dict__["_place_firsts"] = known
        found: frozenset[str] = known[1]
        return found

    @property
    def place_groups(self) -> frozenset[str]:
        """What places of two nouns begin with: the "tower" of "tower drawer 5"."""
        known = self.__dict__.get("_place_groups")
        if known is None or known[0] != len(self.places):
            stems = [stem.split() for stem in self.place_stems]
            groups = frozenset(s[0] for s in stems if len(s) > 1 and len(s[1]) > 1)
            known = (len(self.places), groups)
            self.__dict__["_place_groups"] = known
        found: frozenset[str] = known[1]
        return found

    @property
    def place_leads(self) -> frozenset[str]:
        """What the book's places begin with, word by word: "rack", "rack b", "rack b tub"..."""
        known = self.__dict__.get("_place_leads")
        if known is None or known[0] != len(self.places):
            leads: set[str] = set()
            for name in self.places:
                words = name.split()
                leads.update(" ".join(words[:n]) for n in range(1, len(words) + 1))
            known = (len(self.places), frozenset(leads))
            self.__dict__["_place_leads"] = known
        found: frozenset[str] = known[1]
        return found

    @property
    def place_words(self) -> frozenset[str]:
        """Every word that a place's name holds, so that none is taken for a misspelling."""
        known = self.__dict__.get("_place_words")
        size = (len(self.places), len(self.boxes))
        if known is None or known[0] != size:
            words = {word for place in self.place_keys for word in place.split()}
            known = (size, frozenset(words))
            self.__dict__["_place_words"] = known
        found: frozenset[str] = known[1]
        return found

    def partners(self, tag: str) -> tuple[PairingSeen, ...]:
        """The open pairings of one animal; indexed once while `pairings` stays the same."""
        known = self.__dict__.get("_partners")
        if known is None or known[0] is not self.pairings:
            index: dict[str, tuple[PairingSeen, ...]] = {}
            for pairing in self.pairings:
                for one in (pairing.male, pairing.female):
                    index[one] = (*index.get(one, ()), pairing)
            known = (self.pairings, index)
            self.__dict__["_partners"] = known
        found: tuple[PairingSeen, ...] = known[1].get(tag, ())
        return found
