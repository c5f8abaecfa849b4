"""Whatever is written, undone and put right, replaying the ledger gives the state."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bot.book import households
from bot.book.pages import Pages
from bot.book.store import Book
from bot.records import EGG_STATES, SIGNS, Record
from tests.book.support import NOW, open_pages, rec

FEMALES, MALES, SLOTS = ("F1", "F2"), ("M1", "M2"), tuple(f"B{n}" for n in range(1, 7))
days = st.integers(0, 90).map(lambda n: date(2026, 1, 1) + timedelta(days=n))
females, males = st.sampled_from(FEMALES), st.sampled_from(MALES)
tags = st.sampled_from(FEMALES + MALES)
slots = st.lists(st.sampled_from(SLOTS), min_size=1, max_size=2, unique=True).map(tuple)


def _records() -> st.SearchStrategy[Record]:
    def kind(name: str, **fields: st.SearchStrategy[object]) -> st.SearchStrategy[Record]:
        return st.builds(
            lambda on, values: rec(name, on, **values), days, st.fixed_dictionaries(fields)
        )

    return st.one_of(
        kind("paired", male=males, female=females),
        kind("parted", male=males, female=females),
        kind("laid", dam=females, eggs=st.integers(0, 3), slots=slots),
        kind("checked", slots=slots, state=st.sampled_from(EGG_STATES)),
        kind("shifted", slots=slots, to=slots),
        kind("hatched", slots=slots, tags=st.sampled_from([(), ("H1",), ("H2", "H3")])),
        kind("discarded", slots=slots),
        kind("pipped", slots=slots),
        kind("placed", tag=tags, place=st.sampled_from(["tub 1", "tub 2"])),
        kind("left", tag=tags, how=st.sampled_from(["sold", "died"])),
        kind("weighed", tag=tags, grams=st.floats(1, 60)),
        kind("seen", tag=tags, sign=st.sampled_from(SIGNS)),
        kind("sexed", tag=tags, sex=st.sampled_from(["male", "female"])),
        kind("described", tag=tags, species=st.sampled_from(["picta", "leopard"]), sire=males),
        kind("described", tag=tags, traits=st.sampled_from([("stripe",), ("het stripe",)])),
    )


moves = st.lists(
    st.one_of(_records(), st.just("undo"), st.tuples(st.just("correct"), days)), max_size=25
)


slowly = {
    "deadline": None,
    "suppress_health_check": [HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
}


@given(moves)
@settings(max_examples=60, **slowly)
def test_replay_equals_state_after_any_history(history: list[object]) -> None:
    """Any order of records, undos and corrections leaves ledger and state in agreement."""
    _tell(Book.open(":memory:"), history)


@given(history=moves)
@settings(max_examples=10, **slowly)
def test_replay_equals_state_on_postgresql_too(database: str, history: list[object]) -> None:
    """The same on the other store, whose rows come back in another order."""
    book = Book.open(database)
    _tell(book, history)
    book.close()


def _tell(book: Book, history: list[object]) -> None:
    with book.writing() as conn:
        keeper = households.begin(conn, zone="Europe/Lisbon", owner="keeper", now=NOW)
    with open_pages(book, keeper) as pages:
        animals = [rec("animal", tag=t, sex="female") for t in FEMALES]
        animals += [rec("animal", tag=t, sex="male") for t in MALES]
        box = rec("box", box="B", rows=2, columns=3)
        _say(pages, keeper, 0, [*animals, box])
        for number, move in enumerate(history, start=1):
            _do(pages, keeper, number, move)
    with open_pages(book, keeper) as pages:
        assert pages.check() == []


def _say(pages: Pages, keeper, number: int, records: list[Record]) -> None:  # type: ignore[no-untyped-def]
    arrived = NOW + timedelta(minutes=number)
    pages.write(records, member=keeper, channel="test", arrived=arrived, text="as typed")


def _do(pages: Pages, keeper, number: int, move: object) -> None:  # type: ignore[no-untyped-def]
    said = {"channel": "test", "arrived": NOW + timedelta(minutes=number), "text": "as typed"}
    if isinstance(move, Record):
        _say(pages, keeper, number, [move])
    elif move == "undo":
        pages.undo_last(keeper, **said)
    else:
        last = pages.last_written(keeper)
        if last:
            entry, record = last[-1]
            pages.correct(entry, record.with_fields(on=move[1]), member=keeper, **said)  # type: ignore[index]
