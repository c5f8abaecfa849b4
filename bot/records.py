"""The kinds of record a book may hold, as one table: the reader, the book and the README use it.

A record is what the keeper said happened: a kind, the local date, perhaps a time of day, and the
fields of that kind. To add a kind, add a row to `KINDS` (DEVELOPERS.md walks through it).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, time
from enum import StrEnum
from types import MappingProxyType
from typing import Any


class FieldType(StrEnum):
    """What a field holds. Lists are tuples in a `Record`, arrays in JSON."""

    TAG = "tag"  # one animal's tag, as the book writes it
    TAGS = "tags"  # several
    WHO = "who"  # tags, places or "everyone"
    SLOTS = "slots"  # egg slots, "B4"
    SPECIES = "species"  # a species key, "picta"
    PLACE = "place"  # "tub 12", "incubator 1", "box B"
    CHOICE = "choice"  # one word out of `Field.choices`
    COUNT = "count"  # a whole number, 0 or more
    GRAMS = "grams"  # one decimal
    CELSIUS = "celsius"  # one decimal
    PERCENT = "percent"  # a whole number, 0 to 100
    DATE = "date"
    FLAG = "flag"  # true, or absent
    WORD = "word"  # a feeder, a box letter, a name
    WORDS = "words"  # traits
    TEXT = "text"  # the keeper's own words
    ABOUT = "about"  # tags or slots


LISTS = frozenset(
    {FieldType.TAGS, FieldType.WHO, FieldType.SLOTS, FieldType.WORDS, FieldType.ABOUT}
)


@dataclass(frozen=True)
class Field:
    """One field of a kind. A `needed` field that the message lacks is asked for, in table order."""

    name: str
    type: FieldType
    needed: bool = False
    choices: tuple[str, ...] = ()


@dataclass(frozen=True)
class Kind:
    """One kind of record: its fields in the order they are asked about, and how to say it."""

    name: str
    fields: tuple[Field, ...]
    said_as: tuple[str, ...]

    def field(self, name: str) -> Field:
        """The field of that name. Raises KeyError where the kind has none."""
        for each in self.fields:
            if each.name == name:
                return each
        raise KeyError(f"{self.name} has no field {name!r}")


SEXES = ("female", "male", "unknown")
WAYS_TO_LEAVE = ("sold", "given", "died", "lost")
SIGNS = (
    "gravid", "slim", "mating", "receptive", "unreceptive", "biting", "injured", "thin", "weak",
    "straining", "digging", "tail-drop",
)  # fmt: skip
EGG_STATES = (
    "fertile", "infertile", "mould", "dented", "collapsed", "sweating", "too-early",
)  # fmt: skip

_T = FieldType


def _kind(name: str, *fields: Field, said_as: tuple[str, ...]) -> Kind:
    return Kind(name, fields, said_as)


KINDS: Mapping[str, Kind] = MappingProxyType({
    kind.name: kind
    for kind in (
        _kind(
            "animal",
            Field("tag", _T.TAG, needed=True),
            Field("species", _T.SPECIES),
            Field("sex", _T.CHOICE, choices=SEXES),
            Field("hatched", _T.DATE),
            Field("sire", _T.TAG),
            Field("dam", _T.TAG),
            Field("place", _T.PLACE),
            Field("traits", _T.WORDS),
            said_as=("new female F14 picta hatched 3 Feb, from M2 x F3",),
        ),
        _kind(
            "sexed",
            Field("tag", _T.TAG, needed=True),
            Field("sex", _T.CHOICE, needed=True, choices=SEXES),
            said_as=("H12 is a male",),
        ),
        _kind(
            "placed",
            Field("tag", _T.TAG, needed=True),
            Field("place", _T.PLACE, needed=True),
            said_as=("moved F3 to tub 12",),
        ),
        _kind(
            "left",
            Field("tag", _T.TAG, needed=True),
            Field("how", _T.CHOICE, needed=True, choices=WAYS_TO_LEAVE),
            said_as=("sold H4", "found F9 dead this morning"),
        ),
        _kind(
            "weighed",
            Field("tag", _T.TAG, needed=True),
            Field("grams", _T.GRAMS, needed=True),
            said_as=("F3 21.4g",),
        ),
        _kind(
            "fed",
            Field("who", _T.WHO, needed=True),
            Field("food", _T.WORD),
            Field("count", _T.COUNT),
            Field("dusted", _T.FLAG),
            Field("refused", _T.FLAG),
            said_as=("fed rack A 10 dubia each, dusted", "F3 wouldn't eat"),
        ),
        _kind("shed", Field("tag", _T.TAG, needed=True), said_as=("F3 shed",)),
        _kind(
            "seen",
            Field("tag", _T.TAG, needed=True),
            Field("sign", _T.CHOICE, needed=True, choices=SIGNS),
            said_as=("F3 looks gravid",),
        ),
        _kind(
            "paired",
            Field("male", _T.TAG, needed=True),
            Field("female", _T.TAG, needed=True),
            said_as=("M2 in with F3",),
        ),
        _kind(
            "parted",
            Field("male", _T.TAG, needed=True),
            Field("female", _T.TAG, needed=True),
            said_as=("pulled M2",),
        ),
        _kind(
            "searched",
            Field("tag", _T.TAG, needed=True),
            Field("found", _T.COUNT, needed=True),
            said_as=("went through F3's sand, no eggs",),
        ),
        _kind(
            "laid",
            Field("dam", _T.TAG, needed=True),
            Field("eggs", _T.COUNT, needed=True),
            Field("spoiled", _T.COUNT),
            Field("slots", _T.SLOTS),
            said_as=("F3 laid 2, box B slot 4",),
        ),
        _kind(
            "checked",
            Field("slots", _T.SLOTS, needed=True),
            Field("state", _T.CHOICE, needed=True, choices=EGG_STATES),
            said_as=("candled B4, veins",),
        ),
        _kind(
            "shifted",
            Field("slots", _T.SLOTS, needed=True),
            Field("to", _T.SLOTS, needed=True),
            said_as=("moved B4 to C1",),
        ),
        _kind("discarded", Field("slots", _T.SLOTS, needed=True), said_as=("tossed B6",)),
        _kind("pipped", Field("slots", _T.SLOTS, needed=True), said_as=("B4 is pipping",)),
        _kind(
            "hatched",
            Field("slots", _T.SLOTS, needed=True),
            Field("young", _T.COUNT),
            Field("tags", _T.TAGS),
            said_as=("B4 hatched",),
        ),
        _kind(
            "reading",
            Field("place", _T.PLACE, needed=True),
            Field("celsius", _T.CELSIUS),
            Field("humidity", _T.PERCENT),
            said_as=("incubator 1 is 81F, 75%",),
        ),
        _kind(
            "watered", Field("place", _T.PLACE, needed=True), said_as=("added water to box B",)
        ),
        _kind(
            "note",
            Field("about", _T.ABOUT),
            Field("text", _T.TEXT, needed=True),
            said_as=("note F3: kink in tail tip",),
        ),
        _kind(
            "plan",
            Field("text", _T.TEXT, needed=True),
            said_as=("remind me friday 6pm to order roaches",),
        ),
        # Three kinds of our own, beyond the words that others measure us by: without them a keeper
        # at the console could not set up an egg box, give an animal a name, or say later what was
        # left out when it was written in.
        _kind(
            "box",
            Field("box", _T.WORD, needed=True),
            Field("rows", _T.COUNT, needed=True),
            Field("columns", _T.COUNT, needed=True),
            Field("incubator", _T.WORD),
            said_as=("new box D, 3 by 4, incubator 1",),
        ),
        _kind(
            "named",
            Field("tag", _T.TAG, needed=True),
            Field("name", _T.WORD, needed=True),
            said_as=("F3 is called Tansy",),
        ),
        _kind(
            "described",
            Field("tag", _T.TAG, needed=True),
            Field("species", _T.SPECIES),
            Field("hatched", _T.DATE),
            Field("roughly", _T.FLAG),  # the hatch day is counted back from an age, or a month
            Field("sire", _T.TAG),
            Field("dam", _T.TAG),
            Field("traits", _T.WORDS),
            said_as=("M2 is a picta", "F3 is about 18 months old", "F3's mother is F7"),
        ),
    )
})


@dataclass(frozen=True)
class Record:
    """One thing that happened (or, for a plan, is to happen): kind, local date, fields.

    `on` is the household's local date; `at` its wall time where the message gave one. A field that
    was not given is not in `fields`. Lists are tuples; dates are `date`.
    """

    kind: str
    on: date
    at: time | None = None
    fields: Mapping[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "fields", MappingProxyType(dict(self.fields)))

    def get(self, name: str, default: Any = None) -> Any:
        """The field's value, or `default` where it was not given."""
        return self.fields.get(name, default)

    def with_fields(self, **changes: Any) -> Record:
        """The same record with some fields (or `on`, `at`) changed; None removes a field."""
        on = changes.pop("on", self.on)
        at = changes.pop("at", self.at)
        fields = {**self.fields, **changes}
        return replace(
            self, on=on, at=at, fields={k: v for k, v in fields.items() if v is not None}
        )


def record_to_json(record: Record) -> dict[str, Any]:
    """The record as plain JSON values: kind, on, at and the fields in table order."""
    plain: dict[str, Any] = {"kind": record.kind, "on": record.on.isoformat()}
    if record.at is not None:
        plain["at"] = record.at.strftime("%H:%M")
    names = [each.name for each in KINDS[record.kind].fields]
    for name in sorted(record.fields, key=lambda n: names.index(n) if n in names else len(names)):
        plain[name] = _plain(record.fields[name])
    return plain


def record_from_json(plain: Mapping[str, Any]) -> Record:
    """The inverse of `record_to_json`. Raises KeyError or ValueError where it is no record."""
    kind = KINDS[plain["kind"]]
    types = {each.name: each.type for each in kind.fields}
    fields = {
        name: _typed(types.get(name), value)
        for name, value in plain.items()
        if name not in ("kind", "on", "at") and value is not None
    }
    at = time.fromisoformat(plain["at"]) if plain.get("at") else None
    return Record(kind.name, date.fromisoformat(plain["on"]), at, fields)


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    if isinstance(value, date | time):
        return value.isoformat()
    return value


def _typed(kind: FieldType | None, value: Any) -> Any:
    if kind is FieldType.DATE:
        return value if isinstance(value, date) else date.fromisoformat(value)
    if isinstance(value, list):
        return tuple(value)
    if kind in LISTS and not isinstance(value, tuple):
        return (value,)
    return value
