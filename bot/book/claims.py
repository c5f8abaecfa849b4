"""The outbox as several processes share it: what is next, in whose hands it is, what came of it.

Each address is served in order: only its oldest row that may go is ever taken, and none while one
is in somebody's hands. A row says whose hands those are (`worker`); a process that has ended, or
kept a row for a minute, has lost it to the next. `tries` counts the copies that may have reached
the channel, so a row that is taken with one counted may be a repeat.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any

from sqlalchemy import Connection, and_, bindparam, delete, insert, or_, select, update
from sqlalchemy.sql.expression import FromClause

from bot.book import post
from bot.book.tables import addresses, delays, members, outbox
from bot.messages import Outgoing

Address = tuple[str, str]  # channel, address

COPIES = 2  # at most, of what may have been taken
TAKEN_OVER = timedelta(seconds=60)  # a row held longer than this is another's to take
APART = timedelta(minutes=1)  # by how much the clocks of two machines may differ


class Fate(StrEnum):
    """What is known of one attempt to send."""

    NOT_SENT = "not sent"  # it never left, or the channel surely did not take it
    LEFT = "left"  # on its way, or its answer was lost: it may have been taken
    TAKEN = "taken"


Attempt = tuple[int, bool]  # a row, and whether it was its second copy
Known = tuple[Fate, str | None]  # with the channel's own id of it, where it gave one
Lines = Mapping[Attempt, Known]
"""What a process that has ended noted of its attempts; one without a note was never begun."""


@dataclass(frozen=True)
class Taken:
    """What one look at the outbox gave: what is to be sent now, and the rows given up."""

    to_send: tuple[Outgoing, ...] = ()
    given_up: tuple[Outgoing, ...] = ()


def anything(conn: Connection, channels: Collection[str], worker: str) -> bool:
    """Whether there may be something to take. It writes nothing, so it holds up no writer."""
    others = or_(outbox.c.worker.is_(None), outbox.c.worker != worker)
    query = select(outbox.c.id).where(_waits(outbox), outbox.c.channel.in_(channels), others)
    return conn.execute(query.limit(1)).first() is not None


def take(
    conn: Connection, channels: Collection[str], worker: str, now: datetime, *, most: int,
    but: Collection[Address] = (), repeats: bool = True,
) -> Taken:  # fmt: skip
    """Take up to so many rows in hand, one an address, and count the attempt before it is made.

    `but` are addresses that this process knows have to be left alone. Without `repeats` a row that
    may have been sent stays where it is, and what is behind it too.
    """
    if most <= 0:
        return Taken()
    room = most + len(but)
    query = _next(channels, now).limit(room)
    query = query if repeats else query.where(outbox.c.tries == 0)
    found = conn.execute(query).mappings().all()
    rows = [row for row in found if (row["channel"], row["address"]) not in but][:most]
    spent = [row for row in rows if row["tries"] >= COPIES]
    good = [row for row in rows if row["tries"] < COPIES]
    _change(conn, (row["id"] for row in spent), given_up=now)
    in_hand = {"worker": worker, "claimed": now, "tries": outbox.c.tries + 1}
    _change(conn, (row["id"] for row in good), **in_hand)
    return Taken(tuple(map(_outgoing, good)), tuple(map(_outgoing, spent)))


def let_go(
    conn: Connection, worker: str, holds: Collection[int], living: Callable[[], Collection[str]],
    now: datetime, lines: Callable[[str], Lines | None] = lambda worker: None,
) -> set[str]:  # fmt: skip
    """Free the rows of processes that have ended or froze, and our own that we know nothing of.

    Who is alive is asked after whose rows there are: a process is seen before it takes anything, so
    that one which has only just begun is never taken for dead. `lines` gives what one that has
    ended noted of its attempts, or None where that can't be told: then each may have been taken.
    Gives those who seem alive and have rows in hand.
    """
    held = outbox.c.worker.is_not(None) & _waits(outbox)
    others = set(conn.execute(select(outbox.c.worker).where(held).distinct()).scalars())
    ended = others - {worker} - set(living()) if others else set()
    for each in ended:
        _as_noted(conn, each, lines(each), now)
    froze = and_(outbox.c.worker != worker, outbox.c.claimed < now - TAKEN_OVER)
    lost = and_(outbox.c.worker == worker, outbox.c.id.not_in(holds))
    dead = or_(outbox.c.worker.in_(ended), froze)
    conn.execute(update(outbox).where(held, or_(dead, lost)).values(worker=None))
    return others - ended


def _as_noted(conn: Connection, worker: str, lines: Lines | None, now: datetime) -> None:
    """Settle what a process that has ended had in hand, as far as it noted what became of it."""
    if lines is None:
        return
    mine = select(outbox.c.id, outbox.c.tries).where(outbox.c.worker == worker, _waits(outbox))
    for row in conn.execute(mine.with_for_update(skip_locked=True)).all():
        fate, sent_as = lines.get((row.id, row.tries > 1), (Fate.NOT_SENT, None))
        if fate is Fate.TAKEN:
            delivered(conn, [(row.id, sent_as)], now)
        elif fate is Fate.NOT_SENT:
            not_taken(conn, row.id, worker)


# --- what came of it ------------------------------------------------------------------------


def delivered(conn: Connection, sent: Iterable[tuple[int, str | None]], now: datetime) -> None:
    """The channel took these rows; each with the channel's own id of it, if it gave one."""
    values = [{"row": row, "as": sent_as} for row, sent_as in sent]
    if values:
        change = update(outbox).where(outbox.c.id == bindparam("row"))
        conn.execute(change.values(sent=now, sent_as=bindparam("as"), worker=None), values)


def not_taken(conn: Connection, row: int, worker: str) -> None:
    """It surely did not reach the channel: the attempt does not count as a copy."""
    conn.execute(_ours(row, worker).values(worker=None, tries=outbox.c.tries - 1))


def unknown(conn: Connection, row: int, worker: str) -> None:
    """It may have been taken: the attempt counts."""
    conn.execute(_ours(row, worker).values(worker=None))


def give_up(conn: Connection, row: int, now: datetime) -> None:
    """The channel will never take it."""
    _change(conn, [row], given_up=now, worker=None)


def wait(conn: Connection, address: Address, seconds: float, now: datetime) -> None:
    """Let every process leave an address alone for so long."""
    conn.execute(delete(delays).where(_at(delays, address)))
    until = now + timedelta(seconds=seconds)
    channel, where = address
    conn.execute(
        insert(delays).values(channel=channel, address=where, until=until, why=seconds, since=now)
    )


def waits(conn: Connection, now: datetime) -> list[tuple[Address, float]]:
    """Which addresses have to be left alone, for how many seconds; never longer than was asked."""
    rows = conn.execute(select(delays).where(delays.c.until > now)).mappings()
    return [
        (
            (row["channel"], row["address"]),
            min((row["until"] - now).total_seconds(), row["why"] or 0.0),
        )
        for row in rows
    ]


def end_waits(conn: Connection, over: Collection[Address], now: datetime) -> None:
    """Forget the waits that are over by the wall clock, or by that of whoever was asked to wait."""
    conn.execute(delete(delays).where(delays.c.until <= now))
    if over:
        one = (delays.c.channel == bindparam("on")) & (delays.c.address == bindparam("at"))
        conn.execute(delete(delays).where(one), [{"on": on, "at": at} for on, at in over])


# --- inside ---------------------------------------------------------------------------------
#
# Each `offset(0)` keeps PostgreSQL from making a join of what is better looked up row by row: with
# a queue that grew since its statistics were made, such a join read all of it for every row.


def _next(channels: Collection[str], now: datetime) -> Any:
    """The first row of each address that may go now; rows that another just takes are skipped."""
    older = outbox.alias()
    before = (
        select(older.c.id)
        .where(
            older.c.channel == outbox.c.channel,
            older.c.address == outbox.c.address,
            older.c.id < outbox.c.id,
            _waits(older),
            or_(_ready(older, now), older.c.worker.is_not(None)),
        )
        .offset(0)
        .exists()
    )
    return (
        select(outbox, members.c.name)
        .join(members, members.c.id == outbox.c.member)
        .where(
            _waits(outbox), _ready(outbox, now), outbox.c.worker.is_(None),
            outbox.c.channel.in_(channels), ~_shut, ~_delayed(now), ~before,
        )
        .order_by(outbox.c.id)
        .with_for_update(of=outbox, skip_locked=True)
    )  # fmt: skip


def _waits(rows: FromClause) -> Any:
    return rows.c.sent.is_(None) & rows.c.given_up.is_(None)


def _ready(rows: FromClause, now: datetime) -> Any:
    """Not held back for later. A row from after `now` was made by a clock since set back."""
    return or_(
        rows.c.not_before <= now, rows.c.not_before <= rows.c.made, rows.c.made > now + APART
    )


def _delayed(now: datetime) -> Any:
    return (
        select(delays.c.until)
        .where(
            delays.c.channel == outbox.c.channel,
            delays.c.address == outbox.c.address,
            delays.c.until > now,
            delays.c.since <= now + APART,
        )
        .offset(0)
        .exists()
    )


_shut = (
    select(addresses.c.id)
    .where(
        addresses.c.channel == outbox.c.channel,
        addresses.c.address == outbox.c.address,
        addresses.c.shut.is_not(None),
    )
    .offset(0)
    .exists()
)


def _outgoing(row: Any) -> Outgoing:
    reply = post.reply_from_json(row["reply"])
    again = row["tries"] > 0
    return Outgoing(row["id"], row["channel"], row["address"], row["name"], reply, again)


def _at(table: FromClause, address: Address) -> Any:
    return (table.c.channel == address[0]) & (table.c.address == address[1])


def _ours(row: int, worker: str) -> Any:
    """A row, as long as no other process has taken it over."""
    return update(outbox).where(outbox.c.id == row, outbox.c.worker == worker)


def _change(conn: Connection, rows: Iterable[int], **values: Any) -> None:
    chosen = list(rows)
    if chosen:
        conn.execute(update(outbox).where(outbox.c.id.in_(chosen)).values(**values))
