"""Reminders from `rackside serve` as a process: told once, whatever the clock."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from bot.book import households
from bot.book.pages import Pages
from bot.book.store import Book
from bot.records import Record
from tests.serve.conftest import OWNER, Serving, wait_for
from tests.serve.standin import StandIn

pytestmark = pytest.mark.slow
DAY = 24 * 3600
LOOKED = 0.8  # seconds within which the clock is looked at, under test, three times


def record(kind: str, on: date, **fields: Any) -> Record:
    return Record(kind, on, None, MappingProxyType(fields))


def write_book(path: Path, put_in: date) -> None:
    """A pair put together on a day, in the book of an owner who is on the phone."""
    now = datetime.now(UTC) - timedelta(days=30)
    book = Book.open(path)
    with book.writing() as conn:
        owner = households.begin(conn, zone="Europe/Lisbon", owner="Ines", now=now)
        households.add_address(conn, owner, "telegram", str(OWNER))
        begun = now.date()
        Pages(conn, owner.household).write(
            [
                record("animal", begun, tag="F3", sex="female", species="leopard"),
                record("animal", begun, tag="M2", sex="male", species="leopard"),
                record("paired", put_in, male="M2", female="F3"),
            ],
            member=owner, channel="telegram", arrived=now, text="M2 in with F3",
        )  # fmt: skip
    book.close()


def pulls(standin: StandIn) -> list[dict[str, Any]]:
    return [call for call in standin.said(OWNER) if "M2" in call["text"] and "F3" in call["text"]]


def unsent(serving: Serving) -> int:
    with sqlite3.connect(serving.book) as book:
        query = "SELECT count(*) FROM outbox WHERE sent IS NULL AND given_up IS NULL"
        return int(book.execute(query).fetchone()[0])


def test_what_fell_due_while_it_was_down_is_told_once(serving: Serving, standin: StandIn) -> None:
    """A pairing long over is told at the start, with buttons, and not again after a kill."""
    write_book(serving.book, datetime.now(UTC).date() - timedelta(days=20))
    serving.start()
    first = wait_for(lambda: pulls(standin))[0]
    assert "Done" in first["reply_markup"]
    assert "Snooze" in first["reply_markup"]
    wait_for(lambda: not unsent(serving))
    serving.kill()
    serving.start()
    time.sleep(LOOKED)
    assert len(pulls(standin)) == 1


def test_done_closes_the_reminder_once(serving: Serving, standin: StandIn) -> None:
    """A tap on Done closes it, edits the message, and is answered; a second has no effect."""
    write_book(serving.book, datetime.now(UTC).date() - timedelta(days=20))
    serving.start()
    first = wait_for(lambda: pulls(standin))[0]
    standin.press(OWNER, first, "Done", "q1")
    standin.press(OWNER, first, "Snooze", "q2")
    wait_for(lambda: len(standin.of("answerCallbackQuery")) == 2)
    wait_for(lambda: standin.of("editMessageText"))
    with sqlite3.connect(serving.book) as book:
        closed = book.execute(
            "SELECT closed_as, snoozed FROM reminders WHERE closed IS NOT NULL AND told IS NOT NULL"
        ).fetchall()
    assert closed == [("done", None)]


def test_snooze_keeps_it_for_an_hour(serving: Serving, standin: StandIn) -> None:
    """A tap on Snooze means this reminder, and another time to tell it."""
    write_book(serving.book, datetime.now(UTC).date() - timedelta(days=20))
    serving.start()
    first = wait_for(lambda: pulls(standin))[0]
    standin.press(OWNER, first, "Snooze")
    wait_for(lambda: standin.of("editMessageText"))
    with sqlite3.connect(serving.book) as book:
        query = "SELECT kind FROM reminders WHERE snoozed IS NOT NULL AND told IS NOT NULL"
        assert book.execute(query).fetchall() == [("pull-male",)]


@pytest.fixture
def shift(tmp_path: Path, serving: Serving) -> Path:
    """A file with the seconds by which the process sees its wall clock shifted."""
    compiler = shutil.which("cc")
    if compiler is None:
        pytest.skip("no C compiler here to build the shifted clock with")
    library, file = tmp_path / "clock.so", tmp_path / "shift"
    source = Path(__file__).with_name("shifted_clock.c")
    subprocess.run(
        [compiler, "-shared", "-fPIC", "-o", str(library), str(source), "-ldl"], check=True
    )
    file.write_text("0")
    serving.environment |= {"LD_PRELOAD": str(library), "SHIFT": str(file)}
    return file


def test_a_clock_that_jumps_is_noticed_and_one_set_back_tells_nothing_twice(
    serving: Serving, standin: StandIn, shift: Path
) -> None:
    """Three days ahead the reminder comes within seconds; set back and on, it comes no more."""
    write_book(serving.book, datetime.now(UTC).date())
    serving.start()
    time.sleep(LOOKED)
    assert not pulls(standin)
    shift.write_text(str(30 * DAY))
    wait_for(lambda: pulls(standin), 6)
    told = len(pulls(standin))
    shift.write_text(str(-2 * DAY))
    time.sleep(LOOKED)
    standin.write(OWNER, "new female F9 leopard")
    wait_for(lambda: "F9" in standin.said(OWNER)[-1]["text"])
    shift.write_text(str(30 * DAY))
    time.sleep(LOOKED)
    assert len(pulls(standin)) == told
