"""What a channel says when it is given something to send, and what a channel must offer."""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Protocol

from bot.messages import Outgoing
from bot.serve.words import said


@dataclass(frozen=True)
class Delivered:
    """The channel took it. `sent_as` is the channel's own id of it, if it gave one."""

    sent_as: str | None = None


@dataclass(frozen=True)
class RetryAfter:
    """The channel wants nothing more for this address for so many seconds."""

    seconds: float


@dataclass(frozen=True)
class Unreachable:
    """No connection, or a fault on the channel's side: surely not taken. Try again later."""


@dataclass(frozen=True)
class Lost:
    """No answer after it may have been taken: tried once more, two copies at most."""


@dataclass(frozen=True)
class Shut:
    """Blocked or opted out: nothing more goes there until that person writes again."""


@dataclass(frozen=True)
class Refused:
    """The channel will not take this one, ever. `reason` has no text, name or number in it."""

    reason: str


Sent = Delivered | RetryAfter | Unreachable | Lost | Shut | Refused


def marked(text: str, outgoing: Outgoing) -> str:
    """The text with a word of warning below it, where it may have arrived before."""
    return f"{text}\n{said('again')}" if outgoing.again else text


note_leaving: ContextVar[Callable[[bool], None]] = ContextVar(
    "note_leaving", default=lambda left: None
)
"""Notes of the send under way whether its request has left; set by whoever asked for it."""


def not_yet() -> None:
    """Say that a send has not left yet: a sender that has to wait first does so at once."""
    note_leaving.get()(False)


def leaves() -> None:
    """Say that the request of a send is about to be made, so that it may be taken from now on."""
    note_leaving.get()(True)


class Sender(Protocol):
    """A channel that sends. `send` raises nothing for what a channel may say."""

    async def send(self, outgoing: Outgoing) -> Sent:
        """Send one reply to one address, and tell what the channel said."""
        ...
