"""How fast what is due leaves: Rackside's outbox beside a job queue and bare claims, in one run.

Every worker is a process of its own with the same stand-in for a channel, which answers after a
millisecond. What is measured is from "go" until the last row is marked sent.

    python -m tests.bench.delivery_speed            PostgreSQL only
    python -m tests.bench.delivery_speed --worker rackside URL NUMBER       one worker
"""

from __future__ import annotations

import asyncio
import logging
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from typing import Any

from sqlalchemy import func, insert, select, text, update

from bot.book.store import Book
from bot.book.tables import outbox
from bot.messages import Outgoing
from bot.serve.logs import set_up
from bot.serve.sending import Delivered, Sent
from tests.bench.many_households import CHANNEL, NOW, address, made

HOUSEHOLDS = 10_000
ROWS = 2_000  # reminders a run, each for another household
ROUNDS = 3
WORKERS = {1: 1, 2: 1, 4: 3}  # how many work at once, and in how many rounds
BATCH = 100  # rows of a bare claim
ANSWERS_AFTER = 0.001  # seconds
IN_THE_AIR = 200  # jobs at once of a worker of the queue; Rackside's own is the same
TEXT = "Pull M1 from F1. In since 7 Mar; sessions last 2 to 3 days."


async def channel(to: str, said: str) -> None:
    """The stand-in for a channel."""
    await asyncio.sleep(ANSWERS_AFTER)


class StandIn:
    """The stand-in, as Rackside sends."""

    async def send(self, outgoing: Outgoing) -> Sent:
        """Taken."""
        await channel(outgoing.address, outgoing.reply.text)
        return Delivered("1")


# --- what a worker does ---------------------------------------------------------------------


async def rackside(url: str, number: int) -> None:
    """Send what the outbox holds, as `serve` does, until nothing is left."""
    from concurrent.futures import ThreadPoolExecutor

    from bot.serve.delivery import Delivery

    book, thread = Book.open(url), ThreadPoolExecutor(1)

    async def in_book(step: Callable[[], Any]) -> Any:
        return await asyncio.get_running_loop().run_in_executor(thread, step)

    work = Delivery(book, {CHANNEL: StandIn()}, lambda: datetime.now(UTC), in_book, number)
    await in_book(lambda: left(book))
    await asyncio.to_thread(go)
    task = asyncio.create_task(work.run())
    while await in_book(lambda: left(book)):
        await asyncio.sleep(0.01)
    print("done", flush=True)
    task.cancel()
    await work.finish(1)
    book.close()


async def queue(url: str, number: int) -> None:
    """Work off the queue's jobs until nothing is left."""
    app = queue_app(url)
    async with app.open_async():
        await asyncio.to_thread(go)
        await app.run_worker_async(
            concurrency=IN_THE_AIR, wait=False, install_signal_handlers=False,
            listen_notify=False, delete_jobs="never",
        )  # fmt: skip
        print("done", flush=True)


def queue_app(url: str) -> Any:
    """The queue, with the one task."""
    import procrastinate

    logging.getLogger("procrastinate").setLevel(logging.ERROR)  # where the app is made, and so on
    app = procrastinate.App(connector=procrastinate.PsycopgConnector(conninfo=url))
    app.task(name="deliver")(channel)
    return app


def go() -> None:
    """Say that we are ready, and wait until all are."""
    print("ready", flush=True)
    sys.stdin.readline()


def left(book: Book) -> int:
    """How many rows wait; one look at an index."""
    with book.reading() as conn:
        waiting = outbox.c.sent.is_(None) & outbox.c.given_up.is_(None)
        return int(conn.execute(select(outbox.c.id).where(waiting).limit(1)).scalar() or 0)


# --- running them ---------------------------------------------------------------------------


def timed(what: str, url: str, workers: int) -> float:
    """Seconds from "go" until so many processes find nothing left."""
    processes = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.bench.delivery_speed", "--worker", what, url, str(n)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )
        for n in range(1, workers + 1)
    ]  # fmt: skip
    for each in processes:
        assert each.stdout is not None and each.stdout.readline().strip() == "ready"
    began = time.perf_counter()
    for each in processes:
        assert each.stdin is not None
        each.stdin.write("go\n")
        each.stdin.flush()
    for each in processes:
        assert each.stdout is not None and each.stdout.readline().strip() == "done"
    took = time.perf_counter() - began
    for each in processes:
        assert each.wait(60) == 0
    return took


def fill(book: Book) -> None:
    """As many reminders in the outbox, each for another household."""
    step = HOUSEHOLDS // ROWS
    rows = [
        {
            "household": n, "member": n, "channel": CHANNEL, "address": address(n),
            "reply": {"text": TEXT, "reminder": f"pull {n}"}, "made": NOW, "not_before": NOW,
        }
        for n in range(1, ROWS * step + 1, step)
    ]  # fmt: skip
    with book.writing() as conn:
        conn.execute(update(outbox).where(outbox.c.sent.is_(None)).values(sent=NOW))
        conn.execute(insert(outbox), rows)


def more_than_once(book: Book) -> int:
    """How many rows went out more than once."""
    with book.reading() as conn:
        count = select(func.count()).select_from(outbox).where(outbox.c.tries > 1)
        return int(conn.execute(count).scalar_one())


def reminders(book: Book, url: str, workers: int) -> float:
    """Reminders a second, by Rackside."""
    fill(book)
    found = ROWS / timed("rackside", url, workers)
    assert not left(book) and not more_than_once(book), more_than_once(book)
    return found


def jobs(url: str, workers: int) -> float:
    """Jobs a second, by the queue doing the same."""

    async def defer() -> None:
        app = queue_app(url)
        async with app.open_async():
            deferred = [{"to": address(n), "said": TEXT} for n in range(ROWS)]
            await app.configure_task("deliver").batch_defer_async(*deferred)

    asyncio.run(defer())
    found = ROWS / timed("queue", url, workers)
    import psycopg

    with psycopg.connect(url) as conn:
        query = "SELECT count(*) FROM procrastinate_jobs WHERE status = 'succeeded'"
        row = conn.execute(query).fetchone()
        assert row is not None and row[0] % ROWS == 0
    return found


def claims(book: Book) -> float:
    """Rows a second only claimed and marked, a hundred a durable commit, by one process."""
    fill(book)
    mark = text(
        "UPDATE outbox SET sent = now() WHERE id IN (SELECT id FROM outbox WHERE sent IS NULL AND "
        f"given_up IS NULL ORDER BY id LIMIT {BATCH} FOR UPDATE SKIP LOCKED)"
    )
    began = time.perf_counter()
    done = 0
    while True:
        with book.writing() as conn:
            marked = conn.execute(mark).rowcount
        if not marked:
            return done / (time.perf_counter() - began)
        done += marked


def on_sqlite(folder: Path) -> None:
    """Print reminders a second from a book in a file, which one process serves."""
    print(f"\n{'reminders delivered':34}{'a second':>10}{'of queue':>9}")
    where = str(folder / f"book{HOUSEHOLDS}.sqlite")
    there = Path(where).exists()
    book = Book.open(where) if there else made(where, HOUSEHOLDS, folder / "colony")
    found = [reminders(book, where, 1) for _ in range(ROUNDS)]
    print(f"{'SQLite, 1 worker':34}{median(found):10.0f}")
    book.close()


def on_postgresql() -> None:
    """Print what 1, 2 and 4 workers do on PostgreSQL, beside the queue and bare claims."""
    from tests.postgres import Server

    server = Server(durable=True)
    try:
        url, other = server.fresh(), server.fresh()
        import tempfile

        with tempfile.TemporaryDirectory() as folder:
            book = made(url, HOUSEHOLDS, Path(folder) / "colony")
        asyncio.run(_set_up_queue(other))
        bare = median(claims(book) for _ in range(ROUNDS))
        print(f"{f'PostgreSQL, bare claims by {BATCH}':34}{bare:10.0f}")
        for workers, rounds in WORKERS.items():
            _beside_the_queue(book, url, other, workers, rounds)
        book.close()
    finally:
        server.close()


def _beside_the_queue(book: Book, url: str, other: str, workers: int, rounds: int) -> None:
    ours, theirs = [], []
    for _ in range(rounds):
        ours.append(reminders(book, url, workers))
        theirs.append(jobs(other, workers))
    ratio = median(a / b for a, b in zip(ours, theirs, strict=True))
    print(f"{f'PostgreSQL, {workers} workers':34}{median(ours):10.0f}{ratio:8.1f}x")
    print(f"{f'  procrastinate, {workers} workers':34}{median(theirs):10.0f}")


async def _set_up_queue(url: str) -> None:
    app = queue_app(url)
    async with app.open_async():
        await app.schema_manager.apply_schema_async()


def main() -> None:
    """Print the PostgreSQL part; or be a worker."""
    if sys.argv[1:2] == ["--worker"]:
        set_up("info", ())  # as serve does by default
        what, url, number = sys.argv[2:5]
        asyncio.run({"rackside": rackside, "queue": queue}[what](url, int(number)))
        return
    on_postgresql()


if __name__ == "__main__":
    main()
