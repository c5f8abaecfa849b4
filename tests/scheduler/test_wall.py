"""Wall-clock times over clock changes, in a zone north and two south."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduler.colony import DUE_KINDS
from scheduler.wall import HOURS, due_at, moment

GAPS = [  # (zone, day, a time that is skipped, what it becomes)
    ("Europe/Lisbon", date(2026, 3, 29), time(1, 30), time(2, 30)),
    ("Australia/Sydney", date(2026, 10, 4), time(2, 30), time(3, 30)),
    ("America/Santiago", date(2026, 9, 6), time(0, 0), time(1, 0)),
]
FOLDS = [  # (zone, day, a time that occurs twice, the first in UTC)
    ("Europe/Lisbon", date(2026, 10, 25), time(1, 30), datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
    ("Australia/Sydney", date(2026, 4, 5), time(2, 30), datetime(2026, 4, 4, 15, 30, tzinfo=UTC)),
    ("America/Santiago", date(2026, 4, 4), time(23, 30), datetime(2026, 4, 5, 2, 30, tzinfo=UTC)),
]


@pytest.mark.parametrize(("zone", "day", "skipped", "becomes"), GAPS)
def test_a_time_that_does_not_exist_moves_forward(
    zone: str, day: date, skipped: time, becomes: time
) -> None:
    """In the spring gap a due time moves forward by the gap; a minute before it stays."""
    due = moment(ZoneInfo(zone), day, skipped)
    assert due.time() == becomes
    assert due.astimezone(UTC).astimezone(ZoneInfo(zone)) == due


@pytest.mark.parametrize(("zone", "day", "twice", "first"), FOLDS)
def test_a_time_that_occurs_twice_is_the_first(
    zone: str, day: date, twice: time, first: datetime
) -> None:
    """In the autumn fold a due time is the earlier of the two, whatever fold was asked for."""
    assert moment(ZoneInfo(zone), day, twice).astimezone(UTC) == first
    assert moment(ZoneInfo(zone), day, twice.replace(fold=1)).astimezone(UTC) == first


@pytest.mark.parametrize("zone", ["Europe/Lisbon", "Australia/Sydney", "America/Santiago"])
def test_every_kind_keeps_its_hour_all_year(zone: str) -> None:
    """On each day of a year, both clock changes included, each kind is due at its own hour."""
    days = [date(2026, 1, 1) + timedelta(n) for n in range(365)]
    for kind in DUE_KINDS:
        assert {due_at(ZoneInfo(zone), kind, day).time() for day in days} == {HOURS[kind]}
    offsets = {due_at(ZoneInfo(zone), "weigh", day).utcoffset() for day in days}
    assert len(offsets) == 2
