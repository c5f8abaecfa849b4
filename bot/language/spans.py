"""Stretches of days: "this week", "in march", "the past two weeks", "by Sunday"."""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from bot.language.dates import DayHint, resolve
from bot.language.daytables import day_tables
from bot.language.items import Item

# Stretches that a reminder may be set for by their name alone.
_AHEAD = frozenset({
    "next-week", "week-after-next", "next-month", "weekend", "next-weekend", "month-end",
    "next-month-end", "next-year",
})  # fmt: skip
_BEHIND = frozenset(
    {"vague", "last-week", "last-month", "last-weekend", "last-year", "back", "past-month"}
)
# Stretches in which what happened has no one day that could be told.
_HELD = _BEHIND | {
    "month", "this-week", "this-month", "this-year", "month-so-far", "year-so-far", "weekend",
}  # fmt: skip


def span_of(name: str, today: date) -> tuple[date, date]:
    """First and last day of a stretch named in a question, both within it.

    A number or month follows some names: "back:14" (today and the 13 days before), "ahead:10",
    "month:3" (this March or the next), "month:3:2025".

    >>> span_of("back:14", date(2026, 3, 10))
    (datetime.date(2026, 2, 25), datetime.date(2026, 3, 10))
    """
    head, _, rest = name.partition(":")
    if head == "back":
        return today - timedelta(days=int(rest) - 1), today
    if head == "ahead":
        return today, today + timedelta(days=int(rest) - 1)
    if head == "month":
        month, _, year = rest.partition(":")
        if year:
            return _month(int(year) if int(year) > 0 else today.year + int(year), int(month))
        return _month(today.year + (int(month) < today.month), int(month))
    if head == "past-month":
        return _month(today.year - (int(rest) >= today.month), int(rest))
    if head == "gone-month":
        return _month(today.year - (int(rest) > today.month), int(rest))
    if head == "month-end" and rest:
        return today, _month(today.year + (int(rest) < today.month), int(rest))[1]
    return _named(name, today)


def _named(name: str, today: date) -> tuple[date, date]:
    weekend = today + timedelta(days=(5 - today.weekday()) % 7)
    if today.weekday() == 6:
        weekend = today - timedelta(days=1)
    days = {
        "this-week": (0, 6), "next-week": (7, 13), "fortnight": (0, 13), "month-ahead": (0, 29),
        "week-after-next": (14, 20), "last-week": (-7, -1), "vague": (-7, 0),
    }  # fmt: skip
    if name in days:
        first, last = days[name]
        return today + timedelta(days=first), today + timedelta(days=last)
    months = {"this-month": 0, "next-month": 1, "last-month": -1}
    if name in months:
        return _month_from(today, months[name])
    spans = {
        "month-so-far": (today.replace(day=1), today),
        "month-end": (today, _month_from(today, 0)[1]),
        "next-month-end": (_month_from(today, 1)[1], _month_from(today, 1)[1]),
        "this-year": (date(today.year, 1, 1), date(today.year, 12, 31)),
        "year-so-far": (date(today.year, 1, 1), today),
        "last-year": (date(today.year - 1, 1, 1), date(today.year - 1, 12, 31)),
        "next-year": (date(today.year + 1, 1, 1), date(today.year + 1, 12, 31)),
        "weekend": (max(weekend, today), weekend + timedelta(days=1)),
        "next-weekend": (weekend + timedelta(days=7), weekend + timedelta(days=8)),
        "last-weekend": (weekend - timedelta(days=7), weekend - timedelta(days=6)),
    }
    return spans[name]


def _month_from(today: date, months: int) -> tuple[date, date]:
    total = today.year * 12 + today.month - 1 + months
    return _month(total // 12, total % 12 + 1)


def _month(year: int, month: int) -> tuple[date, date]:
    return date(year, month, 1), date(year, month, calendar.monthrange(year, month)[1])


def plan_day(name: str, today: date) -> date:
    """The day of a reminder to come in a stretch: its first, but the last of a month's end."""
    first, last = span_of(name, today)
    return last if "month-end" in name else max(first, today)


def lies_ahead(name: str) -> bool:
    """True for a stretch that may be planned for."""
    return name.partition(":")[0] in _AHEAD or name.startswith("month:")


def asked_ahead(name: str, items: Sequence[Item]) -> bool:
    """True for a stretch that alone makes a question of what is to come ("hatches in march");
    not for one that is over, nor for a month beside what happened ("hatched in march")."""
    if name.startswith("month:"):
        if any(e.is_("mood", "plan") for e in items):
            return True  # "which eggs should open in march"
        return not any(e.is_("act") and e.form == "past" for e in items)
    return name.partition(":")[0] not in _BEHIND


def day_unsaid(name: str) -> bool:
    """True for a stretch that leaves open on which of its days something happened."""
    return name.partition(":")[0] in _HELD


# -- stretches told by their ends -----------------------------------------------------------


def stretch_of(items: Sequence[Item], today: date) -> tuple[date, date] | None:
    """First and last day that a question is about, or None where it names none.

    "between the 1st and the 10th", "since Christmas", "by Sunday", a named stretch, or the days
    told. A question looks ahead, but for what it asks since when.
    """
    days = [k for k, each in enumerate(items) if each.what == "date"]
    for k in days:
        led = _lead(items, k)
        if led == "between":
            between = _between(items, k, today)
            if between is not None:
                return between
        if led in ("since", "between"):
            first = resolve(items[k].value, today, False)
            if first is not None and (led == "since" or first <= today):
                return first, today
        counted = _from_count(items, k, today)
        if counted is not None:
            return counted
        if led in ("until", "short-of"):
            last = resolve(items[k].value, today, True)
            if last is not None:
                last -= timedelta(days=1 if led == "short-of" and last > today else 0)
                return min(today, last), last
    for k, item in enumerate(items):
        if item.what == "span":
            first, last = span_of(_sided(item.value, items), today)
            led = _lead(items, k)
            if led in ("until", "short-of"):
                return today, last if led == "until" else max(today, first - timedelta(days=1))
            return (first, max(first, today)) if led == "since" else (first, last)
    told = [d for k in days if (d := resolve(items[k].value, today, True)) is not None]
    return (min(told), max(told)) if told else None


def _lead(items: Sequence[Item], k: int) -> str:
    """What leads a day in: since, until, short-of, between, or nothing of those."""
    before = [e.text.casefold() for e in items[max(0, k - 3) : k]]
    if before and before[-1] == "the":
        before.pop()
    tables = day_tables()
    for name in ("since", "until", "short-of", "between"):
        for n in (1, 2):
            words = tuple(w for text in before[-n:] for w in text.split())
            if tables.phrase_in(name, words):
                both = name == "since" and words[0] == "from" and k + 1 < len(items)
                return "between" if both else name
    return ""


def _between(items: Sequence[Item], k: int, today: date) -> tuple[date, date] | None:
    """Both ends of "between the 1st and the 10th"; None where there is but one."""
    last = next((e for e in items[k + 1 : k + 5] if e.what == "date"), None)
    joins = [e for e in items[k + 1 : k + 3] if day_tables().holds("joins", e.text.casefold())]
    if last is None or not joins:
        return None
    start: DayHint = items[k].value
    end: DayHint = last.value
    if start.sort == "month-day" and start.month is None and end.month is not None:
        start = replace(start, month=end.month, year=end.year, phrase=_as_day(start.number, end))
    return _ends(start, end, today)


def _from_count(items: Sequence[Item], k: int, today: date) -> tuple[date, date] | None:
    """ "between 1 and 10 april": the first end is a bare number."""
    if k < 3 or items[k - 2].what != "num" or _lead(items, k - 2) != "between":
        return None
    end: DayHint = items[k].value
    number = items[k - 2].value
    joined = day_tables().holds("joins", items[k - 1].text.casefold())
    if not joined or end.sort != "month-day" or not 1 <= number <= 31 or number % 1:
        return None
    return _ends(replace(end, number=int(number), phrase=_as_day(int(number), end)), end, today)


def _sided(name: str, items: Sequence[Item]) -> str:
    """ "what hatched in february" asks about the last one."""
    if name.startswith("month:") and name.count(":") == 1 and not asked_ahead(name, items):
        return name.replace("month", "gone-month", 1)
    return name


def _as_day(number: int, end: DayHint) -> str:
    return f"{number} {end.phrase.partition(' ')[2]}"


def _ends(start: DayHint, end: DayHint, today: date) -> tuple[date, date] | None:
    """The first stretch of that shape that is not over: calendar days by their end, others by
    their start."""
    if start.sort == "month-day":
        last = resolve(end, today, True)
        first = resolve(start, last, False) if last is not None else None
    else:
        first = resolve(start, today, True)
        last = resolve(end, first, True) if first is not None else None
    if first is None or last is None:
        return None
    return (first, last) if first <= last else (last, first)
