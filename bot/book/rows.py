"""Between the state's dataclasses and rows of the tables: one codec, driven by the fields."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date
from types import MappingProxyType
from typing import Any

from sqlalchemy import Table

from bot.book import tables
from scheduler.colony import Animal, Box, Clutch, Egg, Pairing, Stay


@dataclass(frozen=True)
class Happening:
    """One line of what happened to an animal, slot or place: what `history` is made of."""

    entry: int
    about: str
    kind: str
    on: date
    at: str | None
    fields: Mapping[str, Any]

    def __post_init__(self) -> None:
        object.__setattr__(self, "fields", MappingProxyType(dict(self.fields)))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Happening):
            return NotImplemented
        mine = (self.entry, self.about, self.kind, self.on, self.at, dict(self.fields))
        return mine == (
            other.entry, other.about, other.kind, other.on, other.at, dict(other.fields)
        )  # fmt: skip

    def __hash__(self) -> int:
        return hash((self.entry, self.about))


Part = type[Animal] | type[Box] | type[Pairing] | type[Clutch] | type[Egg] | type[Happening]

# The parts of the state: its attribute, its table, its dataclass, the columns that are its key.
PARTS: Mapping[str, tuple[Table, Part, tuple[str, ...]]] = MappingProxyType(
    {
        "animals": (tables.animals, Animal, ("tag",)),
        "boxes": (tables.boxes, Box, ("box",)),
        "pairings": (tables.pairings, Pairing, ("key",)),
        "clutches": (tables.clutches, Clutch, ("key",)),
        "eggs": (tables.eggs, Egg, ("key",)),
        "happenings": (tables.happenings, Happening, ("entry", "about")),
    }
)


def key_of(part: str, thing: Any) -> Any:
    """The key under which the state keeps a thing: one value, or a tuple of them."""
    names = PARTS[part][2]
    values = tuple(getattr(thing, name) for name in names)
    return values[0] if len(values) == 1 else values


def to_row(part: str, household: int, thing: Any) -> dict[str, Any]:
    """The table row of a thing."""
    row = {each.name: _flat(getattr(thing, each.name)) for each in fields(PARTS[part][1])}
    columns = PARTS[part][0].c
    return {"household": household} | {k: v for k, v in row.items() if k in columns}


def from_row(part: str, row: Mapping[str, Any]) -> Any:
    """The thing that a table row holds."""
    kind = PARTS[part][1]
    known = {each.name for each in fields(kind)}
    values = {name: value for name, value in row.items() if name in known}
    for name in ("traits", "sires"):
        if name in values:
            values[name] = tuple(values[name])
    if "stays" in values:
        values["stays"] = tuple(Stay(date.fromisoformat(d), slot) for d, slot in values["stays"])
    return kind(**values)


def _flat(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_flat(each) for each in value]
    if isinstance(value, Stay):
        return [value.since.isoformat(), value.slot]
    if isinstance(value, Mapping):
        return {k: _flat(v) for k, v in value.items()}
    return value
