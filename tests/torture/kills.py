"""Kill -9 at random moments, under a stream of messages and reminders and with faults at hand."""

from __future__ import annotations

import time

from tests.serve.conftest import wait_for
from tests.torture.gateway import health
from tests.torture.lane import Lane, moments

STARTING = 0.25  # of the kills come while it starts
LIVES = (0.1, 2.0)  # seconds, once it answers
EACH = 1.6  # seconds a kill takes about: for so long reminders are planned
MOST = 1.0  # seconds between messages
LAST_WISH = 110.0  # seconds before the end from which on nobody asks for more reminders


def storm(seed: int, kills: int, minutes: float, database: str | None = None) -> dict[str, int]:
    """So many kills, or as many as fit; gives the counts."""
    lane = Lane(seed, database)
    try:
        lane.fill(moments(lane.chance, lane.clock.now(), min(kills * EACH, minutes * 60)))
        end = time.monotonic() + minutes * 60
        with lane.talk(MOST, lambda: time.monotonic() < end - LAST_WISH):
            while lane.kills < kills and time.monotonic() < end:
                lane.trouble()
                (_one_of_two if database else _the_only)(lane)
        lane.settle()
        return lane.counts()
    finally:
        lane.close()


def _the_only(lane: Lane) -> None:
    """Start it, and kill it while it starts or a while after."""
    serving = lane.all[0]
    serving.start(ready=False)
    if lane.chance.random() < STARTING:
        time.sleep(lane.chance.uniform(0.02, 0.5))
    else:
        wait_for(lambda: health(serving.listen)[0], 30)
        time.sleep(lane.chance.uniform(*LIVES))
    lane.kill(serving)


def _one_of_two(lane: Lane) -> None:
    """Both run; one is killed, now and then the other too, while it starts or a while after."""
    for each in lane.all:
        if each not in lane.alive():
            each.start(ready=False)
    doomed = lane.chance.sample(lane.all, 2 if lane.chance.random() < 0.15 else 1)
    if lane.chance.random() < STARTING:
        time.sleep(lane.chance.uniform(0.02, 0.5))
    else:
        wait_for(lambda: health(doomed[0].listen)[0], 30)
        time.sleep(lane.chance.uniform(*LIVES))
    for each in doomed:
        lane.kill(each)
