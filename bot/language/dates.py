"""Days and hours: what a message says of them, and which day that is for what happened or will.

Whether a day is past or ahead hangs on what is told of it: what happened is never in the future, a
plan's day is the next one. That choice, the words of few and fixed meaning ("today", "yesterday",
"3 days ago", weekday names), the day of a month told without its month, and hours are our own: they
are where a general reader of dates goes astray ("slot 4 yesterday", "on the 15th" of last month,
"Friday" of last week, an hour lost where the clocks change). Calendar dates and longer relative
expressions ("3 Feb", "4/3/26", "the 28th of last month", "3 months ago") are resolved by dateparser
(`calendar_days.py`). Stretches of days are in `spans.py`, the finding of words in `daywords.py`.
"""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from bot.language.calendar_days import Order, Use, calendar_day, near_day
from bot.language.daytables import day_tables
from bot.language.items import Item

SMALL_HOURS = 5  # before it "this evening" is the one just gone, and the night is not over
LATEST_IN_NIGHT = 4  # "last night at 2" lies after midnight, "last night at 7" before


@dataclass(frozen=True, slots=True)
class DayHint:
    """A day as told. `sort` is one of:

    offset (`number` of days from today), weekday (`number` 0 is Monday), month-day (`number` and,
    where told, `month` and `year`), date (`plain`), words (a whole `phrase`), part (of the day, in
    `half`, with no day told: "at dusk").

    `turn` is last, this or next where told; last-week, next-week (of the calendar), or week for
    "friday week". `weeks` are told beside a weekday ("a week last friday" is -1).
    """

    sort: str
    number: int = 0
    month: int | None = None
    year: int | None = None
    turn: str | None = None
    other: tuple[int, int] | None = None  # the other way round to read "4/3": day, month
    plain: date | None = None
    phrase: str = ""
    order: Order = "DMY"
    weeks: int = 0
    half: str | None = None
    same_hour: bool = False  # "this time yesterday"
    weak: bool = False  # "first thing", which another day beside it outdoes


@dataclass(frozen=True, slots=True)
class HourHint:
    """An hour as told. `half` is am, pm, 24 (a clock of 24 hours) or None; `ago` is minutes back
    (or ahead, negative)."""

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


# -- the moment ---------------------------------------------------------------------------


def when_of(items: Sequence[Item], now: datetime, ahead: bool = False) -> When:
    """The day and hour told among `items`, for what happened (or, `ahead`, is to happen).

    `now` is the household's wall time when the message was sent. Nothing told is today, no hour.
    """
    hint = _day_told(items)
    hours = [each.value for each in items if each.what == "time"]
    hour = hours[0] if hours else None
    if hour is not None and hour.ago is not None:
        moment = (now.astimezone(UTC) - timedelta(minutes=hour.ago)).astimezone(now.tzinfo)
        return When(moment.date(), moment.time().replace(second=0, microsecond=0), told=True)
    parts = [part for each in items if each.is_("daypart") and (part := each.get("daypart"))]
    night = any(_late(each) for each in items if each.is_("daypart"))
    part = parts[0] if parts else None
    day = resolve(hint, now.date(), ahead) if hint else None
    if hint is not None and day is None:
        return When(now.date(), told=True, wrong=True)
    if hint is not None and day is not None:
        day = _of_part(hint, day, part, night, now, ahead)
    at = _hour_of(hint, hour, part, night, now, day, ahead)
    if day is None:
        day = _day_of_hour(at, now, ahead)
    elif hour is not None and at is not None:
        day = _night_day(day, hour, at, part, night, now, ahead)
    future = not ahead and (
        day > now.date()
        or (day == now.date() and at is not None and hint is not None and at > now.time())
    )
    return When(day, at, future, told=bool(hint or hours))


def _day_told(items: Sequence[Item]) -> DayHint | None:
    """The day told first, but for a weak one that another beside it outdoes."""
    days: list[DayHint] = [each.value for each in items if each.what == "date"]
    firm = [hint for hint in days if not hint.weak] or days
    return firm[0] if firm else None


def _late(item: Item) -> bool:
    """True for a part of the day that runs past midnight: "last night", "friday night"."""
    tables = day_tables()
    return any(tables.holds("late", word) for word in item.text.casefold().split())


def _of_part(
    hint: DayHint, day: date, part: str | None, night: bool, now: datetime, ahead: bool
) -> date:
    """The day of a part of the day: one to come was yesterday's, one gone by is tomorrow's."""
    if hint.sort == "part":
        if not ahead and now.hour < (12 if hint.half == "pm" else SMALL_HOURS):
            return day - timedelta(days=1)
        if ahead and hint.half == "am" and now.hour >= SMALL_HOURS:
            return day + timedelta(days=1)
        return day
    after_midnight = now.hour < SMALL_HOURS and not ahead and not night
    if after_midnight and part == "pm" and hint.sort == "offset" and hint.number == 0:
        return day - timedelta(days=1)  # "this evening" is the one just gone
    return day


def _hour_of(
    hint: DayHint | None,
    hour: HourHint | None,
    part: str | None,
    night: bool,
    now: datetime,
    day: date | None,
    ahead: bool,
) -> time | None:
    if hour is None:
        same = hint is not None and hint.same_hour
        return now.time().replace(second=0, microsecond=0) if same else None
    if night and _after_midnight(hour):
        return time(hour.hour % 12, hour.minute)
    return clock_time(hour, part, now, day, ahead)


def _after_midnight(hour: HourHint) -> bool:
    return hour.half != "pm" and hour.hour in (0, 12, *range(1, LATEST_IN_NIGHT + 1))


def _night_day(
    day: date, hour: HourHint, at: time, part: str | None, night: bool, now: datetime, ahead: bool
) -> date:
    """A night's small hours belong to the next day's date: "last night at 2" is today at 02:00."""
    if night and _after_midnight(hour):
        tonight_already = day == now.date() and now.hour < SMALL_HOURS
        if ahead:
            return day if tonight_already and at > now.time() else day + timedelta(days=1)
        rolled = day + timedelta(days=1)
        return rolled if (rolled, at) <= (now.date(), now.time()) else day
    late_told = not ahead and part == "pm" and now.hour < SMALL_HOURS
    if late_told and day == now.date() and at > now.time():
        return day - timedelta(days=1)  # "tonight at 11", told after midnight
    return day


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
    elif half is None and 1 <= number <= 11:
        number = _likely_half(number, hour.minute, now, day, ahead)
    return time(min(number, 23), hour.minute)


def _likely_half(number: int, minute: int, now: datetime, day: date | None, ahead: bool) -> int:
    today = day is None or day == now.date()
    usual = number + 12 if number < 7 else number
    if not today:
        return usual
    if ahead:
        for each in (number, number + 12):
            if time(each, minute) > now.time():
                return each if each > 6 else number + 12
        return usual
    for each in (number + 12, number):
        if time(each, minute) <= now.time():
            return each
    return number + 12  # the latest that it can have been is last evening's


# -- the day ------------------------------------------------------------------------------


def resolve(hint: DayHint, today: date, ahead: bool) -> date | None:
    """The day meant, None where no calendar has it; for what happened never later than today, if
    it can be read so."""
    if hint.sort == "date":
        return hint.plain
    if hint.sort == "offset":
        return today + timedelta(days=hint.number)
    if hint.sort == "part":
        return today
    if hint.sort == "weekday":
        return _weekday(hint, today, ahead)
    use: Use = "future" if ahead else "past"
    if hint.sort == "words":
        return calendar_day(hint.phrase, today, use)
    if hint.month is None:
        return _day_of_near_month(hint.number, today, ahead)
    return _month_day(hint, today, use)


def _weekday(hint: DayHint, today: date, ahead: bool) -> date:
    monday = today - timedelta(days=today.weekday())
    if hint.turn in ("last-week", "next-week"):
        week = timedelta(days=-7 if hint.turn == "last-week" else 7)
        return monday + week + timedelta(days=hint.number)
    if hint.turn in ("next", "week"):
        ahead = True
    elif hint.turn == "last":
        ahead = False
    gap = (hint.number - today.weekday()) % 7 if ahead else (today.weekday() - hint.number) % 7
    if gap == 0 and hint.turn != "this":
        gap = 7
    found = today + timedelta(days=gap if ahead else -gap)
    return found + timedelta(weeks=hint.weeks)


def _day_of_near_month(day: int, today: date, ahead: bool) -> date | None:
    """ "on the 5th": for what happened of this month or last; ahead of the next month with it."""
    if not ahead:
        months = [(today.year, today.month), _month_after(today, -1)]
    else:
        months = [_month_after(today, n) for n in range(3)]
    for year, month in months:
        if 1 <= day <= calendar.monthrange(year, month)[1]:
            found = date(year, month, day)
            if (found >= today) if ahead else (found <= today):
                return found
    return None


def _month_after(today: date, months: int) -> tuple[int, int]:
    total = today.year * 12 + today.month - 1 + months
    return total // 12, total % 12 + 1


def _month_day(hint: DayHint, today: date, use: Use) -> date | None:
    """A day and month; with no year the nearest on the right side of today, and where "4/3" leaves
    it open the household's order unless only the other one fits."""
    if hint.year is not None:
        year = today.year + hint.year if hint.year <= 0 else hint.year  # "last year" is -1
        return _whole_date(hint, year, today, use)
    assert hint.month is not None
    other: Order = "MDY" if hint.order == "DMY" else "DMY"
    found = near_day(hint.phrase, hint.number, hint.month, today, use, hint.order)
    if hint.other is None or (found is not None and abs((found - today).days) <= 300):
        return found
    turned = near_day(hint.phrase, *hint.other, today, use, other)
    return turned if turned is not None and abs((turned - today).days) <= 300 else found


def _whole_date(hint: DayHint, year: int, today: date, use: Use) -> date | None:
    found = calendar_day(
        f"{hint.phrase}{'/' if '/' in hint.phrase else ' '}{year}", today, use, hint.order
    )
    if found is None or (found.day, found.month, found.year) != (hint.number, hint.month, year):
        return None
    return found
