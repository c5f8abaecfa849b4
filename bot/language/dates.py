"""Days and hours: what a message says of them, and which day that is for what happened or will."""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from bot.language.items import Item


@dataclass(frozen=True, slots=True)
class DayHint:
    """A day as told. `sort` is offset (days from today), weekday (0 Monday), month-day, or date.

    `turn` is "last", "next" or "this" where the message says so; "week" for "friday last week".
    """

    sort: str
    number: int = 0
    month: int | None = None
    year: int | None = None
    turn: str | None = None
    other: tuple[int, int] | None = None  # the other way round to read "4/3": day, month
    plain: date | None = None


@dataclass(frozen=True, slots=True)
class HourHint:
    """An hour as told. `half` is am, pm or None; `ago` is minutes back (or ahead, negative)."""

    hour: int = 0
    minute: int = 0
    half: str | None = None
    ago: int | None = None


@dataclass(frozen=True, slots=True)
class When:
    """The day and hour that a record is given; `future` where a told day could only lie ahead."""

    on: date
    at: time | None = None
    future: bool = False
    told: bool = False
    wrong: bool = False  # a day that no calendar has: "30 Feb"


def when_of(items: Sequence[Item], now: datetime, ahead: bool = False) -> When:
    """The day and hour told among `items`, for what happened (or, `ahead`, is to happen).

    `now` is the household's wall time. Nothing told is today with no hour.
    """
    days = [each.value for each in items if each.what == "date"]
    hours = [each.value for each in items if each.what == "time"]
    parts = [each.get("daypart") for each in items if each.is_("daypart")]
    hour = hours[0] if hours else None
    if hour is not None and hour.ago is not None:
        moment = (now.astimezone(UTC) - timedelta(minutes=hour.ago)).astimezone(now.tzinfo)
        return When(moment.date(), moment.time().replace(second=0, microsecond=0), told=True)
    wrong = bool(days) and not _exists(days[0])
    day = resolve(days[0], now.date(), ahead) if days and not wrong else None
    at = clock_time(hour, next((p for p in parts if p), None), now, day, ahead) if hour else None
    if day is None:
        day = _day_of_hour(at, now, ahead)
    future = not ahead and (
        day > now.date()
        or (day == now.date() and at is not None and bool(days) and at > now.time())
    )
    return When(day, at, future, told=bool(days or hours), wrong=wrong)


def _exists(hint: DayHint) -> bool:
    """False for a day of a month that the month does not have."""
    if hint.sort != "month-day":
        return True
    days = [(hint.number, hint.month), hint.other or (hint.number, hint.month)]
    return any(
        1
        <= d
        <= (
            calendar.monthrange(hint.year if hint.year and hint.year > 0 else 2024, m)[1]
            if m and m <= 12
            else 31
        )
        for d, m in days
    )


def _day_of_hour(at: time | None, now: datetime, ahead: bool) -> date:
    """With no day told: an hour still to come was yesterday's; one gone by is tomorrow's."""
    if at is not None and not ahead and at > now.time():
        return now.date() - timedelta(days=1)
    if at is not None and ahead and at <= now.time():
        return now.date() + timedelta(days=1)
    return now.date()


def clock_time(
    hour: HourHint, part: str | None, now: datetime, day: date | None, ahead: bool
) -> time:
    """The wall time meant, with "7" taken as morning or evening by what is likeliest."""
    half = hour.half or (part if hour.hour <= 12 else None)
    number = hour.hour
    if half == "pm" and number < 12:
        number += 12
    elif half == "am" and number == 12:
        number = 0
    elif half is None and 1 <= number <= 11 and hour.half != "24":
        number = _likely_half(number, hour.minute, now, day, ahead)
    return time(min(number, 23), hour.minute)


def _likely_half(number: int, minute: int, now: datetime, day: date | None, ahead: bool) -> int:
    if ahead:
        today = day is None or day == now.date()
        if today:
            for each in (number, number + 12):
                if time(each, minute) > now.time():
                    return each if each > 6 else number + 12
            return number + 12 if number < 7 else number
        return number + 12 if number < 7 else number
    if day is None or day == now.date():
        for each in (number + 12, number):
            if time(each, minute) <= now.time():
                return each
    return number + 12 if number < 7 else number


def resolve(hint: DayHint, today: date, ahead: bool) -> date:
    """The day meant: for what happened never later than today, if it can be read so."""
    if hint.sort == "date" and hint.plain is not None:
        return hint.plain
    if hint.sort == "offset":
        return today + timedelta(days=hint.number)
    if hint.sort == "weekday":
        return _weekday(hint, today, ahead)
    return _month_day(hint, today, ahead)


def _weekday(hint: DayHint, today: date, ahead: bool) -> date:
    if hint.turn == "next" and not ahead:
        ahead = True
    if hint.turn in ("last", "last-week"):
        ahead = False
    if ahead:
        days = (hint.number - today.weekday()) % 7
        if days == 0 and hint.turn != "this":
            days = 7
        if hint.turn == "week":  # "friday week"
            days += 7
        return today + timedelta(days=days)
    days = (today.weekday() - hint.number) % 7
    if hint.turn == "last-week":
        monday = today - timedelta(days=today.weekday() + 7)
        return monday + timedelta(days=hint.number)
    if days == 0 and hint.turn != "this":
        days = 7
    return today - timedelta(days=days)


def _month_day(hint: DayHint, today: date, ahead: bool) -> date:
    """A day of a month; with no month or year the nearest one on the right side of today."""
    readings = [(hint.number, hint.month)]
    if hint.other:
        readings.append(hint.other)
    for day, month in readings:
        found = _nearest(day, month, hint.year, today, ahead)
        if found is not None and (hint.other is None or _right_side(found, today, ahead, hint)):
            return found
    first = _nearest(*readings[0], hint.year, today, ahead)
    return first or today


def _right_side(found: date, today: date, ahead: bool, hint: DayHint) -> bool:
    gap = (found - today).days if ahead else (today - found).days
    return gap >= 0 and (hint.year is not None or gap <= 300)


def _nearest(
    day: int, month: int | None, year: int | None, today: date, ahead: bool
) -> date | None:
    if month is None:
        return _day_of_near_month(day, today, ahead)
    if year is not None:
        year = today.year + year if year <= 0 else year  # "last year" is -1
        return _date(year, month, day)
    years = (today.year, today.year + 1) if ahead else (today.year, today.year - 1)
    for each in years:
        found = _date(each, month, day)
        if found is not None and (found >= today if ahead else found <= today):
            return found
    return None


def _day_of_near_month(day: int, today: date, ahead: bool) -> date | None:
    step = 1 if ahead else -1
    year, month = today.year, today.month
    for _ in range(13):
        found = _date(year, month, day)
        if found is not None and (found >= today if ahead else found <= today):
            return found
        month += step
        if month in (0, 13):
            year, month = year + step, 12 if month == 0 else 1
    return None


def _date(year: int, month: int, day: int) -> date | None:
    if not (1 <= month <= 12 and 1 <= day <= 31 and 1900 <= year <= 2200):
        return None
    if day > calendar.monthrange(year, month)[1]:
        return None
    return date(year, month, day)


def span_of(name: str, today: date) -> tuple[date, date]:
    """First and last day of a stretch named in a question ("this-week": today and six more)."""
    weekend = today + timedelta(days=(5 - today.weekday()) % 7)
    if today.weekday() == 6:
        weekend = today - timedelta(days=1)
    first = today.replace(day=1)
    next_first = (first + timedelta(days=32)).replace(day=1)
    spans = {
        "this-week": (today, today + timedelta(days=6)),
        "next-week": (today + timedelta(days=7), today + timedelta(days=13)),
        "fortnight": (today, today + timedelta(days=13)),
        "this-month": (first, next_first - timedelta(days=1)),
        "next-month": (
            next_first,
            (next_first + timedelta(days=32)).replace(day=1) - timedelta(days=1),
        ),
        "month-ahead": (today, today + timedelta(days=29)),
        "weekend": (max(weekend, today), weekend + timedelta(days=1)),
        "last-week": (today - timedelta(days=7), today - timedelta(days=1)),
        "last-month": ((first - timedelta(days=1)).replace(day=1), first - timedelta(days=1)),
        "vague": (today - timedelta(days=7), today),
        "next-weekend": (weekend + timedelta(days=7), weekend + timedelta(days=8)),
    }
    return spans[name]
