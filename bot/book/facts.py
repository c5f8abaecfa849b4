"""The colony that thinking gets: made from the state, happenings turned into plain facts."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from datetime import datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from bot.book.rows import Happening
from bot.book.state import State
from scheduler.colony import (
    ClimateReading,
    Colony,
    Feeding,
    Plan,
    Search,
    Sign,
    Trait,
    Watering,
    Weight,
)
from scheduler.inheritance import INHERITANCES
from scheduler.traits import definitions

NOON = time(12)  # a reading with no time of day counts for the middle of its day

_INHERITED = re.compile(
    r"(?:the )?(?:trait )?(?P<name>\S.*?) is (?P<how>[a-z -]+)\.?", re.IGNORECASE
)
_HOW = {re.sub(r"\W", "", how): how for how in INHERITANCES}  # however its words are spaced


def colony(state: State, zone: ZoneInfo) -> Colony:
    """One household's facts at this moment."""
    lines: dict[str, list[Any]] = {kind: [] for kind in _FACTS}
    for happening in state.happenings.values():
        make = _FACTS.get(happening.kind)
        if make is not None:
            lines[happening.kind].append(make(happening, zone))
    return Colony(
        zone=zone,
        animals=dict(state.animals),
        pairings=tuple(state.pairings.values()),
        clutches=tuple(state.clutches.values()),
        eggs=tuple(state.eggs.values()),
        boxes=dict(state.boxes),
        readings=tuple(sorted(lines["reading"], key=lambda r: r.at)),
        weights=tuple(sorted(lines["weighed"], key=lambda w: w.on)),
        signs=tuple(sorted(lines["seen"], key=lambda s: s.on)),
        searches=tuple(sorted(lines["searched"], key=lambda s: s.on)),
        waterings=tuple(sorted(lines["watered"], key=lambda w: w.on)),
        feedings=tuple(sorted(lines["fed"], key=lambda f: f.on)),
        plans=tuple(sorted(lines["plan"], key=lambda p: p.on)),
        traits=_traits(lines["note"]),
    )


def trait_in(text: str) -> Trait | None:
    """The trait that a note defines, "stripe is recessive"; None where it is another note.

    >>> trait_in("Trait stripe is recessive")
    Trait(name='stripe', inheritance='recessive', double=None, system='ZW')
    """
    found = _INHERITED.fullmatch(" ".join(text.split()))
    how = _HOW.get(re.sub(r"\W", "", found["how"].casefold())) if found else None
    if found is None or how is None:
        return None
    name = found["name"]
    return Trait(name[:1].lower() + name[1:], how)  # a phone writes the first letter large


def _traits(notes: Iterable[Happening]) -> tuple[Trait, ...]:
    """The traits that notes define; of two notes on one trait the later counts."""
    ordered = sorted(notes, key=lambda h: (h.on, h.at or "", h.entry))
    told = (trait_in(each.fields["text"]) for each in ordered)
    return tuple(definitions(each for each in told if each is not None).values())


def _reading(h: Happening, zone: ZoneInfo) -> ClimateReading:
    at = datetime.combine(h.on, time.fromisoformat(h.at) if h.at else NOON, zone)
    return ClimateReading(at, h.about, h.fields.get("celsius"), h.fields.get("humidity"))


def _fed(h: Happening, zone: ZoneInfo) -> Feeding:
    got = h.fields.get
    dusted, refused = bool(got("dusted")), bool(got("refused"))
    return Feeding(h.on, (h.about,), got("food"), got("count"), dusted, refused)


def _plan(h: Happening, zone: ZoneInfo) -> Plan:
    at = time.fromisoformat(h.at) if h.at else None
    return Plan(str(h.entry), h.fields["text"], h.on, at)


_FACTS: dict[str, Callable[[Happening, ZoneInfo], Any]] = {
    "reading": _reading,
    "weighed": lambda h, _: Weight(h.about, h.on, h.fields["grams"]),
    "seen": lambda h, _: Sign(h.about, h.on, h.fields["sign"]),
    "searched": lambda h, _: Search(h.about, h.on, h.fields["found"]),
    "watered": lambda h, _: Watering(h.about, h.on),
    "fed": _fed,
    "plan": _plan,
    "note": lambda h, _: h,
}
