"""Conversation files: what a line of a `.chat` file means, and how an expectation is met.

    # a comment
    @zone Europe/Lisbon           the household's time zone
    @clock 2026-03-01 18:30       the clock, in that zone; or "2026-03-01" (09:00)
    @clock +2d 09:00              two days on, at that wall time; +3h, +45m, +1w, +1d3h too
    @as Ines helper               who speaks from here on; a new name joins, in that role
    > F3 laid 2                   a message in
    < ...F3...                    the message out that must come next; "..." is anything at all

A line that begins with a space goes on with the `>` or `<` above it, on a new line.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from bot.settings import zone

ROLES = ("owner", "keeper", "helper", "watcher")
MORNING = time(9, 0)
_AHEAD = re.compile(r"\+((?:\d+[wdhm])+)(?:\s+(\d{1,2}:\d{2}))?")
_PART = re.compile(r"(\d+)([wdhm])")


class ChatFileError(Exception):
    """The file does not read; the message names the line and what was expected."""


@dataclass(frozen=True)
class Step:
    """One thing that the file does. `kind` is "zone", "clock", "as", ">" or "<"."""

    line: int
    kind: str
    text: str


def parse(text: str) -> tuple[Step, ...]:
    """The steps of a conversation file. Raises ChatFileError with the line number."""
    steps: list[Step] = []
    joinable = False
    for number, line in enumerate(text.splitlines(), 1):
        if line[:1].isspace() and line.strip():
            if not joinable:
                raise ChatFileError(f"line {number}: an indented line goes on with a > or a <")
            last = steps.pop()
            steps.append(Step(last.line, last.kind, f"{last.text}\n{line.strip()}"))
            continue
        joinable = False
        if not line.strip() or line.startswith("#"):
            continue
        step = _step(number, line.rstrip())
        _check(step)
        steps.append(step)
        joinable = step.kind in "><"
    return tuple(steps)


def _step(number: int, line: str) -> Step:
    if line[0] in "><":
        return Step(number, line[0], line[1:].strip())
    word, _, rest = line.partition(" ")
    if word in ("@zone", "@clock", "@as"):
        return Step(number, word[1:], rest.strip())
    raise ChatFileError(f'line {number}: "{line[:40]}" is none of #, @zone, @clock, @as, > and <')


def _check(step: Step) -> None:
    try:
        if step.kind == "zone":
            zone(step.text)
        elif step.kind == "clock":
            move(datetime(2000, 1, 1, tzinfo=ZoneInfo("UTC")), step.text)
        elif step.kind == "as":
            speaker(step.text)
    except ValueError as error:
        raise ChatFileError(f"line {step.line}: {error}") from None


def speaker(text: str) -> tuple[str, str]:
    """The name and role of `@as NAME [ROLE]`; with no role given, keeper.

    >>> speaker("Ines helper"), speaker("Ines"), speaker("watcher")
    (('Ines', 'helper'), ('Ines', 'keeper'), ('watcher', 'watcher'))
    """
    words = text.split()
    if not words:
        raise ValueError("@as needs a name")
    if len(words) > 1 and words[-1] in ROLES:
        return " ".join(words[:-1]), words[-1]
    return " ".join(words), words[0] if text in ROLES else "keeper"


def move(now: datetime, text: str) -> datetime:
    """The moment that `@clock TEXT` sets, in the zone of `now`. Raises ValueError.

    Days and weeks are days of the calendar (the wall time stays over a clock change); hours and
    minutes are time that passes.
    """
    ahead = _AHEAD.fullmatch(text)
    if not ahead:
        return _absolute(text, now)
    spans = {"w": 0, "d": 0, "h": 0, "m": 0}
    for count, unit in _PART.findall(ahead[1]):
        spans[unit] += int(count)
    wall = now + timedelta(days=7 * spans["w"] + spans["d"])  # an aware sum keeps the wall time
    passed = timedelta(hours=spans["h"], minutes=spans["m"])
    moved = (wall.astimezone(ZoneInfo("UTC")) + passed).astimezone(now.tzinfo)
    if ahead[2]:
        at = time.fromisoformat(ahead[2].zfill(5))
        moved = moved.replace(hour=at.hour, minute=at.minute, second=0, microsecond=0)
    return moved


def _absolute(text: str, now: datetime) -> datetime:
    try:
        said = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(
            f'"{text}" is no moment; write 2026-03-01 18:30, or +2d, +3h, +2d 09:00'
        ) from None
    if ":" not in text:
        said = datetime.combine(said.date(), MORNING)
    return said.replace(tzinfo=now.tzinfo) if said.tzinfo is None else said.astimezone(now.tzinfo)


def matches(expected: str, said: str) -> bool:
    """Whether a message out is the one expected: `...` is anything; case and spacing don't count.

    >>> matches("...pull m2...", "Late: Pull M2 from F3."), matches("F3?", "F3.")
    (True, False)
    """
    parts = [r"\s+".join(re.escape(w) for w in part.split()) for part in expected.split("...")]
    return (
        re.fullmatch(r"\s*.*?\s*".join(parts), said.strip(), re.DOTALL | re.IGNORECASE) is not None
    )
