"""The clock rings on, whatever is done to the wall clock."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from scheduler.clock import Clock

INTERVAL = 0.05


def soon(enough: Callable[[], bool]) -> bool:
    """Whether it comes true within three seconds of real time (sleep is not moved, clocks are)."""
    for _ in range(300):
        if enough():
            return True
        time.sleep(0.01)
    return enough()


@pytest.mark.parametrize("shift", [timedelta(hours=-1), timedelta(days=-400), timedelta(days=3)])
def test_it_rings_on_when_the_wall_clock_is_moved(shift: timedelta) -> None:
    """Set back by an hour or a year, or forward by days, it goes on at its interval."""
    rings: list[datetime] = []
    with Clock(lambda: rings.append(datetime.now(UTC)), seconds=INTERVAL):
        assert soon(lambda: len(rings) >= 2)
        before = datetime.now(UTC)
        with time_machine.travel(before + shift, tick=True):
            count = len(rings)
            assert soon(lambda: len(rings) >= count + 4)
            moved = rings[count + 1 :]
            assert all(abs(ring - (before + shift)) < timedelta(seconds=30) for ring in moved)


def test_moved_forward_it_does_not_ring_for_what_it_missed() -> None:
    """Three days on is one ring, not one for every interval gone by."""
    rings: list[datetime] = []
    with Clock(lambda: rings.append(datetime.now(UTC)), seconds=0.3):
        assert soon(lambda: len(rings) == 1)
        with time_machine.travel(datetime.now(UTC) + timedelta(days=3), tick=True):
            time.sleep(0.7)
            assert len(rings) <= 5
