"""A short history is told, then the book is looked at."""

from __future__ import annotations

from datetime import date

import pytest

from tests.book.support import NOW, new_book, open_pages, rec, write

pytestmark = pytest.mark.usefixtures("either_store")

F3 = rec("animal", tag="F3", species="picta", sex="female")
M2 = rec("animal", tag="M2", species="picta", sex="male")
BOX = rec("box", box="B", rows=3, columns=4, incubator="1")


def test_two_eggs_in_two_slots_are_two_eggs_of_one_clutch() -> None:
    """A laying with two slots puts an egg in each, with dam, sire and day."""
    book, keeper = new_book()
    write(book, keeper, F3, M2, BOX, rec("paired", date(2026, 2, 1), male="M2", female="F3"))
    write(book, keeper, rec("laid", dam="F3", eggs=2, slots=("B4", "B5")))
    with open_pages(book, keeper) as pages:
        eggs = sorted(pages.state.eggs.values(), key=lambda e: e.slot or "")
    assert [(e.slot, e.dam, e.sires, e.species) for e in eggs] == [
        ("B4", "F3", ("M2",), "picta"),
        ("B5", "F3", ("M2",), "picta"),
    ]
    assert len({e.clutch for e in eggs}) == 1


def test_every_male_of_the_year_may_be_the_sire() -> None:
    """With two males within a year both stay possible, the latest first."""
    book, keeper = new_book()
    write(book, keeper, F3, M2, rec("animal", tag="M1", sex="male"))
    write(book, keeper, rec("paired", date(2025, 12, 1), male="M1", female="F3"))
    write(book, keeper, rec("parted", date(2025, 12, 3), male="M1", female="F3"))
    write(book, keeper, rec("paired", date(2026, 2, 1), male="M2", female="F3"))
    write(book, keeper, rec("laid", dam="F3", eggs=1))
    with open_pages(book, keeper) as pages:
        (clutch,) = pages.state.clutches.values()
    assert clutch.sires == ("M2", "M1")


def test_a_spoiled_egg_gets_no_place_in_the_box() -> None:
    """Of two eggs with one spoiled, one is incubated and the clutch still counts two."""
    book, keeper = new_book()
    write(book, keeper, F3, BOX, rec("laid", dam="F3", eggs=2, spoiled=1, slots=("B6",)))
    with open_pages(book, keeper) as pages:
        assert [e.slot for e in pages.state.eggs.values()] == ["B6"]
        (clutch,) = pages.state.clutches.values()
        assert (clutch.eggs, clutch.spoiled) == (2, 1)


def test_a_hatchling_knows_its_parents() -> None:
    """A tag given at hatching becomes an animal with dam, sire, species and the day."""
    book, keeper = new_book()
    write(book, keeper, F3, M2, BOX, rec("paired", date(2025, 12, 20), male="M2", female="F3"))
    write(book, keeper, rec("laid", date(2026, 1, 9), dam="F3", eggs=1, slots=("B1",)))
    write(book, keeper, rec("hatched", slots=("B1",), tags=("H5",)))
    with open_pages(book, keeper) as pages:
        young = pages.state.animals["H5"]
        assert (young.dam, young.sire, young.species) == ("F3", "M2", "picta")
        assert young.hatched == date(2026, 3, 10)
        assert not pages.state.eggs_in("B1")


def test_a_move_logged_late_does_not_undo_a_later_one() -> None:
    """What counts is the day of the move, not the day it was typed."""
    book, keeper = new_book()
    write(book, keeper, F3, rec("placed", date(2026, 3, 9), tag="F3", place="tub 9"))
    write(book, keeper, rec("placed", date(2026, 3, 5), tag="F3", place="tub 5"))
    with open_pages(book, keeper) as pages:
        assert pages.state.animals["F3"].place == "tub 9"


def test_undo_takes_back_the_whole_last_message_and_then_the_one_before() -> None:
    """Undo twice walks back two messages; the book is as it was."""
    book, keeper = new_book()
    write(book, keeper, F3)
    write(book, keeper, rec("weighed", tag="F3", grams=21.4), rec("shed", tag="F3"))
    with open_pages(book, keeper) as pages:
        said = {"channel": "test", "arrived": NOW, "text": "undo"}
        gone = pages.undo_last(keeper, **said)
        assert [r.kind for r in gone] == ["weighed", "shed"]
        assert [h.kind for h in pages.history("F3")] == ["animal"]
        assert [r.kind for r in pages.undo_last(keeper, **said)] == ["animal"]
        assert pages.undo_last(keeper, **said) == ()
        assert not pages.state.animals
        assert pages.check() == []


def test_a_correction_stands_where_the_record_stood() -> None:
    """A laying put right to another slot moves the egg, and undoing that moves it back."""
    book, keeper = new_book()
    write(book, keeper, F3, BOX)
    write(book, keeper, rec("laid", dam="F3", eggs=1, slots=("B4",)))
    write(book, keeper, rec("checked", slots=("B5",), state="fertile"))
    with open_pages(book, keeper) as pages:
        entry = next(n for n, r in _laid(pages))
        said = {"channel": "test", "arrived": NOW, "text": "no, slot 5"}
        pages.correct(entry, rec("laid", dam="F3", eggs=1, slots=("B5",)), member=keeper, **said)
        (egg,) = pages.state.eggs.values()
        assert (egg.slot, egg.state) == ("B5", "fertile")
        pages.undo_last(keeper, **said)
        (egg,) = pages.state.eggs.values()
        assert (egg.slot, egg.state) == ("B4", None)
        assert pages.check() == []


def _laid(pages):  # type: ignore[no-untyped-def]
    from bot.book import ledger

    rows = ledger.rows(pages.conn, pages.household.id)
    return [(row["id"], row) for row in rows if row["kind"] == "laid"]


def test_check_finds_a_state_that_was_tampered_with() -> None:
    """A row changed behind the ledger's back is named."""
    from sqlalchemy import text

    book, keeper = new_book()
    write(book, keeper, F3)
    with book.writing() as conn:
        conn.execute(text("UPDATE animals SET sex = 'male'"))
    with open_pages(book, keeper) as pages:
        assert any("F3" in line for line in pages.check())


def test_a_pairing_said_twice_is_one_session() -> None:
    """A male who is in already is not put in again; pulling him once ends it."""
    book, keeper = new_book()
    write(book, keeper, F3, M2, rec("paired", date(2026, 3, 8), male="M2", female="F3"))
    write(book, keeper, rec("paired", male="M2", female="F3"))
    with open_pages(book, keeper) as pages:
        assert [p.put_in for p in pages.state.open_pairings()] == [date(2026, 3, 8)]
    write(book, keeper, rec("parted", male="M2", female="F3"))
    with open_pages(book, keeper) as pages:
        assert not pages.state.open_pairings()
