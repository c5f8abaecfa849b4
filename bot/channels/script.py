"""The script channel: plays a conversation file against a book in memory, on a clock of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Protocol
from zoneinfo import ZoneInfo

from bot.channels.chatfile import Step, matches, move, speaker
from bot.channels.plain import shown
from bot.messages import Message, Outgoing, Reply

CHANNEL = "script"
OWNER = "keeper"


class Talker(Protocol):
    """What the script talks to: `bot.service.Rackside`, or a pretend one."""

    def handle(self, message: Message) -> list[Outgoing]: ...
    def tick(self) -> list[Outgoing]: ...
    def sent(self, outgoing_id: int) -> None: ...
    def next_wake(self, after: datetime) -> datetime | None: ...


class Household(Protocol):
    """Whose book it is; the zone may be set before anybody is there."""

    def set_zone(self, zone: str) -> None: ...
    def join(self, name: str, role: str, now: datetime) -> None: ...


@dataclass
class FileClock:
    """The clock that the file sets: it stands still between steps."""

    moment: datetime

    def __call__(self) -> datetime:
        return self.moment.astimezone(UTC)


@dataclass
class Player:
    """Plays steps one by one. `failures` holds a sentence for each expectation not met."""

    talker: Talker
    household: Household
    clock: FileClock
    write: Callable[[str], None]
    who: str = OWNER
    failures: list[str] = field(default_factory=list)
    _waiting: list[Reply] = field(default_factory=list)
    _count: int = 0
    _joined: set[str] = field(default_factory=set)

    def play(self, steps: tuple[Step, ...]) -> bool:
        """Whether every expectation was met."""
        do: dict[str, Callable[[Step], None]] = {
            "zone": self._zone, "clock": self._clock, "as": self._as,
            ">": self._say, "<": self._expect,
        }  # fmt: skip
        for step in steps:
            do[step.kind](step)
        return not self.failures

    def _zone(self, step: Step) -> None:
        wall = self.clock.moment.replace(tzinfo=ZoneInfo(step.text))
        # Before anybody has spoken the clock's wall time is what the file meant; afterwards the
        # moment stays and the household sees it from another zone.
        self.clock.moment = (
            self.clock.moment.astimezone(ZoneInfo(step.text)) if self._joined else wall
        )
        self.household.set_zone(step.text)

    def _as(self, step: Step) -> None:
        self.who, role = speaker(step.text)
        self._join(OWNER, "owner")
        self._join(self.who, role)

    def _join(self, name: str, role: str) -> None:
        if name not in self._joined:
            self._joined.add(name)
            self.household.join(name, "owner" if name == OWNER else role, self.clock())

    def _clock(self, step: Step) -> None:
        target = move(self.clock.moment, step.text)
        self._waiting.clear()
        if self._joined:
            self._pass(target)
        self.clock.moment = target
        self.write(f"\n{target:%a} {target.day} {target:%b %Y, %H:%M}")
        if self._joined:
            self._out(self.talker.tick())

    def _pass(self, target: datetime) -> None:
        """Let what falls due on the way be sent at its own moment."""
        # Two moments in one zone compare by their wall time, which an autumn hour repeats.
        end = target.astimezone(UTC)
        while (wake := self.talker.next_wake(self.clock())) is not None and wake < end:
            ahead = max(wake, self.clock() + timedelta(minutes=1))
            if ahead >= end:
                return
            self.clock.moment = ahead.astimezone(target.tzinfo)
            self._out(self.talker.tick())

    def _say(self, step: Step) -> None:
        self._join(OWNER, "owner")
        self._waiting.clear()
        self._count += 1
        name = f"{self.who} " if self.who != OWNER else ""
        self.write(_indented(f"{name}> ", step.text))
        message = Message(CHANNEL, str(self._count), self.who, step.text, self.clock())
        self._out(self.talker.handle(message))
        self._out(self.talker.tick())

    def _out(self, replies: list[Outgoing]) -> None:
        for each in replies:
            self._waiting.append(each.reply)
            to = f"{each.member} " if each.member != OWNER else ""
            when = f"[{self.clock.moment:%d %b %H:%M}] " if each.reply.reminder else ""
            self.write(_indented(f"{to}< {when}", shown(each.reply)))
            self.talker.sent(each.id)

    def _expect(self, step: Step) -> None:
        got = self._waiting.pop(0) if self._waiting else None
        if got and (matches(step.text, got.text) or matches(step.text, shown(got))):
            return
        what = f'"{got.text}"' if got else "nothing"
        self.failures.append(f'line {step.line}: expected "{step.text}", and {what} came')
        self.write(f"! {self.failures[-1]}")


def _indented(mark: str, text: str) -> str:
    return mark + text.replace("\n", "\n" + " " * len(mark))
