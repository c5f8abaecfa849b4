"""Ill-treat `rackside serve` for some minutes, on SQLite and PostgreSQL, and print what was lost.

    python -m tests.torture --kills 500 --minutes 7 --seed 1 [--store sqlite|postgres]

Kill -9 at random moments, while people write and reminders fall due, with faults at both channels;
then full disk, a book that another holds, a channel that hangs, clocks that jump and the nights in
which clocks change. Acknowledged is a record whose confirmation reached the channel. Ends with 1
where anything was lost, or doubled beyond what is promised: two copies, of which one says so.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from typing import Any, NamedTuple

from tests.postgres import Server
from tests.torture import clocks, faults
from tests.torture.counting import WRONG
from tests.torture.kills import storm

AT_ONCE = 4  # households
STORES = ("sqlite", "postgres")
SHARE = 0.65  # of the time is for the kills
TROUBLE = {
    "book held for 20 s": faults.locked,
    "channel hangs for 25 s": faults.hung,
    "clock 3 h back, 3 days on": clocks.jumps,
}
STORMS = 2  # households on each store


class Job(NamedTuple):
    """One household's part of it."""

    name: str
    store: str
    run: Callable[..., dict[str, int]]
    arguments: tuple[Any, ...]


def plan(kills: int, seed: int, minutes: float, stores: Sequence[str]) -> list[Job]:
    """What is done to whom; the kills, which take longest, first."""
    each = -(-kills // (STORMS * len(stores)))
    jobs = [
        Job("kills", store, storm, (seed + number, each, minutes * SHARE))
        for number in range(STORMS)
        for store in stores
    ]
    if "sqlite" in stores:
        jobs.append(Job("disk full for 15 s", "sqlite", faults.full_disk, (seed,)))
    for name, run in TROUBLE.items():
        jobs += [Job(name, store, run, (seed,)) for store in stores]
    nights = [(zone, spring) for zone in clocks.ZONES for spring in (True, False)]
    for number, (zone, spring) in enumerate(nights):  # each store sees both kinds, and both zones
        name = f"{'spring' if spring else 'autumn'}, {zone}"
        store = stores[(number + number // 2) % len(stores)]
        jobs.append(Job(name, store, clocks.night, (seed, zone, spring)))
    return jobs


def main() -> int:
    """The command line; gives the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--kills", type=int, default=500)
    parser.add_argument("--minutes", type=float, default=7)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--store", choices=STORES)
    asked = parser.parse_args()
    stores = (asked.store,) if asked.store else STORES
    jobs = plan(asked.kills, asked.seed, asked.minutes, stores)
    server = Server(durable=True) if "postgres" in stores else None
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(AT_ONCE, mp_context=spawn, max_tasks_per_child=1) as pool:
        going = [
            pool.submit(
                job.run, *job.arguments,
                server.fresh_book() if server and job.store == "postgres" else None,
            )
            for job in jobs
        ]  # fmt: skip
        wrong = show(jobs, going)
    if server is not None:
        server.close()
    return int(wrong)


def show(jobs: Sequence[Job], going: Sequence[Future[dict[str, int]]]) -> bool:
    """Print the tables; true where anything was wrong."""
    totals: dict[str, Counter[str]] = {}
    lines, wrong = [], False
    for job, each in zip(jobs, going, strict=True):
        if each.exception() is not None:
            lines.append(f"{job.name:28}{job.store:10} not run: {each.exception()}")
            wrong = True
            continue
        counts = each.result()
        wrong = wrong or any(counts.get(name) for name in WRONG)
        if job.name == "kills":
            totals.setdefault(job.store, Counter()).update(counts)
        else:
            lines.append(_line(job, counts))
    print(f"{'under kills':40}" + "".join(f"{store:>10}" for store in totals))
    for name in next(iter(totals.values()), {}):
        print(f"{name:40}" + "".join(f"{counts[name]:10}" for counts in totals.values()))
    print(f"\n{'and':28}{'store':10}{'messages':>9}{'reminders':>10}{'repeats':>8}  wrong")
    print("\n".join(lines))
    return wrong


def _line(job: Job, counts: dict[str, int]) -> str:
    found = ", ".join(f"{counts[name]} {name}" for name in WRONG if counts.get(name)) or "nothing"
    repeats = counts["replies in two copies"] + counts["reminders in two copies"]
    figures = f"{counts['messages']:9}{counts['reminders due']:10}{repeats:8}"
    return f"{job.name:28}{job.store:10}{figures}  {found}"


if __name__ == "__main__":
    sys.exit(main())
