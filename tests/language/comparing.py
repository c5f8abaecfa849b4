"""Compares a reading with what was expected: exact, or holding a record that nobody told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

UNLISTED = {"text", "young", "at"}  # not compared where a case does not list them
ABSENT = ({"sex": "unknown"}, {"dusted": False}, {"refused": False})
UNORDERED = {"slots", "tags", "who", "traits", "about", "to"}

Plain = Mapping[str, Any]


def _plain(name: str, value: Any) -> Any:
    if name in UNORDERED:
        values = value if isinstance(value, list) else [value]
        return sorted(str(_plain("", each)) for each in values)
    if isinstance(value, list):
        return [_plain("", each) for each in value]
    if isinstance(value, int | float) and not isinstance(value, bool):
        return round(float(value), 1)
    if isinstance(value, str):
        text = " ".join(value.split()).casefold()
        return text.rstrip("s") if name == "food" else text
    return value


def _present(record: Plain) -> dict[str, Any]:
    return {
        name: value
        for name, value in record.items()
        if value not in (None, [], "") and {name: value} not in ABSENT
    }


def same_record(wanted: Plain, got: Plain) -> bool:
    """True where two records say the same, a text holding every word wanted."""
    wanted, got = _present(wanted), _present(got)
    for name in wanted.keys() | got.keys():
        if name == "text" and name in wanted and name in got:
            if not set(wanted[name].casefold().split()) <= set(got[name].casefold().split()):
                return False
        elif name in UNLISTED and name not in wanted:
            continue
        elif (
            name not in wanted
            or name not in got
            or _plain(name, wanted[name]) != _plain(name, got[name])
        ):
            return False
    return True


def matches(wanted: Plain, got: Plain) -> bool:
    """True where a reading is the one wanted, in all that is listed."""
    if wanted["outcome"] != got["outcome"]:
        return False
    if "records" in wanted:
        left = list(got.get("records") or [])
        for record in wanted["records"]:
            found = next((each for each in left if same_record(record, each)), None)
            if found is None:
                return False
            left.remove(found)
        if left:
            return False
    return all(
        _plain(name, value) == _plain(name, (got.get(part) or {}).get(name))
        for part in ("request", "ask")
        for name, value in (wanted.get(part) or {}).items()
    )


def wrong_records(accept: Sequence[Plain], got: Plain) -> list[Plain]:
    """Records that would be written although no accepted reading holds them (notes aside)."""
    allowed = [record for each in accept for record in each.get("records", [])]
    return [
        record
        for record in got.get("records") or []
        if record["kind"] != "note" and not any(same_record(a, record) for a in allowed)
    ]
