"""What `rackside doctor` looks at in the book and beside it: nothing is written or made."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

import click

from bot.commands.house import House
from bot.settings import Settings

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bot.commands.doctor import Finding

OLDEST = timedelta(days=2)  # a daily copy older than this was not made when it should have been


def look_at_book(house: House, settings: Settings) -> Iterator[Finding]:
    """The book, the time zones in it, and its copies."""
    there = house.there
    zones: list[str] = []
    yield "book", _book(settings, zones) if there else _folder(Path(settings.book).parent)
    yield "zone", _zones(zones)
    yield "backups", _copies(house, settings)


def _book(settings: Settings, zones: list[str]) -> str | None:
    """What is wrong with the book; `zones` gets those of its households."""
    from sqlalchemy.exc import SQLAlchemyError

    from bot.book.errors import BookError

    where = settings.book
    try:
        with _looking(where) as conn:
            return _revision(conn) or _within(conn, zones) or _writable(where)
    except BookError as error:
        return str(error)
    except (SQLAlchemyError, sqlite3.Error):
        if "://" in where:
            return "the database does not answer; look at its server and at RACKSIDE_BOOK"
        return (
            "the file is not a Rackside book, or it is damaged; "
            "put a copy back with rackside restore --replace FILE"
        )


@contextmanager
def _looking(where: str) -> Iterator[Connection]:
    """The book to read only. Unlike `Book.open`, this brings nothing up to date."""
    from sqlalchemy import create_engine

    from bot.book.store import Book, _engine, _place

    url, path = _place(where)
    if path is None:
        engine = _engine(url)
    else:
        # Without a log beside it nobody has it open: so not even its side files are made.
        how = "mode=ro" if Path(f"{path}-wal").exists() else "immutable=1"
        file = f"file:{quote(str(path.absolute()))}?{how}"
        engine = create_engine("sqlite://", creator=lambda: sqlite3.connect(file, uri=True))
    try:
        with Book(engine, None).reading() as conn:
            yield conn
    finally:
        engine.dispose()


def _revision(conn: Connection) -> str | None:
    """What is wrong with the book's form. An older one is no fault: that is said on stderr."""
    from sqlalchemy import inspect, text

    from bot.book.store import REVISION

    names = inspect(conn).get_table_names()
    if "alembic_version" not in names:
        return "it is a database, but not a Rackside book; look at RACKSIDE_BOOK" if names else None
    found = conn.execute(text("SELECT version_num FROM alembic_version")).scalar()
    if str(found) > REVISION:
        return "it was written by a newer version of Rackside; update Rackside"
    if found != REVISION:
        click.echo(
            'rackside: the book is of an older version; "rackside serve" and every other command '
            "that opens it will bring it up to date.", err=True,
        )  # fmt: skip
    return None


def _within(conn: Connection, zones: list[str]) -> str | None:
    """Whether the pages are whole, and, where they have today's form, agree with the ledger."""
    from sqlalchemy import inspect, text

    from bot.book import households
    from bot.book.pages import Pages
    from bot.book.store import REVISION

    if conn.dialect.name == "sqlite":
        if conn.execute(text("PRAGMA quick_check(1)")).scalar() != "ok":
            return "pages of the file are damaged; put a copy back with rackside restore --replace"
        if "alembic_version" not in inspect(conn).get_table_names():
            return None
    zones += conn.execute(text("SELECT DISTINCT zone FROM households")).scalars()
    if _zones(zones) or conn.execute(text("SELECT version_num FROM alembic_version")).scalar() != (
        REVISION
    ):
        return None
    for each in households.all_households(conn):
        if Pages(conn, each.id).check():
            return "it does not agree with its ledger; run rackside check to see where"
    return None


def _writable(where: str) -> str | None:
    if "://" in where or os.access(where, os.W_OK):
        return _folder(Path(where).parent) if "://" not in where else None
    return f"{where} can't be written; change its permissions"


def _zones(zones: list[str]) -> str | None:
    from bot.settings import zone

    for each in zones:
        try:
            zone(each)
        except ValueError as error:
            return f"{error} on this machine, and a book keeps it; install the tzdata package"
    return None


def _copies(house: House, settings: Settings) -> str | None:
    """Whether copies can be written, and the newest is as young as it should be."""
    from bot.serve.copies import copies, day_of
    from bot.serve.hold import is_held

    folder, where = settings.backups, settings.book
    if folder is None or "://" in where:
        return None
    wrong = _folder(folder)
    if wrong or not house.there:
        return wrong
    book = Path(where)
    days = [day for each in copies(book, folder) if (day := day_of(each, book))]
    today = house.now().astimezone(settings.zone).date()
    if days and today - max(days) > OLDEST:
        return _stale(max(days), today, is_held(book))
    return None


def _stale(newest: date, today: date, served: bool) -> str:
    old = f"the newest copy is {(today - newest).days} days old ({newest})"
    if served:
        return f"{old} though serve is running; look at its log, and at the room on the disk"
    return f'{old}; "rackside serve" makes one a day while it runs, or run rackside backup FILE'


def _folder(folder: Path) -> str | None:
    """What keeps us from writing there; a folder that is missing is made when it is needed."""
    there = next(each for each in (folder, *folder.absolute().parents) if each.exists())
    if there.is_dir() and os.access(there, os.W_OK | os.X_OK):
        return None
    return f"{there} can't be written in; choose another folder or change its permissions"
