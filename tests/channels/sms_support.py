"""A gateway that signs what it sends, and a book with one member who texts."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import select
from twilio.request_validator import RequestValidator

from bot.book import households, post
from bot.book.households import Member
from bot.book.store import Book
from bot.book.tables import messages, outbox
from bot.channels.sms import Answer, answer
from bot.messages import Message, Outgoing, Reply
from bot.settings import Settings, load

NOW = datetime(2026, 3, 10, 19, 30, tzinfo=UTC)
MINA = "+351900000001"
STRANGER = "+351900000002"
SECRET = "a-secret-for-tests"
GIVEN = {
    "SMS_ACCOUNT": "AC0001", "SMS_SECRET": SECRET, "SMS_NUMBER": "+351900000099",
    "URL": "https://book.example", "ZONE": "Europe/Lisbon",
}  # fmt: skip
SETTINGS: Settings = load(GIVEN, {}, ())


@dataclass
class Desk:
    """Stands in for `bot.service.Rackside`: keeps what it was given, answers `says`."""

    book: Book
    says: Reply
    moment: datetime = NOW
    handled: list[Message] = field(default_factory=list)

    def now(self) -> datetime:
        return self.moment

    def handle(self, message: Message, name: str = "") -> list[Outgoing]:
        with self.book.writing() as conn:
            member = households.find(conn, message.channel, message.address)
            if member is None:
                private = Reply("This is a private book.")
                return [Outgoing(0, message.channel, message.address, "", private)]
            self.handled.append(message)
            row = post.take_in(conn, message, member, self.moment)
            out = post.put_out(
                conn, self.says, member, message.channel, message.address, self.moment, row
            )
            return [out]


def desk(says: str = "Written.") -> tuple[Desk, Member]:
    """A book in memory whose owner, Mina, texts from her number."""
    book = Book.open(":memory:")
    with book.writing() as conn:
        mina = households.begin(conn, zone="Europe/Lisbon", owner="Mina", now=NOW)
        households.add_address(conn, mina, "sms", MINA)
    return Desk(book, Reply(says)), mina


_sid = iter(range(1, 10_000))


def form(body: str, frm: str = MINA, **more: str) -> dict[str, str]:
    """A message as the gateway posts it."""
    sid = f"SM{next(_sid):032d}"
    given = {"AccountSid": "AC0001", "MessageSid": sid, "From": frm, "To": "+351900000099"}
    return given | {"Body": body, "NumMedia": "0"} | more


def sign(
    fields: dict[str, str], secret: str = SECRET, url: str = "https://book.example/sms"
) -> str:
    """The signature by the gateway's own library."""
    return str(RequestValidator(secret).compute_signature(url, fields))


def text(to: Any, body: str, frm: str = MINA, **more: str) -> Answer:
    """Somebody texts, and the gateway hands it over."""
    fields = form(body, frm, **more)
    return hand_over(to, fields, sign(fields))


def hand_over(to: Any, fields: dict[str, str], signature: str) -> Answer:
    """The gateway hands a form over."""
    return asyncio.run(answer(fields, signature, SETTINGS, to))


def with_settings(**changed: Any) -> Settings:
    """The settings with something else set."""
    return replace(SETTINGS, **changed)


def to_send(book: Book) -> list[str]:
    """The texts in the outbox, oldest first."""
    with book.reading() as conn:
        rows = conn.execute(select(outbox.c.reply).order_by(outbox.c.id)).scalars()
        return [row["text"] for row in rows]


def kept(book: Book) -> list[str]:
    """The texts of the messages that were kept, oldest first."""
    with book.reading() as conn:
        return list(conn.execute(select(messages.c.text).order_by(messages.c.id)).scalars())


def send_all(book: Book) -> None:
    """What waits is sent."""
    with book.writing() as conn:
        for each in post.unsent(conn):
            post.mark_sent(conn, each.id, NOW)
