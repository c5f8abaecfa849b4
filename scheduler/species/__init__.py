"""What is known about each species: figures and incubation times, each with source and status.

One TOML file a species stands beside this one; a keeper's own file has the same form:

    key = "example"
    name = "Genus species"
    [incubation]
    durations = [                 # mean days from laying to hatching at a temperature
      { celsius = 24.0, days = 86.0, n = 14, source = "Author 1985", status = "published" },
    ]
    [figures]                     # optional; each a list of rows
    clutch_interval_days = [{ low = 14, typical = 21, high = 30, unit = "days", ... }]

Where a parameter has several rows, the one used is the row that gives most of low, typical and
high; among equals the better seen (published, then common practice, then memory); then the first
in the file. The others stay readable through `Species.rows`. What a file leaves out is taken from
`general.toml`, and the figure's note says so.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

STATUSES = ("published", "common practice", "memory", "not found")
GENERAL = "general"
_KEYS = ("picta", "leopard", "crested", "gargoyle", "fat-tailed")
_HERE = Path(__file__).parent


class SpeciesError(ValueError):
    """A species that is not known, or a species file that cannot be read; says which and why."""


@dataclass(frozen=True)
class Figure:
    """One figure of a species' life, in `unit`. A bound that no source gives is None.

    `text` holds what is not a number ("GSD"). `status` is published, common practice, memory
    or not found, and describes `typical`; `note` says where another bound comes from.
    """

    low: float | None
    typical: float | None
    high: float | None
    unit: str
    status: str
    source: str
    note: str = ""
    text: str | None = None

    @property
    def found(self) -> bool:
        """Whether there is anything in it to use."""
        return any(each is not None for each in (self.low, self.typical, self.high, self.text))


@dataclass(frozen=True)
class Duration:
    """Mean days from laying to hatching at `celsius` (None: a species-level value).

    `fluctuation` is the full daily range in degrees C (0: constant); `n` counts eggs; `se` is the
    standard error of the mean in days, where the source gives one.
    """

    celsius: float | None
    days: float
    n: int | None = None
    fluctuation: float = 0.0
    source: str = ""
    status: str = ""
    note: str = ""
    se: float | None = None


@dataclass(frozen=True, eq=False)
class Species:
    """One species. `key` is what the book writes ("picta"), `name` the scientific name."""

    key: str
    name: str
    durations: tuple[Duration, ...] = ()
    figures: Mapping[str, tuple[Figure, ...]] = field(default_factory=dict)

    def rows(self, parameter: str) -> tuple[Figure, ...]:
        """Every row the species' own file has for the parameter."""
        return self.figures.get(parameter, ())

    def has(self, parameter: str) -> bool:
        """Whether the species' own file gives a value (general gecko values don't count)."""
        return any(row.found for row in self.rows(parameter))

    def figure(self, parameter: str) -> Figure:
        """The row used for a parameter; raises KeyError for one that nobody knows.

        Falls back to the general gecko value and says so in the note. Where there is none
        either, an honest gap comes back: no numbers, status "not found".
        """
        return _figure(self, parameter)


@lru_cache(maxsize=4096)
def _figure(species: Species, parameter: str) -> Figure:
    own = species.rows(parameter)
    if species.has(parameter):
        return _most_useful(own)
    if species.key != GENERAL and general().has(parameter):
        figure = _most_useful(general().rows(parameter))
        return replace(figure, note=f"general gecko value, none for {species.name}")
    if own:
        return own[0]
    if parameter in _known_parameters():
        return Figure(None, None, None, "", "not found", "", f"nothing known for {species.name}")
    raise KeyError(parameter)


def _most_useful(rows: tuple[Figure, ...]) -> Figure:
    """The row used out of several; the rule stands at the top of this file."""

    def rank(row: Figure) -> tuple[int, int]:
        given = sum(each is not None for each in (row.low, row.typical, row.high))
        return -given, STATUSES.index(row.status) if row.status in STATUSES else len(STATUSES)

    return min((row for row in rows if row.found), key=rank)


_own: dict[str, str] = {}  # key -> path of the keeper's files, in the order of their names


def add_own(folder: Path) -> tuple[str, ...]:
    """Let a keeper's species files in a folder count beside the built-in ones; gives their keys.

    A file with a built-in key takes the place of that species. To be called at the start; a folder
    given later replaces the one before. Raises SpeciesError for a file that does not fit the form.
    """
    found = {load(str(path)).key: str(path) for path in sorted(folder.glob("*.toml"))}
    _own.clear()
    _own.update(found)
    return tuple(found)


def keys() -> tuple[str, ...]:
    """The keys of the species that come built in, and of the keeper's own."""
    return tuple(dict.fromkeys((*_KEYS, *_own)))


def general() -> Species:
    """The general gecko values, used where a species file says nothing."""
    return _built_in(GENERAL)


@cache
def _known_parameters() -> frozenset[str]:
    return frozenset(name for key in (*_KEYS, GENERAL) for name in _built_in(key).figures)


@cache
def _built_in(key: str) -> Species:
    return _read(_HERE / f"{key}.toml")


def load(key_or_path: str) -> Species:
    """The species of a key that is built in or of `add_own`, or of a keeper's own TOML file.

    Raises SpeciesError, in plain words, for an unknown key or a file that does not fit the form.
    """
    if key_or_path in (*_KEYS, GENERAL) and key_or_path not in _own:
        return _built_in(key_or_path)
    path = Path(_own.get(key_or_path, key_or_path))
    try:
        stamp = path.stat()
    except (OSError, ValueError):
        known = ", ".join(keys())
        raise SpeciesError(
            f'no species "{key_or_path}": give one of {known}, or the path of a species file'
        ) from None
    return _own_file(str(path), stamp.st_mtime_ns, stamp.st_size)


@lru_cache(maxsize=256)
def _own_file(path: str, changed: int, size: int) -> Species:
    """A keeper's file, read again only when it has changed."""
    return _read(Path(path))


def _read(path: Path) -> Species:
    try:
        with path.open("rb") as file:
            plain = tomllib.load(file)
    except OSError as error:
        raise SpeciesError(f"{path.name}: cannot be read ({error.strerror})") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise SpeciesError(f"{path.name}: is not valid TOML ({error})") from error
    return _Reader(path).species(plain)


class _Reader:
    """Turns a file's plain values into a Species, naming the place of whatever does not fit."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def species(self, plain: Mapping[str, Any]) -> Species:
        key = self._text(plain, "key", "key") or self.path.stem
        incubation = self._table(plain, "incubation")
        figures = self._table(plain, "figures")
        rows = self._rows(incubation.get("durations", []), "incubation.durations")
        return Species(
            key=key,
            name=self._text(plain, "name", "name") or key,
            durations=tuple(
                self._duration(row, f"incubation.durations, row {number}")
                for number, row in enumerate(rows, 1)
            ),
            figures={
                name: tuple(
                    self._figure(row, f"figures.{name}")
                    for row in self._rows(value, f"figures.{name}")
                )
                for name, value in figures.items()
            },
        )

    def _duration(self, row: Mapping[str, Any], where: str) -> Duration:
        days = self._number(row, "days", where, 1, 1000)
        if days is None:
            raise self._wrong(where, "days is missing")
        count = self._number(row, "n", where, 0, 1e6)
        return Duration(
            celsius=self._number(row, "celsius", where, 0, 50),
            days=days,
            n=None if count is None else int(count),
            fluctuation=self._number(row, "fluctuation", where, 0, 50) or 0.0,
            source=self._text(row, "source", where),
            status=self._text(row, "status", where),
            note=self._text(row, "note", where),
            se=self._number(row, "se", where, 0, 1000),
        )

    def _figure(self, row: Mapping[str, Any], where: str) -> Figure:
        low, typical, high = (
            self._number(row, name, where, 0, 1e6) for name in ("low", "typical", "high")
        )
        given = [each for each in (low, typical, high) if each is not None]
        if given != sorted(given):
            raise self._wrong(where, "low, typical and high should rise in that order")
        return Figure(
            low,
            typical,
            high,
            unit=self._text(row, "unit", where),
            status=self._text(row, "status", where),
            source=self._text(row, "source", where),
            note=self._text(row, "note", where),
            text=self._text(row, "text", where) or None,
        )

    def _table(self, plain: Mapping[str, Any], name: str) -> Mapping[str, Any]:
        value = plain.get(name, {})
        if not isinstance(value, dict):
            raise self._wrong(name, f"should be a table, [{name}]")
        return value

    def _rows(self, value: Any, where: str) -> list[Mapping[str, Any]]:
        rows = [value] if isinstance(value, dict) else value
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise self._wrong(where, "should be a list of rows such as { days = 60.0 }")
        return rows

    def _number(
        self, row: Mapping[str, Any], name: str, where: str, low: float, high: float
    ) -> float | None:
        value = row.get(name)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._wrong(where, f"{name} should be a number, not {value!r}")
        if not low <= value <= high:
            raise self._wrong(where, f"{name} should lie between {low:g} and {high:g}")
        return float(value)

    def _text(self, row: Mapping[str, Any], name: str, where: str) -> str:
        value = row.get(name, "")
        if not isinstance(value, str):
            raise self._wrong(where, f"{name} should be text in quotes")
        return value

    def _wrong(self, where: str, reason: str) -> SpeciesError:
        return SpeciesError(f"{self.path.name}: {where}: {reason}")
