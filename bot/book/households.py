"""Households, their members, and the addresses under which members write."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Exists, Select, bindparam, insert, not_, select, update

from bot.book import wakes
from bot.book.tables import addresses, households, members


@dataclass(frozen=True)
class Household:
    """A household. `zone` is an IANA name and decides every local date and hour."""

    id: int
    name: str
    zone: str


@dataclass(frozen=True)
class Member:
    """Somebody who writes to the book. Times of day are "HH:MM"; units are "C"/"F", "g"/"oz".

    Of whom `find` found by their address two things are known besides, so that they are not asked
    for again: `alone` is that no other book speaks at any address of theirs, `open` that nothing
    shut the one they wrote from.
    """

    id: int
    household: int
    name: str
    role: str
    zone: str | None = None
    temperature: str = "C"
    weight: str = "g"
    quiet_from: str | None = None
    quiet_to: str | None = None
    digest: str | None = None
    talk: dict[str, Any] | None = None
    alone: bool = field(default=False, compare=False)
    open: bool = field(default=False, compare=False)


OF_A_MEMBER = tuple(n for n in Member.__dataclass_fields__ if n not in ("alone", "open"))
"""The columns that a member is made of."""
_MEMBER = [members.c[name] for name in OF_A_MEMBER]


def another_book(household: Any, member: Any) -> Select[Any]:
    """Another book's ways of speaking at an address of this member's; a column or a parameter each.

    A household's rows are found by it, so it comes first.
    """
    mine, other, its = addresses.alias(), addresses.alias(), members.alias()
    same = (mine.c.channel == other.c.channel) & (mine.c.address == other.c.address)
    return (
        select(other.c.id)
        .join(mine, same)
        .join(its, its.c.id == other.c.member)
        .where(
            mine.c.household == household,
            mine.c.member == member,
            other.c.household != household,
            its.c.gone.is_(None),
        )
    )


def _shut() -> Exists:
    """Whether the address that is asked for is shut, in any book."""
    there = addresses.alias()
    at = (there.c.channel == bindparam("on")) & (there.c.address == bindparam("at"))
    return select(there.c.id).where(at, there.c.shut.is_not(None)).exists()


# What every message asks is built once: building it again takes longer than the book's answer.
_FIND = (
    select(
        *_MEMBER,
        not_(another_book(members.c.household, members.c.id).exists()).label("alone"),
        not_(_shut()).label("open"),
    )
    .join(addresses, addresses.c.member == members.c.id)
    .where(
        addresses.c.channel == bindparam("on"), addresses.c.address == bindparam("at"),
        addresses.c.current, members.c.gone.is_(None),
    )
)  # fmt: skip
_HOUSEHOLD = select(households.c.id, households.c.name, households.c.zone).where(
    households.c.id == bindparam("number")
)
_CHANGE_MEMBER = update(members).where(members.c.id == bindparam("number"))


def begin(conn: Connection, *, zone: str, owner: str, now: datetime) -> Member:
    """Make a household in a time zone, with its owner."""
    made = conn.execute(insert(households).values(zone=zone, begun=now)).inserted_primary_key
    assert made is not None
    return join(conn, household=made[0], name=owner, role="owner", now=now)


def join(conn: Connection, *, household: int, name: str, role: str, now: datetime) -> Member:
    """Add a member: role owner, keeper, helper or watcher.

    A name that somebody in the household has already gets a number, so that it means one person.
    """
    name = _own_name(conn, household, name)
    made = conn.execute(
        insert(members).values(household=household, name=name, role=role, joined=now)
    ).inserted_primary_key
    assert made is not None
    return Member(id=made[0], household=household, name=name, role=role)


def _own_name(conn: Connection, household: int, name: str) -> str:
    taken = {each.name.casefold() for each in of_household(conn, household)}
    found, number = name, 2
    while found.casefold() in taken:
        found, number = f"{name} {number}", number + 1
    return found


def find(conn: Connection, channel: str, address: str) -> Member | None:
    """The member who writes from an address, or None for a stranger.

    Asked with every household in sight, as a transaction begins.
    """
    row = conn.execute(_FIND, {"on": channel, "at": address}).mappings().first()
    return Member(**row) if row else None


def add_address(conn: Connection, member: Member, channel: str, address: str) -> None:
    """Let a member write from an address; what they send there now goes to this household."""
    conn.execute(
        update(addresses)
        .where(addresses.c.channel == channel, addresses.c.address == address)
        .values(current=False)
    )
    conn.execute(
        insert(addresses).values(
            household=member.household,
            member=member.id,
            channel=channel,
            address=address,
            current=True,
        )
    )
    wakes.wake_at(conn, channel, address)


def routes(conn: Connection, household: int) -> list[tuple[Member, str, str]]:
    """Every member with each channel and address that something can be sent to.

    Also where another book speaks at that address now: what is due here is due all the same.
    """
    rows = conn.execute(
        select(*_MEMBER, addresses.c.channel.label("channel"), addresses.c.address.label("where"))
        .join(addresses, addresses.c.member == members.c.id)
        .where(
            members.c.household == household,
            members.c.gone.is_(None),
            addresses.c.shut.is_(None),
        )
        .order_by(members.c.id, addresses.c.id)
    ).mappings()
    return [
        (Member(**{k: row[k] for k in OF_A_MEMBER}), row["channel"], row["where"]) for row in rows
    ]


def ways(conn: Connection, household: int) -> list[tuple[Member, str, str]]:
    """Each member by the one channel that they prefer: else the one they joined by last.

    The console is only where nothing else reaches them.
    """
    query = select(members.c.id, members.c.prefers).where(members.c.household == household)
    prefers = {row.id: row.prefers for row in conn.execute(query)}
    best: dict[int, tuple[Member, str, str]] = {}
    for member, channel, address in routes(conn, household):
        known = best.get(member.id)
        better = known is None or known[1] != prefers[member.id]
        if better and (known is None or channel != "console"):
            best[member.id] = (member, channel, address)
    return list(best.values())


def of_household(conn: Connection, household: int) -> tuple[Member, ...]:
    """The members of a household who have not gone, the owner first."""
    rows = conn.execute(
        select(*_MEMBER)
        .where(members.c.household == household, members.c.gone.is_(None))
        .order_by(members.c.id)
    ).mappings()
    return tuple(Member(**row) for row in rows)


def all_households(conn: Connection) -> tuple[Household, ...]:
    """Every household in the book."""
    rows = conn.execute(
        select(households.c.id, households.c.name, households.c.zone).order_by(households.c.id)
    ).mappings()
    return tuple(Household(**row) for row in rows)


def household(conn: Connection, number: int) -> Household:
    """One household. Raises LookupError where there is none of that number."""
    row = conn.execute(_HOUSEHOLD, {"number": number}).mappings().first()
    if row is None:
        raise LookupError(f"no household {number}")
    return Household(**row)


def set_zone(conn: Connection, number: int, zone: str) -> None:
    """Move a household to another time zone; its reminders are to be worked out anew."""
    mine = update(households).where(households.c.id == number)
    conn.execute(mine.values(zone=zone, wakes=None, fresh=None))


def set_name(conn: Connection, number: int, name: str) -> None:
    """Call a household's book something; "" names it after its owner again."""
    conn.execute(update(households).where(households.c.id == number).values(name=name))


def update_member(conn: Connection, number: int, **columns: Any) -> None:
    """Change a member's settings or the state of their conversation."""
    conn.execute(_CHANGE_MEMBER, {"number": number, **columns})
