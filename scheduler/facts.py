"""A colony's facts, looked up quickly: per animal, per clutch, per box, per incubator.

Each index is built the first time it is asked for and kept for as long as that `Colony` lives, so
that working out one animal's tasks does not cost as much as working out everybody's.
"""

from __future__ import annotations

import weakref
from collections import defaultdict
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping
from datetime import date
from functools import cached_property, lru_cache
from operator import attrgetter
from typing import Any, TypeVar

from scheduler.colony import (
    Animal,
    ClimateReading,
    Clutch,
    Colony,
    Egg,
    Feeding,
    Pairing,
    Search,
    Sign,
    Weight,
)
from scheduler.species import Figure, Species, SpeciesError, general, load

T = TypeVar("T")
K = TypeVar("K", bound=Hashable)

HOPELESS = frozenset({"infertile", "mould", "collapsed"})
"""Egg states from which no hatch is waited for."""


def group(
    rows: Iterable[T], key: Callable[[T], K], order: Callable[[T], Any] | None = None
) -> dict[K, list[T]]:
    """The rows by key, each group in order (by default: as they come)."""
    groups: defaultdict[K, list[T]] = defaultdict(list)
    for row in rows:
        groups[key(row)].append(row)
    for members in groups.values() if order else ():
        if len(members) > 1:
            members.sort(key=order)
    return dict(groups)


@lru_cache(maxsize=8192)
def place_name(place: str) -> str:
    """One spelling for comparing places: "Box  B" and "box b" are the same."""
    return " ".join(place.casefold().split())


@lru_cache(maxsize=8192)
def box_name(place: str) -> str:
    """The box a place means: "box B" and "b" are box "b"."""
    return place_name(place).removeprefix("box ")


@lru_cache(maxsize=8192)
def incubator_name(place: str) -> str:
    """The incubator a place means: "incubator 1" and "1" are incubator "1"."""
    return place_name(place).removeprefix("incubator ")


@lru_cache(maxsize=8192)
def box_of(slot: str) -> str:
    """The box letter(s) of a slot: "B4" is in box "B"."""
    return slot.rstrip("0123456789")


@lru_cache(maxsize=8192)
def slot_order(slot: str) -> tuple[str, int]:
    """Sorts B9 before B10."""
    box = box_of(slot)
    return box, int(slot[len(box) :] or 0)


class Facts:
    """One colony's facts by subject. Lists are oldest first."""

    def __init__(self, colony: Colony) -> None:
        # Weak: `facts` keeps this for as long as the colony lives, and must not keep it alive.
        self._colony = weakref.ref(colony)
        self._animals = colony.animals
        self._species: dict[str | None, Species] = {}
        self._figures: dict[tuple[str | None, str], Figure] = {}

    def take_over(self, earlier: Facts, differing: Mapping[str, Collection[Any]]) -> None:
        """Keep the indexes of an earlier colony that rest on no field that differs.

        `differing` gives, by field, the rows that either colony has alone. An index by subject is
        made anew for the subjects of those rows only.
        """
        self._species, self._figures = earlier._species, earlier._figures
        for name, rests_on in _RESTS_ON.items():
            if name not in vars(earlier):
                continue
            if rests_on.isdisjoint(differing):
                vars(self)[name] = vars(earlier)[name]
            elif name in _BY_SUBJECT:
                (rows,) = rests_on
                subject, order = _BY_SUBJECT[name]
                anew = {subject(row) for row in differing[rows]}
                index = {k: v for k, v in vars(earlier)[name].items() if k not in anew}
                mine = (row for row in getattr(self.colony, rows) if subject(row) in anew)
                vars(self)[name] = {**index, **group(mine, subject, order)}

    @property
    def colony(self) -> Colony:
        """The colony these facts are of."""
        colony = self._colony()
        if colony is None:
            raise ReferenceError("the colony of these facts is gone")
        return colony

    def species(self, key: str | None) -> Species:
        """The species of that key; what no file is known for has general gecko values."""
        if key not in self._species:
            try:
                self._species[key] = load(key) if key else general()
            except SpeciesError:
                self._species[key] = general()
        return self._species[key]

    def figure(self, species: str | None, parameter: str) -> Figure:
        """A species' figure; an honest gap where nobody knows it."""
        figure = self._figures.get((species, parameter))
        if figure is None:
            try:
                figure = self.species(species).figure(parameter)
            except KeyError:
                figure = Figure(None, None, None, "", "not found", "")
            self._figures[species, parameter] = figure
        return figure

    def species_of(self, tag: str | None) -> str | None:
        """The species key of an animal, None where it is not known."""
        animal = self._animals.get(tag or "")
        return animal.species if animal else None

    def kept(self, tag: str) -> Animal | None:
        """The animal, if it is (still) in the household's care."""
        animal = self._animals.get(tag)
        return animal if animal and animal.status == "kept" else None

    @cached_property
    def all_kept(self) -> tuple[Animal, ...]:
        """Every animal in the household's care."""
        return tuple(a for a in self.colony.animals.values() if a.status == "kept")

    @cached_property
    def by_place(self) -> dict[tuple[str, str | None], list[Animal]]:
        """Kept animals by place and species."""
        housed = (animal for animal in self.all_kept if animal.place)
        return group(housed, lambda a: (place_name(a.place or ""), a.species), lambda a: a.tag)

    @cached_property
    def species_at(self) -> dict[str, list[str | None]]:
        """The species kept at each place."""
        at: dict[str, list[str | None]] = defaultdict(list)
        for place, species in self.by_place:
            at[place].append(species)
        return dict(at)

    @cached_property
    def litters(self) -> dict[tuple[str, date], list[Animal]]:
        """Kept animals by dam and day of hatching (one whose dam is unknown stands alone)."""
        born = (animal for animal in self.all_kept if animal.hatched)
        return group(born, litter_of, lambda a: a.tag)

    @cached_property
    def unsexed(self) -> dict[tuple[str, date], list[Animal]]:
        """As `litters`, those alone whose sex is not known."""
        born = (a for a in self.all_kept if a.sex == "unknown" and a.hatched)
        return group(born, litter_of, lambda a: a.tag)

    @cached_property
    def parents(self) -> frozenset[str]:
        """Every animal that is somebody's sire or dam."""
        rows = self.colony.animals.values()
        return frozenset(p for a in rows for p in (a.sire, a.dam) if p)

    @cached_property
    def pairings_of(self) -> dict[str, list[Pairing]]:
        """Pairings by animal, male or female."""
        rows = sorted(self.colony.pairings, key=_pairing_order)
        females = group(rows, attrgetter("female"))
        males = group(rows, attrgetter("male"))
        return {**males, **females}

    @cached_property
    def clutches_of(self) -> dict[str, list[Clutch]]:
        """Clutches by dam."""
        return group(self.colony.clutches, *_BY_SUBJECT["clutches_of"])

    @cached_property
    def weights_of(self) -> dict[str, list[Weight]]:
        """Weighings by animal."""
        return group(self.colony.weights, *_BY_SUBJECT["weights_of"])

    @cached_property
    def signs_of(self) -> dict[str, list[Sign]]:
        """Signs by animal."""
        return group(self.colony.signs, *_BY_SUBJECT["signs_of"])

    @cached_property
    def searches_of(self) -> dict[str, list[Search]]:
        """Searches by female."""
        return group(self.colony.searches, *_BY_SUBJECT["searches_of"])

    @cached_property
    def feedings_of(self) -> dict[str, list[Feeding]]:
        """Feedings that name an animal itself (not its place), by animal."""
        rows = [(tag, f) for f in self.colony.feedings for tag in f.who]
        return {
            tag: [f for _, f in members]
            for tag, members in group(rows, lambda r: r[0], lambda r: r[1].on).items()
        }

    @cached_property
    def in_the_box(self) -> tuple[Egg, ...]:
        """Eggs still incubating."""
        return tuple([egg for egg in self.colony.eggs if egg.end is None])

    @cached_property
    def incubating(self) -> dict[str, list[Egg]]:
        """Eggs still in the box by clutch (see `clutch_of`), in order of slot."""
        return group(self.in_the_box, clutch_of, lambda egg: slot_order(egg.slot or egg.key))

    @cached_property
    def eggs_in_box(self) -> dict[str, list[Egg]]:
        """Eggs still in the box by box name, oldest first."""
        slotted = (egg for egg in self.in_the_box if egg.slot)
        return group(slotted, lambda egg: box_name(box_of(egg.slot or "")), lambda egg: egg.laid)

    @cached_property
    def eggs_in_incubator(self) -> dict[str, list[Egg]]:
        """Eggs still in the box by incubator name, oldest first."""
        slotted = ((self.incubator_of(egg), egg) for egg in self.in_the_box)
        rows = [(name, egg) for name, egg in slotted if name]
        return {
            name: [egg for _, egg in members]
            for name, members in group(rows, lambda r: r[0], lambda r: r[1].laid).items()
        }

    @cached_property
    def _incubators(self) -> dict[str, str | None]:
        return {box_name(box.box): box.incubator for box in self.colony.boxes.values()}

    def incubator_of(self, egg: Egg) -> str | None:
        """The name of the incubator an egg stands in now, None where it is not known."""
        return self.incubator_of_box(box_name(box_of(egg.slot or "")))

    def incubator_of_box(self, box: str) -> str | None:
        """The name of the incubator a box stands in, None where it is not known."""
        incubator = self._incubators.get(box)
        return incubator_name(incubator) if incubator else None

    @cached_property
    def last_watered(self) -> dict[str, date]:
        """The last watering by box name."""
        last: dict[str, date] = {}
        for row in self.colony.waterings:
            box = box_name(row.place)
            last[box] = max(row.on, last.get(box, row.on))
        return last

    @cached_property
    def last_reading(self) -> dict[str, ClimateReading]:
        """The last reading by incubator name; one taken in a box counts for its incubator."""
        last: dict[str, ClimateReading] = {}
        for row in self.colony.readings:
            box = self._incubators.get(box_name(row.place))
            name = incubator_name(box) if box else incubator_name(row.place)
            if name not in last or row.at > last[name].at:
                last[name] = row
        return last


# How each index by subject is made: whom a row is about, and the order of its rows.
_BY_SUBJECT: Mapping[str, tuple[Callable[[Any], str], Callable[[Any], Any]]] = {
    "clutches_of": (attrgetter("dam"), attrgetter("laid", "key")),
    "weights_of": (attrgetter("tag"), attrgetter("on")),
    "signs_of": (attrgetter("tag"), attrgetter("on")),
    "searches_of": (attrgetter("tag"), attrgetter("on")),
}

# The fields of a colony that each index is made of.
_RESTS_ON: Mapping[str, frozenset[str]] = {
    **dict.fromkeys(
        ("all_kept", "by_place", "species_at", "litters", "unsexed", "parents"),
        frozenset({"animals"}),
    ),
    **dict.fromkeys(("in_the_box", "incubating", "eggs_in_box"), frozenset({"eggs"})),
    "eggs_in_incubator": frozenset({"eggs", "boxes"}),
    "_incubators": frozenset({"boxes"}),
    "pairings_of": frozenset({"pairings"}),
    "clutches_of": frozenset({"clutches"}),
    "weights_of": frozenset({"weights"}),
    "signs_of": frozenset({"signs"}),
    "searches_of": frozenset({"searches"}),
    "feedings_of": frozenset({"feedings"}),
    "last_watered": frozenset({"waterings"}),
    "last_reading": frozenset({"readings", "boxes"}),
}

_known: dict[int, tuple[weakref.ref[Colony], Facts]] = {}


def facts(colony: Colony) -> Facts:
    """The facts of a colony, built once for as long as that very `Colony` object lives."""
    known = _known.get(id(colony))
    if known is not None and known[0]() is colony:
        return known[1]
    number = id(colony)
    made = Facts(colony)
    _known[number] = (weakref.ref(colony, lambda _: _known.pop(number, None)), made)
    return made


def litter_of(animal: Animal) -> tuple[str, date]:
    """What ties siblings of one clutch together: the dam (else the animal itself) and the day."""
    assert animal.hatched is not None
    return animal.dam or animal.tag, animal.hatched


def clutch_of(egg: Egg) -> str:
    """The egg's clutch; eggs of no recorded clutch go together by dam and day."""
    return egg.clutch or f"{egg.dam or egg.key} {egg.laid}"


def _pairing_order(pairing: Pairing) -> tuple[date, bool, date, str]:
    out = pairing.taken_out
    return pairing.put_in, out is None, out or pairing.put_in, pairing.key
