"""`serve`'s own addresses over a book of two households, where every row written is noted."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from aiohttp import web
from aiohttp.http_exceptions import HttpProcessingError
from aiohttp.test_utils import TestClient, TestServer
from structlog.testing import capture_logs

from bot.book import households
from bot.book.pages import Pages
from bot.book.store import Book
from bot.channels.telegram import secret
from bot.serve.intake import Intake
from bot.serve.phone import Phone
from bot.serve.run import _Serve, wall_clock
from bot.serve.server import application
from bot.settings import load

TOKEN, SECRET = "123456:fuzz-token", "fuzz-secret-word"
URL = "http://127.0.0.1:8787"
INES, OTTO, NOBODY = 5_010_203_040, 6_010_203_040, 7_010_203_040
NUMBERS = {INES: "+351912345671", OTTO: "+351912345672", NOBODY: "+351912345673"}
BEGINNING = (
    "new female F3 leopard hatched 2024-05-01", "new female F4 leopard", "new male M2 leopard",
    "new box B, 4 by 5, incubator 1", "M2 in with F3", "F3 laid 2, box B slot 4",
)  # fmt: skip
UNOWNED = ("strangers", "usage", "delays")  # tables that belong to no household


class Line:
    """Telegram as far as it is needed to take updates in; what is said to it is gone."""

    me = "fuzz_bot"

    async def say(self, address: str, text: str) -> None:
        """Gone."""

    async def answer_press(self, tapped: Any, notice: str) -> None:
        """Gone."""

    async def mark_pressed(self, tapped: Any, chosen: str) -> None:
        """Gone."""


class Unhandled(logging.Handler):
    """Keeps what the web server could not handle; that somebody speaks no HTTP is not ours."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep it."""
        error = record.exc_info[1] if record.exc_info else None
        # A payload that does not unpack is told by the server once more after our 400.
        theirs = isinstance(error, HttpProcessingError | web.RequestPayloadError)
        if record.levelno >= logging.ERROR and not theirs:
            self.found.append(f"{record.getMessage()}: {error!r}")


@dataclass
class Under:
    """What is under test, with what it wrote and what it logged since last asked."""

    client: TestClient[Any, Any]
    book: Book
    notes: sqlite3.Connection
    logged: list[dict[str, Any]]
    homes: dict[int, int]  # person -> household
    server: Unhandled
    seen: int = 0

    def written(self) -> set[tuple[str, int | None]]:
        """The tables, and households, of the rows that were written since last asked."""
        rows = self.notes.execute(
            "SELECT id, place, household FROM noted WHERE id > ?", (self.seen,)
        ).fetchall()
        self.seen = max((row[0] for row in rows), default=self.seen)
        return {(place, household) for _, place, household in rows}

    def errors(self) -> list[object]:
        """The lines of level error since last asked, and what the web server could not handle."""
        found: list[object] = [line for line in self.logged if line["log_level"] == "error"]
        found += self.server.found
        self.logged.clear()
        self.server.found.clear()
        return found

    def disagreements(self) -> list[str]:
        """Where a household's book does not agree with its ledger."""
        with self.book.reading() as conn:
            everyone = households.all_households(conn)
            return [line for each in everyone for line in Pages(conn, each.id).check()]


@asynccontextmanager
async def house(folder: Path) -> AsyncIterator[Under]:
    """Serve a new book in a folder, with webhook and SMS; nothing is sent anywhere."""
    folder.mkdir(exist_ok=True)
    settings = load(
        {
            "BOOK": str(folder / "book.sqlite"), "ZONE": "Europe/Lisbon", "URL": URL,
            "TELEGRAM_TOKEN": TOKEN, "TELEGRAM_WEBHOOK": URL, "TELEGRAM_API": "http://127.0.0.1:1",
            "SMS_ACCOUNT": "AC1", "SMS_SECRET": SECRET, "SMS_NUMBER": "+351210000000",
            "SMS_API": "http://127.0.0.1:1", "OWNER_CODE": "used-long-ago", "SMS_MONTHLY": "999999",
        },
        {}, (),
    )  # fmt: skip
    book = Book.open(settings.book)
    homes = _people(book)
    notes = _noting(folder / "book.sqlite")
    serve = _Serve(settings, book)
    intake = Intake(serve.rackside)
    serve.senders.update(dict.fromkeys(("telegram", "sms"), None))  # type: ignore[arg-type]
    serve.phone = Phone(
        Line(), intake, serve.delivery, serve.in_book, wall_clock, serve.stop,  # type: ignore[arg-type]
    )  # fmt: skip
    with capture_logs() as logged, _listening() as server:
        async with TestClient(TestServer(application(serve._doors()))) as client:
            yield Under(client, book, notes, logged, homes, server)  # type: ignore[arg-type]
    serve.thread.shutdown()
    serve.trials.shutdown()
    notes.close()
    book.close()


@contextmanager
def _listening() -> Iterator[Unhandled]:
    log, heard = logging.getLogger("aiohttp.server"), Unhandled()
    was = log.disabled, log.propagate
    log.disabled, log.propagate = False, False
    log.addHandler(heard)
    try:
        yield heard
    finally:
        log.removeHandler(heard)
        log.disabled, log.propagate = was


def hook() -> tuple[str, dict[str, str]]:
    """The path and the header of Telegram's webhook."""
    header = {"X-Telegram-Bot-Api-Secret-Token": secret(TOKEN, "header")}
    return f"/telegram/{secret(TOKEN, 'path')}", header


def _people(book: Book) -> dict[int, int]:
    """Two households with the same tags, an owner each, on both channels."""
    from bot.messages import Message
    from bot.service import Rackside

    homes, now = {}, wall_clock()
    with book.writing() as conn:
        for who, name in ((INES, "Ines"), (OTTO, "Otto")):
            member = households.begin(conn, zone="Europe/Lisbon", owner=name, now=now)
            households.add_address(conn, member, "telegram", str(who))
            households.add_address(conn, member, "sms", NUMBERS[who])
            homes[who] = member.household
    rackside = Rackside(book, wall_clock)
    for who in homes:
        for number, said in enumerate(BEGINNING):
            rackside.handle(Message("telegram", f"{who}-{number}", str(who), said, now))
    return homes


def _noting(path: Path) -> sqlite3.Connection:
    """Have every row that changes noted, with the household that it belongs to."""
    conn = sqlite3.connect(path, isolation_level=None)
    conn.execute("PRAGMA synchronous=OFF")
    conn.execute("CREATE TABLE noted (id INTEGER PRIMARY KEY, place TEXT, household INTEGER)")
    query = "SELECT name FROM sqlite_master WHERE type = 'table' AND name != 'noted'"
    for (table,) in conn.execute(query).fetchall():
        columns = {row[1] for row in conn.execute(f"PRAGMA table_info({table})")}
        whose = "household" if "household" in columns else "id" if table == "households" else None
        for deed, row in (
            ("INSERT", "NEW"),
            ("UPDATE", "NEW"),
            ("UPDATE", "OLD"),
            ("DELETE", "OLD"),
        ):
            value = f"{row}.{whose}" if whose else "NULL"
            conn.execute(
                f"CREATE TRIGGER note_{table}_{deed}_{row} AFTER {deed} ON {table} BEGIN "
                f"INSERT INTO noted (place, household) VALUES ('{table}', {value}); END"
            )
    return conn
