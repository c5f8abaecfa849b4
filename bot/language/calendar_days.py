"""Explicit calendar dates and long relative expressions, resolved by dateparser.

What reaches dateparser is a phrase of few shapes, already found and spelt out by our own layer
(`monthwords.py`): "3 february", "3 february 2026", "3/2", "28 of last month", "3 months ago". It
never sees a message: it would take "slot 4" for the 4th and "B4 yesterday" for a day of this month.

dateparser's own habits that are closed here, each held by a test:

- a day asked for ahead is pushed a year on where it is today: the base is the day before;
- a two-digit year may come out a century off: years are told with four digits;
- "2/13" is made into something: the day and month must come out as they went in;
- "3 february" without a year may be years away ("29 february"): a year is the furthest.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any, Literal

Use = Literal["past", "future"]
Order = Literal["DMY", "MDY"]

FURTHEST = timedelta(days=366)  # a day and month told without a year lie within one


@lru_cache(maxsize=4096)
def calendar_day(phrase: str, base: date, use: Use, order: Order = "DMY") -> date | None:
    """The day that `phrase` means, told on the day `base`; None where there is no such day.

    `use` is past for what happened, future for what is to happen; `order` settles "3/2". Pure: the
    answer hangs on nothing else, so it is remembered.

    >>> calendar_day("28 of last month", date(2026, 3, 10), "past")
    datetime.date(2026, 2, 28)
    >>> calendar_day("30 february", date(2026, 3, 10), "past") is None
    True
    """
    found = _parsed(phrase, base, use, order)
    return found.date() if found is not None else None


@lru_cache(maxsize=4096)
def near_day(
    phrase: str, day: int, month: int, base: date, use: Use, order: Order = "DMY"
) -> date | None:
    """The nearest day on the right side of `base` that a phrase with no year means, or None.

    `day` and `month` are what the phrase says; what comes out otherwise is no answer.
    """
    anchor = base if use == "past" else base - timedelta(days=1)
    found = _parsed(phrase, anchor, use, order)
    if found is None or (found.day, found.month) != (day, month):
        return None
    return found.date() if abs(found.date() - base) <= FURTHEST else None


def _parsed(phrase: str, base: date, use: Use, order: Order) -> datetime | None:
    settings: dict[str, Any] = {
        "DATE_ORDER": order,
        "PREFER_DATES_FROM": use,
        "RELATIVE_BASE": datetime(base.year, base.month, base.day),
        "REQUIRE_PARTS": ["day", "month"],
        "PARSERS": ["relative-time", "absolute-time"],
        "RETURN_AS_TIMEZONE_AWARE": False,
    }
    found: datetime | None = _parser(settings).get_date_data(phrase).date_obj
    return found


def _parser(settings: dict[str, Any]) -> Any:
    """A parser of English alone. Loaded here: most messages tell no date."""
    from dateparser.date import DateDataParser

    return DateDataParser(languages=["en"], settings=settings)


def warm() -> None:
    """Loads dateparser and its tables (about 0.2 s), so that no keeper's message waits for it."""
    calendar_day("1 january 2026", date(2026, 1, 1), "past")


@lru_cache(maxsize=64)
def month_first(zone: str) -> bool:
    """True where people of the zone's country write the month before the day ("3/14").

    From the Unicode CLDR's zones and short English dates, as babel keeps them; day first where
    they have nothing to say.
    """
    from babel import Locale, UnknownLocaleError
    from babel.core import get_global

    territory = get_global("zone_territories").get(zone)
    if territory is None:
        return False
    try:
        pattern: str = Locale("en", territory).date_formats["short"].pattern
    except UnknownLocaleError:
        return False
    return pattern.startswith("M")
