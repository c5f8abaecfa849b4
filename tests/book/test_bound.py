"""On PostgreSQL the database itself keeps households apart, and puts their writers in a row."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Connection, func, select, text
from sqlalchemy.exc import DBAPIError

from bot.book import bound, households, post
from bot.book.households import Member
from bot.book.pages import Pages
from bot.book.store import Book
from bot.book.tables import ledger, metadata
from bot.messages import Reply
from tests.book.support import NOW, rec, write
from tests.postgres import Server


@pytest.fixture
def book(database: str) -> Iterator[Book]:
    opened = Book.open(database)
    yield opened
    opened.close()


def _household(book: Book, owner: str, tag: str) -> Member:
    with book.writing() as conn:
        member = households.begin(conn, zone="Europe/Lisbon", owner=owner, now=NOW)
        households.add_address(conn, member, "telegram", owner)
        post.put_out(conn, Reply("Hello."), member, "telegram", owner, NOW)
    write(book, member, rec("animal", tag=tag, sex="female"), rec("weighed", tag=tag, grams=21))
    return member


def _seen(conn: Connection) -> set[int]:
    """The households of which any table shows a row, asked without any condition."""
    found = set(conn.execute(text("SELECT id FROM households")).scalars())
    for table in metadata.sorted_tables:
        if "household" in table.c:
            found |= set(conn.execute(text(f"SELECT household FROM {table.name}")).scalars())
    return found


def test_a_transaction_kept_to_one_household_sees_no_row_of_another(book: Book) -> None:
    """Also by SQL that forgets to ask for its household; a step that must look beyond says so."""
    ann, ben = _household(book, "ann", "F3"), _household(book, "ben", "F3")
    with book.writing() as conn:
        assert _seen(conn) == {ann.household, ben.household}
        Pages(conn, ann.household)
        assert _seen(conn) == {ann.household}
        with bound.looking_beyond(conn):
            assert _seen(conn) == {ann.household, ben.household}
        assert _seen(conn) == {ann.household}
    with book.reading() as conn:
        Pages(conn, ben.household)
        assert _seen(conn) == {ben.household}


def test_a_transaction_kept_to_one_household_changes_no_row_of_another(book: Book) -> None:
    """What is changed without a condition is changed here alone, and nothing is written there."""
    ann, ben = _household(book, "ann", "F3"), _household(book, "ben", "F3")
    with book.writing() as conn:
        Pages(conn, ann.household)
        assert conn.execute(text("UPDATE animals SET sex = 'male'")).rowcount == 1
        assert conn.execute(text("DELETE FROM happenings")).rowcount == 2
    with book.reading() as conn:
        assert Pages(conn, ben.household).check() == []
    with pytest.raises(DBAPIError, match="row-level security"), book.writing() as conn:
        Pages(conn, ann.household)
        conn.execute(
            text("INSERT INTO boxes VALUES (:other, 'B', 3, 4, NULL)"), {"other": ben.household}
        )


def test_a_connection_that_is_not_ours_sees_nothing(book: Book, database: str) -> None:
    """Whoever connects as the same role without saying for whom has no household in sight."""
    import psycopg

    _household(book, "ann", "F3")
    with psycopg.connect(database) as conn:
        for table in ("households", "members", "ledger", "animals", "outbox"):
            assert conn.execute(f"SELECT count(*) FROM {table}").fetchone() == (0,)


def test_every_table_of_households_has_its_rows_secured(book: Book) -> None:
    """A table that is added without a policy is named here."""
    owned = {t.name for t in metadata.sorted_tables if "household" in t.c} | {"households"}
    query = "SELECT relname FROM pg_class WHERE relrowsecurity AND relforcerowsecurity"
    with book.reading() as conn:
        assert set(conn.execute(text(query)).scalars()) == owned


def test_writers_of_one_household_wait_for_each_other_and_for_nobody_else(book: Book) -> None:
    """The second begins when the first has committed, and sees what it wrote."""
    ann, ben = _household(book, "ann", "F3"), _household(book, "ben", "F3")
    seen: list[int] = []

    def second() -> None:
        with book.writing() as conn:
            pages = Pages(conn, ann.household)
            seen.append(len(pages.history("F3")))

    with book.writing() as conn:
        pages = Pages(conn, ann.household)
        waiting = threading.Thread(target=second)
        waiting.start()
        with book.writing() as other:
            assert len(Pages(other, ben.household).history("F3")) == 2
        time.sleep(0.2)
        assert seen == []
        pages.write([rec("shed", tag="F3")], member=ann, channel="t", arrived=NOW, text="shed")
    waiting.join(5)
    assert seen == [3]


def test_whoever_reads_waits_for_nobody_and_sees_one_moment(book: Book) -> None:
    """A reader sees the book as it was when it began, whatever is committed meanwhile."""
    ann = _household(book, "ann", "F3")
    count = select(func.count()).select_from(ledger)
    with book.reading() as conn:
        before = conn.execute(count).scalar()
        write(book, ann, rec("shed", tag="F3"))
        assert conn.execute(count).scalar() == before
    with book.writing() as conn:
        Pages(conn, ann.household)
        with book.reading() as reader:
            assert Pages(reader, ann.household).check() == []


def test_what_is_kept_of_a_household_holds_only_until_another_process_writes(
    postgres: Server, database: str
) -> None:
    """Two processes answer by turns, and each sees what the other wrote."""
    from bot.messages import Message
    from bot.service import Rackside

    books = [Book.open(database), Book.open(database)]
    two = [Rackside(each, lambda: NOW) for each in books]
    with books[0].writing() as conn:
        ann = households.begin(conn, zone="Europe/Lisbon", owner="ann", now=NOW)
        households.add_address(conn, ann, "telegram", "1")
    said = ["new female F3 picta", "F3 21.5g", "F3 22g", "what does F3 weigh", "undo", "F3 weight?"]
    answers = []
    for number, line in enumerate(said):
        (out,) = two[number % 2].handle(Message("telegram", str(number), "1", line, NOW))
        answers.append(out.reply.text)
    assert "22 g" in answers[3]
    assert "21.5 g" in answers[5]
    for each in books:
        each.close()


def test_a_book_that_does_not_answer_says_so_without_its_password(tmp_path: Path) -> None:
    """The sentence names the server and not the secret in its address."""
    from bot.book.errors import BookMissing

    url = f"postgresql://keeper:hush@/book?host={tmp_path}"
    with pytest.raises(BookMissing) as caught:
        Book.open(url)
    assert "hush" not in str(caught.value)
    assert "answer" in str(caught.value)
