"""The outbox on its way: each address in order, with retries, and nobody waits for another.

Before a send its row is claimed and the attempt counted, in a transaction of its own. So after a
crash in the middle it is known that it may have been taken, and it is tried once more only.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any

import structlog
from sqlalchemy import Connection, delete, insert, select, update
from sqlalchemy.exc import OperationalError
from tenacity import RetryCallState, wait_exponential_jitter

from bot.book import access, households, post
from bot.book.store import Book
from bot.book.tables import addresses, delays, members, outbox
from bot.messages import Outgoing, Reply
from bot.serve.sending import Delivered, Lost, Refused, RetryAfter, Sender, Sent, Shut, Unreachable
from bot.serve.words import said

Address = tuple[str, str]  # channel, address


COPIES = 2  # at most, of what may have been taken
AT_ONCE = 200  # sends in the air
TAKEN_OVER = timedelta(seconds=60)  # a claim older than this was a dead process's
LOOK = 1.0  # seconds between looks at the outbox, when nobody says that there is something
_PAUSE = wait_exponential_jitter(initial=1, max=60, jitter=1)

log = structlog.get_logger("rackside")


def pause(failures: int) -> float:
    """Seconds to wait after so many failures in a row: 1 to 2 at first, then growing to 60."""
    state = RetryCallState(None, None, (), {})  # type: ignore[arg-type]
    state.attempt_number = failures
    return float(_PAUSE(state))


@dataclass
class _Way:
    """What is known of one address while we run; waits are on the monotonic clock."""

    until: float = 0.0
    failures: int = 0


class Delivery:
    """Sends what the outbox holds. `in_book` runs a step of the book off the event loop."""

    def __init__(
        self,
        book: Book,
        senders: Mapping[str, Sender],
        now: Callable[[], datetime],
        in_book: Callable[[Callable[[], Any]], Awaitable[Any]],
    ) -> None:
        self._book = book
        self._senders = senders
        self._now = now
        self._in_book = in_book
        self._ways: dict[Address, _Way] = {}
        self._busy: dict[Address, asyncio.Task[None]] = {}
        self._bell = asyncio.Event()
        self._room = asyncio.Semaphore(AT_ONCE)
        self._ending = False
        self.down: dict[str, bool] = {}
        self.last_sent: datetime | None = None

    def wake(self) -> None:
        """There may be something to send."""
        self._bell.set()

    def waits(self, channel: str, address: str) -> bool:
        """Whether that address has to be left alone for now."""
        way = self._ways.get((channel, address))
        return way is not None and way.until > time.monotonic()

    def leave_alone(self, channel: str, address: str, seconds: float) -> None:
        """The channel wants nothing more for this address for so long."""
        self._ways.setdefault((channel, address), _Way()).until = time.monotonic() + seconds

    async def run(self) -> None:
        """Send until cancelled."""
        for channel, address, seconds in await self._in_book(self._read_delays):
            self.leave_alone(channel, address, seconds)
        while True:
            self._bell.clear()
            await self._start_those_waiting()
            try:
                await asyncio.wait_for(self._bell.wait(), self._look_in())
            except TimeoutError:
                continue

    async def finish(self, seconds: float) -> None:
        """Send what can be sent at once, for so long at most, and end."""
        deadline = time.monotonic() + seconds
        await self._start_those_waiting()
        self._ending = True
        while self._busy and (left := deadline - time.monotonic()) > 0:
            await asyncio.wait(list(self._busy.values()), timeout=left)
        for task in self._busy.values():
            task.cancel()

    def _look_in(self) -> float:
        now = time.monotonic()
        soon = [way.until - now for way in self._ways.values() if way.until > now]
        return max(0.05, min([LOOK, *soon]))

    async def _start_those_waiting(self) -> None:
        try:
            found = await self._in_book(self._waiting)
        except Exception as error:
            log.error("the outbox can't be read", why=type(error).__name__)
            return
        for address in found:
            if address not in self._busy and not self.waits(*address):
                task = asyncio.create_task(self._send_to(address))
                self._busy[address] = task
                task.add_done_callback(partial(self._freed, address))

    def _freed(self, address: Address, _: asyncio.Task[None]) -> None:
        self._busy.pop(address, None)
        self._bell.set()

    async def _send_to(self, address: Address) -> None:
        """Send to one address, in order, until there is nothing left or it has to wait."""
        try:
            while not self.waits(*address):
                claimed = await self._in_book(lambda: self._claim(address))
                if claimed is None:
                    return
                async with self._room:
                    answer = await self._senders[address[0]].send(claimed)
                await self._settle_surely(claimed, answer)
        except Exception as error:
            log.error("sending failed", channel=address[0], why=type(error).__name__)
            self.leave_alone(*address, seconds=5)

    async def _settle_surely(self, sent: Outgoing, answer: Sent) -> None:
        """Write down what the channel said, however long the book is busy: else it goes twice."""
        while True:
            try:
                await self._in_book(lambda: self._settle(sent, answer))
                return
            except OperationalError as error:
                log.error("the book can't be written", error=type(error).__name__)
                await asyncio.sleep(LOOK)

    # --- in the book ------------------------------------------------------------------------

    def _read_delays(self) -> list[tuple[str, str, float]]:
        """What channels asked before a restart; never longer than asked, whatever the clock."""
        now = self._now()
        with self._book.writing() as conn:
            rows = conn.execute(select(delays)).mappings().all()
            conn.execute(delete(delays).where(delays.c.until <= now))
        return [
            (row["channel"], row["address"], min((row["until"] - now).total_seconds(), row["why"]))
            for row in rows
            if row["until"] > now
        ]

    def _waiting(self) -> list[Address]:
        query = (
            select(outbox.c.channel, outbox.c.address)
            .distinct()
            .where(_UNSENT, outbox.c.channel.in_(self._senders), ~_SHUT)
        )
        with self._book.reading() as conn:
            return [(channel, address) for channel, address in conn.execute(query)]

    def _claim(self, address: Address) -> Outgoing | None:
        """The next row for an address, with this attempt counted before it is made."""
        with self._book.writing() as conn:
            for row in conn.execute(_queue(address)).mappings():
                if self._in_other_hands(row["claimed"]):
                    return None
                if row["tries"] >= COPIES:
                    conn.execute(_change(row["id"], given_up=self._now()))
                    log.error(
                        "given up: no answer to two copies", channel=address[0], row=row["id"]
                    )
                    continue
                conn.execute(_change(row["id"], claimed=self._now(), tries=row["tries"] + 1))
                reply = post.reply_from_json(row["reply"])
                return Outgoing(row["id"], *address, row["name"], reply)
        return None

    def _in_other_hands(self, claimed: datetime | None) -> bool:
        """Whether another process sends this just now. A file is served by one process only."""
        if claimed is None or self._book.path is not None:
            return False
        return timedelta(0) <= self._now() - claimed < TAKEN_OVER

    def _settle(self, sent: Outgoing, answer: Sent) -> None:
        """Write down what the channel said."""
        address = (sent.channel, sent.address)
        way = self._ways.setdefault(address, _Way())
        now = self._now()
        self.down[sent.channel] = isinstance(answer, Unreachable | Lost)
        with self._book.writing() as conn:
            match answer:
                case Delivered(sent_as):
                    conn.execute(_change(sent.id, sent=now, sent_as=sent_as))
                    way.failures = 0
                    if way.until <= time.monotonic():
                        self._ways.pop(address, None)
                    self.last_sent = now
                case RetryAfter(seconds):
                    conn.execute(_untaken(sent.id))
                    conn.execute(
                        delete(delays).where(
                            delays.c.channel == sent.channel, delays.c.address == sent.address
                        )
                    )
                    until = now + timedelta(seconds=seconds)
                    conn.execute(
                        insert(delays).values(
                            channel=sent.channel, address=sent.address, until=until, why=seconds
                        )
                    )
                    way.until = time.monotonic() + seconds
                case Unreachable() | Lost():
                    lost = isinstance(answer, Lost)
                    free = _change(sent.id, claimed=None) if lost else _untaken(sent.id)
                    conn.execute(free)
                    way.failures += 1
                    way.until = time.monotonic() + pause(way.failures)
                case Shut():
                    conn.execute(_untaken(sent.id))
                    access.shut(conn, sent.channel, sent.address, now)
                    _tell_owner(conn, sent, now)
                case Refused(reason):
                    conn.execute(_change(sent.id, given_up=now))
                    log.error("the channel refused", channel=sent.channel, row=sent.id, why=reason)
        log.debug("sending", channel=sent.channel, row=sent.id, answer=type(answer).__name__)


_UNSENT = outbox.c.sent.is_(None) & outbox.c.given_up.is_(None)
_SHUT = (
    select(addresses.c.id)
    .where(
        addresses.c.channel == outbox.c.channel,
        addresses.c.address == outbox.c.address,
        addresses.c.shut.is_not(None),
    )
    .exists()
)


def _queue(address: Address) -> Any:
    """What waits for an address, in order; on a shared book the rows are locked while we look."""
    return (
        select(outbox, members.c.name)
        .join(members, members.c.id == outbox.c.member)
        .where(_UNSENT, outbox.c.channel == address[0], outbox.c.address == address[1], ~_SHUT)
        .order_by(outbox.c.id)
        .limit(10)
        .with_for_update(of=outbox)
    )


def _tell_owner(conn: Connection, sent: Outgoing, now: datetime) -> None:
    """Let the owner know, by a way that is open, whom nothing reaches any more."""
    household = conn.execute(select(outbox.c.household).where(outbox.c.id == sent.id)).scalar_one()
    reply = Reply(said("unreachable", name=sent.member, channel=said(f"channels.{sent.channel}")))
    for member, channel, address in households.routes(conn, household):
        if member.role == access.OWNER and channel != "console":
            post.put_out(conn, reply, member, channel, address, now)


def _change(number: int, **values: Any) -> Any:
    return update(outbox).where(outbox.c.id == number).values(**values)


def _untaken(number: int) -> Any:
    """The attempt surely did not reach the channel: it does not count as a copy."""
    return _change(number, tries=outbox.c.tries - 1, claimed=None)
