"""The colony that thinking gets: made from the state, happenings turned into plain facts."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from itertools import islice
from typing import Any
from weakref import WeakKeyDictionary
from zoneinfo import ZoneInfo

from bot.book.rows import Happening
from bot.book.state import State
from scheduler.colony import (
    Animal,
    ClimateReading,
    Colony,
    Feeding,
    Plan,
    Search,
    Sign,
    Trait,
    Watering,
    Weight,
)
from scheduler.inheritance import INHERITANCES
from scheduler.traits import definitions, read_word

NOON = time(12)  # a reading with no time of day counts for the middle of its day
_NOON = NOON.isoformat("minutes")

_INHERITED = re.compile(
    r"(?:the )?(?:trait )?(?P<name>\S.*?) is (?P<how>[a-z -]+?)(?: by (?P<by>ZW|XY))?"
    r"(?:[,;] ?(?P<more>.+?))?\.?",
    re.IGNORECASE,
)
_SYSTEM = re.compile(r"(?:the )?(?:system is |by )?(?P<system>ZW|XY)", re.IGNORECASE)
_DOUBLE = re.compile(
    r"(?:the )?(?:double|super|two copies)(?: form)?(?: (?:is|are))?(?: called)? (?P<double>\S.*)",
    re.IGNORECASE,
)
_SHOWS = re.compile(
    r"(?:it )?(?:(?:shows|is|looks|visual|turned out(?: to be)?)(?: a| like a?)? )?"
    r"(?P<word>.+?)\.?",
    re.IGNORECASE,
)
_HOW = {re.sub(r"\W", "", how): how for how in INHERITANCES}  # however its words are spaced


@dataclass
class _Known:
    """What was made of a state: its colony, and the happenings' lines by kind in their order."""

    seen: int = 0  # happenings taken in; a state that stays one only ever gets more
    colony: Colony | None = None
    noted: int = 0  # notes that the colony's traits and its animals' traits were made of
    animals: Mapping[str, Animal] = field(default_factory=dict)  # as they were before notes
    order: dict[str, list[tuple[date, str, int]]] = field(default_factory=lambda: defaultdict(list))
    lines: dict[str, list[Any]] = field(default_factory=lambda: defaultdict(list))


_known: WeakKeyDictionary[State, _Known] = WeakKeyDictionary()


def colony(state: State, zone: ZoneInfo) -> Colony:
    """One household's facts at this moment; the same object until a record is added.

    What was made of the state before is kept: only the happenings since are turned into facts.
    """
    known = _known.get(state)
    if known is None or (known.colony is not None and known.colony.zone != zone):
        known = _known[state] = _Known()
    if known.colony is not None and known.seen == len(state.happenings):
        return known.colony
    _take_in(known, state, zone)
    before, known.colony = known.colony, _colony(known, state, zone)
    if before is not None:
        from scheduler.changes import carry_over

        carry_over(before, known.colony)
    return known.colony


def _take_in(known: _Known, state: State, zone: ZoneInfo) -> None:
    """Turn the happenings not yet seen into lines, each put where its day and hour belong."""
    new = list(islice(reversed(state.happenings.values()), len(state.happenings) - known.seen))
    known.seen = len(state.happenings)
    for happening in sorted(new, key=_when):
        make = _FACTS.get(happening.kind)
        if make is None:
            continue
        order, lines = known.order[happening.kind], known.lines[happening.kind]
        when, line = _when(happening), make(happening, zone)
        if not order or order[-1] <= when:
            order.append(when)
            lines.append(line)
        else:
            place = bisect_right(order, when)
            order.insert(place, when)
            lines.insert(place, line)


def _when(happening: Happening) -> tuple[date, str, int]:
    """The order of what happened: by day, hour (noon where none was said), then as it was said."""
    return happening.on, happening.at or _NOON, happening.entry


def _colony(known: _Known, state: State, zone: ZoneInfo) -> Colony:
    """The colony; of the earlier one every part that is the same is kept as it is."""
    lines, before = known.lines, known.colony or Colony(zone)
    animals, traits = _with_traits(known, state, before)
    parts: dict[str, Any] = {
        "animals": animals,
        "pairings": tuple(state.pairings.values()),
        "clutches": tuple(state.clutches.values()),
        "eggs": tuple(state.eggs.values()),
        "boxes": dict(state.boxes),
        **{name: _all(lines[kind], getattr(before, name)) for name, kind in _LINES.items()},
        "traits": traits,
    }
    same = {name: getattr(before, name) for name in parts}
    return Colony(zone, **{n: same[n] if same[n] == v else v for n, v in parts.items()})


def _all(lines: list[Any], before: tuple[Any, ...]) -> tuple[Any, ...]:
    """The lines of a kind; there only ever come more, so as many as before are the same."""
    return before if len(before) == len(lines) else tuple(lines)


def _with_traits(
    known: _Known, state: State, before: Colony
) -> tuple[Mapping[str, Animal], tuple[Trait, ...]]:
    """The animals with the traits that notes tell of, and the traits that notes define.

    Notes are read again only where there are more of them, or the animals are others.
    """
    notes, animals = known.lines["note"], dict(state.animals)
    more = len(notes) != known.noted
    if not more and animals == known.animals:
        return before.animals, before.traits
    known.noted, known.animals = len(notes), animals
    traits = _traits(notes) if more else before.traits
    return _with_noted_traits(dict(animals), notes, traits), traits


def trait_in(text: str) -> Trait | None:
    """The trait that a note defines, "stripe is recessive"; None where it is another note.

    An incomplete dominant may name its double form, a sex-linked trait its chromosomes:

    >>> trait_in("Trait stripe is recessive")
    Trait(name='stripe', inheritance='recessive', double=None, system='ZW')
    >>> trait_in("snow is incomplete dominant, double is blizzard")
    Trait(name='snow', inheritance='incomplete dominant', double='blizzard', system='ZW')
    >>> trait_in("pale is sex-linked, XY")
    Trait(name='pale', inheritance='sex-linked', double=None, system='XY')
    """
    found = _INHERITED.fullmatch(" ".join(text.split()))
    how = _HOW.get(re.sub(r"\W", "", found["how"].casefold())) if found else None
    if found is None or how is None:
        return None
    more = found["by"] or found["more"] or ""
    system = _SYSTEM.fullmatch(more) if how == "sex-linked" else None
    double = _DOUBLE.fullmatch(more) if how == "incomplete dominant" else None
    if more and not system and not double:
        return None
    return Trait(
        _small(found["name"]),
        how,
        double=_small(double["double"]) if double else None,
        system=system["system"].upper() if system else "ZW",
    )


def _small(name: str) -> str:
    return name[:1].lower() + name[1:]  # a phone writes the first letter large


def trait_word(text: str, sex: str, defined: Mapping[str, Trait]) -> str | None:
    """The trait word that a note on an animal holds: "shows stripe" is "stripe".

    None where it says something else, or a trait that nobody has defined.
    """
    found = _SHOWS.fullmatch(" ".join(text.split()))
    if found is None or not defined:
        return None
    word = _small(found["word"])
    read = read_word(word, sex if sex in ("female", "male") else "male", defined)
    return None if isinstance(read, str) else word


def _with_noted_traits(
    animals: dict[str, Animal], notes: Iterable[Happening], traits: tuple[Trait, ...]
) -> dict[str, Animal]:
    """The animals, with the traits that notes on them tell of: so a young one's look is written."""
    defined = definitions(traits)
    for note in notes if defined else ():
        animal = animals.get(note.about)
        word = trait_word(note.fields["text"], animal.sex, defined) if animal else None
        if animal and word and word not in animal.traits:
            animals[animal.tag] = replace(animal, traits=(*animal.traits, word))
    return animals


def _traits(notes: Iterable[Happening]) -> tuple[Trait, ...]:
    """The traits that notes define, oldest first; of two notes on one trait the later counts."""
    told = (trait_in(each.fields["text"]) for each in notes)
    return tuple(definitions(each for each in told if each is not None).values())


def _reading(h: Happening, zone: ZoneInfo) -> ClimateReading:
    at = datetime.combine(h.on, time.fromisoformat(h.at) if h.at else NOON, zone)
    return ClimateReading(at, h.about, h.fields.get("celsius"), h.fields.get("humidity"))


def _fed(h: Happening, zone: ZoneInfo) -> Feeding:
    got = h.fields.get
    dusted, refused = bool(got("dusted")), bool(got("refused"))
    return Feeding(h.on, (h.about,), got("food"), got("count"), dusted, refused)


def _plan(h: Happening, zone: ZoneInfo) -> Plan:
    at = time.fromisoformat(h.at) if h.at else None
    return Plan(str(h.entry), h.fields["text"], h.on, at)


_FACTS: dict[str, Callable[[Happening, ZoneInfo], Any]] = {
    "reading": _reading,
    "weighed": lambda h, _: Weight(h.about, h.on, h.fields["grams"]),
    "seen": lambda h, _: Sign(h.about, h.on, h.fields["sign"]),
    "searched": lambda h, _: Search(h.about, h.on, h.fields["found"]),
    "watered": lambda h, _: Watering(h.about, h.on),
    "fed": _fed,
    "plan": _plan,
    "note": lambda h, _: h,
}
_LINES = {
    "readings": "reading", "weights": "weighed", "signs": "seen", "searches": "searched",
    "waterings": "watered", "feedings": "fed", "plans": "plan",
}  # fmt: skip  # the colony's fields, and the kind of record each is made of
