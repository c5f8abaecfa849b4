"""Which days are worked out by our own arithmetic, and which by dateparser, and that both agree."""

from __future__ import annotations

import calendar
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from bot.language import calendar_days
from bot.language.calendar_days import calendar_day, month_first, near_day
from bot.language.dates import when_of
from bot.language.scan import scan
from bot.language.tokens import tokens_of
from bot.language.view import View
from bot.language.wording import lexicon

# Ordinary days, a leap day, both ends of a year, and days when the clocks change.
BASES = [
    date(2026, 3, 10), date(2024, 2, 29), date(2025, 12, 31), date(2026, 1, 1), date(2026, 3, 29),
    date(2026, 4, 5), date(2026, 9, 27), date(2026, 10, 25),
]  # fmt: skip
DISTANCES = [
    *(f"{n} days ago" for n in (1, 2, 3, 7, 10, 31, 90)),
    *(f"{n} weeks ago" for n in (1, 2, 3, 8)),
    *(f"in {n} days" for n in (1, 2, 3, 7, 10, 31)),
    *(f"in {n} weeks" for n in (1, 2, 3)),
    "a week ago", "one week ago", "2 weeks and 3 days ago", "today", "yesterday", "tomorrow",
    "the day before yesterday", "three days ago", "ten days from now", "2026-02-03", "2025-12-31",
]  # fmt: skip
ELAPSED = [
    *(f"{n} hours ago" for n in (2, 3, 8, 24, 30)), *(f"{n} minutes ago" for n in (5, 20, 90)),
    "an hour ago", "in 2 hours", "in 45 minutes", "3 hours ago",
]  # fmt: skip


def by_dateparser(phrase: str, base: datetime) -> datetime | None:
    """What dateparser makes of a phrase by itself."""
    from dateparser.date import DateDataParser

    settings: dict[str, Any] = {"RELATIVE_BASE": base, "DATE_ORDER": "DMY"}
    found: datetime | None = (
        DateDataParser(languages=["en"], settings=settings).get_date_data(phrase).date_obj
    )
    return found


def ours(phrase: str, now: datetime) -> Any:
    """What a message of that phrase alone says of the day and hour."""
    assert isinstance(now.tzinfo, ZoneInfo)
    words = lexicon()
    items, _ = scan(tokens_of(phrase, words.wholes), View(now.tzinfo), words)
    assert [item.what for item in items] in (["date"], ["time"]), phrase
    return when_of(items, now, ahead=phrase.startswith("in "))


@pytest.mark.parametrize("phrase", DISTANCES)
def test_our_arithmetic_of_days_is_dateparsers(phrase: str) -> None:
    """A distance in days is the same day by our own short way and by dateparser, on any base."""
    for base in BASES:
        theirs = by_dateparser(phrase, datetime(base.year, base.month, base.day, 12, 30))
        now = datetime(base.year, base.month, base.day, 12, 30, tzinfo=ZoneInfo("Europe/Lisbon"))
        assert theirs is not None and ours(phrase, now).on == theirs.date(), base


@pytest.mark.parametrize("phrase", ELAPSED)
@pytest.mark.parametrize("zone", ["Europe/Lisbon", "Pacific/Auckland"])
def test_our_arithmetic_of_hours_is_dateparsers_in_utc(phrase: str, zone: str) -> None:
    """Elapsed hours and minutes are the same moment as dateparser gives in UTC, where no clock
    is ever changed, also across the night on which the household's clocks are."""
    for base in BASES:
        sent = datetime(base.year, base.month, base.day, 3, 40, tzinfo=UTC)
        theirs = by_dateparser(phrase, sent.replace(tzinfo=None))
        assert theirs is not None
        wanted = theirs.replace(tzinfo=UTC).astimezone(ZoneInfo(zone))
        when = ours(phrase, sent.astimezone(ZoneInfo(zone)))
        assert (when.on, when.at) == (wanted.date(), wanted.time()), base


@pytest.mark.parametrize("base", BASES, ids=str)
def test_a_day_of_a_month_is_the_nearest_on_its_side(base: date) -> None:
    """Every day of a year is found, back for what happened and ahead for a plan."""
    for n in range(0, 365, 4):
        for use, step in (("past", -1), ("future", 1)):
            day = base + timedelta(days=n * step)
            month = calendar.month_name[day.month].casefold()
            if (day.month, day.day) == (2, 29):
                continue
            found = near_day(f"{day.day} {month}", day.day, day.month, base, use)  # type: ignore[arg-type]
            assert found == day, (day, use)


@pytest.mark.parametrize("phrase", [
    "30 february", "31 april", "31 of last month", "29 february 2025", "0 march", "32 march", "",
])  # fmt: skip
def test_a_day_that_no_calendar_has_is_none(phrase: str) -> None:
    """What is no day is None, not the nearest that is one."""
    assert calendar_day(phrase, date(2026, 3, 10), "past") is None


def test_a_leap_day_is_not_looked_for_years_away() -> None:
    """The 29th of February said in a year without one is no day; within a year it is."""
    assert near_day("29 february", 29, 2, date(2026, 3, 10), "past") is None
    assert near_day("29 february", 29, 2, date(2024, 12, 1), "past") == date(2024, 2, 29)


def test_what_is_planned_for_today_is_today() -> None:
    """A plan's day that is today is not pushed a year on, a plan's year not a century."""
    today = date(2026, 3, 10)
    assert near_day("10 march", 10, 3, today, "future") == today
    assert calendar_day("3/2/2026", today, "future") == date(2026, 2, 3)


def test_what_comes_out_must_have_gone_in() -> None:
    """A phrase read some other way round than it was told is no answer."""
    assert near_day("2/13", 2, 13, date(2026, 3, 10), "past") is None


@pytest.mark.parametrize(("zone", "first"), [
    ("America/New_York", True), ("Pacific/Honolulu", True), ("America/Sao_Paulo", False),
    ("America/Argentina/Buenos_Aires", False), ("Europe/Lisbon", False),
    ("Pacific/Auckland", False), ("UTC", False),
])  # fmt: skip
def test_the_month_comes_first_where_people_write_it_so(zone: str, first: bool) -> None:
    """The order of "3/4" is the household's country's; not all of the Americas turn it."""
    assert month_first(zone) is first


def test_a_phrase_is_parsed_once_a_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """A phrase told again on the same day asks dateparser nothing; on another day it does."""
    calls: list[date] = []

    def counted(phrase: str, base: date, use: str, order: str) -> None:
        calls.append(base)

    monkeypatch.setattr(calendar_days, "_parsed", counted)
    for day in (date(1999, 1, 1), date(1999, 1, 1), date(1999, 1, 2)):
        calendar_day("3 february", day, "past")
    assert calls == [date(1999, 1, 1), date(1999, 1, 2)]
    calendar_day.cache_clear()


COLD = """
import resource, sys
from bot.cli import main
try:
    main(["--book", "nowhere.sqlite", "read", sys.argv[1]])
except SystemExit:
    pass
used = resource.getrusage(resource.RUSAGE_SELF)
print(used.ru_utime + used.ru_stime, "dateparser" in sys.modules, "babel" in sys.modules)
"""


@pytest.mark.slow
@pytest.mark.parametrize(("text", "loads"), [
    ("F3 laid 2, B4", False), ("F3 laid 2, B4 on sunday", False),
    ("F3 shed three days ago at 7pm", False), ("F3 laid 2, B4 on 3 Feb", True),
    ("F3 laid 2, B4 on 4/3", True),
])  # fmt: skip
def test_a_cold_read_of_a_date_takes_under_a_second(text: str, loads: bool, tmp_path: Path) -> None:
    """Processor time to the answer; dateparser is loaded for calendar dates alone."""
    done = subprocess.run(
        [sys.executable, "-c", COLD, text], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    took, parser, _ = done.stdout.splitlines()[-1].split()
    assert float(took) < 1
    assert parser == str(loads)
