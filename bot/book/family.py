"""Who speaks for which book: several books at one address, roles taken back, and the group."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Select, bindparam, delete, or_, select, update

from bot.book import bound, households
from bot.book.households import Household, Member
from bot.book.tables import addresses, codes, ledger, members, messages, outbox, standins
from bot.book.tables import households as households_table
from bot.messages import Message, Reply
from bot.wording import say

GROUPS = "telegram"
"""The channel that has groups."""
Way = tuple[Member, str, str]  # member, channel, address

# --- several books at one address -----------------------------------------------------------


def speaker(conn: Connection, message: Message) -> Member | None:
    """Who speaks, and to which book; None for a stranger.

    A message that says its book goes there, one written in a book's group to that book, and any
    other to the book that its sender spoke to last.
    """
    book = message.household
    if book is None and message.chat is not None:
        book = _book_of_the_group(conn, message)
    if book is None:
        return households.find(conn, message.channel, message.address)
    return member_at(conn, message.channel, message.address, book)


def member_at(conn: Connection, channel: str, address: str, household: int) -> Member | None:
    """Who writes from an address in one household, whichever book speaks there now."""
    return next(
        (m for m, _ in _members_at(conn, channel, address) if m.household == household), None
    )


def books_at(conn: Connection, channel: str, address: str) -> list[tuple[Household, bool]]:
    """The books that somebody at an address is in; true for the one that they speak to."""
    with bound.looking_beyond(conn):
        return [
            (households.household(conn, member.household), current)
            for member, current in _members_at(conn, channel, address)
        ]


def switch(conn: Connection, channel: str, address: str, household: int) -> None:
    """Let another book speak at an address."""
    here = (addresses.c.channel == channel) & (addresses.c.address == address)
    speaks = addresses.c.household == household
    with bound.looking_beyond(conn):
        conn.execute(update(addresses).where(here).values(current=speaks))


def book_name(conn: Connection, household: int) -> str:
    """What a book is called: as it was named, or after its owner."""
    with bound.looking_beyond(conn):
        found = households.household(conn, household)
        everyone = households.of_household(conn, household)
    if found.name:
        return found.name
    owner = next((each for each in everyone if each.role == "owner"), None)
    return say("book.of", name=owner.name) if owner else say("book.number", number=household)


def way_back(conn: Connection, household: int) -> str:
    """What to say to speak to a book."""
    with bound.looking_beyond(conn):
        given = households.household(conn, household).name
    key = "book.switch_named" if given else "book.switch"
    return say(key, book=book_name(conn, household))


def named(conn: Connection, reply: Reply, member: Member) -> Reply:
    """The reply with its book's name before it, for whoever is in several.

    A reply that has the name in it already is left as it is.
    """
    if not reply.text or not in_several(conn, member):
        return reply
    name = book_name(conn, member.household)
    if name in reply.text:
        return reply
    return replace(reply, text=say("book.says", book=name, text=reply.text))


def in_several(conn: Connection, member: Member) -> bool:
    """Whether another book speaks at any address of this member's, too."""
    if member.alone:
        return False
    asked = {"member": member.id, "household": member.household}
    with bound.looking_beyond(conn):
        return conn.execute(_IN_SEVERAL, asked).first() is not None


_IN_SEVERAL = households.another_book(bindparam("household"), bindparam("member")).limit(1)


def reminded_by_another(conn: Connection, message: Message, member: Member) -> Member | None:
    """Who the sender is in the other book that told them something last, here, by itself."""
    if not in_several(conn, member):
        return None
    here = (outbox.c.channel == message.channel) & (outbox.c.address == message.where)
    query = select(outbox.c.household, outbox.c.message).where(here).order_by(outbox.c.id.desc())
    with bound.looking_beyond(conn):
        last = conn.execute(query.limit(1)).first()
    if last is None or last.message is not None or last.household == member.household:
        return None
    return member_at(conn, message.channel, message.address, last.household)


def _members_at(conn: Connection, channel: str, address: str) -> list[tuple[Member, bool]]:
    columns = [members.c[name] for name in households.OF_A_MEMBER]
    query = (
        select(*columns, addresses.c.current.label("speaks"))
        .join(addresses, addresses.c.member == members.c.id)
        .where(
            addresses.c.channel == channel,
            addresses.c.address == address,
            members.c.gone.is_(None),
        )
        .order_by(addresses.c.id)
    )
    with bound.looking_beyond(conn):
        rows = [dict(row) for row in conn.execute(query).mappings()]
    return [(Member(**{k: v for k, v in r.items() if k != "speaks"}), r["speaks"]) for r in rows]


# --- roles ----------------------------------------------------------------------------------


def set_role(conn: Connection, member: Member, role: str, now: datetime) -> None:
    """Give a member another role, at once. What a keeper alone may hand out lapses with it."""
    households.update_member(conn, member.id, role=role)
    if member.role in ("owner", "keeper") and role not in ("owner", "keeper"):
        _take_back(conn, member, now)


def remove(conn: Connection, member: Member, now: datetime) -> list[Way]:
    """Take a member's access away, at once; gives how they were reached, to say so once.

    They are a stranger from then on; what they wrote stays, under their name.
    """
    ways = [way for way in households.ways(conn, member.household) if way[0].id == member.id]
    households.update_member(conn, member.id, gone=now)
    _take_back(conn, member, now)
    _leave_addresses(conn, member)
    waiting = outbox.c.sent.is_(None) & outbox.c.given_up.is_(None)
    mine = outbox.c.member == member.id
    conn.execute(update(outbox).where(mine, waiting).values(given_up=now))
    stands = or_(standins.c.member == member.id, standins.c.for_member == member.id)
    conn.execute(update(standins).where(stands, standins.c.ends > now).values(ends=now))
    return ways


def calendar(conn: Connection, household: int) -> str | None:
    """The secret in the address of a household's calendar, if it was ever asked for."""
    mine = households_table.c.id == household
    return conn.execute(select(households_table.c.calendar).where(mine)).scalar()


def _take_back(conn: Connection, member: Member, now: datetime) -> None:
    """Unused codes of theirs lapse, and the calendar gets another address."""
    theirs = or_(codes.c.made_by == member.id, codes.c.member == member.id)
    conn.execute(update(codes).where(theirs, codes.c.used.is_(None)).values(ends=now))
    mine = households_table.c.id == member.household
    conn.execute(update(households_table).where(mine).values(calendar=None))


def _leave_addresses(conn: Connection, member: Member) -> None:
    """Their addresses are not this book's any more; another book of theirs speaks there then."""
    query = select(addresses).where(addresses.c.member == member.id)
    for row in conn.execute(query).mappings().all():
        conn.execute(delete(addresses).where(addresses.c.id == row["id"]))
        left = books_at(conn, row["channel"], row["address"])
        if row["current"] and left:
            switch(conn, row["channel"], row["address"], left[-1][0].id)


# --- the group ------------------------------------------------------------------------------


def room(conn: Connection, household: int) -> str | None:
    """The group in which a household's reminders are told, if one is."""
    mine = households_table.c.id == household
    return conn.execute(select(households_table.c.room).where(mine)).scalar()


def set_room(conn: Connection, household: int, chat: str | None) -> None:
    """Have reminders told in a group, or (None) to each by themselves again."""
    mine = households_table.c.id == household
    conn.execute(update(households_table).where(mine).values(room=chat))


def move_room(conn: Connection, old: str, new: str) -> None:
    """A group has another number now, as when it grows."""
    conn.execute(update(households_table).where(households_table.c.room == old).values(room=new))
    conn.execute(update(messages).where(messages.c.chat == old).values(chat=new))
    waiting = outbox.c.sent.is_(None) & outbox.c.given_up.is_(None)
    there = (outbox.c.channel == GROUPS) & (outbox.c.address == old)
    conn.execute(update(outbox).where(there, waiting).values(address=new))


def inside(conn: Connection, household: int) -> frozenset[int]:
    """The members who hear what is told in the group: those who have written in it."""
    chat = room(conn, household)
    if chat is None:
        return frozenset()
    query = select(messages.c.member).where(
        messages.c.household == household, messages.c.chat == chat
    )
    wrote = set(conn.execute(query.distinct()).scalars())
    everyone = households.of_household(conn, household)
    return frozenset(each.id for each in everyone if each.id in wrote)


def _book_of_the_group(conn: Connection, message: Message) -> int | None:
    """The book whose group this is, where the sender is a member of it."""
    query = select(households_table.c.id).where(households_table.c.room == message.chat)
    for household in conn.execute(query).scalars():
        if member_at(conn, message.channel, message.address, household) is not None:
            return int(household)
    return None


def no_way_to(conn: Connection, channel: str, address: str, now: datetime) -> None:
    """A place that nobody writes from is closed: what waits for it goes to its members, or lapses.

    That is a group that we were put out of, or somebody whose access was taken away.
    """
    here = (addresses.c.channel == channel) & (addresses.c.address == address)
    if conn.execute(select(addresses.c.id).where(here)).first() is not None:
        return
    _tell_that_it_is_closed(conn, address, now)
    for row in conn.execute(_waiting_for(channel, address)).mappings().all():
        ways = households.ways(conn, row["household"])
        way = next((w for w in ways if w[0].id == row["member"] and w[1] != "console"), None)
        change: dict[str, Any] = {"given_up": now}
        if way is not None:
            change = {"channel": way[1], "address": way[2]}
        conn.execute(update(outbox).where(outbox.c.id == row["id"]).values(**change))


def _tell_that_it_is_closed(conn: Connection, chat: str, now: datetime) -> None:
    """Where it was the group of a book, reminders go singly again, and the owner hears so."""
    from bot.book import post

    query = select(households_table.c.id).where(households_table.c.room == chat)
    for household in conn.execute(query).scalars().all():
        set_room(conn, household, None)
        for member, channel, address in households.ways(conn, household):
            if member.role == "owner" and channel != "console":
                reply = Reply(say("people.no_group"))
                post.put_out(conn, reply, member, channel, address, now)


def _waiting_for(channel: str, address: str) -> Select[Any]:
    return select(outbox.c.id, outbox.c.household, outbox.c.member).where(
        outbox.c.sent.is_(None),
        outbox.c.given_up.is_(None),
        outbox.c.channel == channel,
        outbox.c.address == address,
    )


# --- who wrote what -------------------------------------------------------------------------


def writers(conn: Connection, household: int, entries: Iterable[int]) -> dict[int, str]:
    """The name of who wrote each ledger entry; nothing where the book has ever had one member."""
    everyone = select(members.c.id).where(members.c.household == household)
    if len(conn.execute(everyone.limit(2)).all()) < 2:
        return {}
    query = (
        select(ledger.c.id, members.c.name)
        .join(members, members.c.id == ledger.c.member)
        .where(ledger.c.household == household, ledger.c.id.in_(list(entries)))
    )
    return {row.id: row.name for row in conn.execute(query)}
