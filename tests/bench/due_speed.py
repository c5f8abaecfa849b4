"""How long it takes to work out what is due: 500 animals, 5,000 past eggs, 14 days.

    python tests/bench/due_speed.py

Prints the best, median and worst of a cold run (nothing indexed yet), of the same in a new process
(no curve fitted yet either), and of what one record more costs once that is known: only the parts
that it can change are worked out again.
"""

from __future__ import annotations

import random
import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduler import curve, own, warmth
from scheduler.changes import carry_over, changed
from scheduler.colony import (
    Animal,
    Box,
    ClimateReading,
    Clutch,
    Colony,
    Egg,
    Pairing,
    Sign,
    Stay,
    Weight,
)
from scheduler.reminders import due, due_for

TODAY = date(2026, 3, 10)
END = TODAY + timedelta(14)
LIMIT_MS = 50.0
SPECIES = ("picta", "leopard", "crested", "gargoyle", "fat-tailed")


def household(seed: int = 1) -> Colony:
    """A made-up household of 220 females, 60 males and 220 young, with years of clutches."""
    rng = random.Random(seed)
    animals = dict(_animals(rng))
    clutches, eggs = _clutches(rng)
    readings = tuple(
        ClimateReading(
            datetime(2025, 9, 1, 18, tzinfo=UTC) + timedelta(day), f"incubator {number}", 27.0, 75
        )
        for day in range(190)
        for number in (1, 2, 3)
    )
    return Colony(
        ZoneInfo("Europe/Lisbon"),
        animals,
        tuple(_pairings(rng)),
        clutches,
        eggs,
        {name: Box(name, 10, 12, str(1 + i % 3)) for i, name in enumerate("ABCDEF")},
        readings,
        tuple(
            Weight(tag, TODAY - timedelta(30 * k + rng.randrange(20)), 15 + rng.random())
            for tag in animals
            for k in range(6)
        ),
        tuple(Sign(f"F{rng.randrange(220)}", TODAY - timedelta(d), "gravid") for d in range(60)),
    )


def _animals(rng: random.Random) -> list[tuple[str, Animal]]:
    rows = []
    for sex, letter, count, age in (
        ("female", "F", 220, 900),
        ("male", "M", 60, 900),
        ("unknown", "H", 220, 60),
    ):
        for n in range(count):
            born = TODAY - timedelta(age + rng.randrange(90))
            place = f"tub {letter}{n // 2 if letter == 'H' else n}"
            row = Animal(f"{letter}{n}", SPECIES[n % 5], sex, hatched=born, place=place)
            rows.append((row.tag, replace(row, sire=f"M{n % 60}", dam=f"F{n % 220}")))
    return rows


def _pairings(rng: random.Random) -> list[Pairing]:
    rows = []
    for n in range(220):
        start = TODAY - timedelta(rng.randrange(200))
        for session in range(3):
            put_in = start + timedelta(4 * session)
            out = None if n < 20 and session == 2 else put_in + timedelta(2)
            if put_in <= TODAY:
                rows.append(Pairing(f"{n}.{session}", f"M{n % 60}", f"F{n}", put_in, out))
    return rows


def _clutches(rng: random.Random) -> tuple[tuple[Clutch, ...], tuple[Egg, ...]]:
    clutches, eggs = [], []
    for n in range(2600):
        recent = n >= 2500
        laid = TODAY - timedelta(rng.randrange(70) if recent else 120 + rng.randrange(900))
        clutch = Clutch(str(n), f"F{n % 220}", laid, 2)
        clutches.append(clutch)
        for k in range(2):
            slot = f"{'ABCDEF'[n % 6]}{1 + (2 * n + k) % 120}"
            row = Egg(
                f"{n}.{k}", clutch.key, clutch.dam, laid, slot, SPECIES[n % 5], ("M1",), "fertile",
                stays=(Stay(laid, slot),),
            )  # fmt: skip
            if not recent:
                hatched = laid + timedelta(55 + rng.randrange(10))
                row = replace(row, end="hatched", ended=hatched)
            eggs.append(row)
    return tuple(clutches), tuple(eggs)


def milliseconds(work: Callable[[Colony], object], colony: Colony, runs: int) -> list[float]:
    """Time of each run, on a colony object never seen before."""
    times = []
    for _ in range(runs):
        fresh = replace(colony)
        begun = time.perf_counter()
        work(fresh)
        times.append(1000 * (time.perf_counter() - begun))
    return times


RECORDS: dict[str, Callable[[Colony], Colony]] = {
    "a weighing": lambda c: replace(c, weights=(*c.weights, Weight("F3", TODAY, 15.1))),
    "a clutch": lambda c: replace(
        c,
        clutches=(*c.clutches, Clutch("new", "F3", TODAY, 2)),
        eggs=(*c.eggs, Egg("new.1", "new", "F3", TODAY, "A4", "picta", stays=(Stay(TODAY, "A4"),))),
    ),
    "a reading": lambda c: replace(
        c,
        readings=(
            *c.readings, ClimateReading(datetime(2026, 3, 10, 18, tzinfo=UTC), "incubator 1", 27.4)
        ),
    ),
    "a hatch": lambda c: replace(
        c, eggs=(*c.eggs[:-1], replace(c.eggs[-1], end="hatched", ended=TODAY))
    ),
}  # fmt: skip


def forget() -> None:
    """As in a new process: no curve fitted, no temperature summed."""
    for known in (curve.fitted, curve._shapes, own._moved, warmth.trace, warmth.course):
        known.cache_clear()


def after_one(record: Callable[[Colony], Colony], household: Colony, runs: int) -> list[float]:
    """Time of each run: what was due is known, one record more comes in."""
    times = []
    for _ in range(runs):
        forget()  # else the second run would find the curve that the first one fitted
        before = replace(household)
        due(before, TODAY, END)
        after = record(before)
        begun = time.perf_counter()
        carry_over(before, after)
        due_for(after, changed(before, after, TODAY), TODAY, END)
        times.append(1000 * (time.perf_counter() - begun))
    return times


def main() -> None:
    colony = household()
    past = sum(egg.end is not None for egg in colony.eggs)
    waiting = len(colony.eggs) - past
    print(f"{len(colony.animals)} animals, {past} past eggs, {waiting} in the box")
    due(colony, TODAY, END)  # species files and code are loaded once a process
    print(f"{len(due(colony, TODAY, END))} due in 14 days")
    whole = milliseconds(lambda c: due(c, TODAY, END), colony, 25)
    print(f"everything: {said(whole)}")
    new = milliseconds(lambda c: (forget(), due(c, TODAY, END)), colony, 7)
    print(f"everything, in a new process: {said(new)}")
    for name, record in RECORDS.items():
        print(f"after {name}: {said(after_one(record, colony, 7))}")
    held = statistics.median(whole) <= LIMIT_MS
    print(f"limit {LIMIT_MS:.0f} ms: {'held' if held else 'NOT held'}")


def said(times: list[float]) -> str:
    """Best, median and worst in words."""
    middle = statistics.median(times)
    return f"best {min(times):.1f}, median {middle:.1f}, worst {max(times):.1f} ms"


if __name__ == "__main__":
    main()
