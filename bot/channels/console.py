"""The console: lines typed in a terminal, or piped in, become messages; replies are printed."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from threading import RLock
from typing import Protocol

from bot.channels.plain import shown
from bot.messages import Message, Outgoing

CHANNEL, ADDRESS = "console", "owner"
ENDS = ("quit", "exit", "bye")
MOST_LEFT = 10
"""More messages than this, left from while the console was off, are not all shown."""


class Talker(Protocol):
    """What the console talks to: `bot.service.Rackside`, or a pretend one."""

    def handle(self, message: Message) -> list[Outgoing]: ...
    def tick(self) -> list[Outgoing]: ...
    def sent(self, number: int, /) -> None: ...
    def unsent(self, channel: str) -> list[Outgoing]: ...


class Conversation:
    """One sitting at the console. The clock rings on its own thread, so one speaks at a time."""

    def __init__(
        self, talker: Talker, now: Callable[[], datetime], write: Callable[[str], None]
    ) -> None:
        self.talker = talker
        self.now = now
        self.write = write
        self._began = now()
        self._count = 0
        self._turn = RLock()

    def begin(self) -> None:
        """Tell, once, what could not be told before and what fell due meanwhile."""
        with self._turn:
            left = self.talker.unsent(CHANNEL)
            older = max(len(left) - MOST_LEFT, 0)
            for each in left[:older]:
                self.talker.sent(each.id)
            if older:
                self.write(f'{older} older messages are left out. Ask "what\'s due today?".')
            self._print(left[older:])
            self.look()

    def look(self) -> None:
        """Tell what falls due by now. The clock calls this."""
        with self._turn:
            self._print(self.talker.tick())

    def say(self, line: str) -> None:
        """Hand in one line, if there is anything in it, and print what comes back."""
        text = line.strip()
        if not text:
            return
        with self._turn:
            self._count += 1
            number = f"{self._began:%Y%m%dT%H%M%S.%f}-{self._count}"
            self._print(self.talker.handle(Message(CHANNEL, number, ADDRESS, text, self.now())))

    def take(self, lines: Iterable[str]) -> None:
        """Hand in lines until they end."""
        for line in lines:
            self.say(line)

    def _print(self, replies: list[Outgoing]) -> None:
        for each in replies:
            if each.channel == CHANNEL:
                self.write(shown(each.reply))
                self.talker.sent(each.id)
