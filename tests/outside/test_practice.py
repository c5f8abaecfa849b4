"""The assistant follows the trade's rules of thumb for Paroedura picta.

Status of every figure here: common practice (keepers' rules of thumb, no source that could be
cited), unless marked published. Sessions of two to three days, two to three days apart, three
times; visibly gravid three to four weeks after mating; two eggs about every three weeks; near 60
days at 80 to 82 F; sexes apart at two to three months; males show at three to five; females first
paired at eight to ten.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

from scheduler.colony import Animal, Box, ClimateReading, Clutch, Colony, Due, Egg, Pairing, Stay
from scheduler.reminders import due
from scheduler.wall import moment

ZONE = ZoneInfo("Europe/Lisbon")
START = date(2026, 3, 1)
MONTH = 30.44


def colony(**facts: object) -> Colony:
    """A grown pair, and whatever else is said."""
    animals = {
        "M2": Animal("M2", "picta", "male"),
        "F3": Animal("F3", "picta", "female"),
        "H1": Animal("H1", "picta", hatched=START, dam="F3", place="nursery 1"),
        "H2": Animal("H2", "picta", hatched=START, dam="F3", place="nursery 1"),
        "F9": Animal("F9", "picta", "female", hatched=START),
    }
    return replace(Colony(ZONE, animals), **facts)  # type: ignore[arg-type]


def day_of(kind: str, given: Colony, today: date = START) -> int:
    """Days from the start to the first item of a kind."""
    items = [each for each in due(given, today, today + timedelta(400)) if each.kind == kind]
    return (items[0].due.date() - START).days


def test_sessions_of_two_to_three_days_two_to_three_apart() -> None:
    """Pulled two to three days after he went in, back two to three days after he came out."""
    inside = colony(pairings=(Pairing("1", "M2", "F3", START),))
    assert 2 <= day_of("pull-male", inside) <= 3
    out = START + timedelta(2)
    pulled = colony(pairings=(Pairing("1", "M2", "F3", START, out),))
    assert 2 <= day_of("put-male-in", pulled, out) - 2 <= 3


def test_three_sessions_make_a_pairing() -> None:
    """After the second session a third is due, after the third none."""
    rows = tuple(
        Pairing(str(n), "M2", "F3", START + timedelta(4 * n), START + timedelta(4 * n + 2))
        for n in range(3)
    )

    def again(pairings: tuple[Pairing, ...]) -> list[Due]:
        today = pairings[-1].taken_out or START
        items = due(colony(pairings=pairings), today, today + timedelta(30))
        return [each for each in items if each.kind == "put-male-in"]

    assert again(rows[:2]) and not again(rows)


def test_gravid_three_to_four_weeks_after_mating() -> None:
    """She is looked at three to four weeks after the first session."""
    mated = colony(pairings=(Pairing("1", "M2", "F3", START, START + timedelta(2)),))
    assert 21 <= day_of("check-gravid", mated) <= 28


def test_two_eggs_about_every_three_weeks() -> None:
    """After a clutch she is searched before three weeks are over, but not in the first ten days."""
    clutch = Clutch("1", "F3", START, 2)
    assert 10 <= day_of("search-eggs", colony(clutches=(clutch,))) <= 21


def test_near_sixty_days_at_eighty_to_eighty_two_fahrenheit() -> None:
    """Watching begins before day 60 at 81 F and what is overdue is so after it."""
    egg = Egg("1", "1", "F3", START, "B4", "picta", stays=(Stay(START, "B4"),))
    given = colony(
        eggs=(egg,),
        boxes={"B": Box("B", 3, 4, "1")},
        readings=(ClimateReading(moment(ZONE, START, time(12)), "incubator 1", 27.2),),
    )
    assert 45 <= day_of("watch-hatch", given) <= 60 <= day_of("overdue-egg", given) <= 80


def test_young_by_their_age() -> None:
    """Sexes apart at two to three months, males shown at three to five, paired at eight to ten."""
    assert 2 * MONTH - 1 <= day_of("separate-sexes", colony()) <= 3 * MONTH
    assert 3 * MONTH - 1 <= day_of("sex-young", colony()) <= 5 * MONTH
    assert 8 * MONTH - 4 <= day_of("first-pairing", colony()) <= 10 * MONTH
