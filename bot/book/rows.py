"""Between the state's dataclasses and rows of the tables: one codec, driven by the fields."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields
from datetime import date
from operator import attrgetter
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


NAMES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {part: tuple(each.name for each in fields(kind)) for part, (_, kind, _) in PARTS.items()}
)
"""The columns of each part that a thing is made of, in the order of its dataclass."""

_KEY = {part: attrgetter(*names) for part, (_, _, names) in PARTS.items()}


def key_of(part: str, thing: Any) -> Any:
    """The key under which the state keeps a thing: one value, or a tuple of them."""
    return _KEY[part](thing)


def to_row(part: str, household: int, thing: Any) -> dict[str, Any]:
    """The table row of a thing."""
    row = {name: _flat(getattr(thing, name)) for name in NAMES[part]}
    return {"household": household, **row}


def _stays(value: Iterable[tuple[str, str]]) -> tuple[Stay, ...]:
    return tuple(Stay(date.fromisoformat(day), slot) for day, slot in value)


_MADE: Mapping[str, Callable[[Any], Any]] = {"traits": tuple, "sires": tuple, "stays": _stays}
_MADE_AT = {
    part: tuple((at, _MADE[name]) for at, name in enumerate(names) if name in _MADE)
    for part, names in NAMES.items()
}


def from_row(part: str, row: Iterable[Any]) -> Any:
    """The thing that a table row holds; the row's columns are those of `NAMES`."""
    values = list(row)
    for at, made in _MADE_AT[part]:
        values[at] = made(values[at])
    return PARTS[part][1](*values)


def _flat(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_flat(each) for each in value]
    if isinstance(value, Stay):
        return [value.since.isoformat(), value.slot]
    if isinstance(value, Mapping):
        return {k: _flat(v) for k, v in value.items()}
    return value
