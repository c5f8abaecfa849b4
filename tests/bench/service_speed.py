"""How fast the service is: messages, reminders, memory and start, beside bare rates in one run.

    python -m tests.bench.service_speed

Messages are read, written durably and answered into the outbox; the bare rate is one row a commit
through SQLAlchemy on a book opened the same way. Reminders go from the outbox to a stand-in that
answers after a millisecond. Figures are medians of rounds that take turns, so that a busy machine
slows both; the ratio is the median of the rounds' ratios.
"""

from __future__ import annotations

import random
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

from sqlalchemy import insert, text

from bot.book.store import Book
from bot.book.tables import delays
from bot.messages import Message
from bot.service import Rackside
from tests.bench import delivery_speed, serve_at_rest
from tests.bench.many_households import CHANNEL, NOW, address, made

ROUNDS = 5
FOR = 0.5  # seconds of each part of a round
SIZES = (1, 100, 10_000)
SAID = (
    "F{f} 41.{k}g", "F{f} shed", "fed F{f} 5 crickets", "incubator 1 is 27.{k}",
    "moved F{f} to tub {k}", "note F{f}: eats well", "M{m} 52g", "F{f} 40.{k}g and F{g} 38g",
)  # fmt: skip


class Talk:
    """Keepers who write one after the other, each message another."""

    def __init__(self, book: Book, households: int) -> None:
        self.rackside = Rackside(book, lambda: NOW)
        self.households = households
        self.chance = random.Random(5)
        self.number = 0

    def in_turn(self) -> None:
        """Another household each time, read from the book."""
        self.rackside._cache.clear()
        self._say(self.chance.randrange(self.households) + 1)

    def in_one(self) -> None:
        """The same household, which is known from its last message."""
        self._say(1)

    def _say(self, household: int) -> None:
        self.number += 1
        pick = self.chance.randrange
        said = SAID[self.number % len(SAID)].format(
            f=pick(40) + 1, g=pick(40) + 1, m=pick(10) + 1, k=pick(9) + 1
        )
        out = self.rackside.handle(
            Message(CHANNEL, f"m{self.number}", address(household), said, NOW)
        )
        assert out and out[0].reply.wrote, (said, out)


def commits(book: Book) -> Callable[[], None]:
    """One row in one durable commit, as bare as SQLAlchemy makes it."""
    count = 0

    def commit() -> None:
        nonlocal count
        count += 1
        with book.engine.begin() as conn:
            conn.execute(
                insert(delays).values(channel="bench", address=str(count), until=NOW, why=0.0)
            )

    return commit


def rate(what: Callable[[], None], seconds: float = FOR) -> float:
    """How often a second."""
    began = time.perf_counter()
    done = 0
    while (took := time.perf_counter() - began) < seconds:
        what()
        done += 1
    return done / took


def messages(folder: Path) -> None:
    """Print messages a second on books of each size, beside bare commits on the same book."""
    print(f"{'SQLite, synchronous FULL':34}{'a second':>10}{'of bare':>9}{'ms each':>9}")
    for size in SIZES:
        began = time.perf_counter()
        book = made(str(folder / f"book{size}.sqlite"), size, folder / "colony")
        with book.reading() as conn:
            assert conn.execute(text("PRAGMA synchronous")).scalar() == 2
        _one_size(book, size, time.perf_counter() - began)
        book.close()


def _one_size(book: Book, size: int, making: float) -> None:
    talk, commit = Talk(book, size), commits(book)
    for _ in range(8):
        talk.in_one()
    bare, turn, one = [], [], []
    for _ in range(ROUNDS):
        bare.append(rate(commit))
        turn.append(rate(talk.in_turn))
        one.append(rate(talk.in_one))
    print(f"  {size} households (made in {making:.0f} s)")
    print(f"{'    bare commits of one row':34}{median(bare):10.0f}")
    for name, found in (
        ("    messages, one household", one),
        ("    messages, each of another", turn),
    ):
        ratio = median(f / b for f, b in zip(found, bare, strict=True))
        print(f"{name:34}{median(found):10.0f}{ratio:8.0%}{1000 / median(found):9.1f}")


def main() -> None:
    """Run everything and print it."""
    with tempfile.TemporaryDirectory() as folder:
        messages(Path(folder))
        delivery_speed.on_sqlite(Path(folder))
    delivery_speed.on_postgresql()
    serve_at_rest.main()


if __name__ == "__main__":
    main()
