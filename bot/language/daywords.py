"""Spots days and hours among the pieces of a message: "yesterday", "on the 5th", "at 5:45pm"."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from bot.language.dates import DayHint, HourHint
from bot.language.tokens import Token
from bot.language.wording import Lexicon, Sense

Found = tuple[str, Any, int] | None  # what ("date", "time"), the hint, the token after it

_HALVES = {"am": "am", "pm": "pm", "a.m": "am", "p.m": "pm", "a.m.": "am", "p.m.": "pm"}
_UNSURE_DAYS = frozenset({"sun", "sat", "wed", "mon", "fri"})
_COUNTED = frozenset(
    {  # "her 3rd clutch" is no day
        "clutch",
        "clutches",
        "egg",
        "eggs",
        "time",
        "one",
        "pair",
        "pairing",
        "shed",
        "male",
        "female",
        "baby",
        "hatchling",
        "season",
        "week",
        "session",
        "attempt",
        "try",
        "slot",
        "tub",
        "box",
        "rack",
        "year",
        "generation",
        "batch",
        "laying",
        "round",
        "lay",
        "go",
        "lot",
        "set",
        "date",
        "visit",
        "hatch",
    }
)
_LEADS = frozenset({"on", "last", "this", "next", "past", "since", "from", "by", "for"})


class DayFinder:
    """Reads a day or an hour that starts at a token."""

    def __init__(self, tokens: Sequence[Token], lexicon: Lexicon, us_dates: bool) -> None:
        self.tokens = tokens
        self.lexicon = lexicon
        self.us_dates = us_dates

    def at(self, i: int) -> Found:
        """The day or hour that starts at token `i`, or None."""
        token = self.tokens[i]
        if token.sort == "iso":
            try:
                return "date", DayHint("date", plain=date.fromisoformat(token.text)), i + 1
            except ValueError:
                return None
        if token.sort == "clock":
            return self._clock(i)
        if token.sort == "number":
            return self._number(i)
        return self._words(i)

    def _text(self, i: int) -> str:
        return self.tokens[i].text if 0 <= i < len(self.tokens) else ""

    def _sense(self, i: int, cls: str) -> str | None:
        for sense in self.lexicon.single(self._text(i)):
            if sense.cls == cls:
                return sense.value
        return None

    def _clock(self, i: int) -> Found:
        hours, minutes = (int(part) for part in self._text(i).split(":"))
        if hours > 23 or minutes > 59:
            return None
        half, j = self._half(i + 1)
        if half is None and (hours >= 13 or self._text(i).startswith("0") or hours == 0):
            half = "24"
        return "time", HourHint(hours, minutes, half), j

    def _half(self, j: int) -> tuple[str | None, int]:
        if self._text(j) in _HALVES:
            half = _HALVES[self._text(j)]
            return half, j + 1
        if self._text(j) in ("a", "p") and self._text(j + 1) == "." and self._text(j + 2) == "m":
            return self._text(j) + "m", j + 3
        return None, j

    def _number(self, i: int) -> Found:
        if not self._text(i).isdigit():
            return self._dotted(i)
        number = int(self._text(i)[:6])
        half, j = self._half(i + 1)
        if half and 1 <= number <= 12:
            return "time", HourHint(number, 0, half), j
        follow = self._text(i + 1)
        if follow in ("o'clock", "oclock") and 1 <= number <= 12:
            half, j = self._half(i + 2)
            return "time", HourHint(number, 0, half), j
        if follow in ("st", "nd", "rd", "th") and self.tokens[i + 1].glued and number <= 31:
            return None if self._text(i + 2) in _COUNTED else self._day_number(i, number, i + 2)
        if follow in ("/", "-", ".") and self._slashed(i):
            return self._slashed(i)
        if self._sense(i + 1, "month") and 1 <= number <= 31 and self._month_fits(i + 1, True):
            return self._day_number(i, number, i + 1)
        return self._ago(i, number, i + 1)

    def _dotted(self, i: int) -> Found:
        """ "4.3.2026", which reads as a number with a decimal and one more part."""
        parts = self._text(i).split(".")
        if len(parts) == 2 and self._text(i + 1) == "." and self._text(i + 2).isdigit():
            day, month, year = int(parts[0] or 0), int(parts[1]), int(self._text(i + 2)[:4])
            if 1 <= day <= 31 and 1 <= month <= 12 and (year > 2000 or 20 <= year <= 99):
                year += 2000 if year < 100 else 0
                return "date", DayHint("month-day", day, month, year), i + 3
        if len(parts) == 2 and len(parts[1]) == 2 and int(parts[0] or 0) <= 12:
            half, j = self._half(i + 1)
            if half and int(parts[1]) < 60:  # "5.45pm"
                return "time", HourHint(int(parts[0] or 0), int(parts[1]), half), j
        return None

    def _slashed(self, i: int) -> Found:
        """ "4/3", "4/3/26": day first, unless the household is in the United States."""
        sign = self._text(i + 1)
        second = self._text(i + 2)
        if not (second.isdigit() and self.tokens[i + 1].glued and self.tokens[i + 2].glued):
            return None
        if i and self.tokens[i].glued:
            return None  # "b4/5"
        one, two = int(self._text(i)[:4]), int(second[:4])
        j, year = i + 3, None
        if self._text(j) == sign and self._text(j + 1).isdigit() and self.tokens[j].glued:
            year, j = int(self._text(j + 1)[:4]), j + 2
            year += 2000 if year < 100 else 0
        elif sign != "/" or self._after_slot(i):
            return None
        orders = [(one, two), (two, one)]
        if self.us_dates:
            orders.reverse()
        good = [(d, m) for d, m in orders if 1 <= d <= 31 and 1 <= m <= 12]
        if not good:
            return None
        other = good[1] if len(good) > 1 and good[1] != good[0] and year is None else None
        return "date", DayHint("month-day", good[0][0], good[0][1], year, other=other), j

    def _after_slot(self, i: int) -> bool:
        """True where the numbers count slots or feeders, not days: "slots 4/5", "box b 4/5"."""
        before = self._text(i - 1)
        return bool(i) and (
            self._sense(i - 1, "slotnoun") is not None
            or self._sense(i - 1, "boxnoun") is not None
            or self._sense(i - 2, "boxnoun") is not None
            or (len(before) == 1 and before.isalpha())
        )

    def _month_fits(self, i: int, with_day: bool) -> bool:
        """ "may" and "mar" are months only beside a day."""
        return self._text(i) != "may" or with_day

    def _day_number(self, i: int, day: int, j: int) -> Found:
        """A day of the month, with a month and year after it if they are told."""
        if self._text(j) == "of":
            j += 1
        month = self._sense(j, "month")
        if month is None:
            j = j - 1 if self._text(j - 1) == "of" else j
            return "date", DayHint("month-day", day), j
        year, j = self._year(j + 1)
        return "date", DayHint("month-day", day, int(month), year), j

    def _year(self, j: int) -> tuple[int | None, int]:
        if self._text(j) in ("last", "this") and self._text(j + 1) == "year":
            return (-1 if self._text(j) == "last" else 0), j + 2
        k = j + 1 if self._text(j) == "," else j
        text = self._text(k)
        if text.isdigit() and len(text) == 4 and text.startswith("20"):
            return int(text), k + 1
        return None, j

    def _ago(self, i: int, number: int, j: int) -> Found:
        """ "2 hours ago", "three days back"."""
        period = self._sense(j, "period")
        if period is None and self._text(j) in ("nights", "night", "evenings"):
            period = "1440"
        if period is None or self._text(j + 1) not in ("ago", "back", "earlier", "agoo"):
            return None
        return self._back(number, int(period), j + 2)

    def _back(self, number: int, period: int, j: int) -> Found:
        if period >= 1440:
            return "date", DayHint("offset", -number * (period // 1440)), j
        return "time", HourHint(ago=number * period), j

    def _words(self, i: int) -> Found:
        text = self._text(i)
        for reader in (
            self._ahead,
            self._weekday,
            self._ordinal,
            self._month_first,
            self._half_past,
            self._at_hour,
            self._spelt_ago,
        ):
            found = reader(i, text)
            if found is not None:
                return found
        return None

    def _ahead(self, i: int, text: str) -> Found:
        """ "in 3 days", "in an hour", "in two hours' time"."""
        if text == "since":  # "together since 3 days"
            number, j = self._small(i + 1)
            period = self._sense(j, "period")
            return self._back(number, int(period), j + 1) if number and period else None
        if text != "in":
            return None
        number, j = self._small(i + 1)
        period = self._sense(j, "period")
        if number is None or period is None:
            return None
        j += 1
        if self._text(j) in ("'s", "'"):
            j += 1
        if self._text(j) == "time":
            j += 1
        if int(period) >= 1440:
            return "date", DayHint("offset", number * (int(period) // 1440)), j
        return "time", HourHint(ago=-number * int(period)), j

    def _small(self, i: int) -> tuple[int | None, int]:
        """A small count in figures or words, "a", "half an" not among them."""
        text = self._text(i)
        if text.isdigit():
            return int(text[:4]), i + 1
        if text in ("a", "an"):
            if self._text(i + 1) == "couple":
                return 2, i + (3 if self._text(i + 2) == "of" else 2)
            if self._text(i + 1) == "few":
                return 3, i + 2
            return 1, i + 1
        for words, senses in self.lexicon.phrases.get(text, ()):
            if len(words) == 1:
                for sense in senses:
                    if sense.cls == "number":
                        return int(sense.value), i + 1
        return None, i

    def _spelt_ago(self, i: int, text: str) -> Found:
        if text == "half" and self._text(i + 1) == "an" and self._text(i + 3) in ("ago", "back"):
            return "time", HourHint(ago=30), i + 4
        if text == "half" and self._text(i + 1) == "hour" and self._text(i + 2) == "ago":
            return "time", HourHint(ago=30), i + 3
        number, j = self._small(i)
        if number is None:
            return None
        return self._ago(i, number, j)

    def _weekday(self, i: int, text: str) -> Found:
        start = i
        turn = None
        if text in ("last", "this", "next", "past", "coming"):
            turn = {"past": "last", "coming": "next"}.get(text, text)
            i += 1
        elif text == "on" and self._text(i + 1) in ("last", "this", "next"):
            return self._weekday(i + 1, self._text(i + 1))
        day = self._sense(i, "weekday")
        if day is None:
            return None
        if self._text(i) in _UNSURE_DAYS and turn is None and not self._alone(start):
            return None
        j = i + 1
        if self._text(j) in ("last", "next") and self._text(j + 1) == "week":
            turn, j = ("last-week" if self._text(j) == "last" else "week"), j + 2
        elif self._text(j) == "week":
            turn, j = "week", j + 1
        if self._text(j) == "just" and self._text(j + 1) in ("gone", "past"):
            turn, j = "last", j + 2
        part = self._text(j)
        if part in ("night", "evening", "morning", "afternoon", "nite", "eve"):
            j += 1
        return "date", DayHint("weekday", int(day), turn=turn), j

    def _alone(self, i: int) -> bool:
        """ "sat" is a day at the start or end, or after "on"."""
        before, after = self._text(i - 1), self._text(i + 1)
        if i + 1 < len(self.tokens) and self.tokens[i + 1].sort in ("number", "clock"):
            return True
        return (
            i == 0
            or before in _LEADS
            or before in (",", ".", "\n", "(")
            or after
            in ("", ",", ".", ":", "\n", "night", "morning", "evening", "afternoon", "!", ")")
        )

    def _ordinal(self, i: int, text: str) -> Found:
        if text == "on":
            i += 1
        if self._text(i) == "the":
            i += 1
        elif self._sense(i + 1, "month") is None and self._text(i + 1) != "of":
            return None
        if self._text(i).isdigit() and self._text(i + 1) in ("st", "nd", "rd", "th"):
            good = int(self._text(i)[:3]) <= 31 and self._text(i + 2) not in _COUNTED
            return self._day_number(i, int(self._text(i)[:3]), i + 2) if good else None
        day, j = self._ordinal_word(i)
        if day is None:
            return None
        nouny = self._sense(j, "month") or self._text(j) in ("of", "", ",", ".", "\n", "at")
        return self._day_number(i, day, j) if nouny else None

    def _ordinal_word(self, i: int) -> tuple[int | None, int]:
        tens = {"twenty": 20, "thirty": 30}.get(self._text(i))
        if tens:
            j = i + 2 if self._text(i + 1) == "-" else i + 1
            unit = self._sense(j, "ordinal")
            if unit and int(unit) < 10:
                return tens + int(unit), j + 1
        day = self._sense(i, "ordinal")
        return (int(day), i + 1) if day else (None, i)

    def _month_first(self, i: int, text: str) -> Found:
        month = self._sense(i, "month")
        follow = self._text(i + 1)
        if month is None or not follow.isdigit() or not 1 <= int(follow[:3]) <= 31:
            return None
        if text in ("mar", "may", "jan", "sep") and self.tokens[i + 1].glued:
            return None
        j = i + 2
        if self._text(j) in ("st", "nd", "rd", "th"):
            j += 1
        year, j = self._year(j)
        return "date", DayHint("month-day", int(follow), int(month), year), j

    def _half_past(self, i: int, text: str) -> Found:
        """ "half past six", "quarter to 8", "half 6"."""
        if text not in ("half", "quarter"):
            return None
        j = i + 1
        way = self._text(j)
        if way in ("past", "to"):
            j += 1
        elif text == "quarter":
            return None
        hour, j = self._small(j)
        if hour is None or not 1 <= hour <= 12:
            return None
        minute = 30 if text == "half" else 15
        if way == "to":
            hour, minute = (hour - 1) or 12, 60 - minute
        half, j = self._half(j)
        return "time", HourHint(hour, minute, half), j

    def _at_hour(self, i: int, text: str) -> Found:
        """ "at 7", "around six", "at noon"."""
        for sense in self.lexicon.single(text):
            if sense.cls == "clock":
                return self._named_clock(sense, i + 1)
        if text not in ("at", "around", "about", "@", "since", "by", "before"):
            return None
        if any(s.cls == "clock" for s in self.lexicon.single(self._text(i + 1))):
            return self._words(i + 1)
        if self.tokens[i + 1].sort == "clock" if i + 1 < len(self.tokens) else False:
            return self._clock(i + 1)
        half_past = self._half_past(i + 1, self._text(i + 1))
        if half_past:
            return half_past
        hour, j = self._small(i + 1)
        if hour is None or not 1 <= hour <= 24 or self._text(i + 1) in ("a", "an"):
            return None
        half, k = self._half(j)
        if half is not None:
            return "time", HourHint(hour, 0, half), k
        if self._text(j) in ("o'clock", "oclock"):
            return "time", HourHint(hour, 0, None), j + 1
        follows = self._text(j) + " " + self._text(j + 1)
        if follows in (
            "this morning",
            "in the",
            "this evening",
            "this afternoon",
            "last night",
            "yesterday morning",
            "tomorrow morning",
            "at night",
            "yesterday evening",
        ):
            return "time", HourHint(hour, 0, None), j
        if self._text(j) in ("tonight", "tomorrow", "yesterday", "today", "2nite", "tonite"):
            return "time", HourHint(hour, 0, None), j
        if self._text(j) == "remind" or self._sense(i - 1, "day") or self._sense(i - 1, "weekday"):
            return "time", HourHint(hour, 0, None), j
        if text in ("at", "@", "around") and self._text(j) in ("", ",", ".", "\n", "to", ":"):
            return "maybe-time", HourHint(hour, 0, None), j
        return None

    def _named_clock(self, sense: Sense, j: int) -> Found:
        hours, minutes = (int(part) for part in sense.value.split(":"))
        return "time", HourHint(hours, minutes, "24"), j
