"""What is said of days and hours means what the rules say, at any hour and where the clocks change.

The right side of `days/told.toml` is worked out here by walking the calendar a day at a time:
"-2" is days from today, "last tue" the nearest before today, "next fri+7" a week after the nearest
ahead, "back 5" and "ahead 3 feb" the nearest such day, "months -3" by the calendar, "past 19:00"
the last time it was 19:00 ("07:00|19:00": either), "coming" the next, "ago 120" so many minutes
gone, "part dusk" a part of the day that was
yesterday's until its half of the day has begun, "ask" a question about the day.
"""

from __future__ import annotations

import calendar
import re
import tomllib
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from bot.language.reader import read
from bot.language.reading import Outcome
from bot.language.scan import scan
from bot.language.tokens import tokens_of
from bot.language.view import AnimalSeen, BoxSeen, EggSeen, View
from bot.language.wording import lexicon

TOLD = tomllib.loads((Path(__file__).parent / "days" / "told.toml").read_text(encoding="utf-8"))
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MONTHS = ("", *(name.casefold() for name in calendar.month_abbr[1:]))
ONE = timedelta(days=1)

# The wall time when the message was sent, and the household's zone.
MOMENTS = {
    "late evening": ("2026-03-10T23:50", "Europe/Lisbon"),
    "after midnight": ("2026-03-11T00:20", "Europe/Lisbon"),
    "morning": ("2026-07-08T08:05", "Europe/Lisbon"),
    "Lisbon, clocks forward": ("2026-03-29T10:20", "Europe/Lisbon"),
    "Lisbon, clocks back": ("2026-10-25T13:40", "Europe/Lisbon"),
    "Auckland, clocks back": ("2026-04-05T09:30", "Pacific/Auckland"),
    "Auckland, clocks forward": ("2026-09-27T04:15", "Pacific/Auckland"),
}


def sent(moment: str) -> datetime:
    """The moment a message was sent, as a channel gives it: in UTC."""
    wall, zone = MOMENTS[moment]
    return datetime.fromisoformat(wall).replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)


def book(zone: str) -> View:
    """A book with a female, a male, two boxes and an egg."""
    view = View(ZoneInfo(zone))
    view.animals = {
        "F3": AnimalSeen("F3", "female", "picta"),
        "M2": AnimalSeen("M2", "male", "picta"),
    }
    view.boxes = {name: BoxSeen(name, 4, 5, "1") for name in "AB"}
    view.eggs = {"B4": EggSeen("B4"), "B5": EggSeen("B5")}
    return view


# -- the right side ---------------------------------------------------------------------------


def walk(start: date, step: int, good: Callable[[date], bool]) -> date:
    """The first good day from `start` on, a day at a time."""
    day = start
    while not good(day):
        day += step * ONE
    return day


def month_day(year: int, month: int, day: int) -> date:
    """That day of a month counted on over the year's end, or the month's last."""
    year, month = year + (month - 1) // 12, (month - 1) % 12 + 1
    return date(year, month, min(day, calendar.monthrange(year, month)[1]))


def day_meant(said: str, now: datetime) -> date:
    """The day that the first words of a right side stand for."""
    today = now.date()
    head, *rest = said.split()
    if re.fullmatch(r"[+-]?\d{1,3}", head):
        return today + int(head) * ONE
    if re.fullmatch(r"\d{4}-\d\d-\d\d", head):
        return date.fromisoformat(head)
    if head in ("last", "next"):
        found = re.fullmatch(r"(\w+)([+-]\d+)?", rest[0])
        assert found is not None
        step = 1 if head == "next" else -1
        number = WEEKDAYS.index(found.group(1))
        near = walk(today + step * ONE, step, lambda d: d.weekday() == number)
        return near + int(found.group(2) or 0) * ONE
    if head in ("lastweek", "nextweek"):
        monday = walk(today, -1, lambda d: d.weekday() == 0)
        return monday + (7 if head == "nextweek" else -7) * ONE + WEEKDAYS.index(rest[0]) * ONE
    if head in ("back", "ahead"):
        month = MONTHS.index(rest[1]) if len(rest) > 1 and rest[1] in MONTHS else None
        step = 1 if head == "ahead" else -1
        return walk(today, step, lambda d: d.day == int(rest[0]) and month in (None, d.month))
    return _by_month(head, rest, today)


def _by_month(head: str, rest: list[str], today: date) -> date:
    year, month = today.year, today.month
    if head in ("lastmonth", "nextmonth"):
        return month_day(year, month + (1 if head == "nextmonth" else -1), int(rest[0]))
    if head == "lastyear":
        return date(year - 1, MONTHS.index(rest[1]), int(rest[0]))
    if head == "months":
        return month_day(year, month + int(rest[0]), today.day)
    if head.startswith("weekend"):
        saturday = walk(today, -1 if today.weekday() == 6 else 1, lambda d: d.weekday() == 5)
        return saturday + int(head.removeprefix("weekend")) * ONE
    ends = {"monthstart": date(year, month, 1), "monthend": month_day(year, month, 31)}
    return {**ends, "yearstart": date(year, 1, 1)}[head]


def moment_meant(said: str, now: datetime) -> tuple[date, time | None]:
    """The day and hour that a right side stands for."""
    head, *rest = said.split()
    this_minute = now.time().replace(second=0, microsecond=0)
    if head == "ago":
        meant = (now.astimezone(UTC) - timedelta(minutes=int(rest[0]))).astimezone(now.tzinfo)
        return meant.date(), meant.time()
    if head in ("past", "coming"):
        hours = [time.fromisoformat(each) for each in rest[0].split("|")]
        days = (-1, 0) if head == "past" else (0, 1)
        all_of = [(now.date() + n * ONE, hour) for n in days for hour in hours]
        here = (now.date(), this_minute)
        return (
            max(m for m in all_of if m <= here)
            if head == "past"
            else min(m for m in all_of if m > here)
        )
    if head == "part":
        begins = {"dawn": 5, "dusk": 12, "evening": 5}[rest[0]]
        return now.date() - (ONE if now.hour < begins else 0 * ONE), None
    if head == "tonight":
        hour = time.fromisoformat(rest[0])
        return now.date() - (ONE if now.hour < 5 else 0 * ONE), hour
    if head == "smallhours":
        hour = time.fromisoformat(rest[0])
        return (now.date() if hour <= this_minute else now.date() - ONE), hour
    at = next((each for each in rest if ":" in each), None)
    return day_meant(said, now), (
        this_minute if "now" in rest else time.fromisoformat(at) if at else None
    )


def stretch_meant(said: str, now: datetime) -> tuple[date, date]:
    """Both ends of the stretch that a right side stands for."""
    today = now.date()
    head, *rest = said.split()
    if head == "month":
        first = date(today.year + (int(rest[0]) < today.month), int(rest[0]), 1)
        return first, month_day(first.year, first.month, 31)
    if head == "days":
        months = [MONTHS.index(rest[2])] if len(rest) > 2 else range(1, 13)
        last = walk(today, 1, lambda d: d.day == int(rest[1]) and d.month in months)
        return walk(last, -1, lambda d: d.day == int(rest[0])), last
    one, other = said.split(" .. ")
    first = day_meant(one, now)
    if other.startswith("month "):
        return first, stretch_meant(other, now)[1]
    if other.startswith("after "):
        return first, walk(first, 1, lambda d: d.weekday() == WEEKDAYS.index(other[6:]))
    return first, day_meant(other, now)


# -- the tests ----------------------------------------------------------------------------------


def cases(kind: str) -> Iterator[object]:
    """Every wording of a kind at every moment."""
    for said, meant in TOLD[kind].items():
        for moment in MOMENTS:
            yield pytest.param(said, meant, moment, id=f"{said}, {moment}")


def local(moment: str) -> datetime:
    """The household's wall time at a moment."""
    return sent(moment).astimezone(ZoneInfo(MOMENTS[moment][1]))


@pytest.mark.parametrize(("said", "meant", "moment"), list(cases("log")))
def test_a_log_is_of_the_day_it_says(said: str, meant: str, moment: str) -> None:
    """What happened is put on the last such day, by the household's clock when it was sent."""
    view = book(MOMENTS[moment][1])
    now = local(moment)
    reading = read(f"F3 shed {said}", sent(moment), view)
    day, at = moment_meant(meant, now) if meant != "ask" else (now.date() + ONE, None)
    if (day, at or time()) > (now.date(), now.time()):
        assert reading.outcome is Outcome.ASK and reading.ask is not None
        assert reading.ask.about == "on" and not reading.records
        return
    assert [(r.kind, r.on, r.at) for r in reading.records] == [("shed", day, at)]


@pytest.mark.parametrize(("said", "meant", "moment"), list(cases("plan")))
def test_a_reminder_is_for_the_day_it_says(said: str, meant: str, moment: str) -> None:
    """What is to be done is put on the next such day, and the words of the day leave its text."""
    reading = read(f"remind me {said} to weigh F3", sent(moment), book(MOMENTS[moment][1]))
    got = [(r.kind, r.on, r.at, r.get("text")) for r in reading.records]
    assert got == [("plan", *moment_meant(meant, local(moment)), "weigh F3")]


@pytest.mark.parametrize(("said", "meant", "moment"), list(cases("request")))
def test_a_question_is_about_the_days_it_says(said: str, meant: str, moment: str) -> None:
    """A question is about the stretch it names, both ends within."""
    reading = read(f"what's hatching {said}?", sent(moment), book(MOMENTS[moment][1]))
    assert reading.request is not None and reading.request.ask == "hatching"
    fields = reading.request.fields
    assert (fields.get("from"), fields.get("to")) == stretch_meant(meant, local(moment))


@pytest.mark.parametrize("text", TOLD["none"]["texts"])
def test_what_tells_no_day_is_taken_for_none(text: str) -> None:
    """Slots, shares, weights, counts and verbs that look like days are none."""
    items, _ = scan(tokens_of(text, lexicon().wholes), book("Europe/Lisbon"), lexicon())
    assert not [item.text for item in items if item.what in ("date", "time", "span")]


def test_the_table_is_large_enough_to_mean_something() -> None:
    """A hundred and fifty wordings at least, each at seven moments."""
    assert sum(len(TOLD[kind]) for kind in ("log", "plan", "request")) >= 150


@pytest.mark.parametrize(("zone", "said", "meant"), [
    ("Europe/Lisbon", "3/2", "2026-02-03"), ("America/New_York", "3/2", "2026-03-02"),
    ("America/Sao_Paulo", "3/2", "2026-02-03"), ("America/New_York", "2/13", "2026-02-13"),
    ("America/New_York", "13/2", "2026-02-13"), ("America/New_York", "2/3/26", "2026-02-03"),
    ("America/New_York", "4/3", "2026-03-04"),
])  # fmt: skip
def test_the_household_says_whether_the_month_comes_first(zone: str, said: str, meant: str) -> None:
    """ "3/2" is read as people write it where the household is, unless only the other way fits."""
    reading = read(f"F3 shed on {said}", datetime(2026, 3, 10, 19, 30, tzinfo=UTC), book(zone))
    assert [r.on.isoformat() for r in reading.records] == [meant]


@pytest.mark.parametrize(("text", "on"), [
    ("slot 4 yesterday is fertile", "2026-03-09"), ("B4 yesterday: fertile", "2026-03-09"),
    ("3.2. F3 shed", "2026-02-03"), ("4/3: F3 shed", "2026-03-04"), ("4/3 F3 shed", "2026-03-04"),
    ("F3 21.4g on sunday, in tub 5", "2026-03-08"),
])  # fmt: skip
def test_a_day_stands_apart_from_slots_and_weights(text: str, on: str) -> None:
    """A number beside a day is its slot, tag or weight, and the day is the day."""
    reading = read(text, datetime(2026, 3, 10, 19, 30, tzinfo=UTC), book("Europe/Lisbon"))
    told = [*reading.records, *([reading.ask.waiting] if reading.ask else [])]
    assert {r.on.isoformat() for r in told if r} == {on}
