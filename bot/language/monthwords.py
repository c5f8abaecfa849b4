"""Spots calendar days and months: "3 feb", "4/3/26", "the 28th of last month", "in march"."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from bot.language.calendar_days import Order, month_first
from bot.language.dates import DayHint
from bot.language.piecewords import Found, Pieces
from bot.language.tokens import Token
from bot.language.view import View
from bot.language.wording import Lexicon

_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
_OPENING = frozenset("(,:;'\"\n")
_COUNTED_SENSES = frozenset({"food", "state", "spoil", "unit", "fed", "sex"})
_COUNTED_ACTS = frozenset({"egg", "hatch", "pip", "lay"})
_COUNTING_ACTS = frozenset({"lay", "feed", "give", "find"})


class CalendarFinder(Pieces):
    """Reads a day of a month that starts at a token."""

    def __init__(self, tokens: Sequence[Token], lexicon: Lexicon, view: View) -> None:
        super().__init__(tokens, lexicon)
        self.view = view

    def number(self, i: int) -> Found:
        """The day that starts with the figures at token `i`."""
        before = self.text(i - 1)
        if self.glued(i) and len(before) == 1 and before not in _OPENING:
            return None  # the 1 of "F1 may" or of "A1/1 may"
        if not self.text(i).isdigit():
            return self._dotted(i)
        number = int(self.text(i)[:6])
        if self.end("suffix", i + 1) and self.glued(i + 1) and number <= 31:
            return None if self._counted(i + 2) else self._day_number(number, i + 2)
        slashed = self._slashed(i) if self.text(i + 1) in ("/", "-") else None
        if slashed is not None:
            return slashed
        if self.sense(i + 1, "month") and 1 <= number <= 31 and not self._verb(i + 1):
            return self._day_number(number, i + 1)
        return None

    def words(self, i: int) -> Found:
        """The day that starts with the word at token `i`."""
        return self._ordinal(i) or self._month_first(i) or self._feast(i)

    def is_name(self, i: int) -> bool:
        """True where the word is an animal's name ("Friday", "April")."""
        return self.text(i) in self.view.names

    def _counted(self, i: int) -> bool:
        return self.match("counted", i) is not None

    def _dotted(self, i: int) -> Found:
        """ "4.3.2026"; "3.2." only where a day is led in or begins the message: else a weight."""
        day, _, month = self.text(i).partition(".")
        follow = self.text(i + 1)
        if not (day.isdigit() and month.isdigit() and self.glued(i + 1) and follow[:1] == "."):
            return None
        d, m = int(day), int(month[:3])
        if not (1 <= d <= 31 and 1 <= m <= 12):
            return None
        year = _short_year(follow[1:] or (self.text(i + 2) if self.glued(i + 2) else ""))
        if year is not None:
            return "date", _month_day(d, m, year), i + (2 if follow[1:] else 3)
        if follow != ".":
            return None
        dated = self.text(i - 1) == "on" or (self._opens(i) and not self.stop(i + 2))
        return ("date", _month_day(d, m), i + 2) if dated and not self.glued(i + 2) else None

    def _opens(self, i: int) -> bool:
        return i == 0 or self.text(i - 1) == "\n"

    def _slashed(self, i: int) -> Found:
        """ "4/3", "4/3/26", "2026/03/04": day first, unless the household's country has it last."""
        sign, second = self.text(i + 1), self.text(i + 2)
        if not (second.isdigit() and self.glued(i + 1) and self.glued(i + 2)):
            return None
        third = self.text(i + 3) == sign and self.glued(i + 3) and self.glued(i + 4)
        if third and len(self.text(i)) == 4:
            return self._year_first(i)
        one, two = int(self.text(i)[:4]), int(second[:4])
        year = _short_year(self.text(i + 4)) if third else None
        if third and year is None:
            return None
        if year is None and (sign != "/" or self._counts_here(i, i + 3)):
            return None
        order: Order = "MDY" if max(one, two) <= 12 and month_first(str(self.view.zone)) else "DMY"
        if one <= 12 < two:
            order = "MDY"
        day, month = (one, two) if order == "DMY" else (two, one)
        if not (1 <= day <= 31 and 1 <= month <= 12):
            return None
        open_ = year is None and day <= 12 and day != month
        hint = DayHint(
            "month-day", day, month, year, other=(month, day) if open_ else None,
            phrase=f"{one}/{two}", order=order,
        )  # fmt: skip
        return "date", hint, i + (5 if third else 3)

    def _year_first(self, i: int) -> Found:
        try:
            plain = date(*(int(self.text(k)[:4]) for k in (i, i + 2, i + 4)))
        except ValueError:
            return None
        return "date", DayHint("date", plain=plain), i + 5

    def _counts_here(self, i: int, j: int) -> bool:
        """True where "4/3" counts slots, eggs or feeders, not days: "slots 4/5", "3/4 fertile"."""
        before = self.text(i - 1)
        code = len(self.text(j)) == 1 or self.glued(j + 1)  # "4/3 C3 41g" goes on with a tag
        if before != "on" and not code and self._counts(j):
            return True
        if not i or self.tables.holds("dated", before):
            return False
        nouns = ("slotnoun", "boxnoun", "placenoun")
        return (
            any(self.sense(i - 1, noun) is not None for noun in nouns)
            or self.sense(i - 2, "boxnoun") is not None
            or (len(before) == 1 and before.isalpha())
            or self.sense(i - 1, "act") in _COUNTING_ACTS
        )

    def _counts(self, j: int) -> bool:
        """True where token `j` is something that the number before it counts: "eggs", "fertile"."""
        return (
            self.text(j) == "of"
            or self._counted(j)
            or any(
                s.cls in _COUNTED_SENSES or (s.cls == "act" and s.value in _COUNTED_ACTS)
                for s in self.lexicon.single(self.text(j))
            )
        )

    def _verb(self, i: int) -> bool:
        """ "4 may have hatched": the verb, not the month."""
        return self.text(i) == "may" and self.text(i + 1) in ("have", "be", "not", "hatch", "lay")

    def _day_number(self, day: int, j: int) -> Found:
        """A day of the month, with a month and year after it if they are told."""
        whose = self.end("of-month", j)
        if whose is not None:
            which = next((t for t in ("last", "next") if t in self._texts(j, whose)), "this")
            turn = "next" if which == "next" else None
            return "date", DayHint("words", turn=turn, phrase=f"{day} of {which} month"), whose
        k = j + 1 if self.text(j) == "of" else j
        month = self.sense(k, "month")
        if month is None:
            return ("date", DayHint("month-day", day), j) if 1 <= day <= 31 else None
        year, end = self._year(k + 1)
        return "date", _month_day(day, int(month), year), end

    def _texts(self, i: int, j: int) -> list[str]:
        return [token.text for token in self.tokens[i:j]]

    def _year(self, j: int) -> tuple[int | None, int]:
        if self.text(j) in ("last", "this") and self.text(j + 1) == "year":
            return (-1 if self.text(j) == "last" else 0), j + 2
        k = j + 1 if self.text(j) == "," else j
        text = self.text(k)
        if text.isdigit() and len(text) == 4 and text.startswith("20"):
            return int(text), k + 1
        if self.sense(k, "number") == "20" and self.sense(k + 1, "number"):
            short, end = self.small(k + 1)  # "twenty twenty five", as it is spoken
            if short is not None and 10 <= short <= 99:
                return 2000 + short, end
        return None, j

    def _ordinal(self, i: int) -> Found:
        """ "on the 5th", "the third of february", "third of feb", "twenty first of march"."""
        if self.text(i) == "on":
            i += 1
        led = self.text(i) == "the"
        i += 1 if led else 0
        if self.text(i).isdigit():
            fits = led and self.end("suffix", i + 1) and int(self.text(i)[:3]) <= 31
            good = fits and not self._counted(i + 2)
            return self._day_number(int(self.text(i)), i + 2) if good else None
        spoken, j = self._ordinal_word(i)
        if spoken is None:
            return None
        whole = (
            self.sense(j, "month")
            or self.end("of-month", j)
            or (self.text(j) == "of" and self.sense(j + 1, "month"))
        )
        alone = self.text(i - 1) == "the" and (self.stop(j) or self.text(j) in ("of", "at"))
        return self._day_number(spoken, j) if whole or alone else None

    def _ordinal_word(self, i: int) -> tuple[int | None, int]:
        tens = {"20": 20, "30": 30}.get(self.sense(i, "number") or "")
        if tens:
            j = i + 2 if self.text(i + 1) == "-" else i + 1
            unit = self.sense(j, "ordinal")
            if unit and int(unit) < 10:
                return tens + int(unit), j + 1
        day = self.sense(i, "ordinal")
        return (int(day), i + 1) if day else (None, i)

    def _month_first(self, i: int) -> Found:
        """ "feb 3rd", "march the third", "may 5 2026"."""
        month = self.sense(i, "month")
        if month is None:
            return None
        j = i + 2 if self.text(i + 1) == "the" else i + 1
        if self.text(j).isdigit() and len(self.text(j)) <= 2 and 1 <= int(self.text(j)) <= 31:
            if self.tables.holds("glued-month", self.text(i)) and self.glued(j):
                return None
            day, k = int(self.text(j)), j + 1
            suffix = self.end("suffix", k) if self.glued(k) else None
            if suffix is None and self._other_number(k):
                return None
            k = suffix or k
            if (
                suffix is None
                and self.tables.holds("verb-months", self.text(i))
                and self._counts(k)
            ):
                return None  # "may 4 eggs"
        else:
            spoken, k = self._ordinal_word(j)
            if spoken is None or self._counted(k):
                return None
            day = spoken
        year, k = self._year(k)
        return "date", _month_day(day, int(month), year), k

    def _other_number(self, k: int) -> bool:
        """True where the number after a month's name is a share or a weight: "may 4g"."""
        return self.glued(k) and (self.sense(k, "unit") is not None or self.text(k) in ("/", "%"))

    def _feast(self, i: int) -> Found:
        found = self.match("feasts", i)
        if found is None or self.end("greeting", i - 1) or self.is_name(i):
            return None
        month, day = (int(part) for part in found[0].split("-"))
        return "date", _month_day(day, month), found[1]

    def month_span(self, i: int, turn: tuple[str, int] | None) -> Found:
        """ "in march", "last march"; `turn` where the words before the month tell which."""
        end = self.end("month-ends", i)
        if end is not None and self.sense(end, "month"):
            return "span", f"month-end:{self.sense(end, 'month')}", end + 1
        k = turn[1] if turn else i + 1
        month = self.sense(k, "month")
        if month is None or not (turn or self.tables.holds("spoken-month", self.text(i))):
            return None
        if self.is_name(k) or (self.text(k + 1).isdigit() and len(self.text(k + 1)) < 3):
            return None
        year, j = self._year(k + 1)
        if self.text(k) in ("may", "mar") and not (turn or year or self.stop(k + 1)):
            return None
        if turn is not None and turn[0] == "last":
            return "span", f"past-month:{month}", j
        return "span", f"month:{month}" + (f":{year}" if year is not None else ""), j


def _short_year(text: str) -> int | None:
    """A year in four figures, or two, from 2000 on."""
    if not text.isdigit() or len(text) not in (2, 4):
        return None
    year = int(text) + (2000 if len(text) == 2 else 0)
    return year if 2000 < year < 2100 else None


def _month_day(day: int, month: int, year: int | None = None) -> DayHint:
    name = _MONTHS[month - 1] if 1 <= month <= 12 else "no"
    return DayHint("month-day", day, month, year, phrase=f"{day} {name}")
