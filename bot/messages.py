"""What comes in from a channel and what goes back: the same for the console, Telegram and SMS."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path


@dataclass(frozen=True)
class Message:
    """A message as it arrived.

    `channel` is "console", "telegram", "sms" or "script"; `id` is the channel's own and unique
    in it; `address` is who wrote, in the channel's terms. `at` is an aware UTC moment: when it was
    sent, not when it was read. `edits` is the `id` of the message that this one replaces.
    `picture` is the channel's file id of a photo that came with it. `chat` is the group that it was
    written in, where it was one. `household` is the number of the book that it is for, where the
    message itself says so (a button, an answer to a reminder).
    """

    channel: str
    id: str
    address: str
    text: str
    at: datetime
    edits: str | None = None
    picture: str | None = None
    chat: str | None = None
    household: int | None = None

    @property
    def where(self) -> str:
        """The address that an answer goes to: the group, or who wrote."""
        return self.chat or self.address


@dataclass(frozen=True)
class Choice:
    """An answer offered with a reply: shown as a button, or as a number to type.

    `label` is what is read; `says` is the text that choosing it amounts to.
    """

    label: str
    says: str


@dataclass(frozen=True)
class Reply:
    """A message out. `wrote` is true where it put something in the book (so it can be undone).

    `files` are pictures or tables made for it, to be shown or sent along; `pictures` are file ids
    that the channel itself keeps. `reminder` is the key of the reminder that it tells, if it
    tells one. `silent` asks the channel for no sound (quiet hours).
    """

    text: str
    choices: tuple[Choice, ...] = ()
    wrote: bool = False
    files: tuple[Path, ...] = ()
    reminder: str | None = None
    silent: bool = False
    pictures: tuple[str, ...] = ()


@dataclass(frozen=True)
class Outgoing:
    """A reply or reminder with its row in the outbox: to whom, on which channel.

    `again` is true where a first copy may have arrived, so that this one is to say so.
    """

    id: int
    channel: str
    address: str
    member: str
    reply: Reply
    again: bool = False
