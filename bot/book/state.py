"""What follows from the ledger: the state of one household's book, folded entry by entry.

`State.apply` is the only place where a record changes animals, pairings and eggs. It touches no
database: it notes which things changed, and `bot/book/pages.py` writes those rows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from bot.book.rows import PARTS, Happening, key_of
from bot.records import Record, record_to_json
from scheduler.colony import Animal, Box, Clutch, Egg, Pairing, Stay

# Sperm may keep for months: a common house gecko kept alone for a year still laid fertile eggs
# (Yamamoto & Ota 2006, Curr Herpetol). Any male of the year before a laying may be the sire.
SIRES_WITHIN = timedelta(days=365)
# Words ahead of a trait's name that tell how an animal carries it.
_HOW_CARRIED = frozenset({"het", "poss", "possible", "double", "super", "homo", "for"})


@dataclass(frozen=True)
class Entry:
    """A record with the ledger id under which it stands."""

    id: int
    record: Record


class State:
    """One household's animals, boxes, pairings, clutches, eggs and happenings, in memory."""

    def __init__(self) -> None:
        self.animals: dict[str, Animal] = {}
        self.boxes: dict[str, Box] = {}
        self.pairings: dict[str, Pairing] = {}
        self.clutches: dict[str, Clutch] = {}
        self.eggs: dict[str, Egg] = {}
        self.happenings: dict[tuple[int, str], Happening] = {}
        # What changed and is not written yet; true for what the tables have a row of.
        self.touched: dict[tuple[str, Any], bool] = {}
        self.worked_out: Any = None  # what fell due by it: kept beside it by `duework.py`
        self.weights: dict[str, tuple[float, date]] = {}  # each animal's last, grams and day
        self.read_places: dict[str, str] = {}  # where climate was read: case-folded, as written
        self._lying: dict[str, list[str]] = {}  # slot -> keys of the eggs in it
        self._open: set[str] = set()  # keys of open pairings
        self._courses: dict[str, list[str]] = {}  # female -> keys of her pairings
        self._told: dict[str, set[tuple[int, str]]] = {}  # about -> keys of happenings

    # --- looking up -------------------------------------------------------------------------

    def eggs_in(self, slot: str) -> list[Egg]:
        """The eggs now lying in a slot, in the order in which they were laid."""
        found = [self.eggs[key] for key in self._lying.get(slot, ())]
        return sorted(found, key=_as_laid) if len(found) > 1 else found

    def open_pairings(self) -> list[Pairing]:
        """Sessions whose male is still in, oldest first."""
        return sorted((self.pairings[k] for k in self._open), key=lambda p: (p.put_in, p.key))

    def sires_for(self, dam: str, laid: date) -> tuple[str, ...]:
        """The males that may have sired eggs of this day, the latest first."""
        sessions = sorted(
            (self.pairings[key] for key in self._courses.get(dam, ())),
            key=lambda p: (p.put_in, int(p.key)),
            reverse=True,
        )
        males = [p.male for p in sessions if laid - SIRES_WITHIN <= p.put_in <= laid]
        return tuple(dict.fromkeys(males))

    def told_of(self, about: str) -> list[Happening]:
        """What happened to an animal, slot or place, in no order."""
        return [self.happenings[key] for key in self._told.get(about, ())]

    def things(self, part: str) -> dict[Any, Any]:
        """The dictionary of one part, by its name in `rows.PARTS`."""
        found: dict[Any, Any] = getattr(self, part)
        return found

    # --- changing ---------------------------------------------------------------------------

    def put(self, part: str, thing: Any) -> None:
        """Set a thing under its key, keep the indexes, and note that it changed."""
        key, things = key_of(part, thing), self.things(part)
        old = things.get(key)
        self._forget(part, old)
        things[key] = thing
        self.touched.setdefault((part, key), old is not None)
        if part == "eggs" and thing.slot and thing.end is None:
            self._lying.setdefault(thing.slot, []).append(key)
        elif part == "happenings":
            self._told.setdefault(thing.about, set()).add(key)
            self._note(thing)
        elif part == "pairings":
            self._courses.setdefault(thing.female, []).append(key)
            if thing.taken_out is None:
                self._open.add(key)

    def _note(self, happening: Happening) -> None:
        """Keep what reading asks of happenings, so that it need not go through all of them."""
        about, on = happening.about, happening.on
        if happening.kind == "weighed":
            known = self.weights.get(about)
            if known is None or on >= known[1]:
                self.weights[about] = (happening.fields["grams"], on)
        elif happening.kind == "reading":
            self.read_places.setdefault(about.casefold(), about)

    def _forget(self, part: str, old: Any) -> None:
        if old is None:
            return
        if part == "eggs" and old.slot and old.key in self._lying.get(old.slot, ()):
            self._lying[old.slot].remove(old.key)
        elif part == "pairings":
            self._courses[old.female].remove(old.key)
            self._open.discard(old.key)

    def apply(self, entry: Entry) -> None:
        """Fold one record in. Entries come in the order of the ledger, also those logged late."""
        change = _CHANGES.get(entry.record.kind)
        if change is not None:
            change(self, entry)
        for about in dict.fromkeys(_about(entry.record)):
            plain = record_to_json(entry.record)
            fields = {k: v for k, v in plain.items() if k not in ("kind", "on", "at")}
            self.put(
                "happenings",
                Happening(
                    entry.id, about, entry.record.kind, entry.record.on, plain.get("at"), fields
                ),
            )


def _as_laid(egg: Egg) -> tuple[int, ...]:
    return tuple(int(part) for part in egg.key.split("-"))


def fold(entries: Iterable[Entry]) -> State:
    """The state that follows from a whole ledger (its effective entries, in order)."""
    state = State()
    for entry in entries:
        state.apply(entry)
    return state


def differences(one: State, other: State) -> list[str]:
    """What differs between two states, a line each; empty when they are equal."""
    found = []
    for part in PARTS:
        mine, theirs = one.things(part), other.things(part)
        for key in sorted(mine.keys() | theirs.keys(), key=str):
            if mine.get(key) != theirs.get(key):
                found.append(f"{part} {key}: {mine.get(key)} is not {theirs.get(key)}")
    return found


# --- what each kind changes -----------------------------------------------------------------


def _animal(state: State, entry: Entry) -> None:
    record, got = entry.record, entry.record.get
    status = got("status") or "kept"
    state.put(
        "animals",
        Animal(
            tag=got("tag"), species=got("species"), sex=got("sex") or "unknown", name=got("name"),
            hatched=got("hatched"), sire=got("sire"), dam=got("dam"), place=got("place"),
            traits=tuple(got("traits") or ()), status=status, arrived=record.on,
            placed=record.on if got("place") else None,
            ended=None if status == "kept" else record.on,
        ),
    )  # fmt: skip


def _sexed(state: State, entry: Entry) -> None:
    _change_animal(state, entry, sex=entry.record.get("sex"))


def _named(state: State, entry: Entry) -> None:
    _change_animal(state, entry, name=entry.record.get("name"))


def _described(state: State, entry: Entry) -> None:
    """Fill in or correct what the book knows of an animal; what takes its species from her, too."""
    got = entry.record.get
    tag, species = got("tag"), got("species")
    known = state.animals.get(tag)
    if known is None:
        return
    given = {name: got(name) for name in ("species", "hatched", "sire", "dam") if got(name)}
    traits = _traits_with(known.traits, got("traits") or ())
    _change_animal(state, entry, **given, traits=traits)
    if species:
        for egg in [each for each in state.eggs.values() if each.dam == tag]:
            if egg.species != species:
                state.put("eggs", replace(egg, species=species))
        for young in [each for each in state.animals.values() if each.dam == tag]:
            if young.species is None:
                state.put("animals", replace(young, species=species))


def _traits_with(known: tuple[str, ...], told: Iterable[str]) -> tuple[str, ...]:
    """The traits with those told last; "het stripe" takes the place of "stripe"."""
    found = list(known)
    for word in told:
        name = _trait_name(word)
        found = [each for each in found if _trait_name(each) != name] + [word]
    return tuple(found)


def _trait_name(word: str) -> str:
    """The trait in a trait word: "stripe" in "66% het stripe"."""
    parts = word.casefold().split()
    while len(parts) > 1 and (parts[0] in _HOW_CARRIED or parts[0].endswith("%")):
        parts = parts[1:]
    return " ".join(parts)


def _left(state: State, entry: Entry) -> None:
    _change_animal(state, entry, status=entry.record.get("how"), ended=entry.record.on)
    tag = entry.record.get("tag")
    for pairing in state.open_pairings():
        if tag in (pairing.male, pairing.female):
            state.put("pairings", replace(pairing, taken_out=entry.record.on))


def _placed(state: State, entry: Entry) -> None:
    animal = state.animals.get(entry.record.get("tag"))
    # A move that is logged late does not undo one that came after it.
    if animal and (animal.placed is None or animal.placed <= entry.record.on):
        _change_animal(state, entry, place=entry.record.get("place"), placed=entry.record.on)


def _change_animal(state: State, entry: Entry, **changes: Any) -> None:
    animal = state.animals.get(entry.record.get("tag"))
    if animal is not None:
        state.put("animals", replace(animal, **changes))


def _paired(state: State, entry: Entry) -> None:
    male, female = entry.record.get("male"), entry.record.get("female")
    for pairing in state.open_pairings():
        # Said again of a male who is still in: the session goes on, it does not begin anew.
        if (pairing.male, pairing.female) == (male, female) and pairing.put_in <= entry.record.on:
            return
    state.put("pairings", Pairing(str(entry.id), male, female, entry.record.on))


def _parted(state: State, entry: Entry) -> None:
    got = entry.record.get
    for pairing in reversed(state.open_pairings()):
        if (pairing.male, pairing.female) == (got("male"), got("female")):
            out = max(entry.record.on, pairing.put_in)
            state.put("pairings", replace(pairing, taken_out=out))
            return


def _laid(state: State, entry: Entry) -> None:
    record, got = entry.record, entry.record.get
    dam, slots = got("dam"), tuple(got("slots") or ())
    sires = (got("sire"),) if got("sire") else state.sires_for(dam, record.on)
    eggs, spoiled = int(got("eggs") or 0), int(got("spoiled") or 0)
    key = str(entry.id)
    if dam:
        state.put("clutches", Clutch(key, dam, record.on, eggs, spoiled, sires))
    mother = state.animals.get(dam)
    good = max(eggs - spoiled, len(slots))
    for number in range(good):
        slot = _slot_of(number, good, slots)
        state.put(
            "eggs",
            Egg(
                key=f"{key}-{number + 1}", clutch=key if dam else None, dam=dam, laid=record.on,
                slot=slot, species=mother.species if mother else None, sires=sires,
                stays=(Stay(record.on, slot),) if slot else (),
            ),
        )  # fmt: skip


def _slot_of(number: int, eggs: int, slots: tuple[str, ...]) -> str | None:
    """Eggs go to the slots in order; one slot named for all of them holds them all."""
    if len(slots) == 1 and eggs > 1:
        return slots[0]
    return slots[number] if number < len(slots) else None


def _checked(state: State, entry: Entry) -> None:
    for slot in entry.record.get("slots"):
        for egg in state.eggs_in(slot):
            if egg.checked is None or egg.checked <= entry.record.on:
                changes = {"state": entry.record.get("state"), "checked": entry.record.on}
                state.put("eggs", replace(egg, **changes))


def _shifted(state: State, entry: Entry) -> None:
    moves = zip(entry.record.get("slots"), entry.record.get("to"), strict=False)
    lifted = [(egg, to) for slot, to in moves for egg in state.eggs_in(slot)]
    for egg, to in lifted:
        stays = (*egg.stays, Stay(entry.record.on, to))
        state.put("eggs", replace(egg, slot=to, stays=stays))


def _discarded(state: State, entry: Entry) -> None:
    for slot in entry.record.get("slots"):
        for egg in state.eggs_in(slot):
            state.put("eggs", replace(egg, end="discarded", ended=entry.record.on))


def _pipped(state: State, entry: Entry) -> None:
    for slot in entry.record.get("slots"):
        for egg in state.eggs_in(slot)[:1]:
            state.put("eggs", replace(egg, pipped=entry.record.on))


def _hatched(state: State, entry: Entry) -> None:
    record, tags = entry.record, list(entry.record.get("tags") or ())
    slots = record.get("slots")
    wanted = max(int(record.get("young") or 0), len(tags), len(slots))
    hatching: list[Egg] = [egg for slot in slots for egg in state.eggs_in(slot)[:1]]
    spare = [egg for slot in slots for egg in state.eggs_in(slot)[1:]]
    hatching += spare[: max(wanted - len(hatching), 0)]
    for number, egg in enumerate(hatching):
        tag = tags[number] if number < len(tags) else None
        state.put("eggs", replace(egg, end="hatched", ended=record.on, young=tag))
        if tag:
            _young(state, entry, tag, egg)
    for tag in tags[len(hatching) :]:  # an import may know of a hatching whose egg it does not
        _young(state, entry, tag, None)


def _young(state: State, entry: Entry, tag: str, egg: Egg | None) -> None:
    """The hatchling becomes an animal; where the book has it already, its gaps are filled."""
    got = entry.record.get
    dam = got("dam") or (egg.dam if egg else None)
    sire = got("sire") or (egg.sires[0] if egg and len(egg.sires) == 1 else None)
    mother = state.animals.get(dam) if dam else None
    known = state.animals.get(tag)
    if known is None:
        species = egg.species if egg else (mother.species if mother else None)
        known = Animal(tag, species=species, arrived=entry.record.on)
    state.put(
        "animals",
        replace(
            known,
            hatched=known.hatched or entry.record.on,
            dam=known.dam or dam,
            sire=known.sire or sire,
        ),
    )


def _box(state: State, entry: Entry) -> None:
    got = entry.record.get
    box = Box(got("box"), int(got("rows")), int(got("columns")), got("incubator"))
    state.put("boxes", box)


_CHANGES: dict[str, Callable[[State, Entry], None]] = {
    "animal": _animal, "sexed": _sexed, "named": _named, "described": _described,
    "left": _left, "placed": _placed, "paired": _paired, "parted": _parted, "laid": _laid,
    "checked": _checked, "shifted": _shifted, "discarded": _discarded, "pipped": _pipped,
    "hatched": _hatched, "box": _box,
}  # fmt: skip

_SUBJECTS = ("tag", "who", "male", "female", "dam", "slots", "to", "tags", "place", "about", "box")


def _about(record: Record) -> list[str]:
    """Whom or what a record tells of: it becomes a line in the history of each."""
    found: list[str] = []
    for name in _SUBJECTS:
        value = record.get(name)
        if name == "place" and record.kind in ("animal", "placed"):
            continue
        if value:
            found.extend(value if isinstance(value, tuple) else (value,))
    return found or ["book"]
