"""Who comes in: the answer to a code, to a stranger without one, and to a word about the group."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from sqlalchemy import Connection

from bot.book import access, bound, family, post
from bot.book.access import Joined, Rule
from bot.book.households import Member
from bot.desk import care
from bot.desk.roles import KEEPERS
from bot.messages import Message, Outgoing, Reply
from bot.serve.words import said, words
from bot.wording import say

UNKEPT = 0
"""The id of an answer that is not in the outbox: a stranger has no household to keep it in."""


def come_in(
    conn: Connection,
    message: Message,
    member: Member | None,
    name: str,
    rule: Rule | None,
    now: datetime,
) -> list[Outgoing] | None:
    """The answer at the door; None where a member wrote whose message is to be handled.

    Of a stranger's message nothing is kept, of a code that let somebody in only that it came.
    Without a rule nobody new comes in, and strangers are not answered.
    """
    if member is not None:
        return _member(conn, message, member, now)
    if rule is None:
        return []
    found = access.admit(conn, message, name[:80] or message.channel, rule, now)
    if isinstance(found, Joined):
        return [_welcome(conn, message, found.member, _greeting(found.member), now)]
    if not found.tell:
        return []
    return [Outgoing(UNKEPT, message.channel, message.where, "", Reply(said("private")))]


def _member(
    conn: Connection, message: Message, member: Member, now: datetime
) -> list[Outgoing] | None:
    if message.chat or not member.open:
        access.reopen(conn, message.channel, message.where)
    joined = access.join_other(conn, message, member, now)
    if joined is not None:
        return [_welcome(conn, message, joined, _joined_too(conn, joined, member), now)]
    text = _about_the_group(conn, message, member)
    return None if text is None else [_answer(conn, message, member, Reply(text), now)]


def _welcome(
    conn: Connection, message: Message, member: Member, text: str, now: datetime
) -> Outgoing:
    """Say who they are now. The code itself is not kept with the message."""
    return _answer(conn, replace(message, text=""), member, Reply(text), now)


def _answer(
    conn: Connection, message: Message, member: Member, reply: Reply, now: datetime
) -> Outgoing:
    number = post.take_in(conn, message, member, now)
    return post.put_out(conn, reply, member, message.channel, message.where, now, number)


def _greeting(member: Member) -> str:
    owner = member.role == access.OWNER
    text = said("owner") if owner else said("joined", role=said(f"roles.{member.role}"))
    return "\n".join([text, *care.at_the_door(member.role)])


def _joined_too(conn: Connection, joined: Member, before: Member) -> str:
    """Which book they speak to now, and the way back to the other."""
    return say(
        "book.joined",
        book=family.book_name(conn, joined.household),
        role=said(f"roles.{joined.role}"),
        back=family.way_back(conn, before.household),
    )


# --- the group ------------------------------------------------------------------------------


def _about_the_group(conn: Connection, message: Message, member: Member) -> str | None:
    """The answer to "remind us here" and "not here"; None to everything else."""
    if message.channel != family.GROUPS:
        return None
    asked = message.text.strip().rstrip(".!").casefold()
    here = asked in words()["group"]["here"]
    if not here and asked not in words()["group"]["not_here"]:
        return None
    if message.chat is None:
        return said("group.only")
    if member.role not in KEEPERS:
        return say("role.helper")
    if here:
        family.set_room(conn, member.household, message.chat)
        return said("group.now")
    if family.room(conn, member.household) == message.chat:
        family.set_room(conn, member.household, None)
    return said("group.no_more")


# --- several books --------------------------------------------------------------------------

CLOSING = frozenset(("done", "snooze", "skip"))
"""What is asked about a reminder alone."""


def speaker(conn: Connection, message: Message) -> Member | None:
    """Who speaks, and to which book; "done" goes to the book that reminded last."""
    member = family.speaker(conn, message)
    if member is None or message.household is not None:
        return member
    other = family.reminded_by_another(conn, message, member)
    if other is not None and _closes(conn, message, other):
        return other
    return member


def _closes(conn: Connection, message: Message, member: Member) -> bool:
    from bot.book.pages import Pages
    from bot.language.reader import read

    with bound.looking_beyond(conn):
        view = Pages(conn, member.household).view()
    request = read(message.text, message.at, view).request
    return request is not None and request.ask in CLOSING


def where_it_went(conn: Connection, message: Message, member: Member, reply: Reply) -> Reply:
    """The reply; where it wrote though another book reminded last, it says which this went to."""
    if not reply.wrote or message.household is not None:
        return reply
    other = family.reminded_by_another(conn, message, member)
    if other is None:
        return reply
    names = {
        "book": family.book_name(conn, other.household),
        "here": family.book_name(conn, member.household),
        "back": family.way_back(conn, other.household),
    }
    return replace(reply, text=f"{reply.text}\n{say('book.elsewhere', **names)}")
