"""The `rackside forecast` commands: options or JSON lines in, one JSON object a forecast out."""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from scheduler.development import hatch_window
from scheduler.laying import next_clutch
from scheduler.own import OwnHatch, own_hatch
from scheduler.species import load
from scheduler.window import Window

T = TypeVar("T")


class ForecastError(ValueError):
    """A forecast that cannot be made; says in one sentence what is wrong and what is expected."""


def hatch(
    species: str,
    laid: str | date,
    celsius: float | str | None = None,
    readings: str | Path | Sequence[Any] | None = None,
    own: str | Path | Sequence[Any] | None = None,
) -> dict[str, Any]:
    """When an egg hatches: the JSON object of `forecast hatch`.

    `celsius` is a constant temperature, or `readings` a CSV file with the columns at,celsius;
    `own` a CSV file with laid,hatched,celsius. In place of a file, a list of rows (objects with
    those names) does too. With neither temperature nor readings the species' usual one is assumed.
    Raises ForecastError, or SpeciesError, in plain words.
    """
    if celsius is not None and readings is not None:
        raise ForecastError("give celsius or readings, not both")
    temps: float | list[tuple[datetime, float]] | None = None
    if celsius is not None:
        temps = _celsius(celsius, "celsius")
    elif readings is not None:
        temps = _rows(readings, "readings", ("at", "celsius"), _reading)
        if not temps:
            raise ForecastError("readings: there is no row in it; give at least one reading")
    window = hatch_window(
        load(species),
        _day(laid, "laid"),
        temps,
        own=_rows(own, "own", ("laid", "hatched", "celsius"), _own_hatch),
    )
    return _as_json(window)


def clutch(
    species: str,
    laid: str | Iterable[str | date],
    on: str | date,
    own: str | Path | Sequence[Any] | None = None,
) -> dict[str, Any]:
    """When a female lays next: the JSON object of `forecast clutch`, days from the last laying.

    `laid` are her laying days (commas between, or a list); `own` a CSV file (or a list of rows)
    with the columns female,laid of the household's other females. Raises ForecastError, or
    SpeciesError, in plain words.
    """
    given = laid.split(",") if isinstance(laid, str) else [laid] if isinstance(laid, date) else laid
    days = sorted(_day(each, "laid") for each in given if str(each).strip())
    today = _day(on, "on")
    if not days:
        raise ForecastError("laid: give at least one laying date, such as 2026-03-10")
    if days[-1] > today:
        raise ForecastError(
            f"laid: {days[-1].isoformat()} is after {today.isoformat()}, the day asked about"
        )
    others: dict[str, list[date]] = {}
    for female, day in _rows(own, "own", ("female", "laid"), _own_laying):
        if day <= today:
            others.setdefault(female, []).append(day)
    window = next_clutch(load(species), days, others, on=today)
    if window is None:
        waited = (today - days[-1]).days
        raise ForecastError(
            f"{waited} days since the last clutch: that run of clutches is over, "
            "so the next one cannot be told from it"
        )
    return _as_json(window)


def lines(stream: Iterable[str]) -> Iterator[str]:
    """One JSON answer for each JSON line, in order; one that cannot be answered has `error`.

    A line with `on` asks for a clutch, any other for a hatch.
    """
    for line in stream:
        if line.strip():
            try:
                answer = _answer(line)
            except ValueError as error:
                answer = {"error": str(error)}
            yield json.dumps(answer, ensure_ascii=False)


def _answer(line: str) -> dict[str, Any]:
    try:
        asked = json.loads(line)
    except json.JSONDecodeError as error:
        raise ForecastError(f"not a JSON object: {error.msg}") from error
    if not isinstance(asked, dict):
        raise ForecastError("not a JSON object")
    for name in ("species", "laid"):
        if asked.get(name) in (None, ""):
            raise ForecastError(f"{name} is missing")
    species = str(asked["species"])
    if asked.get("on") is not None:
        return clutch(species, asked["laid"], asked["on"], asked.get("own"))
    if isinstance(asked["laid"], list):
        raise ForecastError("on is missing: the day on which the next clutch is asked about")
    return hatch(
        species, asked["laid"], asked.get("celsius"), asked.get("readings"), asked.get("own")
    )


def _as_json(window: Window) -> dict[str, Any]:
    return {
        "days": round(window.days, 2),
        "low": round(window.low, 2),
        "high": round(window.high, 2),
        "coverage": window.coverage,
        "hatch": window.centre.isoformat(),
        "from": window.start.isoformat(),
        "to": window.end.isoformat(),
        "basis": window.basis,
    }


def _day(value: Any, name: str) -> date:
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    try:
        return date.fromisoformat(str(value).strip())
    except ValueError:
        raise ForecastError(f"{name}: {value!r} is not a date such as 2026-03-10") from None


def _celsius(value: Any, name: str) -> float:
    try:
        celsius = float(value)
    except (TypeError, ValueError):
        celsius = math.nan
    if isinstance(value, bool) or not 0 <= celsius <= 50:
        raise ForecastError(f"{name}: {value!r} is not a temperature between 0 and 50 C")
    return celsius


def _reading(row: Mapping[str, Any]) -> tuple[datetime, float]:
    value = row["at"]
    try:
        at = datetime.fromisoformat(str(value).strip())
    except ValueError:
        raise ForecastError(f"at: {value!r} is not a time such as 2026-03-10T19:30+00:00") from None
    return at if at.tzinfo else at.replace(tzinfo=UTC), _celsius(row["celsius"], "celsius")


def _own_hatch(row: Mapping[str, Any]) -> OwnHatch:
    laid, hatched = _day(row["laid"], "laid"), _day(row["hatched"], "hatched")
    if hatched <= laid:
        raise ForecastError(f"hatched: {hatched.isoformat()} is not after the laying")
    return own_hatch(laid, hatched, _celsius(row["celsius"], "celsius"))


def _own_laying(row: Mapping[str, Any]) -> tuple[str, date]:
    return str(row["female"]).strip(), _day(row["laid"], "laid")


def _rows(
    given: str | Path | Sequence[Any] | None,
    name: str,
    columns: tuple[str, ...],
    read: Callable[[Mapping[str, Any]], T],
) -> list[T]:
    """The rows of a CSV file, or of a list of objects or lists, each read; errors name the row."""
    if given is None:
        return []
    if isinstance(given, str | Path):
        rows: Sequence[Any] = _csv(Path(given), name, columns)
        name = Path(given).name
    else:
        rows = given
    made = []
    for number, row in enumerate(rows, 2 if isinstance(given, str | Path) else 1):
        try:
            made.append(read(_named(row, columns)))
        except ForecastError as error:
            raise ForecastError(f"{name}, line {number}: {error}") from None
    return made


def _named(row: Any, columns: tuple[str, ...]) -> Mapping[str, Any]:
    if isinstance(row, list | tuple) and len(row) == len(columns):
        return dict(zip(columns, row, strict=True))
    if isinstance(row, Mapping):
        for column in columns:
            if row.get(column) in (None, ""):
                raise ForecastError(f"{column} is missing")
        return row
    raise ForecastError(f"should give {', '.join(columns)}")


def _csv(path: Path, name: str, columns: tuple[str, ...]) -> tuple[dict[str, str], ...]:
    try:
        stamp = path.stat()
    except (OSError, ValueError):
        raise ForecastError(f"{name}: there is no file {path.name}") from None
    return _read_csv(path, columns, stamp.st_mtime_ns, stamp.st_size)


@lru_cache(maxsize=64)
def _read_csv(
    path: Path, columns: tuple[str, ...], changed: int, size: int
) -> tuple[dict[str, str], ...]:
    """The file's rows, read again only when it has changed."""
    try:
        with path.open(newline="", encoding="utf-8-sig") as file:
            table = csv.DictReader(file)
            found = [each.strip() for each in table.fieldnames or ()]
            table.fieldnames = found
            missing = [column for column in columns if column not in found]
            if missing:
                raise ForecastError(
                    f"{path.name}: the first line should name the columns {','.join(columns)}"
                )
            return tuple(row for row in table if any((v or "") for v in row.values()))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise ForecastError(f"{path.name}: cannot be read as a UTF-8 CSV file") from error
