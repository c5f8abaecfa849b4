"""`rackside doctor`: what it finds in book, copies and channels, and that it changes nothing."""

from __future__ import annotations

import asyncio
import sqlite3
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from pathlib import Path
from typing import Any

import pytest
from aiohttp import web

from bot.book.store import REVISION
from bot.serve.hold import held
from tests.test_cli import Terminal, rackside, unused

__all__ = ["rackside", "unused"]
TOKEN = "123456:not-a-real-token"


class Channels:
    """Telegram and an SMS gateway at one address of this machine."""

    def __init__(self) -> None:
        self.answers: dict[str, tuple[int, Any]] = {
            "getMe": (200, {"ok": True, "result": {"id": 1, "is_bot": True}}),
            "getWebhookInfo": (200, {"ok": True, "result": {"url": ""}}),
            "AC1.json": (200, {"status": "active"}),
            "health": (200, {"ok": True, "book": "ok"}),
        }
        self.off = timedelta(0)
        self.loop = asyncio.new_event_loop()
        ready = threading.Event()
        threading.Thread(target=self._run, args=(ready,), daemon=True).start()
        assert ready.wait(10)

    def _run(self, ready: threading.Event) -> None:
        asyncio.set_event_loop(self.loop)
        self.loop.run_until_complete(self._start())
        ready.set()
        self.loop.run_forever()

    async def _start(self) -> None:
        app = web.Application()
        app.router.add_get("/{place:.*}", self._answer)
        self.runner = web.AppRunner(app, shutdown_timeout=0.1)
        await self.runner.setup()
        await web.TCPSite(self.runner, "127.0.0.1", 0).start()
        self.url = f"http://127.0.0.1:{self.runner.addresses[0][1]}"

    async def _answer(self, request: web.Request) -> web.Response:
        status, body = self.answers[request.path.rpartition("/")[2]]
        date = format_datetime(datetime.now(UTC) + self.off, usegmt=True)
        return web.json_response(body, status=status, headers={"Date": date})

    def close(self) -> None:
        asyncio.run_coroutine_threadsafe(self.runner.cleanup(), self.loop).result(5)
        self.loop.call_soon_threadsafe(self.loop.stop)


@pytest.fixture
def channels(monkeypatch: pytest.MonkeyPatch) -> Iterator[Channels]:
    """Both channels set up, and both well."""
    made = Channels()
    for name, value in {
        "TELEGRAM_TOKEN": TOKEN, "TELEGRAM_API": made.url, "SMS_API": made.url, "URL": made.url,
        "SMS_ACCOUNT": "AC1", "SMS_SECRET": "x", "SMS_NUMBER": "+351900000000",
    }.items():  # fmt: skip
        monkeypatch.setenv(f"RACKSIDE_{name}", value)
    yield made
    made.close()


def wrong(out: str) -> list[str]:
    """What was found wrong."""
    lines = out.splitlines()
    assert all(line.startswith(("ok ", "wrong ")) for line in lines)
    return [line.removeprefix("wrong ") for line in lines if line.startswith("wrong ")]


def filled(rackside: Terminal) -> Path:
    """A book with a colony in it."""
    rackside("import", str(rackside.colony()))
    return rackside.book


def test_all_is_well(rackside: Terminal, channels: Channels) -> None:
    """A line for each thing that was looked at, all ok, and the status is 0."""
    filled(rackside)
    ended = rackside("doctor")
    assert (ended.status, ended.err) == (0, "")
    looked = ("settings", "book", "zone", "backups", "url", "telegram", "webhook", "sms", "clock")
    assert ended.out.splitlines() == [f"ok {each}" for each in looked]
    assert TOKEN not in ended.out


def test_nothing_is_written(rackside: Terminal, channels: Channels) -> None:
    """Looking leaves the book and its folder as they were, byte for byte."""
    book = filled(rackside)

    def there() -> dict[str, bytes]:
        return {each.name: each.read_bytes() for each in book.parent.iterdir() if each.is_file()}

    before = there()
    rackside("doctor")
    assert there() == before


def test_an_old_book_stays_old(rackside: Terminal) -> None:
    """A book of an older version is no fault; it is said what brings it up to date, not done."""
    book = filled(rackside)
    with sqlite3.connect(book) as conn:
        conn.execute("UPDATE alembic_version SET version_num = '0001'")
    conn.close()
    ended = rackside("doctor", "--offline")
    assert "ok book" in ended.out.splitlines()
    assert "older version" in ended.err and "serve" in ended.err
    with sqlite3.connect(book) as conn:
        assert conn.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)
    conn.close()


def test_a_book_in_use_is_seen_as_it_is_now(rackside: Terminal) -> None:
    """What is still in the log beside the book counts."""
    conn = sqlite3.connect(filled(rackside))
    conn.execute("UPDATE alembic_version SET version_num = ?", (f"{int(REVISION) + 1:04d}",))
    conn.commit()
    assert Path(f"{rackside.book}-wal").stat().st_size > 0
    (found,) = wrong(rackside("doctor", "--offline").out)
    assert found == "book: it was written by a newer version of Rackside; update Rackside"
    conn.close()


def _damage(book: Path) -> None:
    raw = bytearray(book.read_bytes())
    raw[4096:12_288] = b"\xff" * 8192
    book.write_bytes(raw)


def _other_tables(book: Path) -> None:
    book.unlink()
    with sqlite3.connect(book) as conn:
        conn.execute("CREATE TABLE songs (name TEXT)")
    conn.close()


def _lose_a_row(book: Path) -> None:
    with sqlite3.connect(book) as conn:
        conn.execute("DELETE FROM animals WHERE tag = 'P1'")
    conn.close()


def _far_zone(book: Path) -> None:
    with sqlite3.connect(book) as conn:
        conn.execute("UPDATE households SET zone = 'Atlantis/Capital'")
    conn.close()


@pytest.mark.parametrize(
    ("deed", "says"),
    [
        (_damage, "book: "),
        (_other_tables, "book: it is a database, but not a Rackside book"),
        (_lose_a_row, "book: it does not agree with its ledger"),
        (_far_zone, 'zone: no time zone "Atlantis/Capital" on this machine'),
    ],
)
def test_what_is_wrong_with_a_book(
    rackside: Terminal, deed: Callable[[Path], None], says: str
) -> None:
    """A damaged book, somebody else's, one at odds with itself, an unknown zone: each is told."""
    deed(filled(rackside))
    ended = rackside("doctor", "--offline")
    (found,) = wrong(ended.out)
    assert found.startswith(says)
    assert ended.status == 1


def test_the_age_of_the_copies(rackside: Terminal) -> None:
    """A copy of two days ago is fine, one of three days ago is told; none yet is no fault."""
    book = filled(rackside)
    folder, today = book.parent / "backups", datetime.now(UTC).date()
    folder.mkdir()
    assert wrong(rackside("doctor", "--offline").out) == []
    (folder / "book-notes.sqlite").touch()
    (folder / f"book-{today - timedelta(days=3)}.sqlite").touch()
    (found,) = wrong(rackside("doctor", "--offline").out)
    assert found.startswith("backups: the newest copy is 3 days old")
    with held(book):
        assert "though serve is running" in rackside("doctor", "--offline").out
    (folder / f"book-{today - timedelta(days=2)}.sqlite").touch()
    assert wrong(rackside("doctor", "--offline").out) == []


@pytest.mark.parametrize(
    ("place", "answer", "says"),
    [
        ("getMe", (401, {}), "telegram: the token is refused"),
        ("getMe", (404, {}), "telegram: the token is refused"),
        ("getMe", (502, None), "telegram: no answer from"),
        ("AC1.json", (401, {}), "sms: the account is refused"),
        ("AC1.json", (503, {}), "sms: no answer from"),
        ("AC1.json", (200, {"status": "suspended"}), "sms: the gateway says that the account is"),
    ],
)
def test_what_a_channel_says(
    rackside: Terminal, channels: Channels, place: str, answer: tuple[int, Any], says: str
) -> None:
    """A refused token or account and a channel that is out of order are told apart."""
    channels.answers[place] = answer
    ended = rackside("doctor")
    (found,) = wrong(ended.out)
    assert found.startswith(says)
    assert ended.status == 1


@pytest.mark.parametrize(
    ("info", "base", "served", "says"),
    [
        ({"url": ""}, None, True, None),
        ({"url": "https://old.example/x"}, None, False, None),
        ({"url": "https://old.example/x"}, None, True, "webhook: updates are sent to another"),
        ({"url": "https://r.example/telegram/s"}, "https://r.example", True, None),
        ({"url": "https://old.example/x"}, "https://r.example", True, "webhook: Telegram does not"),
        ({"url": "", "pending_update_count": 101}, "https://r.example", False, "webhook: 101 up"),
        ({"url": "", "pending_update_count": 100}, "https://r.example", False, None),
        (
            {"url": "", "last_error_message": "refused",
             "last_error_date": int(datetime.now(UTC).timestamp())},
            "https://r.example", False, "webhook: Telegram could not hand an update over: refused",
        ),
        ({"url": "", "last_error_message": "refused", "last_error_date": 5}, "https://r.example",
         False, None),
    ],
)  # fmt: skip
def test_where_updates_go(
    rackside: Terminal, channels: Channels, monkeypatch: pytest.MonkeyPatch,
    info: dict[str, Any], base: str | None, served: bool, says: str | None,
) -> None:  # fmt: skip
    """A webhook that is not as `serve` would have it is told while `serve` runs."""
    if base is not None:
        monkeypatch.setenv("RACKSIDE_TELEGRAM_WEBHOOK", base)
    channels.answers["getWebhookInfo"] = 200, {"ok": True, "result": info}
    book = filled(rackside)
    if served:
        with held(book):
            found = wrong(rackside("doctor").out)
    else:
        found = wrong(rackside("doctor").out)
    assert [each[: len(says or "")] for each in found] == ([says] if says else [])


@pytest.mark.parametrize(
    ("seconds", "says"), [(50, None), (-50, None), (90, "slow"), (-300, "5 min fast")]
)
def test_the_clock(rackside: Terminal, channels: Channels, seconds: int, says: str | None) -> None:
    """A clock that differs from the channels' by more than a minute is told, and which way."""
    channels.off = timedelta(seconds=seconds)
    found = wrong(rackside("doctor").out)
    assert [says in each for each in found if says] == ([True] if says else [])
    assert bool(found) is bool(says)


def test_addresses_that_nobody_far_off_can_call(
    rackside: Terminal, monkeypatch: pytest.MonkeyPatch, channels: Channels
) -> None:
    """An address of this machine is told where a channel far off has to call it; offline too."""
    monkeypatch.setenv("RACKSIDE_SMS_API", "https://gateway.example")
    (found,) = wrong(rackside("doctor", "--offline").out)
    assert found.startswith("url: the SMS gateway can't reach this machine")
    monkeypatch.setenv("RACKSIDE_URL", "https://rackside.example")
    assert wrong(rackside("doctor", "--offline").out) == []
    monkeypatch.setenv("RACKSIDE_TELEGRAM_API", "https://telegram.example")
    monkeypatch.setenv("RACKSIDE_TELEGRAM_WEBHOOK", "http://rackside.example")
    (found,) = wrong(rackside("doctor", "--offline").out)
    assert found.startswith("url: Telegram calls only public https addresses")


def test_a_serve_that_is_not_reached(
    rackside: Terminal, channels: Channels, monkeypatch: pytest.MonkeyPatch, unused: str
) -> None:
    """While `serve` runs it has to answer at the address that the world is given."""
    with held(filled(rackside)):
        assert wrong(rackside("doctor").out) == []
        monkeypatch.setenv("RACKSIDE_URL", unused)
        (found,) = wrong(rackside("doctor").out)
    assert found.startswith(f"address: serve is running, but not reached at {unused}")
