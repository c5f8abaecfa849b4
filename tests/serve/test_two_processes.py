"""Two `rackside serve` on one PostgreSQL book: messages land on either, and one may be killed."""

from __future__ import annotations

import json
import threading
import time
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import psycopg
import pytest

from bot.channels.telegram import secret
from tests.serve.conftest import OWNER, Serving, wait_for
from tests.serve.standin import TOKEN, StandIn
from tests.serve.test_serve_reminders import pulls, write_book

pytestmark = pytest.mark.slow
AGAIN = "Sent again"


class Pair:
    """Both processes, and a way to hand an update to either."""

    def __init__(self, folder: Path, standin: StandIn, database: str) -> None:
        self.database, self.standin = database, standin
        self.both = []
        for name in "ab":
            (folder / name).mkdir()
            hook = "http://127.0.0.1:1"  # nobody calls there: the test hands the updates over
            made = Serving(folder / name, standin, BOOK=database, TELEGRAM_WEBHOOK=hook)
            self.both.append(made.start(ready=False))
        for each in self.both:
            wait_for(lambda each=each: '"serving"' in each.errors(), 20)
        self.number = 1000

    def update(self, text: str) -> dict[str, Any]:
        self.number += 1
        message = self.standin.message(OWNER, self.number, text)
        return {"update_id": self.number, "message": message}

    def hand(self, update: dict[str, Any], *to: int) -> None:
        """Hand an update to these processes, at the same moment if there are several."""
        calls = [threading.Thread(target=self._post, args=(update, each)) for each in to]
        for call in calls:
            call.start()
        for call in calls:
            call.join(10)

    def _post(self, update: dict[str, Any], to: int) -> None:
        url = f"http://{self.both[to].listen}/telegram/{secret(TOKEN, 'path')}"
        headers = {
            "Content-Type": "application/json",
            "X-Telegram-Bot-Api-Secret-Token": secret(TOKEN, "header"),
        }
        request = urllib.request.Request(url, json.dumps(update).encode(), headers)
        with urllib.request.urlopen(request, timeout=10) as answer:
            assert answer.status == 200

    def ask(self, query: str) -> list[Any]:
        with psycopg.connect(self.database) as conn:
            conn.execute("SET rackside.household = '*'")
            return [row[0] for row in conn.execute(query.encode())]

    def named(self, worker: str) -> Serving:
        """The process that writes this on the rows it has in hand."""
        return next(
            each
            for each in self.both
            if any(line.get("worker") == worker for line in each.logged())
        )

    def texts(self) -> list[str]:
        return [call["text"] for call in self.standin.said(OWNER)]


@pytest.fixture
def pair(tmp_path: Path, standin: StandIn, database: str) -> Iterator[Pair]:
    write_book(database, datetime.now(UTC).date() - timedelta(days=20))
    made = Pair(tmp_path, standin, database)
    yield made
    for each in made.both:
        if each.process is not None and each.process.poll() is None:
            each.kill()


def test_two_processes_at_one_book_lose_and_double_nothing(pair: Pair, standin: StandIn) -> None:
    """By turns and both at once: each record and each reminder once, in order; one is killed."""
    weights = [f"{n}" for n in range(20, 40)]
    for n, grams in enumerate(weights):
        to = (0, 1) if n % 3 == 2 else (n % 2,)  # every third lands on both
        pair.hand(pair.update(f"F3 {grams}g"), *to)
    wait_for(lambda: len([text for text in pair.texts() if text.startswith("F3 ")]) >= 20)
    found = pair.ask("SELECT fields->>'grams' FROM ledger WHERE kind = 'weighed' ORDER BY id")
    assert [str(int(float(each))) for each in found] == weights
    answered = [text.split()[1] for text in pair.texts() if text.startswith("F3 ")]
    assert answered == weights

    wait_for(lambda: pulls(standin))
    time.sleep(2.5)  # both have looked at the clock since
    assert len(pulls(standin)) == 1

    standin.faults.append((f"sendMessage:{OWNER}", 12.0))  # hangs, so that it is in hand
    asked = len(standin.of("sendMessage"))
    pair.hand(pair.update("F3 41g"), 0)
    wait_for(lambda: len(standin.of("sendMessage")) > asked)
    (holder,) = pair.ask("SELECT worker FROM outbox WHERE sent IS NULL AND worker IS NOT NULL")
    pair.named(holder).kill()
    wait_for(lambda: any("41" in text and AGAIN in text for text in pair.texts()), 8)
    assert pair.ask("SELECT count(*) FROM ledger WHERE kind = 'weighed'") == [21]
    wait_for(lambda: pair.ask("SELECT count(*) FROM outbox WHERE sent IS NULL") == [0])
