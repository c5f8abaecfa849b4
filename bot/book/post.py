"""Messages in and out: each message once, each reply kept until it is sent."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, bindparam, insert, select, update

from bot.book import family
from bot.book.households import Member
from bot.book.tables import messages, outbox
from bot.messages import Choice, Message, Outgoing, Reply

# What every message asks is built once: building it again takes longer than the book's answer.
_SEEN = select(messages.c.id).where(
    messages.c.channel == bindparam("on"), messages.c.channel_id == bindparam("as")
)
_TAKE_IN, _PUT_OUT = insert(messages), insert(outbox)


def seen(conn: Connection, message: Message) -> int | None:
    """The row of this message if it came before: then it changes nothing again."""
    return _row_of(conn, message.channel, message.id)


def original(conn: Connection, message: Message) -> int | None:
    """The row of the message that this one replaces, if it is an edit of one we have."""
    return _row_of(conn, message.channel, message.edits) if message.edits else None


def _row_of(conn: Connection, channel: str, channel_id: str) -> int | None:
    found = conn.execute(_SEEN, {"on": channel, "as": channel_id}).scalar()
    return None if found is None else int(found)


def take_in(conn: Connection, message: Message, member: Member, now: datetime) -> int:
    """Keep an incoming message; gives its row."""
    row = {
        "household": member.household, "member": member.id, "channel": message.channel,
        "channel_id": message.id, "sent": message.at, "arrived": now, "text": message.text,
        "picture": message.picture, "chat": message.chat,
    }  # fmt: skip
    made = conn.execute(_TAKE_IN, row).inserted_primary_key
    assert made is not None
    return int(made[0])


def put_out(
    conn: Connection, reply: Reply, member: Member, channel: str, address: str, now: datetime,
    message: int | None = None,
) -> Outgoing:  # fmt: skip
    """Keep a reply until it is sent, with its book's name for whoever is in several."""
    reply = family.named(conn, reply, member)
    row = {
        "household": member.household, "member": member.id, "message": message,
        "channel": channel, "address": address, "reply": reply_to_json(reply), "made": now,
        "not_before": now,
    }  # fmt: skip
    made = conn.execute(_PUT_OUT, row).inserted_primary_key
    assert made is not None
    return Outgoing(int(made[0]), channel, address, member.name, reply)


def unsent(conn: Connection, channel: str | None = None) -> list[Outgoing]:
    """What still waits to be sent, oldest first; of one channel, if it is named."""
    from bot.book.tables import members

    query = (
        select(outbox, members.c.name)
        .join(members, members.c.id == outbox.c.member)
        .where(outbox.c.sent.is_(None), outbox.c.given_up.is_(None))
        .order_by(outbox.c.id)
    )
    if channel is not None:
        query = query.where(outbox.c.channel == channel)
    return [
        Outgoing(
            row["id"], row["channel"], row["address"], row["name"], reply_from_json(row["reply"])
        )
        for row in conn.execute(query).mappings()
    ]


def mark_sent(conn: Connection, number: int, now: datetime) -> None:
    """A reply reached its channel."""
    conn.execute(update(outbox).where(outbox.c.id == number).values(sent=now))


def reply_to_json(reply: Reply) -> dict[str, Any]:
    """Plain values; what is empty is left out."""
    plain: dict[str, Any] = {"text": reply.text}
    if reply.choices:
        plain["choices"] = [[each.label, each.says] for each in reply.choices]
    if reply.files:
        plain["files"] = [str(each) for each in reply.files]
    if reply.pictures:
        plain["pictures"] = list(reply.pictures)
    flags = {"wrote": reply.wrote, "silent": reply.silent, "reminder": reply.reminder}
    return plain | {name: value for name, value in flags.items() if value}


def reply_from_json(plain: Mapping[str, Any]) -> Reply:
    """The inverse of `reply_to_json`."""
    return Reply(
        text=plain["text"],
        choices=tuple(Choice(label, says) for label, says in plain.get("choices", ())),
        wrote=bool(plain.get("wrote")),
        files=tuple(Path(each) for each in plain.get("files", ())),
        reminder=plain.get("reminder"),
        silent=bool(plain.get("silent")),
        pictures=tuple(plain.get("pictures", ())),
    )
