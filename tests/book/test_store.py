"""Opening, copying and putting back a book, and what is said when that can't be done."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from bot.book import store
from bot.book.errors import BookInTheWay, BookMissing, BookTooNew, NotABook
from bot.book.store import Book, restore
from bot.book.tables import metadata
from tests.book.support import NOW, open_pages, rec
from tests.postgres import Server


def _book_with_an_animal(path: Path) -> Book:
    from bot.book import households

    book = Book.open(path)
    with book.writing() as conn:
        keeper = households.begin(conn, zone="Europe/Lisbon", owner="keeper", now=NOW)
    with open_pages(book, keeper) as pages:
        pages.write(
            [rec("animal", tag="F3")], member=keeper, channel="test", arrived=NOW, text="new F3"
        )
    return book


def test_the_migrations_build_the_tables_that_the_code_names(tmp_path: Path) -> None:
    """Built step by step or at once, the schema is the same."""
    _the_schema_is_the_same(Book.open(tmp_path / "b.sqlite"))


def test_the_migrations_build_the_same_tables_on_postgresql(postgres: Server) -> None:
    """There too, from an empty database, whichever form of its URL is given."""
    book = Book.open(postgres.fresh())
    _the_schema_is_the_same(book)
    book.close()


def _the_schema_is_the_same(book: Book) -> None:
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    with book.reading() as conn:
        found = compare_metadata(MigrationContext.configure(conn), metadata)
    assert found == []


def test_the_newest_revision_is_the_one_the_code_names() -> None:
    """A migration that is added without telling the store would be run at every start."""
    from alembic.script import ScriptDirectory

    folder = Path(store.__file__).parent / "migrations"
    script = ScriptDirectory(str(folder))
    assert script.get_current_head() == store.REVISION
    assert {each.revision for each in script.walk_revisions()} == set(store._REVISIONS)


def test_a_backup_put_back_holds_the_same(tmp_path: Path) -> None:
    """What was copied is there after restoring."""
    book = _book_with_an_animal(tmp_path / "b.sqlite")
    book.backup(tmp_path / "copy.sqlite")
    restore(tmp_path / "copy.sqlite", tmp_path / "new.sqlite", replace=False)
    with sqlite3.connect(tmp_path / "new.sqlite") as conn:
        assert conn.execute("SELECT tag FROM animals").fetchall() == [("F3",)]


def test_restore_does_not_write_over_a_book_with_records(tmp_path: Path) -> None:
    """It takes --replace to put a book aside."""
    book = _book_with_an_animal(tmp_path / "b.sqlite")
    book.backup(tmp_path / "copy.sqlite")
    with pytest.raises(BookInTheWay):
        restore(tmp_path / "copy.sqlite", tmp_path / "b.sqlite", replace=False)
    restore(tmp_path / "copy.sqlite", tmp_path / "b.sqlite", replace=True)


def test_what_is_not_a_book_is_said_to_be_none(tmp_path: Path) -> None:
    """A text file, another database and a missing file each have their own sentence."""
    (tmp_path / "notes.txt").write_text("not a database at all, just a shopping list\n" * 50)
    with pytest.raises(NotABook):
        Book.open(tmp_path / "notes.txt")
    with sqlite3.connect(tmp_path / "other.db") as conn:
        conn.execute("CREATE TABLE recipes (name TEXT)")
    with pytest.raises(NotABook):
        Book.open(tmp_path / "other.db")
    with pytest.raises(BookMissing):
        Book.open(tmp_path / "none.sqlite", create=False)


def test_a_book_from_a_newer_version_is_left_alone(tmp_path: Path) -> None:
    """It says to update, and changes nothing."""
    _book_with_an_animal(tmp_path / "b.sqlite").close()
    with sqlite3.connect(tmp_path / "b.sqlite") as conn:
        conn.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(BookTooNew, match="newer"):
        Book.open(tmp_path / "b.sqlite")
