"""A last look at what a message came to: what was said by the way is no record of its own."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.reading import Ask
from bot.language.view import View
from bot.records import Record

TOGETHER = ("checked", "discarded", "pipped")
"""Kinds of which several slots that share every other field are one record."""


def without_asides(records: Sequence[Record], view: View) -> list[Record]:
    """The records without those that only colour another about the same animal.

    "Female P1 laid" does not sex an animal that the book has as a female; "shed, ate most of it"
    is no feeding: neither who else ate nor what is said.
    """
    return [
        record
        for record in records
        if not (_told_with_another(record, records) and _is_aside(record, view))
        and not _said_in_full(record, records)
    ]


def _is_aside(record: Record, view: View) -> bool:
    if record.kind == "sexed":
        animal = view.animals.get(record.get("tag"))
        return animal is not None and animal.sex == record.get("sex")
    return record.kind == "fed" and set(record.fields) == {"who"}


def _said_in_full(record: Record, records: Sequence[Record]) -> bool:
    """True for "F3 ate" where "3 crickets" follows."""
    return (
        record.kind == "fed"
        and set(record.fields) == {"who"}
        and any(
            each.kind == "fed" and each.get("who") == record.get("who") and each.get("food")
            for each in records
        )
    )


def _told_with_another(record: Record, records: Sequence[Record]) -> bool:
    mine = _animals(record)
    return any(
        each.kind != record.kind and mine & _animals(each) for each in records if each is not record
    )


def _animals(record: Record) -> set[str]:
    found = {record.get(name) for name in ("tag", "dam", "male", "female")}
    return {each for each in found if each} | set(record.get("who") or ())


def grouped(records: Sequence[Record]) -> list[Record]:
    """The records with slots that share a state, a day and a kind put into one."""
    out: list[Record] = []
    for record in records:
        twin = next((n for n, each in enumerate(out) if _alike(each, record)), None)
        if twin is None:
            out.append(record)
        else:
            slots = dict.fromkeys((*out[twin].get("slots"), *record.get("slots")))
            out[twin] = out[twin].with_fields(slots=tuple(slots))
    return out


def _alike(one: Record, other: Record) -> bool:
    if one.kind != other.kind or one.kind not in TOGETHER:
        return False
    return bool(one.get("slots") and other.get("slots")) and one.with_fields(
        slots=None
    ) == other.with_fields(slots=None)


def worth_asking(asks: Sequence[Ask], records: Sequence[Record]) -> list[Ask]:
    """The questions without those of which nothing is known, in a message that told sure things.

    "... must have spooked him with the mister" beside "K11 lost his tail" is talk, no watering.
    """
    if not records:
        return list(asks)
    return [
        ask
        for ask in asks
        if ask.why != "missing" or ask.waiting is None or ask.waiting.fields or ask.said
    ]
