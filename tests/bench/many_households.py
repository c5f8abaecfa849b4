"""Books of many households for benchmarks: one is made as a keeper would, the others are copies."""

from __future__ import annotations

import csv
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import Column, Connection, Engine, Table, create_engine, literal_column, text
from sqlalchemy import insert as sql_insert
from sqlalchemy import select as sql_select

from bot.book import households, reminders
from bot.book.csv_in import bring_in
from bot.book.pages import Pages
from bot.book.store import Book
from bot.book.tables import metadata

NOW = datetime(2026, 3, 10, 19, 30, tzinfo=UTC)
CHANNEL = "telegram"
ANIMALS = 50
COPIED = (
    "households", "members", "addresses", "ledger", "animals", "boxes", "pairings", "clutches",
    "eggs", "happenings", "reminders",
)  # fmt: skip


def address(household: int) -> str:
    """Where the keeper of a household writes from."""
    return f"a{household}"


def made(where: str, count: int, folder: Path) -> Book:
    """A book of so many households with 50 animals each, one pairing and one clutch.

    What is due in each was worked out this morning, as `serve` does.

    Keys of pairings and eggs are those of the first household in all of them: they are their own
    only within one. Nothing here replays a ledger.
    """
    book = Book.open(where)
    with book.writing() as conn:
        owner = households.begin(conn, zone="Europe/Lisbon", owner="Keeper", now=NOW)
        households.add_address(conn, owner, CHANNEL, address(1))
        pages = Pages(conn, owner.household)
        bring_in(pages, _colony(folder), now=NOW)
        reminders.refresh(pages, NOW)
        pages.wake(NOW.astimezone(pages.zone).date())
    if count > 1:
        _copy(book, count)
    return book


def _colony(folder: Path) -> Path:
    """40 females and 10 males of one species, with a box, a pairing and two eggs."""
    folder.mkdir(parents=True, exist_ok=True)
    born, blank = "2024-05-01", ""
    animals = [("tag", "name", "species", "sex", "hatched", "sire", "dam", "place", "traits",
                "status")]  # fmt: skip
    for number in range(1, ANIMALS + 1):
        female = number <= 40
        tag = f"F{number}" if female else f"M{number - 40}"
        sex = "female" if female else "male"
        animals.append((tag, blank, "leopard", sex, born, blank, blank, f"tub {number}", blank,
                        "kept"))  # fmt: skip
    put_in, taken_out, laid = (str(NOW.date() - timedelta(days=d)) for d in (40, 37, 20))
    tables = {
        "animals.csv": animals,
        "boxes.csv": [("box", "rows", "columns", "incubator"), ("B", "4", "5", "incubator 1")],
        "pairings.csv": [("male", "female", "put_in", "taken_out"),
                         ("M1", "F1", put_in, taken_out)],
        "eggs.csv": [("slot", "dam", "sire", "laid", "state"), ("B1", "F1", "M1", laid, "fertile"),
                     ("B2", "F1", "M1", laid, "fertile")],
    }  # fmt: skip
    for name, rows in tables.items():
        with (folder / name).open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(rows)
    return folder


def _copy(book: Book, count: int) -> None:
    engine = _quick(book)
    try:
        with engine.begin() as conn:
            conn.execute(text("CREATE TEMPORARY TABLE numbers (n INTEGER PRIMARY KEY)"))
            conn.execute(
                text("INSERT INTO numbers (n) VALUES (:n)"), [{"n": n} for n in range(2, count + 1)]
            )
            for name in COPIED:
                _copy_rows(conn, metadata.tables[name])
            _move_on(conn, count)
            conn.execute(text("ANALYZE"))  # as the database does by itself after a while
    finally:
        engine.dispose()


def _quick(book: Book) -> Engine:
    """A file's connection need not survive a power cut: the book is only for this run."""
    if book.path is None:
        return book.engine
    engine = create_engine(f"sqlite:///{book.path}")
    with engine.connect() as conn:
        conn.execute(text("PRAGMA cache_size=-200000"))
    return engine


def _copy_rows(conn: Connection, table: Table) -> None:
    """The first household's rows, once for each number."""
    mine = table.c.id if table.name == "households" else table.c.household
    columns = [c for c in table.c if not (table.name == "ledger" and c.name == "id")]
    values = [literal_column(_value(table, column)) for column in columns]
    numbers = text("numbers")
    rows = sql_select(*values).select_from(table).select_from(numbers).where(mine == 1)
    conn.execute(sql_insert(table).from_select([c.name for c in columns], rows))


def _value(table: Table, column: Column[object]) -> str:
    """What stands in a column of a copy, in SQL: the household's number where it is its own.

    Each household has one member and one address, so that those have its number, too.
    """
    if (table.name, column.name) == ("addresses", "address"):
        return "'a' || numbers.n"
    numbered = {"id", "member", "household"} if table.name != "ledger" else {"household"}
    if table.name == "households" and column.name == "calendar":
        return "NULL"
    return "numbers.n" if column.name in numbered else f'{table.name}."{column.name}"'


def _move_on(conn: Connection, count: int) -> None:
    """On PostgreSQL, where numbers go on from for the rows that come next."""
    if conn.dialect.name == "postgresql":
        for name in ("households", "members", "addresses"):
            conn.execute(text(f"SELECT setval(pg_get_serial_sequence('{name}', 'id'), {count})"))
