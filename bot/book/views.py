"""The view of the book that reading gets: made from the state, nothing from the database."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from zoneinfo import ZoneInfo

from bot.book.rows import Happening
from bot.book.state import State
from bot.language.view import AnimalSeen, BoxSeen, EggSeen, PairingSeen, View
from scheduler.species import keys, load


def view(state: State, zone: ZoneInfo) -> View:
    """What reading may know of this household."""
    seen = View(zone=zone, species={key: load(key).name for key in keys()})
    for tag, a in state.animals.items():
        grams, weighed = state.weights.get(tag, (None, None))
        seen.animals[tag] = AnimalSeen(
            tag, a.sex, a.species, a.name, a.place, a.hatched, a.status, grams, weighed
        )
        if a.name:
            key = a.name.casefold()
            seen.names[key] = (*seen.names.get(key, ()), tag)
        if a.place:
            seen.places.setdefault(a.place.casefold(), a.place)
        if a.species and a.status == "kept":
            seen.last_species = a.species
    for name, box in state.boxes.items():
        seen.boxes[name] = BoxSeen(name, box.rows, box.columns, box.incubator)
        if box.incubator:
            place = incubator_place(box.incubator)
            seen.places.setdefault(place.casefold(), place)
    for egg in state.eggs.values():
        if egg.end is None and egg.slot:
            seen.eggs[egg.slot] = EggSeen(egg.slot, egg.dam, egg.state, egg.laid)
    for folded, place in state.read_places.items():
        seen.places.setdefault(folded, place)
    seen.pairings = tuple(PairingSeen(p.male, p.female, p.put_in) for p in state.open_pairings())
    return seen


def follow(seen: View, state: State, happenings: Iterable[Happening]) -> None:
    """Let a view see what happened since, where nothing else of the state changed."""
    for each in happenings:
        if each.kind == "weighed" and each.about in seen.animals:
            grams, weighed = state.weights[each.about]
            animal = seen.animals[each.about]
            seen.animals[each.about] = replace(animal, grams=grams, weighed=weighed)
        elif each.kind == "reading":
            seen.places.setdefault(each.about.casefold(), each.about)


def incubator_place(incubator: str) -> str:
    """How an incubator is named as a place: "1" is "incubator 1", a longer name is itself."""
    return f"incubator {incubator}" if len(incubator) <= 2 else incubator
