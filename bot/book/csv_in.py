"""Bringing a colony in from CSV files: every row is checked first, and all is kept or nothing."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from bot.book import wakes
from bot.book.csv_files import BETWEEN_TRAITS, DISCARDED, SPOILED, Row, read_folder
from bot.book.pages import Pages
from bot.book.state import State
from bot.records import EGG_STATES, SEXES, WAYS_TO_LEAVE, Record
from scheduler import kinship, species

STATUSES = ("kept", *WAYS_TO_LEAVE)
MOST_GRAMS = 5000.0  # far above any gecko: only slips of the pen are refused
COLDEST, WARMEST = -20.0, 60.0  # degrees Celsius a room thermometer may show
CHANNEL = "import"


class ImportRefused(Exception):
    """Rows are wrong; `lines` names each by file, line and reason. Nothing was kept."""

    def __init__(self, lines: list[str]) -> None:
        self.lines = tuple(lines)
        super().__init__("\n".join(lines))


class EggRow(NamedTuple):
    """An egg of either file: in its slot now, hatched (`hatched`, and perhaps a `tag`), or gone.

    `thrown` was in its slot and was thrown away; `spoiled` was bad when it was found.
    """

    row: Row
    slot: str | None
    dam: str | None
    sire: str | None
    laid: date
    state: str | None = None
    hatched: date | None = None
    tag: str | None = None
    thrown: bool = False
    spoiled: bool = False

    @property
    def ended(self) -> bool:
        """Whether it left its slot."""
        return self.hatched is not None or self.thrown


@dataclass
class Incoming:
    """What the files hold, row by row, as it is checked against itself and the book."""

    state: State
    zone: ZoneInfo
    today: date
    sexes: dict[str, str] = field(default_factory=dict)  # tag -> sex, the book's animals too
    slots: dict[str, tuple[int, int]] = field(default_factory=dict)  # box -> rows, columns
    eggs: list[EggRow] = field(default_factory=list)
    records: dict[str, list[Record]] = field(default_factory=dict)  # file -> what it becomes


def bring_in(pages: Pages, folder: Path, *, now: datetime) -> Counter[str]:
    """Write what the folder's files hold into the book; how many rows came from each file.

    To be called inside one transaction. Raises ImportRefused, with nothing written, where any
    row is wrong. An import stands in the ledger under no member, so that "undo" leaves it alone.
    """
    wrong: list[str] = []
    files = read_folder(folder, wrong)
    today = now.astimezone(pages.zone).date()
    incoming = _check(files, Incoming(pages.state, pages.zone, today))
    if wrong:
        raise ImportRefused(wrong)
    for file, records in incoming.records.items():
        if records:
            pages.write(records, member=None, channel=CHANNEL, arrived=now, text=f"import {file}")
    wakes.wake(pages.conn, pages.household.id)
    return Counter({name: len(rows) for name, rows in files.items()})


def _check(files: dict[str, list[Row]], incoming: Incoming) -> Incoming:
    """Check every row, each noting its own mistakes, and make the records."""
    state = incoming.state
    incoming.sexes = {tag: animal.sex for tag, animal in state.animals.items()}
    incoming.slots = {box.box: (box.rows, box.columns) for box in state.boxes.values()}
    animals, hatches = files.get("animals.csv", []), files.get("hatches.csv", [])
    _know_animals(incoming, animals, hatches)
    put: dict[str, list[Record]] = incoming.records
    put["animals.csv"] = [_animal(incoming, row) for row in animals]
    put["boxes.csv"] = [_box(incoming, row) for row in files.get("boxes.csv", [])]
    _check_loops(animals + hatches)
    put["pairings.csv"] = _pairings(incoming, files.get("pairings.csv", []))
    found = [_hatch(incoming, row) for row in hatches]
    found += [_egg(incoming, row) for row in files.get("eggs.csv", [])]
    incoming.eggs = [each for each in found if each is not None]
    _check_slots(incoming)
    put["eggs.csv"] = _clutches(incoming)
    readings = [_reading(incoming, row) for row in files.get("readings.csv", [])]
    put["readings.csv"] = sorted(readings, key=lambda r: (r.on, str(r.at or "")))
    weights = [_weight(incoming, row) for row in files.get("weights.csv", [])]
    put["weights.csv"] = sorted(weights, key=lambda r: r.on)
    return incoming


# --- animals and boxes ----------------------------------------------------------------------


def _know_animals(incoming: Incoming, animals: list[Row], hatches: list[Row]) -> None:
    """Note every tag and sex first: a parent may stand below its young."""
    for row in animals:
        tag = row.text("tag", needed=True)
        if tag and tag in incoming.sexes:
            where = "the book" if tag in incoming.state.animals else "this file"
            row.mistake(f"{tag} is in {where} already")
        elif tag:
            incoming.sexes[tag] = row.word("sex", SEXES, "unknown") or "unknown"
    for row in hatches:
        if row.cells["tag"]:
            incoming.sexes.setdefault(row.cells["tag"], "unknown")


def _animal(incoming: Incoming, row: Row) -> Record:
    traits = [trait.strip() for trait in (row.text("traits") or "").split(BETWEEN_TRAITS)]
    return _record(
        "animal", incoming.today,
        tag=row.text("tag"), name=row.text("name"), species=_species(row),
        sex=incoming.sexes.get(row.cells["tag"]), hatched=row.day("hatched", incoming.today),
        sire=_parent(incoming, row, "sire"), dam=_parent(incoming, row, "dam"),
        place=row.text("place"), traits=tuple(filter(None, traits)),
        status=row.word("status", STATUSES, "kept"),
    )  # fmt: skip


def _species(row: Row) -> str | None:
    """The key of a species, said by its key or its scientific name, in any case."""
    keys = species.keys()
    known = {said.lower(): key for key in keys for said in (species.load(key).name, key)}
    return known.get(row.cells["species"].lower()) or row.word("species", keys)


def _parent(incoming: Incoming, row: Row, column: str, *, needed: bool = False) -> str | None:
    """A tag that the files or the book know, of the sex that the column asks for."""
    tag = row.text(column, needed=needed)
    if tag is None:
        return None
    not_this = "male" if column in ("dam", "female") else "female"
    if tag not in incoming.sexes:
        row.mistake(f"{column} {tag} is not in animals.csv, hatches.csv or the book")
    elif incoming.sexes[tag] == not_this:
        row.mistake(f"{column} {tag} is a {not_this}")
    return tag


def _check_loops(rows: list[Row]) -> None:
    pedigree = {
        row.cells["tag"]: (row.cells["sire"] or None, row.cells["dam"] or None) for row in rows
    }
    loop = kinship.find_loop(pedigree)
    if loop:
        row = next(row for row in rows if row.cells["tag"] == loop[0])
        row.mistake(f"{' from '.join((*loop, loop[0]))}: no animal is its own ancestor")


def _box(incoming: Incoming, row: Row) -> Record:
    box = row.text("box", needed=True)
    rows = row.number("rows", 1, 100, whole=True, needed=True)
    columns = row.number("columns", 1, 100, whole=True, needed=True)
    if box in incoming.slots:
        row.mistake(f"box {box} is there already")
    elif box and box[-1].isdigit():
        row.mistake(f'box "{box}" ends in a digit, and its slots could not be told apart')
    elif box and rows and columns:
        incoming.slots[box] = (int(rows), int(columns))
    return _record(
        "box", incoming.today, box=box, rows=int(rows or 0), columns=int(columns or 0),
        incubator=row.text("incubator"),
    )  # fmt: skip


# --- pairings -------------------------------------------------------------------------------


def _pairings(incoming: Incoming, rows: list[Row]) -> list[Record]:
    records = []
    for row in rows:
        male = _parent(incoming, row, "male", needed=True)
        female = _parent(incoming, row, "female", needed=True)
        put_in = row.day("put_in", incoming.today, needed=True)
        taken_out = row.day("taken_out", incoming.today)
        if put_in is None:
            continue
        pair = {"male": male, "female": female}
        records.append((put_in, 1, _record("paired", put_in, **pair)))
        if taken_out is not None:
            if taken_out < put_in:
                row.mistake(f"taken_out {taken_out} is before put_in {put_in}")
            # Out before the next one in on the same day; but not before its own beginning.
            first = 0 if taken_out > put_in else 2
            records.append((taken_out, first, _record("parted", taken_out, **pair)))
    return [record for *_, record in sorted(records, key=lambda each: each[:2])]


# --- eggs and hatches -----------------------------------------------------------------------


def _hatch(incoming: Incoming, row: Row) -> EggRow | None:
    tag = row.text("tag")
    laid = row.day("laid", incoming.today, needed=True)
    hatched = row.day("hatched", incoming.today, needed=True)
    if laid and hatched and hatched <= laid:
        row.mistake(f"hatched {hatched} is not after laid {laid}")
    slot = _slot(incoming, row)
    if not tag and not row.cells["slot"]:
        row.mistake("a hatching needs a tag or a slot")
    dam, sire = _parent(incoming, row, "dam"), _parent(incoming, row, "sire")
    return EggRow(row, slot, dam, sire, laid, None, hatched, tag) if laid and hatched else None


def _egg(incoming: Incoming, row: Row) -> EggRow | None:
    laid, slot = row.day("laid", incoming.today, needed=True), _slot(incoming, row)
    seen, _, last = row.cells["state"].lower().rpartition(" ")
    thrown, spoiled = last == DISCARDED, last == SPOILED and not seen
    state = _seen(row, seen if thrown else row.cells["state"]) if not spoiled else None
    if (state or thrown) and not row.cells["slot"]:
        row.mistake(f"an egg that is {row.cells['state']} needs a slot")
    if spoiled and row.cells["slot"]:
        row.mistake("a spoiled egg was never in a slot; one thrown away later is discarded")
    dam, sire = _parent(incoming, row, "dam"), _parent(incoming, row, "sire")
    if laid is None:
        return None
    return EggRow(row, slot, dam, sire, laid, state, thrown=thrown, spoiled=spoiled)


def _seen(row: Row, said: str) -> str | None:
    """What was last seen of an egg: a state of those that a check gives."""
    return replace(row, cells={**row.cells, "state": said.strip()}).word("state", EGG_STATES)


def _slot(incoming: Incoming, row: Row) -> str | None:
    """The slot as the book writes it, or None where it is blank or not in any box."""
    said = row.text("slot")
    if said is None:
        return None
    letters = said.rstrip("0123456789")
    box = next((each for each in incoming.slots if each.lower() == letters.lower()), None)
    if box is None:
        row.mistake(f'slot "{said}" is in no box of boxes.csv or the book')
        return None
    rows, columns = incoming.slots[box]
    number = int(said[len(letters) :] or 0)
    if not 1 <= number <= rows * columns:
        row.mistake(f"slot {said} does not exist; box {box} has {box}1 to {box}{rows * columns}")
    return f"{box}{number}"


def _check_slots(incoming: Incoming) -> None:
    """A slot holds the eggs of one clutch at a time, and a tag hatches once."""
    lying: dict[str, EggRow] = {}
    tags: set[str] = set()
    for egg in incoming.eggs:
        if egg.slot and incoming.state.eggs_in(egg.slot):
            egg.row.mistake(f"slot {egg.slot} holds an egg in the book")
        if egg.tag:
            if egg.tag in tags or egg.tag in incoming.state.animals:
                egg.row.mistake(f"{egg.tag} has hatched or is in the book already")
            tags.add(egg.tag)
        elif egg.slot and not egg.ended:
            other = lying.setdefault(egg.slot, egg)
            if _clutch(other) != _clutch(egg):
                egg.row.mistake(f"slot {egg.slot} is taken by line {other.row.line}")
            elif other.state != egg.state:
                egg.row.mistake(f"slot {egg.slot} has another state in line {other.row.line}")


def _clutch(egg: EggRow) -> tuple[date, str, str]:
    return egg.laid, egg.dam or "", egg.sire or ""


def _clutches(incoming: Incoming) -> list[Record]:
    """Each clutch laid as one; what ended leaves its slots before the next clutch comes."""
    slots = {egg.slot for egg in incoming.eggs if egg.ended}
    # An egg that was moved may now lie where another ended: it is laid after all that ended.
    early = {_clutch(egg) for egg in incoming.eggs if egg.ended}
    first = [e for e in incoming.eggs if e.ended or (_clutch(e) in early and e.slot not in slots)]
    chosen = {id(egg) for egg in first}
    records: list[Record] = []
    for some in (first, [egg for egg in incoming.eggs if id(egg) not in chosen]):
        for _, group in groupby(sorted(some, key=_clutch), key=_clutch):
            eggs = list(group)
            placed = [egg for egg in eggs if egg.slot]
            rest = [egg for egg in eggs if not egg.slot and not egg.spoiled]
            bad = len(eggs) - len(placed) - len(rest)
            if placed or not rest:
                records += _laid(incoming, placed or eggs[:1], bad)
            records += _laid(incoming, rest, 0 if placed or not rest else bad)
    return records + _checked(incoming)


def _laid(incoming: Incoming, eggs: list[EggRow], spoiled: int = 0) -> list[Record]:
    """A clutch and what ended of it; young whose slot is not known come without their egg."""
    parents = {"dam": eggs[0].dam, "sire": eggs[0].sire} if eggs else {}
    slots = tuple(egg.slot for egg in eggs if egg.slot)
    count = sum(1 for egg in eggs if egg.slot or not (egg.hatched or egg.spoiled)) + spoiled
    records = []
    if count:
        laid = _record("laid", eggs[0].laid, eggs=count, slots=slots, **parents)
        records.append(laid.with_fields(spoiled=spoiled) if spoiled else laid)
    for egg in sorted(eggs, key=lambda each: str(each.hatched)):
        if egg.hatched:
            tags, where = (egg.tag,) if egg.tag else (), (egg.slot,) if egg.slot else ()
            hatched = _record("hatched", egg.hatched, tags=tags, laid=egg.laid, **parents)
            records.append(hatched.with_fields(slots=where))
    return records + _discarded(incoming, [egg for egg in eggs if egg.thrown])


def _discarded(incoming: Incoming, eggs: list[EggRow]) -> list[Record]:
    """Thrown away on a day that no file tells: by the next laying in that slot, or by today."""
    records = []
    for slot, (egg, *_) in groupby(sorted(eggs, key=lambda e: str(e.slot)), lambda e: e.slot):
        after = [e.laid for e in incoming.eggs if e.slot == slot and e.laid > egg.laid]
        on = min(after, default=incoming.today)
        if egg.state:
            records.append(_record("checked", on, slots=(slot,), state=egg.state))
        records.append(_record("discarded", on, slots=(slot,)))
    return records


def _checked(incoming: Incoming) -> list[Record]:
    by_state: dict[str, list[str]] = {}
    for egg in incoming.eggs:
        if egg.state and egg.slot and not egg.ended:
            by_state.setdefault(egg.state, []).append(egg.slot)
    return [
        _record("checked", incoming.today, slots=tuple(dict.fromkeys(slots)), state=state)
        for state, slots in by_state.items()
    ]


# --- readings and weights -------------------------------------------------------------------


def _reading(incoming: Incoming, row: Row) -> Record:
    moment, place = row.moment("at"), row.text("place", needed=True)
    celsius = row.number("celsius", COLDEST, WARMEST)
    humidity = row.number("humidity", 0, 100)
    if not row.cells["celsius"] and not row.cells["humidity"]:
        row.mistake("neither celsius nor humidity is given")
    if moment and moment.tzinfo:
        moment = moment.astimezone(incoming.zone)
    if moment and moment.date() > incoming.today:
        row.mistake(f"at {row.cells['at']} is in the future")
    record = _record(
        "reading", moment.date() if moment else incoming.today, place=place,
        celsius=celsius, humidity=None if humidity is None else round(humidity),
    )  # fmt: skip
    timed = moment is not None and len(row.cells["at"]) > len("2026-03-08")
    return record.with_fields(at=moment.time().replace(second=0) if moment and timed else None)


def _weight(incoming: Incoming, row: Row) -> Record:
    tag = row.text("tag", needed=True)
    if tag and tag not in incoming.sexes:
        row.mistake(f"{tag} is not in animals.csv, hatches.csv or the book")
    on = row.day("on", incoming.today, needed=True)
    grams = row.number("grams", 0.1, MOST_GRAMS, needed=True)
    return _record("weighed", on or incoming.today, tag=tag, grams=grams)


def _record(kind: str, on: date, **fields: Any) -> Record:
    """A record without the fields that are blank."""
    return Record(kind, on, None, {k: v for k, v in fields.items() if v is not None and v != ()})
