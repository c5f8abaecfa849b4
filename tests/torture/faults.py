"""Trouble that lasts: a full disk, a book that another holds, a channel that hangs."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import psycopg

from tests.torture.lane import Lane, moments

MOST = 0.8  # seconds between messages
BEFORE, AFTER = 3.0, 4.0  # seconds in peace
SEES = 6.0  # seconds within which `/health` has to see it
DISK = "6m"
SELDOM = (1.5, 3.5)  # seconds between reminders: those of a long trouble go on one page of a text


class Watch:
    """Asks `/health` all the time; keeps when, and what it said."""

    def __init__(self, lane: Lane) -> None:
        self.seen: list[tuple[float, float, int, dict[str, Any]]] = []
        self._lane = lane
        self._on = True
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        while self._on:
            at = time.monotonic()
            code, body = self._lane.health()
            self.seen.append((at, time.monotonic(), code, body))
            time.sleep(0.3)

    def end(self) -> None:
        self._on = False
        self._thread.join(12)

    def wrong(self, begin: float, end: float, good: Callable[[int, dict[str, Any]], bool]) -> int:
        """How many of what was asked and answered between two moments was not as it should be."""
        return sum(
            not good(code, body)
            for asked, answered, code, body in self.seen
            if begin < asked and answered < end
        )


def well(code: int, body: dict[str, Any]) -> bool:
    """All is well."""
    return code == 200 and body.get("book") == body.get("telegram") == "ok"


def no_book(code: int, body: dict[str, Any]) -> bool:
    """The book can't be used."""
    return code == 503 and body.get("book") == "down"


def silent_telegram(code: int, body: dict[str, Any]) -> bool:
    """Telegram does not answer, and the book is well."""
    return code == 200 and body.get("book") == "ok" and body.get("telegram") == "down"


def through(
    lane: Lane, trouble: Callable[[Lane], Any], lasts: float,
    truth: Callable[[int, dict[str, Any]], bool], sees: float = SEES,
) -> dict[str, int]:  # fmt: skip
    """A while in peace, in trouble, in peace again; people write and reminders fall due."""
    lane.fill(moments(lane.chance, lane.clock.now(), BEFORE + lasts + AFTER, SELDOM))
    lane.start()
    watch = Watch(lane)
    with lane.talk(MOST, lambda: False):
        time.sleep(BEFORE)
        began = time.monotonic()
        with trouble(lane):
            time.sleep(lasts)
            ended = time.monotonic()
        time.sleep(AFTER)
    lane.settle()
    watch.end()
    wrong = watch.wrong(began - BEFORE, began - 0.5, well)
    wrong += watch.wrong(began + sees, ended - 1, truth)
    wrong += watch.wrong(watch.seen[-1][0] - 1.4, watch.seen[-1][0] + 1, well)
    return {**lane.counts(), "/health not true": wrong}


# --- a full disk ----------------------------------------------------------------------------


@contextmanager
def small_disk() -> Iterator[Path]:
    """A disk of a few MB of its own. Raises CalledProcessError where that is not allowed."""
    folder = Path(tempfile.mkdtemp(prefix="rackside-disk-"))
    mount = ["mount", "-t", "tmpfs", "-o", f"size={DISK}", "none", str(folder)]
    subprocess.run(mount, check=True, capture_output=True)
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def full(lane: Lane) -> Iterator[None]:
    """While the block runs nothing more can be written, neither book nor log."""
    ballast = lane.folder / "ballast"
    with ballast.open("wb", buffering=0) as file, suppress(OSError):
        while True:
            file.write(b"x" * 512)
    try:
        yield
    finally:
        ballast.unlink()


def full_disk(seed: int, _: str | None = None) -> dict[str, int]:
    """No space left for 15 s."""
    with small_disk() as folder:
        lane = Lane(seed, folder=folder)
        try:
            return through(lane, full, 15.0, no_book)
        finally:
            lane.close()


# --- a book that another holds --------------------------------------------------------------


@contextmanager
def held(lane: Lane) -> Iterator[None]:
    """While the block runs another program holds the book."""
    if lane.hooked:
        with psycopg.connect(lane.book) as conn:
            conn.execute("LOCK TABLE households, outbox, messages, ledger IN ACCESS EXCLUSIVE MODE")
            yield
        return
    other = sqlite3.connect(lane.book, isolation_level=None)
    other.execute("PRAGMA busy_timeout=20000")
    other.execute("BEGIN EXCLUSIVE")
    try:
        yield
    finally:
        other.execute("ROLLBACK")
        other.close()


def locked(seed: int, database: str | None = None) -> dict[str, int]:
    """Another program holds the book for 20 s."""
    lane = Lane(seed, database)
    try:
        return through(lane, held, 20.0, no_book)
    finally:
        lane.close()


# --- a channel that hangs -------------------------------------------------------------------


@contextmanager
def hanging(lane: Lane) -> Iterator[None]:
    """While the block runs the channel takes requests and says nothing for long."""
    on = threading.Event()
    on.set()

    def keep_hanging() -> None:
        while on.is_set():
            lane.standin.faults[:] = [("sendMessage", 15.0)] * 20
            time.sleep(0.05)

    thread = threading.Thread(target=keep_hanging, daemon=True)
    thread.start()
    try:
        yield
    finally:
        on.clear()
        thread.join(5)
        lane.standin.faults.clear()


def hung(seed: int, database: str | None = None) -> dict[str, int]:
    """Telegram says nothing for 25 s, though it takes what it is given, 15 s late."""
    lane = Lane(seed, database)
    try:
        return through(lane, hanging, 25.0, silent_telegram, sees=12.0)
    finally:
        lane.close()
