"""Who may: the owner's code, shared codes, and strangers who are told so once an hour."""

from __future__ import annotations

import hmac
import random
import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, bindparam, delete, insert, select, update

from bot.book import family, households, wakes
from bot.book.households import Member
from bot.book.tables import addresses, codes, members, strangers
from bot.messages import Message

MADE = re.compile(r"[A-Z2-9]{8}")
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"  # what looks like another sign is left out
SHORTEST = 8
HOUR = timedelta(hours=1)
MOST_WRONG = 10
OWNER = "owner"


@dataclass(frozen=True)
class Rule:
    """How this book lets people in. `owner_code` is the one set; None: one is made and kept.

    `zone` is an IANA name for the households that begin; `open` lets a stranger begin one.
    """

    zone: str
    owner_code: str | None = None
    open: bool = False


@dataclass(frozen=True)
class Joined:
    """They are in: `first` where a household began with them, `again` where they were in."""

    member: Member
    first: bool = False


@dataclass(frozen=True)
class Private:
    """A stranger. `tell` is false where they were told within the hour."""

    tell: bool


def code_in(text: str) -> str:
    """What a message offers as a code: itself, or what follows /start; "" where it offers none.

    >>> code_in("/start ABCD2345"), code_in(" abcd2345 "), code_in("hello there")
    ('ABCD2345', 'abcd2345', '')
    """
    offered = text.strip()
    started = re.fullmatch(r"/start(?:@\w+)?(?:\s+(.*))?", offered, re.DOTALL)
    if started:
        return (started[1] or "").strip()
    return offered if len(offered) >= SHORTEST and not re.search(r"\s", offered) else ""


def open_owner_code(
    conn: Connection, rule: Rule, now: datetime, chance: random.Random
) -> str | None:
    """The owner code that waits to be used, made if there is none; None once it is used."""
    if _owned(conn):
        return None
    if rule.owner_code:
        return rule.owner_code
    kept = conn.execute(select(codes.c.code).where(_OWNERS, codes.c.used.is_(None))).scalar()
    if kept is not None:
        return str(kept)
    made = "".join(chance.choice(LETTERS) for _ in range(SHORTEST))
    conn.execute(insert(codes).values(code=made, role=OWNER, made=now))
    return made


def admit(
    conn: Connection, message: Message, name: str, rule: Rule, now: datetime
) -> Joined | Private:
    """What becomes of a message from an address that the book does not know.

    Nothing of it is kept but the count of wrong codes.
    """
    row = _stranger(conn, message)
    if not _locked_out(row, now):
        joined = _by_code(conn, message, name, rule, now)
        if joined is not None:
            conn.execute(delete(strangers).where(_is(message)))
            return joined
        if rule.open and _owned(conn) and not code_in(message.text):
            return Joined(_begin(conn, message, name, rule, now), first=True)
        if code_in(message.text):
            _count_wrong(conn, message, row, now)
    tell = not _within(row.get("told"), now)
    if tell:
        _set(conn, message, told=now)
    return Private(tell)


def join_other(conn: Connection, message: Message, member: Member, now: datetime) -> Member | None:
    """A member of one household who sends another's code joins that one, and speaks there.

    A code of a household that they are in is for somebody else, and stays good.
    """
    code = _usable(conn, code_in(message.text), now)
    if code is None or family.member_at(conn, message.channel, message.address, code["household"]):
        return None
    return _use(conn, code, message, member.name, now)


_REOPEN = (
    update(addresses)
    .where(
        addresses.c.channel == bindparam("on"), addresses.c.address == bindparam("at"),
        addresses.c.shut.is_not(None),
    )
    .values(shut=None)
)  # fmt: skip


def reopen(conn: Connection, channel: str, address: str) -> bool:
    """Whoever writes can be written to again; true if the address was shut."""
    opened = conn.execute(_REOPEN, {"on": channel, "at": address}).rowcount > 0
    if opened:
        wakes.wake_at(conn, channel, address)
    return opened


def shut(conn: Connection, channel: str, address: str, now: datetime) -> None:
    """Blocked or opted out: nothing more is sent there until that person writes again.

    A place that nobody writes from, like a group, is given up.
    """
    family.no_way_to(conn, channel, address, now)
    conn.execute(
        update(addresses)
        .where(addresses.c.channel == channel, addresses.c.address == address)
        .values(shut=now)
    )
    wakes.wake_at(conn, channel, address)


# --- codes ----------------------------------------------------------------------------------

_OWNERS = codes.c.household.is_(None) & (codes.c.role == OWNER)


def _by_code(
    conn: Connection, message: Message, name: str, rule: Rule, now: datetime
) -> Joined | None:
    offered = code_in(message.text)
    if not offered and rule.owner_code and " " in rule.owner_code:
        offered = message.text.strip()
    if _opens(conn, offered, rule):
        _mark_owned(conn, now)
        owner = _owner_at_the_console(conn)
        if owner is not None:
            households.add_address(conn, owner, message.channel, message.address)
            return Joined(owner)
        return Joined(_begin(conn, message, name, rule, now), first=True)
    code = _usable(conn, offered, now)
    return Joined(_use(conn, code, message, name, now)) if code is not None else None


def _opens(conn: Connection, offered: str, rule: Rule) -> bool:
    """Whether this is the owner code, and the book has no owner yet."""
    if not offered or _owned(conn):
        return False
    if rule.owner_code:
        return hmac.compare_digest(offered.encode(), rule.owner_code.encode())
    kept = conn.execute(select(codes.c.code).where(_OWNERS, codes.c.used.is_(None))).scalar()
    return kept is not None and hmac.compare_digest(offered.upper().encode(), str(kept).encode())


def _owned(conn: Connection) -> bool:
    """Whether the owner code was used, or somebody owns the book from afar already."""
    if conn.execute(select(codes.c.code).where(_OWNERS, codes.c.used.is_not(None))).first():
        return True
    afar = (
        select(addresses.c.id)
        .join(members, members.c.id == addresses.c.member)
        .where(members.c.role == OWNER, addresses.c.channel != "console")
    )
    return conn.execute(afar).first() is not None


def _mark_owned(conn: Connection, now: datetime) -> None:
    """Remember that the owner code was used, also where it was set and is in no row."""
    waiting = update(codes).where(_OWNERS, codes.c.used.is_(None)).values(used=now)
    if conn.execute(waiting).rowcount == 0:
        conn.execute(insert(codes).values(code=OWNER, role=OWNER, made=now, used=now))


def _owner_at_the_console(conn: Connection) -> Member | None:
    """Whoever began the book in the terminal and now comes by another way."""
    for household in households.all_households(conn):
        for member in households.of_household(conn, household.id):
            if member.role == OWNER:
                return member
    return None


def _begin(conn: Connection, message: Message, name: str, rule: Rule, now: datetime) -> Member:
    member = households.begin(conn, zone=rule.zone, owner=name, now=now)
    households.add_address(conn, member, message.channel, message.address)
    return member


def _usable(conn: Connection, offered: str, now: datetime) -> Any:
    """The row of a shared code that is good now, or None."""
    if not MADE.fullmatch(offered.upper()):
        return None
    row = (
        conn.execute(
            select(codes)
            .where(
                codes.c.code == offered.upper(),
                codes.c.household.is_not(None),
                codes.c.used.is_(None),
            )
            .with_for_update()  # good once, also where two try it at the same moment
        )
        .mappings()
        .first()
    )
    if row is None or (row["ends"] is not None and row["ends"] <= now):
        return None
    return row


def _use(conn: Connection, code: Any, message: Message, name: str, now: datetime) -> Member:
    """Let the sender in by a code; it is good once."""
    conn.execute(update(codes).where(codes.c.code == code["code"]).values(used=now))
    conn.execute(
        delete(addresses).where(
            addresses.c.household == code["household"],
            addresses.c.channel == message.channel,
            addresses.c.address == message.address,
        )
    )
    member = _of(conn, code["household"], code["member"]) or households.join(
        conn, household=code["household"], name=name, role=code["role"], now=now
    )
    households.add_address(conn, member, message.channel, message.address)
    return member


def _of(conn: Connection, household: int, number: int | None) -> Member | None:
    everyone = households.of_household(conn, household)
    return next((each for each in everyone if each.id == number), None)


# --- strangers ------------------------------------------------------------------------------


def _is(message: Message) -> Any:
    return (strangers.c.channel == message.channel) & (strangers.c.address == message.address)


def _stranger(conn: Connection, message: Message) -> dict[str, Any]:
    row = conn.execute(select(strangers).where(_is(message))).mappings().first()
    return dict(row) if row else {"wrong": 0, "since": None, "told": None}


def _within(moment: datetime | None, now: datetime) -> bool:
    """Whether that was within the hour; a clock set back does not make it longer."""
    return moment is not None and timedelta(0) <= now - moment < HOUR


def _locked_out(row: dict[str, Any], now: datetime) -> bool:
    return bool(row["wrong"] >= MOST_WRONG and _within(row["since"], now))


def _count_wrong(conn: Connection, message: Message, row: dict[str, Any], now: datetime) -> None:
    """One more wrong code: ten in an hour, counted from the first, and an hour's pause begins."""
    going_on = _within(row["since"], now) and row["wrong"] < MOST_WRONG
    wrong = row["wrong"] + 1 if going_on else 1
    since = row["since"] if going_on and wrong < MOST_WRONG else now
    _set(conn, message, wrong=wrong, since=since)


def _set(conn: Connection, message: Message, **values: Any) -> None:
    if conn.execute(update(strangers).where(_is(message)).values(**values)).rowcount == 0:
        conn.execute(
            insert(strangers).values(channel=message.channel, address=message.address, **values)
        )
