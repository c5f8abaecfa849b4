"""Writing a household's book as CSV files: the same files and columns that an import reads."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from bot.book.csv_files import BETWEEN_TRAITS, COLUMNS, DISCARDED, SPOILED, write_file
from bot.book.pages import Pages
from bot.book.rows import Happening
from bot.book.state import State
from scheduler.colony import Egg

Cells = tuple[object, ...]


def export(pages: Pages, folder: Path) -> list[Path]:
    """Write every file into the folder (made where it is missing), and give their paths.

    The files hold animals, boxes, sessions, eggs with what became of them, readings and weights;
    they have no columns for notes, feedings and the days of checks. A backup has everything.
    """
    folder.mkdir(parents=True, exist_ok=True)
    state = pages.state
    rows = {
        "animals.csv": _animals(state), "boxes.csv": _boxes(state),
        "pairings.csv": _pairings(state), "eggs.csv": _eggs(state),
        "hatches.csv": _hatches(state), "readings.csv": _readings(state),
        "weights.csv": _weights(state),
    }  # fmt: skip
    for name in COLUMNS:
        write_file(folder / name, rows[name])
    return [folder / name for name in COLUMNS]


def _animals(state: State) -> list[Cells]:
    return [
        (
            a.tag, a.name, a.species, a.sex, a.hatched, a.sire, a.dam, a.place,
            BETWEEN_TRAITS.join(a.traits), a.status,
        )
        for a in state.animals.values()
    ]  # fmt: skip


def _boxes(state: State) -> list[Cells]:
    return [(b.box, b.rows, b.columns, b.incubator) for b in state.boxes.values()]


def _pairings(state: State) -> list[Cells]:
    found = sorted(state.pairings.values(), key=lambda p: (p.put_in, int(p.key)))
    return [(p.male, p.female, p.put_in, p.taken_out) for p in found]


def _eggs(state: State) -> list[Cells]:
    """The eggs that lie, by slot; then those thrown away, and those bad when found, as laid."""
    lying = [egg for egg in state.eggs.values() if egg.end is None]
    gone = [egg for egg in state.eggs.values() if egg.end == DISCARDED]
    found = sorted(lying, key=lambda egg: _by_slot(egg.slot))
    found += sorted(gone, key=lambda egg: (egg.laid, _by_slot(egg.slot)))
    rows: list[Cells] = [
        (egg.slot, egg.dam, _sire(egg.sires), egg.laid, _state(egg)) for egg in found
    ]
    for clutch in sorted(state.clutches.values(), key=lambda c: (c.laid, c.dam, c.key)):
        bad: Cells = (None, clutch.dam, _sire(clutch.sires), clutch.laid, SPOILED)
        rows += [bad] * clutch.spoiled
    return rows


def _state(egg: Egg) -> str | None:
    if egg.end is None:
        return egg.state
    return f"{egg.state} {DISCARDED}" if egg.state else DISCARDED


def _hatches(state: State) -> list[Cells]:
    hatched = (egg for egg in state.eggs.values() if egg.end == "hatched")
    found = sorted(hatched, key=lambda egg: (str(egg.ended), _by_slot(egg.slot)))
    return [(e.young, e.slot, e.dam, _sire(e.sires), e.laid, e.ended) for e in found]


def _sire(sires: tuple[str, ...]) -> str | None:
    """The sire where there is no doubt; of several it may be, an import finds them anew."""
    return sires[0] if len(sires) == 1 else None


def _by_slot(slot: str | None) -> tuple[str, int]:
    letters = (slot or "").rstrip("0123456789")
    return letters, int((slot or "")[len(letters) :] or 0)


def _readings(state: State) -> list[Cells]:
    return [
        (
            f"{h.on}T{h.at}" if h.at else h.on, h.fields["place"], h.fields.get("celsius"),
            h.fields.get("humidity"),
        )
        for h in _all(state, "reading")
    ]  # fmt: skip


def _weights(state: State) -> list[Cells]:
    return [(h.fields["tag"], h.on, h.fields["grams"]) for h in _all(state, "weighed")]


def _all(state: State, kind: str) -> Iterable[Happening]:
    found = (h for h in state.happenings.values() if h.kind == kind)
    return sorted(found, key=lambda h: (h.on, h.at or "", h.entry))
