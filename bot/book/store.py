"""Opening the book: the engine, the migrations, one transaction at a time, backup and restore."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.pool import StaticPool

from bot.book import bound
from bot.book.errors import BookInTheWay, BookLocked, BookMissing, BookTooNew, NotABook

REVISION = "0005"  # the newest of bot/book/migrations/versions; a test holds it true
_REVISIONS = ("0001", "0002", "0003", "0004", "0005")
_ROOM = 256 * 1024  # bytes left on the disk, with fewer of which the book counts as unusable
_BUSY = 10_000  # milliseconds to wait for another writer
DRIVER = "postgresql+psycopg"
_SHARED = {
    "lock_timeout": f"{_BUSY}",
    "idle_in_transaction_session_timeout": "60000",
    bound.SETTING: bound.EVERYONE,
}
"""Settings of each connection to PostgreSQL; times in milliseconds."""


class Book:
    """A book that is open. One writer at a time; readers see the last commit."""

    def __init__(self, engine: Engine, path: Path | None) -> None:
        self.engine = engine
        self.path = path

    @classmethod
    def open(cls, where: str | Path, *, create: bool = True) -> Book:
        """Open, and bring up to date, the book at a path, a database URL, or ":memory:".

        Raises BookMissing, BookLocked, BookTooNew or NotABook.
        """
        url, path = _place(where)
        if path is not None and not path.exists():
            if not create:
                raise BookMissing(f"There is no book at {path}.")
            path.parent.mkdir(parents=True, exist_ok=True)
        engine = _engine(url)
        try:
            _bring_up_to_date(engine, path)
        except (DatabaseError, sqlite3.DatabaseError) as error:
            engine.dispose()
            raise _in_words(error, path) from error
        except Exception:
            engine.dispose()
            raise
        return cls(engine, path)

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction that may write; it commits at the end, or leaves nothing."""
        with self.engine.begin() as conn:
            if self.engine.dialect.name == "sqlite":
                conn.exec_driver_sql("BEGIN IMMEDIATE")
            yield conn

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that only reads: it sees the book as it was at its first look."""
        with self.engine.connect() as conn:
            if self.engine.dialect.name == "postgresql":
                conn.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
            elif self.path is not None:
                conn.exec_driver_sql("BEGIN")
            yield conn

    def usable(self) -> bool:
        """Whether it can be written just now, tried by a write that changes nothing.

        Raises OperationalError where it can't. A file needs some room on its disk besides: a
        message is more than this write.
        """
        if self.engine.dialect.name != "sqlite":
            with self.writing() as conn:
                conn.execute(text("UPDATE households SET id = id WHERE false"))
            return True
        with self.writing() as conn:
            conn.execute(text("PRAGMA user_version = 0"))
        return self.path is None or shutil.disk_usage(self.path).free >= _ROOM

    def close(self) -> None:
        """Let go of the file."""
        self.engine.dispose()

    def backup(self, file: Path) -> None:
        """Write a consistent copy, also while others write: the file appears whole or not at all.

        Raises NotABook where the book is not a file, OSError where the copy can't be written.
        """
        if self.path is None:
            raise NotABook(
                "Only a book in a file can be copied here; use the database's own tools."
            )
        draft = file.with_name(f".{file.name}.part")
        try:
            with (
                closing(sqlite3.connect(self.path)) as source,
                closing(sqlite3.connect(draft)) as copy,
            ):
                source.backup(copy)
            draft.replace(file)
        except sqlite3.Error as error:
            raise OSError(f"{file} could not be written: {error}") from error
        finally:
            draft.unlink(missing_ok=True)


def restore(file: Path, where: Path, replace: bool) -> None:
    """Put a backup in the book's place.

    Raises BookMissing or NotABook where `file` is no book, BookInTheWay where a book with
    anything in it stands there and `replace` is false.
    """
    Book.open(file, create=False).close()
    if where.exists() and not replace and not _is_empty(where):
        raise BookInTheWay(
            f"There is a book with records at {where}. Add --replace to put it aside."
        )
    where.parent.mkdir(parents=True, exist_ok=True)
    draft = where.with_name(f".{where.name}.part")
    with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(draft)) as copy:
        source.backup(copy)
    for rest in ("-wal", "-shm"):
        where.with_name(where.name + rest).unlink(missing_ok=True)
    draft.replace(where)


def _is_empty(path: Path) -> bool:
    book = Book.open(path)
    with book.reading() as conn:
        found = conn.execute(text("SELECT 1 FROM ledger LIMIT 1")).first()
    book.close()
    return found is None


def _place(where: str | Path) -> tuple[str, Path | None]:
    if str(where) == ":memory:":
        return "sqlite://", None
    if isinstance(where, str) and "://" in where:
        url = make_url(where)
        if url.drivername == "postgresql":
            return where.replace("postgresql", DRIVER, 1), None
        path = Path(url.database) if url.drivername == "sqlite" and url.database else None
        return where, path
    return f"sqlite:///{Path(where)}", Path(where)


def _engine(url: str) -> Engine:
    if not url.startswith("sqlite"):
        return _shared_engine(url)
    options: dict[str, Any] = {
        "connect_args": {"check_same_thread": False},
        "json_deserializer": _from_json,
    }
    if url == "sqlite://":
        options["poolclass"] = StaticPool
    engine = create_engine(url, **options)

    @event.listens_for(engine, "connect")
    def _settings(connection: Any, _: Any) -> None:
        # Our own BEGIN IMMEDIATE, not the driver's late BEGIN: two writers then wait in turn.
        connection.isolation_level = None
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA busy_timeout={_BUSY}")
        cursor.execute("PRAGMA journal_mode=WAL")
        cursor.execute("PRAGMA synchronous=FULL")
        cursor.execute("PRAGMA foreign_keys=ON")
        cursor.close()

    return engine


_decode = json.JSONDecoder().raw_decode


def _from_json(text: str) -> Any:
    """What JSON text holds; quicker than `json.loads` where nothing stands around it, as ever here.

    Every row of a household's history has some. Raises ValueError for what is no JSON.
    """
    try:
        value, end = _decode(text)
    except ValueError:
        return json.loads(text)
    return value if end == len(text) else json.loads(text)


def _shared_engine(url: str) -> Engine:
    """A PostgreSQL book. Nobody waits for ever: not for a lock, nor for a process that froze."""
    try:
        engine = create_engine(url, pool_pre_ping=True)
    except ImportError as error:
        raise BookMissing(
            "A book on PostgreSQL needs one more package. Install rackside[postgres]."
        ) from error

    @event.listens_for(engine, "connect")
    def _settings(connection: Any, _: Any) -> None:
        for name, value in _SHARED.items():
            connection.execute("SELECT set_config(%s, %s, false)", (name, value))
        connection.commit()

    return engine


def _bring_up_to_date(engine: Engine, path: Path | None) -> None:
    found = _revision(engine)
    if found == REVISION:
        return
    if found is not None and found not in _REVISIONS:
        raise BookTooNew(
            f"The book at {path} was written by a newer version of Rackside. Update Rackside."
        )
    from bot.book.migrate import upgrade  # alembic is heavy, and needed only here

    upgrade(engine)


def _revision(engine: Engine) -> str | None:
    """The book's revision; None for a new file. Raises NotABook for somebody else's tables."""
    with engine.connect() as conn:
        names = set(engine.dialect.get_table_names(conn))
        if "alembic_version" in names:
            found = conn.execute(text("SELECT version_num FROM alembic_version")).scalar()
            return str(found) if found is not None else None
    if names:
        raise NotABook("That file is a database, but not a Rackside book.")
    return None


def _in_words(error: Exception, path: Path | None) -> Exception:
    words = str(error).lower()
    if path is None and isinstance(error, OperationalError):
        return BookMissing(
            "The database of the book does not answer. Is its server up, and RACKSIDE_BOOK right?"
        )
    if isinstance(error, OperationalError) and ("locked" in words or "busy" in words):
        return BookLocked(f"Another program holds the book at {path}. Close it and try again.")
    if "unable to open" in words:
        return BookMissing(f"The book at {path} can't be opened. Is the folder yours to write in?")
    return NotABook(f"The file at {path} is not a Rackside book, or it is damaged.")
