"""What the finders of days and hours share: looking at tokens, small counts, lengths of time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from bot.language.daytables import day_tables
from bot.language.tokens import Token
from bot.language.wording import Lexicon

Found = tuple[str, Any, int] | None  # what ("date", "time", "span"), the hint, the token after it

DAY = 1440  # minutes
MONTH = 43_200  # minutes, as the words file writes a month
YEAR = 12 * MONTH

_STOPS = frozenset({"", ",", ".", "!", "?", ";", ":", "\n", ")", "(", "-", "–", "&"})


class Length(NamedTuple):
    """A length of time: how many minutes, days or months, and the token after it."""

    amount: int
    j: int
    unit: str


class Pieces:
    """The tokens of a message with the words that days and hours are made of."""

    def __init__(self, tokens: Sequence[Token], lexicon: Lexicon) -> None:
        self.tokens = tokens
        self.lexicon = lexicon
        self.tables = day_tables()

    def text(self, i: int) -> str:
        """The folded text of token `i`, empty beyond either end."""
        return self.tokens[i].text if 0 <= i < len(self.tokens) else ""

    def stop(self, i: int) -> bool:
        """True where the sentence or a part of it ends before token `i`."""
        return self.text(i) in _STOPS

    def glued(self, i: int) -> bool:
        """True where no space parts token `i` from the one before."""
        return 0 <= i < len(self.tokens) and self.tokens[i].glued

    def sense(self, i: int, cls: str) -> str | None:
        """The value of token `i` in a class of words."""
        for sense in self.lexicon.single(self.text(i)):
            if sense.cls == cls:
                return sense.value
        return None

    def phrase(self, i: int, cls: str) -> tuple[str, int] | None:
        """The value of the longest wording of a class that starts at token `i`, and its end."""
        for words, senses in self.lexicon.phrases.get(self.text(i), ()):
            n = len(words)
            if n == 1 or tuple(t.text for t in self.tokens[i : i + n]) == words:
                for sense in senses:
                    if sense.cls == cls:
                        return sense.value, i + n
        return None

    def match(self, table: str, i: int) -> tuple[str, int] | None:
        """The key of a table of `days.toml` whose wording starts at token `i`, and its end."""
        return self.tables.match(table, self.tokens, i)

    def end(self, name: str, i: int) -> int | None:
        """The token after a wording of a set of `days.toml` that starts at token `i`."""
        return self.tables.end(name, self.tokens, i)

    def small(self, i: int) -> tuple[int | None, int]:
        """A small count in figures or words ("a", "a couple of"), and the token after it."""
        text = self.text(i)
        if text.isdigit():
            return int(text[:4]), i + 1
        counted = self.match("counts", i)
        if counted is not None:
            return int(counted[0]), counted[1]
        number = self.sense(i, "number")
        if number is None:
            return None, i
        value = int(number)
        if value in range(20, 100, 10):
            k = i + 2 if self.text(i + 1) == "-" else i + 1
            unit = self.sense(k, "number")
            if unit is not None and 1 <= int(unit) <= 9:
                return value + int(unit), k + 1
        return value, i + 1

    def length(self, i: int) -> Length | None:
        """The length of time told at token `i`: "3 days", "an hour and a half", "two months"."""
        said = self.match("lengths", i)
        if said is not None:
            return Length(int(said[0]), said[1], "minutes")
        number, j = self.small(i)
        if not number:
            return None
        unit = self._period(j)
        if unit is None:
            return None
        minutes, j = unit
        if minutes in (YEAR, MONTH):
            return Length(number * (12 if minutes == YEAR else 1), j, "months")
        if minutes >= DAY:
            days = number * minutes // DAY
            more = self.length(j + 1) if self.text(j) == "and" else None
            if more is not None and more.unit == "days" and more.amount < days:
                return Length(days + more.amount, more.j, "days")  # "two weeks and three days"
            return Length(days, j, "days")
        return Length(number * minutes, j, "minutes")

    def _period(self, j: int) -> tuple[int, int] | None:
        period = self.sense(j, "period")
        if period is not None:
            return int(period), j + 1
        for name, minutes in (("nights", DAY), ("fortnights", 14 * DAY), ("years", YEAR)):
            end = self.end(name, j)
            if end is not None:
                return minutes, end
        letter = self.match("letters", j) if self.glued(j) else None
        return (int(letter[0]), letter[1]) if letter else None
