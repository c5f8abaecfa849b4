"""Kill `rackside serve` at random moments under a stream of messages, and count what was lost.

    python -m tests.serve.torture --kills 40 --seed 1 [--store postgres]

Prints a table, for each store unless one is named. Acknowledged is a record whose confirmation
reached the stand-in before a kill. Ends with 1 where anything was lost, or doubled beyond what is
promised (a reply or reminder that was on its way at the moment of a kill may come twice, and says
so the second time).
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
import time
from collections import Counter
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import select

from bot.book.store import Book
from bot.book.tables import ledger
from bot.serve.words import said
from tests.postgres import Server
from tests.serve.conftest import OWNER, Serving, wait_for
from tests.serve.standin import StandIn, status, too_many
from tests.serve.test_serve_reminders import pulls, write_book

SETTLES = 120  # seconds to answer the rest after the last start
WRONG = re.compile("lost|doubled|more")
SERVES = 0.8  # of the kills come once it serves, the others also while it starts
LIGHTEST = 400  # tenths of a gram


def torture(kills: int, seed: int, book: str | None = None) -> dict[str, int]:
    """Run it on this database, or on a file; gives the counts by name."""
    chance, standin = random.Random(seed), StandIn()
    folder = Path(tempfile.mkdtemp())
    where = book or str(folder / "book.sqlite")
    serving = Serving(folder, standin, BOOK=where)
    write_book(where, datetime.now(UTC).date() - timedelta(days=20))
    sent, acknowledged = 0, set[int]()
    for _ in range(kills):
        begun = begun_in(serving)
        serving.start(ready=False)
        if chance.random() < SERVES:
            wait_for(lambda begun=begun: begun_in(serving) > begun, 30)
        end = time.monotonic() + chance.uniform(0.1, 2.5)
        while time.monotonic() < end:
            sent += 1
            standin.write(OWNER, f"F3 {(LIGHTEST + sent) / 10}g")
            if chance.random() < 0.01:
                fault = chance.choice(["lost", status(502), too_many(1)])
                standin.faults.append(("sendMessage", fault))
            time.sleep(chance.uniform(0.0, 0.1))
        serving.kill()
        acknowledged |= set(answered(standin))
    standin.faults.clear()
    serving.start()
    with suppress(AssertionError):  # then the table says what is missing
        wait_for(lambda: set(answered(standin)) >= everything(sent), SETTLES)
    serving.stop()
    counts = recorded(where)
    copies = answered(standin)
    standin.close()
    return {
        "kills": kills,
        "messages": sent,
        "acknowledged before a kill": len(acknowledged),
        "acknowledged and lost": sum(not counts[n] for n in acknowledged),
        "records lost": sum(not counts[n] for n in everything(sent)),
        "records doubled": sum(n > 1 for n in counts.values()),
        "replies lost": sum(not copies[n] for n in everything(sent)),
        "replies in two copies": sum(n == 2 for n in copies.values()),
        "second copies that are unmarked, so more": unmarked(standin, copies),
        "replies in more": sum(n > 2 for n in copies.values()),
        "reminders lost": int(not pulls(standin)),
        "reminders in more than two copies": int(len(pulls(standin)) > 2),
    }


def begun_in(serving: Serving) -> int:
    """How often it has begun to serve."""
    err = serving.folder / "err"
    return err.read_text().count('"serving"') if err.exists() else 0


def everything(sent: int) -> set[int]:
    """What was said, each message by its own weight in tenths of a gram."""
    return set(range(LIGHTEST + 1, LIGHTEST + sent + 1))


def answered(standin: StandIn) -> Counter[int]:
    """How often each weight was confirmed."""
    found = (re.match(r"F3 ([\d.]+) g\b", call["text"]) for call in standin.said(OWNER))
    return Counter(round(float(each[1]) * 10) for each in found if each)


def unmarked(standin: StandIn, copies: Counter[int]) -> int:
    """How many were sent a second time without saying so."""
    marked = sum(said("again") in call["text"] for call in standin.said(OWNER))
    return max(0, sum(n == 2 for n in copies.values()) - marked)


def recorded(where: str) -> Counter[int]:
    """How often each weight is in the ledger."""
    book = Book.open(where)
    with book.reading() as conn:
        rows = conn.execute(select(ledger.c.fields).where(ledger.c.kind == "weighed")).scalars()
        counts = Counter(round(fields["grams"] * 10) for fields in rows)
    book.close()
    return counts


def main() -> int:
    """The command line; gives the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--store", choices=("sqlite", "postgres"))
    asked = parser.parse_args()
    bad = False
    for store in (asked.store,) if asked.store else ("sqlite", "postgres"):
        server = Server(durable=True) if store == "postgres" else None
        counts = torture(asked.kills, asked.seed, server.fresh_book() if server else None)
        print(f"on {store}")
        for name, number in counts.items():
            print(f"  {name:42}{number:8}")
        bad = bad or any(number for name, number in counts.items() if WRONG.search(name))
        if server is not None:
            server.close()
    return int(bad)


if __name__ == "__main__":
    sys.exit(main())
