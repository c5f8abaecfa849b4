"""Who comes in: the answer to a code, and to a stranger without one."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from sqlalchemy import Connection

from bot.book import access, post
from bot.book.access import Joined, Rule
from bot.book.households import Member
from bot.messages import Message, Outgoing, Reply
from bot.serve.words import said

UNKEPT = 0
"""The id of an answer that is not in the outbox: a stranger has no household to keep it in."""


def come_in(
    conn: Connection, message: Message, member: Member | None, name: str, rule: Rule, now: datetime
) -> list[Outgoing] | None:
    """The answer at the door; None where a member wrote whose message is to be handled.

    Of a stranger's message nothing is kept, of a code that let somebody in only that it came.
    """
    if member is not None:
        access.reopen(conn, message.channel, message.address)
        joined = access.join_other(conn, message, member, now)
        return None if joined is None else [_welcome(conn, message, joined, now)]
    found = access.admit(conn, message, name[:80] or message.channel, rule, now)
    if isinstance(found, Joined):
        return [_welcome(conn, message, found.member, now)]
    if not found.tell:
        return []
    return [Outgoing(UNKEPT, message.channel, message.address, "", Reply(said("private")))]


def _welcome(conn: Connection, message: Message, member: Member, now: datetime) -> Outgoing:
    """Say who they are now. The code itself is not kept with the message."""
    owner = member.role == access.OWNER
    text = said("owner") if owner else said("joined", role=said(f"roles.{member.role}"))
    number = post.take_in(conn, replace(message, text=""), member, now)
    return post.put_out(conn, Reply(text), member, message.channel, message.address, now, number)
