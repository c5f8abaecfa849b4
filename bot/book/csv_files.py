"""The CSV files that a book is brought in from and written to: columns, rows, and typed cells."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from difflib import get_close_matches
from pathlib import Path

COLUMNS: Mapping[str, tuple[str, ...]] = {
    "animals.csv": (
        "tag", "name", "species", "sex", "hatched", "sire", "dam", "place", "traits", "status",
    ),
    "boxes.csv": ("box", "rows", "columns", "incubator"),
    "pairings.csv": ("male", "female", "put_in", "taken_out"),
    "eggs.csv": ("slot", "dam", "sire", "laid", "state"),
    "hatches.csv": ("tag", "slot", "dam", "sire", "laid", "hatched"),
    "readings.csv": ("at", "place", "celsius", "humidity"),
    "weights.csv": ("tag", "on", "grams"),
}  # fmt: skip

BETWEEN_TRAITS = ";"
SPOILED, DISCARDED = "spoiled", "discarded"
"""States of an egg that is no more: bad when it was found, or thrown away later. "discarded" may
follow what was last seen of it: "mould discarded"."""
_NUMBER = re.compile(r"-?\d+(\.\d+)?")


@dataclass(frozen=True)
class Row:
    """One row of a file. A cell that does not read is noted in `wrong`, and reads as None."""

    file: str
    line: int
    cells: Mapping[str, str]
    wrong: list[str]

    def mistake(self, reason: str) -> None:
        """Note what is wrong with this row."""
        self.wrong.append(f"{self.file} line {self.line}: {reason}")

    def text(self, column: str, *, needed: bool = False) -> str | None:
        """The cell as typed; None where it is blank."""
        value = self.cells[column]
        if not value and needed:
            self.mistake(f"{column} is blank")
        return value or None

    def word(self, column: str, known: Collection[str], default: str | None = None) -> str | None:
        """One of the known words, in any case; `default` where the cell is blank."""
        value = self.cells[column]
        if not value:
            return default
        if value.lower() in known:
            return value.lower()
        near = get_close_matches(value.lower(), known, n=1)
        what = f"did you mean {near[0]}?" if near else f"it is one of {', '.join(sorted(known))}"
        self.mistake(f'"{value}" is no {column}; {what}')
        return None

    def day(self, column: str, today: date, *, needed: bool = False) -> date | None:
        """A date that is not in the future."""
        value = self.text(column, needed=needed)
        if value is None:
            return None
        try:
            found = date.fromisoformat(value)
        except ValueError:
            self.mistake(f'{column} "{value}" is no date; write it as {today}')
            return None
        if found > today:
            self.mistake(f"{column} {value} is in the future")
            return None
        return found

    def moment(self, column: str) -> datetime | None:
        """A date with a time of day, with or without an offset."""
        value = self.text(column, needed=True)
        try:
            return datetime.fromisoformat(value) if value else None
        except ValueError:
            self.mistake(f'{column} "{value}" is no moment; write it as 2026-03-08T19:00')
            return None

    def number(
        self, column: str, low: float, high: float, *, whole: bool = False, needed: bool = False
    ) -> float | None:
        """A number from `low` to `high`."""
        value = self.text(column, needed=needed)
        if value is None:
            return None
        if not _NUMBER.fullmatch(value) or (whole and not float(value).is_integer()):
            self.mistake(f'{column} "{value}" is not a {"whole " if whole else ""}number')
            return None
        if not low <= float(value) <= high:
            self.mistake(f"{column} {value} is impossible; it runs from {low:g} to {high:g}")
            return None
        return float(value)


def read_folder(folder: Path, wrong: list[str]) -> dict[str, list[Row]]:
    """The rows of each file that is there, by file; what does not read is noted in `wrong`."""
    found = [name for name in COLUMNS if (folder / name).is_file()]
    if not found:
        wrong.append(f"{folder} has none of {', '.join(COLUMNS)}")
    return {name: _read_file(folder / name, wrong) for name in COLUMNS if name in found}


def _read_file(path: Path, wrong: list[str]) -> list[Row]:
    content = path.read_bytes()
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        wrong.append(f"{path.name} line {line}: not UTF-8; save the file as UTF-8")
        return []
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        wrong.append(f"{path.name} line {line}: not a text file")
        return []
    return _rows(path.name, text, wrong)


def _rows(file: str, text: str, wrong: list[str]) -> list[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows, line, header = [], 0, None
    try:
        for cells in reader:
            line, started = reader.line_num, line + 1
            cells = [cell.strip() for cell in cells]
            if header is None:
                header = cells
                if sorted(header) != sorted(COLUMNS[file]):
                    wanted = ",".join(COLUMNS[file])
                    wrong.append(f"{file} line 1: the columns must be {wanted}")
                    return []
            elif not any(cells):
                continue
            elif len(cells) != len(header):
                wrong.append(f"{file} line {started}: {len(cells)} cells instead of {len(header)}")
            else:
                rows.append(Row(file, started, dict(zip(header, cells, strict=True)), wrong))
    except csv.Error as error:
        wrong.append(f"{file} line {line + 1}: not a CSV row ({error})")
    if header is None:
        wrong.append(f"{file} line 1: the columns {','.join(COLUMNS[file])} are missing")
    return rows


def write_file(path: Path, rows: list[tuple[object, ...]]) -> None:
    """Write a file with its header; None is blank, a float loses a needless ".0"."""
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(COLUMNS[path.name])
        writer.writerows([_cell(value) for value in row] for row in rows)


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, date):
        return value.isoformat()
    return str(value)
