"""What the desk says back of a record, read again, is that record: nothing is lost on the way."""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from bot.desk.restate import Manner, restate
from bot.language.reader import read
from bot.language.reading import Outcome
from bot.language.view import View
from bot.records import EGG_STATES, KINDS, SIGNS, WAYS_TO_LEAVE, Record
from tests.language.cases_of import HERE, MOMENT, ZONE
from tests.language.support import view_of

BOOK: View = view_of(HERE / "book", ZONE)
TODAY = date(2026, 4, 16)
DAMS, SIRES = ("P1", "P2", "P3", "P4", "G1"), ("P10", "P11", "G2")
KEPT = (*DAMS, *SIRES, "Y1", "Y2", "Y3")
EGGS = tuple(BOOK.eggs)
FREE = ("K5", "K6", "K9", "L4", "L11", "N3", "N10")
PLACES = ("rack A tub 1", "tub 12", "nursery 2", "rack B tub 7")
FOODS = ("crickets", "dubia", "mealworms", "locusts", "fruit flies", "waxworms")


def _some(names: tuple[str, ...], most: int = 3) -> st.SearchStrategy[tuple[str, ...]]:
    return st.lists(st.sampled_from(names), min_size=1, max_size=most, unique=True).map(
        lambda found: tuple(sorted(found, key=names.index))
    )


def _grams(low: int, high: int) -> st.SearchStrategy[float]:
    return st.integers(low, high).map(lambda tenths: tenths / 10)


def _fields(**each: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(each)


_TAG = st.sampled_from(KEPT)
_DAY = st.integers(30, 500).map(lambda back: TODAY - timedelta(days=back))
OF_KIND: dict[str, st.SearchStrategy[dict[str, Any]]] = {
    "animal": st.fixed_dictionaries(
        {"tag": st.sampled_from(("P21", "Y77", "G9"))},
        optional={
            "sex": st.sampled_from(("female", "male")),
            "species": st.sampled_from(tuple(BOOK.species)),
            "hatched": _DAY,
            "sire": st.sampled_from(SIRES),
            "dam": st.sampled_from(DAMS),
            "place": st.sampled_from(PLACES),
        },
    ),
    "sexed": _fields(tag=_TAG, sex=st.sampled_from(("female", "male"))),
    "placed": _fields(tag=_TAG, place=st.sampled_from(PLACES)),
    "left": _fields(tag=_TAG, how=st.sampled_from(WAYS_TO_LEAVE)),
    "weighed": _fields(tag=_TAG, grams=_grams(5, 900)),
    "fed": st.one_of(
        _fields(who=_some((*KEPT, *PLACES)), food=st.sampled_from(FOODS), count=st.integers(1, 20)),
        _fields(who=_some(KEPT), food=st.sampled_from(FOODS), dusted=st.just(True)),
        _fields(who=_TAG.map(lambda t: (t,)), refused=st.just(True)),
        _fields(who=_TAG.map(lambda t: (t,)), food=st.sampled_from(FOODS), refused=st.just(True)),
        _fields(who=st.just(("everyone",)), food=st.sampled_from(FOODS), count=st.integers(1, 20)),
    ),
    "shed": _fields(tag=_TAG),
    "seen": st.one_of(
        _fields(tag=_TAG, sign=st.sampled_from([s for s in SIGNS if s != "mating"])),
        _fields(tag=st.sampled_from(DAMS), sign=st.just("mating")),
    ),
    "paired": _fields(male=st.sampled_from(SIRES), female=st.sampled_from(DAMS)),
    "parted": _fields(male=st.sampled_from(SIRES), female=st.sampled_from(DAMS)),
    # A search that found eggs is read as their laying, so only the empty one comes back as it was.
    "searched": _fields(tag=st.sampled_from(DAMS), found=st.just(0)),
    "laid": st.fixed_dictionaries(
        {"dam": st.sampled_from(DAMS), "eggs": st.integers(2, 3)},
        optional={"spoiled": st.integers(1, 2), "slots": _some(FREE, 2)},
    ),
    "checked": _fields(slots=_some(EGGS), state=st.sampled_from(EGG_STATES)),
    "shifted": _fields(slots=_some(EGGS, 1), to=_some(FREE, 1)),
    "discarded": _fields(slots=_some(EGGS)),
    "pipped": _fields(slots=_some(EGGS)),
    "hatched": st.one_of(
        _fields(slots=_some(EGGS, 1), tags=st.sampled_from((("Y41",), ("P30",)))),
        _fields(slots=_some(EGGS)),
    ),
    "reading": st.fixed_dictionaries(
        {"place": st.sampled_from(("incubator 1", "incubator 2")), "celsius": _grams(200, 319)},
        optional={"humidity": st.integers(40, 99)},
    ),
    "watered": _fields(place=st.sampled_from(("box K", "box L", "nursery 2"))),
    "note": _fields(about=_some(KEPT, 1), text=st.sampled_from(("kink in tail", "likes moths"))),
    "plan": _fields(text=st.sampled_from(("order roaches", "weigh P1", "clean the tubs"))),
    "box": _fields(box=st.just("D"), rows=st.integers(2, 6), columns=st.integers(2, 6)),
    "described": st.fixed_dictionaries(
        {
            "tag": _TAG,
            "species": st.sampled_from(("picta", "leopard")),
            "hatched": st.integers(400, 900).map(lambda days: TODAY - timedelta(days=days)),
        },
        optional={"roughly": st.just(True), "traits": st.just(("stripe",))},
    ),
    "named": _fields(tag=_TAG, name=st.sampled_from(("Clover", "Pip", "Old Tom"))),
}


@st.composite
def records(draw: st.DrawFn) -> Record:
    """A record of any kind that the book could hold today, this week or, for a plan, soon."""
    kind = draw(st.sampled_from(sorted(OF_KIND)))
    fields = draw(OF_KIND[kind])
    on = TODAY - timedelta(days=draw(st.integers(0, 6)))
    at = draw(st.sampled_from((None, time(7), time(18, 30))))
    if kind == "plan":
        on = TODAY + timedelta(days=draw(st.integers(1, 6)))
    elif kind in ("animal", "box", "described", "named", "note", "fed", "laid") or on == TODAY:
        on, at = (on if kind in ("fed", "laid") else TODAY), None
    return Record(kind, on, at, fields)


def test_every_kind_is_tried() -> None:
    """No kind of record is left out of the round trip."""
    assert set(OF_KIND) == set(KINDS)


@given(records())
@settings(max_examples=400, deadline=None)
def test_what_is_said_back_reads_as_the_same_record(record: Record) -> None:
    """The line that confirms a record gives the same record when it is typed."""
    said = restate(record, Manner(TODAY))
    reading = read(said, MOMENT, BOOK)
    assert reading.outcome in (Outcome.RECORDS, Outcome.ASK), (said, reading)
    if reading.outcome is Outcome.RECORDS:
        assert [_plain(each) for each in reading.records] == [_plain(record)], said


def _plain(record: Record) -> tuple[object, ...]:
    fields = {name: value for name, value in record.fields.items() if value not in (None, False)}
    if record.kind == "note":
        fields["text"] = str(fields["text"]).casefold()
    return record.kind, record.on, record.at, fields
