"""A view of a book from the CSV files of a book folder, for reading without a database."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

from bot.language.view import AnimalSeen, BoxSeen, EggSeen, PairingSeen, View

SPECIES = {
    "picta": "Paroedura picta",
    "leopard": "Eublepharis macularius",
    "crested": "Correlophus ciliatus",
    "gargoyle": "Rhacodactylus auriculatus",
    "fat-tailed": "Hemitheconyx caudicinctus",
}


def view_of(folder: Path, zone: str = "Europe/Lisbon") -> View:
    """The view of the book whose CSV files lie in `folder`."""
    view = View(ZoneInfo(zone), species=SPECIES)
    for row in _rows(folder / "animals.csv"):
        add_animal(view, row)
    for row in _rows(folder / "boxes.csv"):
        incubator = row.get("incubator") or None
        view.boxes[row["box"]] = BoxSeen(
            row["box"], int(row["rows"]), int(row["columns"]), incubator, row.get("name") or None
        )
        if incubator:
            add_place(view, f"incubator {incubator}")
    for row in _rows(folder / "eggs.csv"):
        view.eggs[row["slot"]] = EggSeen(
            row["slot"], row["dam"] or None, row["state"] or None, date.fromisoformat(row["laid"])
        )
    for row in _rows(folder / "readings.csv"):
        add_place(view, row["place"])
    view.pairings = tuple(
        PairingSeen(row["male"], row["female"], date.fromisoformat(row["put_in"]))
        for row in _rows(folder / "pairings.csv")
        if not row["taken_out"]
    )
    return view


def add_animal(view: View, row: dict[str, str]) -> None:
    """One animal into the view, with its name and place."""
    tag = row["tag"]
    hatched = date.fromisoformat(row["hatched"]) if row.get("hatched") else None
    view.animals[tag] = AnimalSeen(
        tag, row["sex"] or "unknown", row["species"] or None, row["name"] or None,
        row["place"] or None, hatched, row["status"] or "kept",
    )  # fmt: skip
    if row["name"]:
        key = row["name"].casefold()
        view.names[key] = (*view.names.get(key, ()), tag)
    if row["place"]:
        add_place(view, row["place"])
    if row["species"]:
        view.last_species = row["species"]


def add_place(view: View, place: str) -> None:
    """A place, and the larger ones it lies in ("rack B" of "rack B tub 4")."""
    words = place.split()
    for n in range(2, len(words) + 1, 2):
        part = " ".join(words[:n])
        view.places.setdefault(part.casefold(), part)
    view.places.setdefault(place.casefold(), place)


def _rows(file: Path) -> list[dict[str, str]]:
    if not file.exists():
        return []
    with file.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))
