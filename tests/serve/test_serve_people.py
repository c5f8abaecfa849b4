"""Two people on the phone, `rackside serve` as a process: who is told, hears, is passed on to."""

from __future__ import annotations

import sqlite3
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from bot.book import households
from bot.book.pages import Pages
from bot.book.store import Book
from bot.records import Record
from tests.serve.conftest import OWNER, Serving, wait_for
from tests.serve.standin import StandIn, error

pytestmark = pytest.mark.slow
MINA = 6_060_504_030


def write_book(path: Path, role: str) -> None:
    """A pair long due to be parted, in the book of an owner; Mina is in it, in a role."""
    now = datetime.now(UTC) - timedelta(days=30)
    put_in = datetime.now(UTC).date() - timedelta(days=20)
    book = Book.open(path)
    with book.writing() as conn:
        owner = households.begin(conn, zone="Europe/Lisbon", owner="Ines", now=now)
        households.add_address(conn, owner, "telegram", str(OWNER))
        mina = households.join(conn, household=owner.household, name="Mina", role=role, now=now)
        households.add_address(conn, mina, "telegram", str(MINA))
        Pages(conn, owner.household).write(
            [
                _record("animal", now, tag="F3", sex="female", species="leopard"),
                _record("animal", now, tag="M2", sex="male", species="leopard"),
                Record("paired", put_in, None, MappingProxyType({"male": "M2", "female": "F3"})),
            ],
            member=owner, channel="telegram", arrived=now, text="M2 in with F3",
        )  # fmt: skip
    book.close()


def _record(kind: str, at: datetime, **fields: Any) -> Record:
    return Record(kind, at.date(), None, MappingProxyType(fields))


def pulls(standin: StandIn, who: int) -> list[dict[str, Any]]:
    return [call for call in standin.said(who) if "Pull M2 from F3" in call["text"]]


def test_done_by_one_is_done_for_all(serving: Serving, standin: StandIn) -> None:
    """Both keepers are told; one taps; the other hears who did it, silently, and taps in vain."""
    write_book(serving.book, "keeper")
    serving.start()
    mine = wait_for(lambda: pulls(standin, OWNER))[0]
    hers = wait_for(lambda: pulls(standin, MINA))[0]
    standin.press(MINA, hers, "Done", "q1")
    (line,) = wait_for(lambda: [c for c in standin.said(OWNER) if "Mina has done it" in c["text"]])
    assert line["disable_notification"] in ("true", "True")
    standin.press(OWNER, mine, "Done", "q2")
    answers = wait_for(lambda: _two(standin.of("answerCallbackQuery")))
    assert "Mina" in answers[1]["text"]


def _two(calls: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return calls if len(calls) == 2 else []


def test_whom_nothing_reaches_has_it_passed_on(serving: Serving, standin: StandIn) -> None:
    """The owner has blocked us: within seconds the helper has it, from whom, with what to do."""
    write_book(serving.book, "helper")
    blocked = error(403, "Forbidden: bot was blocked by the user")
    standin.faults += [(f"sendMessage:{OWNER}", blocked)] * 3
    serving.start()
    (sent, *more) = wait_for(lambda: pulls(standin, MINA))
    assert more == []
    assert sent["text"].startswith("Passed on from Ines, who can't be reached.")
    assert "never hold him by the tail" in sent["text"]
    time.sleep(2.5)
    assert len(pulls(standin, MINA)) == 1
    with sqlite3.connect(serving.book) as book:
        query = "SELECT count(*) FROM reminders WHERE kind = 'pull-male' AND passed_on IS NOT NULL"
        assert book.execute(query).fetchone() == (1,)
