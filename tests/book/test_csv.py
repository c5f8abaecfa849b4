"""Bringing a colony in from CSV files and writing it back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from bot.book import households
from bot.book.csv_files import COLUMNS
from bot.book.csv_in import ImportRefused, bring_in
from bot.book.csv_out import export
from bot.book.pages import Pages
from bot.book.store import Book
from scheduler import species

NOW = datetime(2026, 3, 10, 19, 30, tzinfo=UTC)

COLONY = {
    "animals.csv": """tag,name,species,sex,hatched,sire,dam,place,traits,status
P1,Fern,picta,female,2024-05-01,,,tub 1,,kept
P2,Reed,picta,male,2024-06-01,,,tub 2,stripe; bold,kept
P3,,picta,female,2025-07-01,P2,P1,tub 3,,kept
P4,,picta,unknown,2025-12-20,P2,P1,,,sold
""",
    "boxes.csv": "box,rows,columns,incubator\nA,2,3,1\n",
    "pairings.csv": """male,female,put_in,taken_out
P2,P1,2026-01-02,2026-01-04
P2,P3,2026-03-01,
""",
    "eggs.csv": """slot,dam,sire,laid,state
A1,P1,P2,2026-02-01,fertile
A1,P1,P2,2026-02-01,fertile
A2,P1,P2,2025-10-18,
""",
    "hatches.csv": "tag,slot,dam,sire,laid,hatched\nP4,A4,P1,P2,2025-10-18,2025-12-20\n",
    "readings.csv": "at,place,celsius,humidity\n2026-03-08T19:00,incubator 1,27.2,78\n",
    "weights.csv": "tag,on,grams\nP1,2026-02-15,22.1\n",
}


@contextmanager
def household() -> Iterator[Pages]:
    book = Book.open(":memory:")
    with book.writing() as conn:
        owner = households.begin(conn, zone="Europe/Lisbon", owner="keeper", now=NOW)
        yield Pages(conn, owner.household)
    book.close()


def folder(at: Path, **changed: str) -> Path:
    """The colony's files, some of them changed: `eggs=...` for eggs.csv."""
    at.mkdir(exist_ok=True)
    for name, text in COLONY.items():
        (at / name).write_text(changed.get(name.removesuffix(".csv"), text), encoding="utf-8")
    return at


def refused(at: Path) -> tuple[str, ...]:
    with household() as pages:
        with pytest.raises(ImportRefused) as caught:
            bring_in(pages, at, now=NOW)
        assert not pages.state.animals and not pages.state.boxes
        return caught.value.lines


def added(file: str, row: str) -> dict[str, str]:
    return {file: COLONY[f"{file}.csv"] + row + "\n"}


def test_a_colony_comes_in(tmp_path: Path) -> None:
    """Animals, boxes, sessions, eggs, hatchlings, readings and weights stand in the book."""
    with household() as pages:
        counts = bring_in(pages, folder(tmp_path / "in"), now=NOW)
        state, colony = pages.state, pages.colony()
        assert counts["animals.csv"] == 4
        assert state.animals["P2"].traits == ("stripe", "bold")
        assert state.animals["P4"].status == "sold"
        assert [p.female for p in state.open_pairings()] == ["P3"]
        assert [egg.state for egg in state.eggs_in("A1")] == ["fertile", "fertile"]
        hatched = [egg for egg in state.eggs.values() if egg.end == "hatched"]
        assert [(e.young, e.ended) for e in hatched] == [("P4", date(2025, 12, 20))]
        assert colony.readings[0].celsius == 27.2
        assert pages.check() == []


def test_a_clutch_partly_hatched_stays_one_clutch(tmp_path: Path) -> None:
    """An egg that hatched and its clutch mate still in the box were laid together."""
    with household() as pages:
        bring_in(pages, folder(tmp_path / "in"), now=NOW)
        october = [c for c in pages.state.clutches.values() if c.laid == date(2025, 10, 18)]
        assert [c.eggs for c in october] == [2]


def test_what_is_written_back_comes_in_again_the_same(tmp_path: Path) -> None:
    """Import, export, import, export: both exports hold the same files."""
    for source, target in (("in", "one"), ("one", "two")):
        with household() as pages:
            if source == "in":
                folder(tmp_path / "in")
            bring_in(pages, tmp_path / source, now=NOW)
            export(pages, tmp_path / target)
    for name in COLUMNS:
        assert (tmp_path / "one" / name).read_text() == (tmp_path / "two" / name).read_text()
    for name in ("boxes.csv", "pairings.csv", "hatches.csv", "readings.csv", "weights.csv"):
        assert (tmp_path / "one" / name).read_text() == COLONY[name]


GONE = """slot,dam,sire,laid,state
A1,P1,P2,2026-02-01,fertile
A2,P1,P2,2026-02-01,mould discarded
A2,P1,P2,2026-02-20,
A3,P3,P2,2026-01-05,discarded
A3,P3,P2,2026-02-25,infertile
,P1,P2,2026-02-01,spoiled
,P3,P2,2026-03-01,spoiled
,P3,P2,2026-03-01,spoiled
"""


def test_what_became_of_every_egg_comes_in(tmp_path: Path) -> None:
    """Eggs bad when found count in their clutch; those thrown away left their slots to the next."""
    with household() as pages:
        bring_in(pages, folder(tmp_path / "in", eggs=GONE), now=NOW)
        state = pages.state
        clutches = {(c.dam, c.laid): (c.eggs, c.spoiled) for c in state.clutches.values()}
        assert clutches["P1", date(2026, 2, 1)] == (3, 1)
        assert clutches["P3", date(2026, 3, 1)] == (2, 2)
        gone = [(e.slot, e.laid, e.state, e.ended) for e in state.eggs.values()
                if e.end == "discarded"]  # fmt: skip
        assert sorted(gone, key=str) == [
            ("A2", date(2026, 2, 1), "mould", date(2026, 2, 20)),
            ("A3", date(2026, 1, 5), None, date(2026, 2, 25)),
        ]
        assert [e.laid for e in state.eggs_in("A2")] == [date(2026, 2, 20)]
        assert [e.state for e in state.eggs_in("A3")] == ["infertile"]
        assert pages.check() == []


def test_what_became_of_every_egg_goes_out_and_in_again(tmp_path: Path) -> None:
    """Import and export lose no egg: the rows come back, and a second export is the same."""
    folder(tmp_path / "in", eggs=GONE)
    for source, target in (("in", "one"), ("one", "two")):
        with household() as pages:
            bring_in(pages, tmp_path / source, now=NOW)
            export(pages, tmp_path / target)
    one, two = ((tmp_path / each / "eggs.csv").read_text() for each in ("one", "two"))
    assert one == two
    assert sorted(one.splitlines()) == sorted(GONE.splitlines())
    animals = (tmp_path / "one" / "animals.csv").read_text()
    assert animals == COLONY["animals.csv"].replace("stripe; bold", "stripe;bold")


OWN = 'key = "{key}"\nname = "Exemplum parvum"\n[incubation]\ndurations = []\n'


def test_the_keepers_own_species(tmp_path: Path) -> None:
    """A species of the keeper's own file is taken by its key or name; others are still refused."""
    rows = (
        "P8,,example,male,,,,,,kept\nP9,,exemplum parvum,male,,,,,,kept\nP7,,PICTA,male,,,,,,kept"
    )
    files = folder(tmp_path / "in", **added("animals", rows))
    assert 'line 6: "example" is no species' in refused(files)[0]
    (tmp_path / "species").mkdir()
    (tmp_path / "species" / "example.toml").write_text(OWN.format(key="example"))
    species.add_own(tmp_path / "species")
    try:
        with household() as pages:
            bring_in(pages, files, now=NOW)
            found = {tag: pages.state.animals[tag].species for tag in ("P7", "P8", "P9")}
            assert found == {"P7": "picta", "P8": "example", "P9": "example"}
            assert pages.view().species["example"] == "Exemplum parvum"
    finally:
        species.add_own(tmp_path / "nowhere")
    assert "example" not in species.keys()  # noqa: SIM118


def test_an_egg_may_lie_where_another_hatched(tmp_path: Path) -> None:
    """A slot that a hatchling left holds a later clutch's egg, and not the wrong one hatches."""
    changed = {"eggs": "slot,dam,sire,laid,state\nA4,P1,P2,2025-10-01,\n"}
    with household() as pages:
        bring_in(pages, folder(tmp_path / "in", **changed), now=NOW)
        assert [egg.laid for egg in pages.state.eggs_in("A4")] == [date(2025, 10, 1)]
        hatched = [egg.laid for egg in pages.state.eggs.values() if egg.end == "hatched"]
        assert hatched == [date(2025, 10, 18)]


@pytest.mark.parametrize(
    ("file", "row", "reason"),
    [
        ("animals", "P9,,picta,lady,,,,,,kept", 'line 6: "lady" is no sex'),
        ("animals", "P9,,pictta,male,,,,,,kept", 'line 6: "pictta" is no species; did you mean'),
        ("animals", "P9,,picta,male,,,,,,eaten", 'line 6: "eaten" is no status'),
        ("animals", "P9,,picta,male,2 May 2024,,,,,kept", 'line 6: hatched "2 May 2024" is no'),
        ("animals", "P9,,picta,male,2026-03-11,,,,,kept", "line 6: hatched 2026-03-11 is in the"),
        ("animals", "P9,,picta,male,,P8,,,,kept", "line 6: sire P8 is not in"),
        ("animals", "P9,,picta,male,,P1,,,,kept", "line 6: sire P1 is a female"),
        ("animals", "P1,,picta,male,,,,,,kept", "line 6: P1 is in this file already"),
        ("animals", ",,picta,male,,,,,,kept", "line 6: tag is blank"),
        ("animals", "P9,picta", "line 6: 2 cells instead of 10"),
        ("boxes", "B,0,4,1", "line 3: rows 0 is impossible"),
        ("boxes", "A,2,4,1", "line 3: box A is there already"),
        ("pairings", "P1,P3,2026-03-01,", "line 4: male P1 is a female"),
        ("pairings", "P2,P1,2026-03-05,2026-03-01", "line 4: taken_out 2026-03-01 is before"),
        ("eggs", "A7,P1,P2,2026-02-01,", "line 5: slot A7 does not exist; box A has A1 to A6"),
        ("eggs", "Z1,P1,P2,2026-02-01,", 'line 5: slot "Z1" is in no box'),
        ("eggs", "A1,P3,P2,2026-02-09,", "line 5: slot A1 is taken by line 2"),
        ("eggs", "A3,P1,P2,,", "line 5: laid is blank"),
        ("eggs", "A3,P1,P2,2026-02-01,green", 'line 5: "green" is no state'),
        ("eggs", ",P1,P2,2026-02-01,discarded", "line 5: an egg that is discarded needs a slot"),
        ("eggs", "A3,P1,P2,2026-02-01,spoiled", "line 5: a spoiled egg was never in a slot"),
        ("eggs", "A3,P1,P2,2026-02-01,green discarded", 'line 5: "green" is no state'),
        ("hatches", "P5,A3,P1,P2,2026-02-01,2026-01-30", "line 3: hatched 2026-01-30 is not after"),
        ("hatches", "P4,A3,P1,P2,2025-10-18,2025-12-20", "line 3: P4 has hatched or is in"),
        ("readings", "2026-03-08T19:00,incubator 1,,", "line 3: neither celsius nor humidity"),
        ("readings", "yesterday,incubator 1,27,", 'line 3: at "yesterday" is no moment'),
        ("readings", "2026-03-08T19:00,incubator 1,271,", "line 3: celsius 271 is impossible"),
        ("weights", "P1,2026-02-15,-2", "line 3: grams -2 is impossible"),
        ("weights", "P1,2026-02-15,nan", 'line 3: grams "nan" is not a number'),
        ("weights", "P7,2026-02-15,20", "line 3: P7 is not in"),
    ],
)  # fmt: skip
def test_a_bad_row_is_named_and_nothing_kept(
    tmp_path: Path, file: str, row: str, reason: str
) -> None:
    """Each bad row is told by file, line and reason, and the book stays empty."""
    (line,) = refused(folder(tmp_path / "in", **added(file, row)))
    assert line.startswith(f"{file}.csv {reason}")


def test_all_bad_rows_are_told_at_once(tmp_path: Path) -> None:
    """One wrong row does not hide another."""
    both = added("weights", "P7,2026-02-15,20") | added("eggs", "A9,P1,P2,2026-02-01,")
    assert len(refused(folder(tmp_path / "in", **both))) == 2


def test_other_columns_are_refused(tmp_path: Path) -> None:
    """A header that is not the file's own is told with the one expected."""
    (line,) = refused(folder(tmp_path / "in", weights="tag,date,grams\nP1,2026-02-15,20\n"))
    assert line == "weights.csv line 1: the columns must be tag,on,grams"


def test_a_file_that_is_not_utf8_is_refused(tmp_path: Path) -> None:
    """The line of the first byte that does not read is named."""
    files = folder(tmp_path / "in")
    (files / "weights.csv").write_bytes(b"tag,on,grams\nP\xff,2026-02-15,20\n")
    assert refused(files) == ("weights.csv line 2: not UTF-8; save the file as UTF-8",)


def test_no_animal_is_its_own_ancestor(tmp_path: Path) -> None:
    """A circle of parents is told, with the animals in it."""
    rows = "P8,,picta,male,,P9,,,,kept\nP9,,picta,male,,P8,,,,kept"
    (line,) = refused(folder(tmp_path / "in", **added("animals", rows)))
    assert "P8 from P9 from P8" in line


def test_a_folder_with_nothing_in_it_is_refused(tmp_path: Path) -> None:
    """A folder without any of the files is a mistake, not an empty import."""
    assert "has none of animals.csv" in refused(tmp_path)[0]


def test_an_import_into_a_book_minds_what_is_there(tmp_path: Path) -> None:
    """Tags, boxes and slots that the book has are not brought in twice."""
    with household() as pages:
        bring_in(pages, folder(tmp_path / "in"), now=NOW)
        with pytest.raises(ImportRefused) as caught:
            bring_in(pages, tmp_path / "in", now=NOW)
    text = "\n".join(caught.value.lines)
    assert "animals.csv line 2: P1 is in the book already" in text
    assert "boxes.csv line 2: box A is there already" in text
    assert "eggs.csv line 2: slot A1 holds an egg in the book" in text
