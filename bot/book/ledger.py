"""The ledger: rows are only ever added. Undo and corrections are rows too.

What counts is worked out from the rows: an `undo` row takes back the rows that it names; a row that
`stands_for` another takes its place, at that place in the order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select

from bot.book.state import Entry
from bot.book.tables import ledger
from bot.records import Record, record_from_json, record_to_json

UNDO = "undo"
_ADD = insert(ledger)


@dataclass(frozen=True)
class Said:
    """Who said it, where, when it arrived, and the words as typed."""

    member: int | None
    channel: str
    arrived: datetime
    text: str
    message: int | None = None


def append(
    conn: Connection, household: int, record: Record, said: Said, stands_for: int | None = None
) -> int:
    """Add one record's row, and give its id."""
    plain = record_to_json(record)
    fields = {k: v for k, v in plain.items() if k not in ("kind", "on", "at")}
    return _add(conn, household, said, record.kind, record.on, plain.get("at"), fields, stands_for)


def append_undo(conn: Connection, household: int, entries: Iterable[int], said: Said) -> int:
    """Add a row that takes back the rows of these ids."""
    day = said.arrived.date()
    return _add(conn, household, said, UNDO, day, None, {"entries": list(entries)}, None)


def _add(
    conn: Connection, household: int, said: Said, kind: str, on: Any, at: Any,
    fields: Mapping[str, Any], stands_for: int | None,
) -> int:  # fmt: skip
    row = {
        "household": household, "member": said.member, "message": said.message,
        "channel": said.channel, "arrived": said.arrived, "text": said.text, "kind": kind,
        "on": on, "at": at, "fields": dict(fields), "stands_for": stands_for,
    }  # fmt: skip
    made = conn.execute(_ADD, row).inserted_primary_key
    assert made is not None
    return int(made[0])


def rows(conn: Connection, household: int) -> list[Mapping[str, Any]]:
    """Every row of a household's ledger, oldest first."""
    found = conn.execute(
        select(ledger).where(ledger.c.household == household).order_by(ledger.c.id)
    )
    return [dict(row) for row in found.mappings()]


def taken_back(all_rows: Iterable[Mapping[str, Any]]) -> set[int]:
    """Ids of the rows that undo rows have taken back."""
    return {n for row in all_rows if row["kind"] == UNDO for n in row["fields"]["entries"]}


def effective(all_rows: Iterable[Mapping[str, Any]]) -> list[Entry]:
    """The records that count, each under the id where it stands, in order."""
    kept = list(all_rows)
    gone = taken_back(kept)
    standing: dict[int, Record | None] = {}
    roots: dict[int, int] = {}
    for row in kept:
        if row["kind"] == UNDO:
            continue
        root = roots.get(row["stands_for"], row["stands_for"]) or row["id"]
        roots[row["id"]] = root
        if row["id"] not in gone:
            standing[root] = to_record(row)
    # A root that was itself taken back goes, whatever stood for it since.
    return [
        Entry(root, record)
        for root, record in sorted(standing.items())
        if record is not None and root not in gone
    ]


def to_record(row: Mapping[str, Any]) -> Record:
    """The record that a ledger row holds."""
    plain = {"kind": row["kind"], "on": row["on"].isoformat(), "at": row["at"], **row["fields"]}
    return record_from_json(plain)
