"""Kill `rackside serve` at random moments under a stream of messages, and count what was lost.

    python -m tests.serve.torture --kills 40 --seed 1

Prints a table. Acknowledged is a record whose confirmation reached the stand-in before a kill.
Ends with 1 where anything was lost, or doubled beyond what is promised (a reply or reminder that
was on its way at the moment of a kill may come twice).
"""

from __future__ import annotations

import argparse
import random
import re
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests.serve.conftest import OWNER, Serving, wait_for
from tests.serve.standin import StandIn, status, too_many
from tests.serve.test_serve_reminders import pulls, write_book

SETTLES = 120  # seconds to answer the rest after the last start
LIGHTEST = 400  # tenths of a gram


def torture(kills: int, seed: int) -> dict[str, int]:
    """Run it; gives the counts by name."""
    chance, standin = random.Random(seed), StandIn()
    serving = Serving(Path(tempfile.mkdtemp()), standin)
    write_book(serving.book, datetime.now(UTC).date() - timedelta(days=20))
    sent, acknowledged = 0, set[int]()
    for _ in range(kills):
        serving.start(ready=False)
        end = time.monotonic() + chance.uniform(0.8, 3.0)
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
    counts = recorded(serving.book)
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
        "replies in more": sum(n > 2 for n in copies.values()),
        "reminders lost": int(not pulls(standin)),
        "reminders in more than two copies": int(len(pulls(standin)) > 2),
    }


def everything(sent: int) -> set[int]:
    """What was said, each message by its own weight in tenths of a gram."""
    return set(range(LIGHTEST + 1, LIGHTEST + sent + 1))


def answered(standin: StandIn) -> Counter[int]:
    """How often each weight was confirmed."""
    found = (re.match(r"F3 ([\d.]+) g\b", call["text"]) for call in standin.said(OWNER))
    return Counter(round(float(each[1]) * 10) for each in found if each)


def recorded(book: Path) -> Counter[int]:
    """How often each weight is in the ledger."""
    with sqlite3.connect(book) as conn:
        rows = conn.execute(
            "SELECT json_extract(fields, '$.grams') FROM ledger WHERE kind = 'weighed'"
        )
        return Counter(round(grams * 10) for (grams,) in rows)


def main() -> int:
    """The command line; gives the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    counts = torture(asked.kills, asked.seed)
    for name, number in counts.items():
        print(f"{name:36}{number:8}")
    wrong = ("lost", "doubled", "more")
    return int(any(number for name, number in counts.items() if any(w in name for w in wrong)))


if __name__ == "__main__":
    sys.exit(main())
