"""Made-up colonies with all that a book may hold, gaps and slips included, and records for them."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduler.colony import (
    Animal,
    Box,
    ClimateReading,
    Clutch,
    Colony,
    Egg,
    Pairing,
    Plan,
    Search,
    Sign,
    Stay,
    Watering,
    Weight,
)

TODAY = date(2026, 3, 10)
SPECIES = ("picta", "leopard", "crested", "gargoyle", "fat-tailed", None, "unheard-of")
SIGNS = ("gravid", "slim", "mating", "unreceptive", "biting", "weak", "straining", "digging")
STATES = (None, "fertile", "too-early", "infertile", "mould")
ZONES = ("Europe/Lisbon", "America/New_York", "Asia/Tokyo")


def ago(rng: random.Random, least: int, most: int) -> date:
    """A day between so many and so many days ago (below 0: still to come)."""
    return TODAY - timedelta(rng.randint(least, most))


def random_colony(seed: int) -> Colony:
    """A household of up to some thirty animals and two hundred clutches."""
    rng = random.Random(seed)
    animals = {a.tag: a for a in _animals(rng)}
    tags = list(animals)
    females = [tag for tag in tags if tag[0] == "F"]
    boxes = {b: Box(b, 5, 6, rng.choice((None, "1", "2", "Incubator 3"))) for b in "ABC"}
    clutches = [
        Clutch(str(n), rng.choice(females), ago(rng, -2, rng.choice((90, 700))), 2)
        for n in range(rng.randrange(200))
    ]
    return Colony(
        ZoneInfo(rng.choice(ZONES)),
        animals,
        tuple(_pairing(rng, str(n), females) for n in range(rng.randrange(60))),
        tuple(clutches),
        tuple(_egg(rng, c, n, animals[c.dam].species) for c in clutches for n in range(c.eggs)),
        boxes,
        _readings(rng),
        tuple(
            Weight(rng.choice(tags), ago(rng, -2, 300), round(rng.uniform(2, 60), 1))
            for _ in range(rng.randrange(120))
        ),
        tuple(
            Sign(rng.choice(tags), ago(rng, -2, 90), rng.choice(SIGNS))
            for _ in range(rng.randrange(60))
        ),
        tuple(
            Search(rng.choice(females), ago(rng, 0, 40), rng.choice((0, 0, 2))) for _ in range(8)
        ),
        (Watering("box A", ago(rng, 0, 20)),),
        (),
        (Plan("1", "order roaches", ago(rng, -9, 5), time(8)),),
    )


def _animals(rng: random.Random) -> list[Animal]:
    return [
        Animal(
            f"{letter}{n}",
            rng.choice(SPECIES),
            sex,
            hatched=ago(rng, 1, oldest) if rng.random() < 0.9 else None,
            dam="F0" if rng.random() < 0.5 else None,
            place=rng.choice((None, f"tub {letter}{n}", "Nursery 1", "nursery  2")),
            status=rng.choice(("kept",) * 8 + ("sold",)),
        )
        for letter, sex, most, oldest in (
            ("F", "female", 14, 1400), ("M", "male", 5, 1400), ("H", "unknown", 14, 250),
        )
        for n in range(rng.randrange(2, most))
    ]  # fmt: skip


def _pairing(rng: random.Random, key: str, females: list[str]) -> Pairing:
    put_in = ago(rng, -3, 200)
    out = None if rng.random() < 0.15 else put_in + timedelta(rng.randrange(6))
    return Pairing(key, rng.choice(("M0", "M1")), rng.choice(females), put_in, out)


def _egg(rng: random.Random, clutch: Clutch, number: int, species: str | None) -> Egg:
    since, stays = clutch.laid, []
    while not stays or rng.random() < 0.2:
        stays.append(Stay(since, f"{rng.choice('ABCZ')}{rng.randint(1, 30)}"))
        since += timedelta(rng.randrange(30))
    egg = Egg(
        f"{clutch.key}.{number}", clutch.key, clutch.dam, clutch.laid, stays[-1].slot, species,
        state=rng.choice(STATES), stays=tuple(stays) if rng.random() < 0.9 else (),
    )  # fmt: skip
    if clutch.laid > TODAY - timedelta(45) or rng.random() < 0.15:
        return egg
    end = rng.choice(("hatched", "hatched", "discarded"))
    return replace(egg, end=end, ended=clutch.laid + timedelta(rng.randint(40, 90)))


def _readings(rng: random.Random) -> tuple[ClimateReading, ...]:
    rows = []
    for place in ("incubator 1", "Incubator  2", "incubator 3", "box A"):
        usual, step = rng.uniform(24, 29), rng.choice((0.5, 1, 1, 3, 9))
        for n in range(rng.choice((0, 5, 60, 200))):
            at = datetime(2026, 3, 10, rng.randrange(24), tzinfo=UTC) - timedelta(n * step)
            celsius = round(rng.gauss(usual, 0.7), 1) if rng.random() < 0.95 else None
            rows.append(ClimateReading(at, place, celsius, 75))
    rng.shuffle(rows)
    return tuple(rows)


def _hatch(rng: random.Random, c: Colony) -> Colony:
    return _with_egg(rng, c, lambda egg: replace(egg, end="hatched", ended=TODAY))


def _move(rng: random.Random, c: Colony) -> Colony:
    return _with_egg(
        rng, c, lambda egg: replace(egg, slot="A9", stays=(*egg.stays, Stay(TODAY, "A9")))
    )


def _with_egg(rng: random.Random, c: Colony, change: Callable[[Egg], Egg]) -> Colony:
    if not c.eggs:
        return c
    place = rng.randrange(len(c.eggs))
    return replace(c, eggs=(*c.eggs[:place], change(c.eggs[place]), *c.eggs[place + 1 :]))


def _clutch(rng: random.Random, c: Colony) -> Colony:
    dam = c.animals["F0"]
    clutch = Clutch(f"new {rng.random()}", dam.tag, ago(rng, 0, 30), 1)
    return replace(
        c,
        clutches=(*c.clutches, clutch),
        eggs=(*c.eggs, _egg(rng, clutch, 0, dam.species)),
    )


def _reading(rng: random.Random, c: Colony) -> Colony:
    at = datetime(2026, 3, 10, 18, tzinfo=UTC) - timedelta(rng.choice((0, 0, 0, 30)))
    place = rng.choice(("incubator 1", "Incubator 2", "box B"))
    return replace(c, readings=(*c.readings, ClimateReading(at, place, rng.uniform(24, 29))))


def _animal(rng: random.Random, c: Colony) -> Colony:
    tag = rng.choice(list(c.animals))
    row = replace(c.animals[tag], species=rng.choice(SPECIES), place="nursery 1")
    return replace(c, animals={**c.animals, tag: row})


def _sign(rng: random.Random, c: Colony) -> Colony:
    sign = Sign(rng.choice(list(c.animals)), TODAY, rng.choice(SIGNS))
    return replace(c, signs=(*c.signs, sign))


def _weigh(rng: random.Random, c: Colony) -> Colony:
    weight = Weight(rng.choice(list(c.animals)), TODAY, round(rng.uniform(2, 60), 1))
    return replace(c, weights=(*c.weights, weight))


RECORDS: dict[str, Callable[[random.Random, Colony], Colony]] = {
    "hatch": _hatch,
    "move": _move,
    "clutch": _clutch,
    "reading": _reading,
    "animal": _animal,
    "sign": _sign,
    "weighing": _weigh,
}
