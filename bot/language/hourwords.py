"""Spots hours among the pieces of a message: "at 5:45pm", "half eight", "ten past 7", "7ish"."""

from __future__ import annotations

from bot.language.dates import HourHint
from bot.language.piecewords import Found, Pieces

# What a number counts where one of these follows it: "half 8 crickets", "7ish eggs".
_COUNTS = frozenset(
    {"food", "unit", "state", "spoil", "period", "slotnoun", "boxnoun", "placenoun"}
)


class HourFinder(Pieces):
    """Reads an hour that starts at a token."""

    def at(self, i: int) -> Found:
        """The hour that starts at token `i`; "maybe-time" where only what stands before tells."""
        sort = self.tokens[i].sort
        if sort == "clock":
            return self._clock(i)
        if sort == "number":
            return self._number(i)
        return self._past_hour(i) or self._led(i) or (self._ish(i) if sort == "word" else None)

    def counts(self, j: int) -> bool:
        """True where token `j` is something that the number before it counts."""
        return any(
            sense.cls in _COUNTS or (sense.cls == "act" and sense.value == "egg")
            for sense in self.lexicon.single(self.text(j))
        )

    def _clock(self, i: int) -> Found:
        hours, minutes = (int(part) for part in self.text(i).split(":"))
        if hours > 23 or minutes > 59:
            return None
        half, j = self._half(i + 1)
        if half is None and (hours >= 13 or self.text(i).startswith("0") or hours == 0):
            half = "24"
        return "time", HourHint(hours, minutes, half), j

    def _half(self, j: int) -> tuple[str | None, int]:
        j = self.end("about", j) or j  # "7ish pm"
        found = self.match("halves", j)
        if found is not None:
            return found[0], self.end("about", found[1]) or found[1]
        if self.text(j) in ("a", "p") and self.text(j + 1) == "." and self.text(j + 2) == "m":
            return self.text(j) + "m", j + 3
        return None, j

    def _number(self, i: int) -> Found:
        if not self.text(i).isdigit():
            return self._dotted(i)
        four = self._four_figures(i)
        if four is not None:
            return four
        number = int(self.text(i)[:6])
        half, j = self._half(i + 1)
        if half and 1 <= number <= 12:
            return "time", HourHint(number, 0, half), j
        clock = self.end("oclock", i + 1)
        if clock is not None and 1 <= number <= 12:
            half, j = self._half(clock)
            return "time", HourHint(number, 0, half), j
        return self._past_hour(i) or self._ish(i)

    def _four_figures(self, i: int) -> Found:
        """ "@ 0530", "since 0600", "at 1930": an hour and minutes; "since 2024" is a year."""
        text = self.text(i)
        lead = self.text(i - 1)
        if len(text) != 4 or int(text[:2]) > 23 or int(text[2:]) > 59:
            return None
        marked = self.text(i + 1) in ("h", "hrs", "hours")
        led = lead in ("@", "at", "since", "by", "from", "around", "till", "until", "~")
        yearly = text[:2] in ("19", "20") and lead not in ("@", "at")
        if not (marked or text[0] == "0" or (led and not yearly)):
            return None
        if self.counts(i + 1) and not marked:
            return None
        return "time", HourHint(int(text[:2]), int(text[2:]), "24"), i + 1 + marked

    def _dotted(self, i: int) -> Found:
        """ "5.45pm"; without its half it is a weight."""
        hours, _, minutes = self.text(i).partition(".")
        if len(minutes) == 2 and minutes.isdigit() and int(hours or 0) <= 23:
            half, j = self._half(i + 1)
            hour = int(hours or 0)
            if int(minutes) < 60 and ((half and hour <= 12) or self._hour_not_measure(i)):
                return (
                    "time",
                    HourHint(hour, int(minutes), half or ("24" if hour > 12 else None)),
                    j,
                )
        return None

    def _hour_not_measure(self, i: int) -> bool:
        """ "laid 2 at 8.15", and not "came in at 8.15" or "incubator at 27.50"."""
        if self.text(i - 1) not in ("at", "@") or self.counts(i + 1) or self.glued(i + 1):
            return False
        ahead = [s for k in range(i - 1) for s in self.lexicon.single(self.text(k))]
        measured = any(s.cls == "climate" or s.value in ("weigh", "incubator") for s in ahead)
        return not measured and any(s.cls in ("act", "unit", "sign") for s in ahead)

    def _past_hour(self, i: int) -> Found:
        """ "half past six", "quarter to 8", "half 6", "ten past seven"; "at ten to eight"."""
        told = self.match("minutes", i)
        if told is None:
            return None
        minute, j = int(told[0]), told[1]
        told_way = self.match("ways", j)
        way = told_way[0] if told_way else ""
        if told_way:
            j = told_way[1]
        elif minute != 30 or j > i + 1:
            return None
        plain = minute in (15, 30) or self.text(j - 1) == "past"
        if told_way and not plain and not self._led_in(i):
            return None  # "moved 10 to 4", "fed 5 after 7"
        hour, j = self.small(j)
        half, end = self._half(j)
        if hour is None or not 1 <= hour <= 12 or self.glued(j - 1) or self.match("counts", j - 1):
            return None
        if half is None and self.counts(j):
            return None  # "half 8 crickets"
        if way == "to":
            hour, minute = (hour - 1) or 12, 60 - minute
        return "time", HourHint(hour, minute, half), end

    def _led_in(self, i: int) -> bool:
        return any(self.end("sure-lead", k) == i for k in (i - 1, i - 2))

    def _ish(self, i: int) -> Found:
        """ "7ish", "sevenish", "8-ish": an hour, unless it counts something."""
        hour, j = self.small(i)
        end = self.end("about", j)
        if hour is None or end is None or not 1 <= hour <= 12 or not self.glued(j):
            return None
        half, end = self._half(end)
        if self.counts(end) or not (half or self.stop(end) or self._follows(end)):
            return None
        return "time", HourHint(hour, 0, half), end

    def _follows(self, j: int) -> bool:
        """True where what stands at token `j` makes the number before it an hour."""
        return self.end("hour-follows", j) is not None or self.sense(j, "weekday") is not None

    def _led(self, i: int) -> Found:
        """ "at 7", "around six", "at noon", "just after half eight"."""
        named = self.phrase(i, "clock")
        if named is not None:
            return self._named(*named)
        j = self.end("hour-lead", i)
        if j is None or j >= len(self.tokens):
            return None
        if j > i + 1 and self.end("hour-lead", j):
            j = self.end("hour-lead", j) or j
        named = self.phrase(j, "clock")
        if named is not None:
            return self._named(*named)
        if self.tokens[j].sort == "clock":
            return self._clock(j)
        return self._past_hour(j) or self._ish(j) or self._led_number(i, j)

    def _led_number(self, i: int, j: int) -> Found:
        hour, k = self.small(j)
        if hour is None or not 1 <= hour <= 24 or self.match("counts", j):
            return None
        half, end = self._half(k)
        if half is not None:
            return ("time", HourHint(hour, 0, half), end) if hour <= 12 else None
        clock = self.end("oclock", k)
        if clock is not None:
            return "time", HourHint(hour, 0, None), clock
        sure = self.end("sure-lead", i) is not None
        if self._follows(k) and (sure or self.text(k) != "on"):
            return "time", HourHint(hour, 0, None), k
        if self.sense(i - 1, "day") or self.sense(i - 1, "weekday"):
            return "time", HourHint(hour, 0, None), k
        if sure and (self.text(k) == "to" or self.stop(k)) and self.text(k) not in ("?", "-"):
            return "maybe-time", HourHint(hour, 0, None), k
        return None

    def _named(self, value: str, j: int) -> Found:
        hours, minutes = (int(part) for part in value.split(":"))
        return "time", HourHint(hours, minutes, "24"), j
