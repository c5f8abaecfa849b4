"""Spots days and hours among the pieces of a message: "yesterday", "on the 5th", "at 5:45pm".

It decides which words can tell a day at all, so that slots, tags, weights and counts are never
taken for one ("slot 4 yesterday", "B4/5", "3/4 fertile", "her 3rd clutch"); which day is meant is
left to `dates.py`. The small words it goes by are in `words/days.toml`, names and whole phrases in
`words/dates.toml`; days of a month are in `monthwords.py`, hours in `hourwords.py`.
"""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from bot.language.dates import DayHint, HourHint
from bot.language.daytables import day_tables
from bot.language.hourwords import HourFinder
from bot.language.monthwords import CalendarFinder
from bot.language.piecewords import Found, Length, Pieces
from bot.language.tokens import Token
from bot.language.view import View
from bot.language.wording import Lexicon

# What the first word of a day, hour or stretch may be; any other word is passed over at once.
_FIRST_TABLES = ("turns", "before", "steps", "lengths", "counts", "minutes", "feasts", "skies")
_FIRST_SETS = ("same-hour", "hour-lead", "month-ends", "spoken-month")
_FIRST_SENSES = frozenset({"weekday", "month", "ordinal", "clock", "number"})
_FIRST_WORDS = frozenset({"in", "since", "on", "the"})
_firsts: dict[int, tuple[Lexicon, frozenset[str]]] = {}  # by identity: a lexicon has no hash

_WEEKDAYS = tuple(name.casefold() for name in calendar.day_name)


def day_word(number: int, text: str) -> DayHint:
    """The hint of a whole phrase that tells a day by its distance: "yesterday", "first thing"."""
    return DayHint("offset", number, weak=day_tables().phrase_in("weak", text.casefold().split()))


def first_words(lexicon: Lexicon) -> frozenset[str]:
    """Every word that a day, hour or stretch may start with; worked out once a lexicon."""
    known = _firsts.get(id(lexicon))
    if known is None or known[0] is not lexicon:
        tables = day_tables()
        own = [*(tables.tables[n] for n in _FIRST_TABLES), *(tables.sets[n] for n in _FIRST_SETS)]
        told = {
            first
            for first, pairs in lexicon.phrases.items()
            if any(s.cls in _FIRST_SENSES for _, senses in pairs for s in senses)
        }
        if len(_firsts) > 8:
            _firsts.clear()
        known = (lexicon, _FIRST_WORDS.union(told, *own))
        _firsts[id(lexicon)] = known
    return known[1]


def names_day(word: str, lexicon: Lexicon) -> bool:
    """True for the name of a day or month, or a word that tells a day by itself."""
    return any(each.cls in ("weekday", "month", "day") for each in lexicon.single(word))


def weekdays_near(word: str) -> list[str]:
    """The weekdays whose full name is one slip from `word`.

    >>> weekdays_near("tusday"), weekdays_near("thusday"), weekdays_near("today")
    (['tuesday'], ['thursday'], [])
    """
    if not 5 <= len(word) <= 10 or word[-1:] not in "ya":
        return []
    from rapidfuzz.distance import OSA

    return [day for day in _WEEKDAYS if OSA.distance(word, day, score_cutoff=1) <= 1]


class DayFinder(Pieces):
    """Reads a day, an hour or a stretch of days that starts at a token."""

    def __init__(self, tokens: Sequence[Token], lexicon: Lexicon, view: View) -> None:
        super().__init__(tokens, lexicon)
        self.firsts = first_words(lexicon)
        self.calendar = CalendarFinder(tokens, lexicon, view)
        self.hours = HourFinder(tokens, lexicon)

    def at(self, i: int) -> Found:
        """What starts at token `i`: a date, time, maybe-time or span with its hint; or None."""
        token = self.tokens[i]
        if token.sort == "iso":
            try:
                return "date", DayHint("date", plain=date.fromisoformat(token.text)), i + 1
            except ValueError:
                return "date", DayHint("words", phrase="no such day"), i + 1
        if token.sort == "clock":
            return self.hours.at(i)
        if token.sort == "number":
            return self._number(i)
        if token.text in self.firsts:
            return self._words(i)
        return self._doubtful(i)

    def _number(self, i: int) -> Found:
        return self.hours.at(i) or self.calendar.number(i) or self._distance(i)

    def _words(self, i: int) -> Found:
        for reader in (
            self._ahead,
            self._same_hour,
            self._stretch,
            self._weekday,
            self.calendar.words,
            self._sky,
            self._distance,
            self.hours.at,
        ):
            found = reader(i)
            if found is not None:
                return found
        return None

    def _sky(self, i: int) -> Found:
        found = self.match("skies", i)
        if found is None:
            return None
        return "date", DayHint("part", half=found[0], weak=True), found[1]

    # -- days of the week ---------------------------------------------------------------------

    def _weekday(self, i: int) -> Found:
        start = i
        if self.text(i) == "on" and self.match("turns", i + 1):
            return self._weekday(i + 1)
        weeks, turn, i = self._turn_before(i)
        day = self.sense(i, "weekday")
        if day is None:
            return None
        bare = turn is None and not weeks
        if bare and self.tables.holds("unsure", self.text(i)) and not self._alone(start):
            return None
        if bare and self.calendar.is_name(i) and not self._day_like(i):
            return None
        after, turn, j = self._turn_after(i + 1, turn)
        if self.tables.holds("parts", self.text(j)):
            j += 1
        return "date", DayHint("weekday", int(day), turn=turn, weeks=weeks + after), j

    def _turn_before(self, i: int) -> tuple[int, str | None, int]:
        """Weeks away, the turn, and the token of the weekday: "a week from last friday"."""
        steps = self.match("steps", i)
        if steps is not None and not (self.text(i) == "week" and self.match("turns", i - 1)):
            weeks, k = int(steps[0]), steps[1]
            turn = "last" if weeks < 0 else "week"
            told = self.match("turns", k)
            return weeks, turn, told[1] if told else k
        before = self.match("before", i)
        if before is not None and self.sense(before[1], "weekday"):
            return 0, before[0], before[1]
        told = self.match("turns", i)
        return (0, told[0], told[1]) if told else (0, None, i)

    def _turn_after(self, j: int, turn: str | None) -> tuple[int, str | None, int]:
        after = self.match("after", j)
        if after is None:
            return 0, turn, j
        key, end = after
        if self.tables.holds("bare-after", self.text(j)) and end == j + 1 and not self.stop(end):
            return 0, turn, j  # "friday last egg gone"
        if key == "week":
            return 1, "week", end
        return (-1, "last", end) if key == "before-last" else (0, key, end)

    def _alone(self, i: int) -> bool:
        """ "sat" is a day at the start or end, or after "on"; not in "sun lamp", "sat in"."""
        if self.tables.holds("lead", self.text(i - 1)):
            return True
        if self.end("no-day-before", i + 1):
            return False
        if i + 1 < len(self.tokens) and self.tokens[i + 1].sort in ("number", "clock"):
            return True
        opens = i == 0 or self.text(i - 1) in (",", ".", "\n", "(")
        return opens or self.stop(i + 1) or self._day_like(i)

    def _day_like(self, i: int) -> bool:
        """True where what stands beside token `i` makes it a day: "on", "night", "last week"."""
        return (
            self.tables.holds("lead", self.text(i - 1))
            or self.tables.holds("parts", self.text(i + 1))
            or self.match("after", i + 1) is not None
        )

    def _doubtful(self, i: int) -> Found:
        """ "thesday", as near to one day as to another: a day was told, but not which."""
        word = self.text(i)
        if self.tokens[i].sort != "word" or word in self.lexicon.known:
            return None
        if self.calendar.is_name(i) or word in self.calendar.view.place_words:
            return None
        return ("span", "vague", i + 1) if len(weekdays_near(word)) > 1 else None

    # -- distances and stretches -----------------------------------------------------------------

    def _distance(self, i: int) -> Found:
        """ "2 hours ago", "three days back", "a fortnight ago", "two weeks from now"."""
        told = self.length(i)
        if told is None:
            return None
        back = self.end("ago", told.j)
        if back is not None:
            return _away(told, -1, back)
        ahead = self.end("from-now", told.j)
        return _away(told, 1, ahead) if ahead is not None and told.unit != "minutes" else None

    def _ahead(self, i: int) -> Found:
        """ "in 3 days", "in an hour", "in two hours' time"; "together since 3 days"."""
        if self.text(i) not in ("in", "since"):
            return None
        told = self.length(i + 1)
        if told is None:
            return None
        if self.text(i) == "since":
            return _away(told, -1, told.j)
        return _away(told, 1, self.end("nows", told.j) or told.j)

    def _same_hour(self, i: int) -> Found:
        """ "this time yesterday", "this time last week": the hour that it is now."""
        k = self.end("same-hour", i)
        if k is None or k >= len(self.tokens):
            return None
        day = self.phrase(k, "day")
        span = self.phrase(k, "span")
        far = {"last-week": -7, "next-week": 7}.get(span[0]) if span else None
        found = self._words(k)
        if found is not None and found[0] == "date":
            return "date", replace(found[1], same_hour=True), found[2]
        if day is not None:
            return "date", DayHint("offset", int(day[0]), same_hour=True), day[1]
        if span is not None and far is not None:
            return "date", DayHint("offset", far, same_hour=True), span[1]
        return None

    def _stretch(self, i: int) -> Found:
        """ "the past two weeks", "last 10 days", "in march", "last march"."""
        k = i + 1 if self.text(i) == "the" else i
        turn = self.match("turns", k)
        told = self.length(turn[1]) if turn and turn[0] in ("last", "next") else None
        if turn is not None and told is not None and not self.match("counts", turn[1]):
            days = {"days": told.amount, "months": 30 * told.amount}.get(told.unit)
            name = "back" if turn[0] == "last" else "ahead"
            return ("span", f"{name}:{days}", told.j) if days else None
        return self.calendar.month_span(i, turn)


def _away(told: Length, way: int, j: int) -> Found:
    """A length of time back (`way` -1) or ahead (1): days and months give a day, less an hour."""
    if told.unit == "minutes":
        return "time", HourHint(ago=-way * told.amount), j
    if told.unit == "days":
        return "date", DayHint("offset", way * told.amount), j
    if way < 0:
        return "date", DayHint("words", phrase=f"{told.amount} months ago"), j
    return "date", DayHint("words", turn="next", phrase=f"in {told.amount} months"), j
