"""Clocks that jump: set back and on by hand or by a network, and by law twice a year."""

from __future__ import annotations

import random
import time
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from tests.torture.faults import MOST, Watch, well
from tests.torture.lane import Lane, moments

BACK, ON = timedelta(hours=-3), timedelta(days=3)
STEP, EVERY = timedelta(minutes=5), 0.45  # the clock of the night of a change, in real seconds
NIGHT = timedelta(hours=5)
ZONES = ("Europe/Lisbon", "Pacific/Auckland")


def jumps(seed: int, database: str | None = None) -> dict[str, int]:
    """Three hours back, where it stays a while, and three days on."""
    lane = Lane(seed, database, shift=0)
    try:
        soon = moments(lane.chance, lane.clock.now(), 12.0)
        lane.fill([*soon, *(each + timedelta(days=2) for each in soon[:3])])
        lane.start()
        watch = Watch(lane)
        with lane.talk(MOST, lambda: False):
            time.sleep(6)
            lane.clock.step(BACK)
            time.sleep(10)
            lane.kill(lane.all[0])
            lane.start()
            lane.clock.step(ON)
            time.sleep(8)
        lane.settle()
        watch.end()
        killed = lane.last_kill
        wrong = watch.wrong(0, killed - 1, well) + watch.wrong(killed + 4, killed + 999, well)
        return {**lane.counts(), "/health not true": wrong}
    finally:
        lane.close()


def change_of(zone: str, spring: bool, after: datetime) -> datetime:
    """The next moment at which clocks go forward (`spring`) or back there."""
    place, at = ZoneInfo(zone), after.replace(minute=0, second=0, microsecond=0)
    while True:
        before, at = at, at + timedelta(minutes=30)
        old, new = before.astimezone(place).utcoffset(), at.astimezone(place).utcoffset()
        assert old is not None and new is not None
        if old != new and (new > old) == spring:
            return at


def night(seed: int, zone: str, spring: bool, database: str | None = None) -> dict[str, int]:
    """The night in which clocks change, at 600 times its pace, with two kills."""
    change = change_of(zone, spring, datetime.now(UTC))
    start = change - NIGHT / 2
    lane = Lane(seed, database, zone=zone, shift=int((start - datetime.now(UTC)).total_seconds()))
    try:
        local = change.astimezone(ZoneInfo(zone)).replace(tzinfo=None)
        lane.fill(_of_that_night(lane.chance, start), digest=local.strftime("%H:30"))
        lane.start()
        with lane.talk(MOST):
            for step in range(NIGHT // STEP):
                lane.clock.step(STEP)
                time.sleep(EVERY)
                if step % 25 == 20:
                    lane.kill(lane.all[0])
                    lane.start()
        lane.clock.step(timedelta(minutes=5))
        lane.settle()
        digests = sum(each.is_digest for each in lane.arrived())
        return {**lane.counts(), "digests too many or few": abs(digests - 1)}
    finally:
        lane.close()


def _of_that_night(chance: random.Random, start: datetime) -> list[datetime]:
    return sorted(start + chance.random() * NIGHT for _ in range(16))
