"""Wall-clock times in a household's zone: at what hour each kind of task is due.

A due time is a local wall time, so it stays the same hour across a clock change.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, time
from functools import lru_cache
from types import MappingProxyType
from zoneinfo import ZoneInfo

MORNING = time(9)
EVENING = time(19)
END_OF_DAY = time(23, 59)

# Our own choice of hours, not a figure of the trade: geckos wake in the evening, so putting a male
# in, looking for eggs and reading the incubator belong to the evening round.
HOURS: Mapping[str, time] = MappingProxyType(
    {
        "pull-male": MORNING,
        "put-male-in": EVENING,
        "check-gravid": MORNING,
        "search-eggs": EVENING,
        "candle": MORNING,
        "wet-box": MORNING,
        "read-incubator": EVENING,
        "watch-hatch": MORNING,
        "overdue-egg": MORNING,
        "separate-sexes": MORNING,
        "sex-young": MORNING,
        "weigh": MORNING,
        "rest-female": MORNING,
        "first-pairing": MORNING,
        "plan": MORNING,
    }
)


def moment(zone: ZoneInfo, day: date, hour: time) -> datetime:
    """That wall time on that day, aware.

    A wall time that does not exist (clocks go forward over it) moves forward by the gap; one that
    occurs twice is the first of the two.
    """
    first = datetime.combine(day, hour.replace(fold=0, tzinfo=None), tzinfo=zone)
    return first.astimezone(UTC).astimezone(zone)


@lru_cache(maxsize=4096)
def due_at(zone: ZoneInfo, kind: str, day: date) -> datetime:
    """When a task of that kind is due on that day."""
    return moment(zone, day, HOURS[kind])


@lru_cache(maxsize=4096)
def until_end_of(zone: ZoneInfo, day: date) -> datetime:
    """The last minute of that day: how long a task still makes sense."""
    return moment(zone, day, END_OF_DAY)
