"""The outbox on its way: each address in order, with retries, and nobody waits for another.

Before a send its row is taken in hand and the attempt counted, and that is committed. So after a
crash in the middle it is known that it may have been taken; it is tried once more only, and says
that it is a repeat. Several processes may do this on one book.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Awaitable, Callable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import structlog
from sqlalchemy import Connection, select
from sqlalchemy.exc import IntegrityError, OperationalError
from tenacity import RetryCallState, wait_exponential_jitter

from bot.book import access, claims
from bot.book.claims import Address, Attempt, Fate, Known
from bot.book.presence import Presence
from bot.book.store import Book
from bot.book.tables import outbox
from bot.messages import Outgoing
from bot.passing import way_shut
from bot.serve.sending import (
    Delivered,
    Lost,
    Refused,
    RetryAfter,
    Sender,
    Sent,
    Shut,
    Unreachable,
    note_leaving,
)
from bot.serve.wire import Wire, folder_of

Answer = tuple[Outgoing, Sent]

AT_ONCE = 200  # sends in the air
BEGUN = 30  # of them begun within a second: what a kill leaves in doubt, so not more than need be
CALM = 1.0  # seconds that we have to live before a second copy goes: it is the last one, and a
# process that is killed again and again as it starts must not use it up
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
    kept: bool = False  # the wait is in the book, for the other processes


class Delivery:
    """Sends what the outbox holds. `in_book` runs a step of the book off the event loop.

    `worker` is a number that no other process at this book has.
    """

    def __init__(
        self,
        book: Book,
        senders: Mapping[str, Sender],
        now: Callable[[], datetime],
        in_book: Callable[[Callable[[], Any]], Awaitable[Any]],
        worker: int = 1,
    ) -> None:
        self._book = book
        self._senders = senders
        self._now = now
        self._in_book = in_book
        self._presence = Presence(book, worker)
        self._wire = Wire(folder_of(book), self._presence.name)
        self.worker = self._presence.name  # what is written on the rows that we have in hand
        self._ways: dict[Address, _Way] = {}
        self._holds: dict[int, float] = {}  # in hand since, until what came of it is written down
        self._taken: list[Outgoing] = []  # in hand, and not on their way yet
        self._answers: list[Answer] = []  # to be written down
        self._settled: list[Attempt] = []  # written down
        self._sends: set[asyncio.Task[None]] = set()
        self._bell = asyncio.Event()
        self._tidied = float("-inf")
        self._calm = time.monotonic() + CALM
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
        self._calm = time.monotonic() + CALM
        self._wire.begin()
        await self._in_book(self._recall)
        while True:
            await self._round()
            try:
                await asyncio.wait_for(self._bell.wait(), self._look_in())
            except TimeoutError:
                continue

    async def finish(self, seconds: float) -> None:
        """Send what can be sent at once, for so long at most, and end.

        In the second half nothing more is begun, so that what is in hand gets its answer.
        """
        deadline = time.monotonic() + seconds
        while (left := deadline - time.monotonic()) > 0:
            self._ending = left < seconds / 2
            await self._round()
            if not self._holds:
                break
            if self._sends:
                await asyncio.wait(self._sends, timeout=left, return_when="FIRST_COMPLETED")
        for task in self._sends:
            task.cancel()
        self._wire.end()
        await self._in_book(self._presence.end)

    def _look_in(self) -> float:
        now = time.monotonic()
        moments = [self._calm, *(way.until for way in self._ways.values())]
        soon = [each - now for each in moments if each > now]
        return max(0.05, min([LOOK, *soon]))

    async def _round(self) -> None:
        """Write down what came of sends, take what is next in hand, and let it go on its way."""
        self._bell.clear()
        try:
            if await self._in_book(self._step):
                self._bell.set()
        except OperationalError as error:
            # What was answered stays to be written down, however long the book is busy.
            log.error("the outbox can't be used", error=type(error).__name__)
            await asyncio.sleep(LOOK)
        while self._settled:
            self._wire.settled(self._settled.pop())
        while self._taken:
            send = asyncio.create_task(self._send(self._taken.pop(0)))
            self._sends.add(send)
            send.add_done_callback(self._sends.discard)

    async def _send(self, each: Outgoing) -> None:
        attempt = _attempt(each)
        self._wire.leaves(attempt)
        note_leaving.set(lambda left: self._wire.note(attempt, left))
        try:
            answer = await self._senders[each.channel].send(each)
        except Exception as error:
            log.error("sending failed", channel=each.channel, why=type(error).__name__)
            answer = Lost()
        self._wire.answered(attempt, _known(answer))
        self._answers.append((each, answer))
        self._bell.set()

    # --- in the book, on its thread ---------------------------------------------------------

    def _recall(self) -> None:
        """What channels asked before a restart; never longer than asked, whatever the clock."""
        with self._book.reading() as conn:
            for address, seconds in claims.waits(conn, self._now()):
                self.leave_alone(*address, seconds)
                self._ways[address].kept = True

    def _step(self) -> bool:
        """One transaction, and only once it is committed is anything forgotten or begun.

        True where there may be more to take at once.
        """
        answers, now = list(self._answers), self._now()
        name, tidies = self._presence.name, time.monotonic() - self._tidied >= LOOK
        if not answers:
            with self._book.reading() as conn:
                if not claims.anything(conn, self._senders, name):
                    return False
        if tidies:
            self._presence.living()  # before we take anything, the others can see us
        busy: set[str] = set()
        with self._book.writing() as conn:
            self._settle(conn, answers, now)
            holds = self._holds.keys() - {each.id for each, _ in answers}
            if tidies:
                alive = self._presence.living
                busy = claims.let_go(conn, name, holds, alive, now, self._wire.of)
            left_alone = {way for way in self._ways if self.waits(*way)}
            over = [a for a, way in self._ways.items() if way.kept and a not in left_alone]
            claims.end_waits(conn, over, now)
            young = sum(time.monotonic() - self._holds[each] < 1.0 for each in holds)
            room = 0 if self._ending else min(AT_ONCE - len(holds), BEGUN - young)
            taken = claims.take(
                conn, self._senders, name, now, most=room, but=left_alone,
                repeats=time.monotonic() >= self._calm,
            )  # fmt: skip
        for address in over:
            self._ways[address].kept = False
        if tidies:
            self._wire.sweep(busy)
        self._settled += [_attempt(sent) for sent, _ in answers]
        del self._answers[: len(answers)]
        self._tidied = time.monotonic() if tidies else self._tidied
        begun = {each.id: time.monotonic() for each in taken.to_send}
        self._holds = {each: self._holds[each] for each in holds} | begun
        self._taken += taken.to_send
        for each in taken.given_up:
            log.error("given up: no answer to two copies", channel=each.channel, row=each.id)
        return bool(taken.given_up)

    def _settle(self, conn: Connection, answers: Sequence[Answer], now: datetime) -> None:
        """Write down what the channels said."""
        good = [(each.id, a.sent_as) for each, a in answers if isinstance(a, Delivered)]
        claims.delivered(conn, good, now)
        for each, answer in answers:
            try:
                with nullcontext() if isinstance(answer, Delivered) else conn.begin_nested():
                    self._settle_one(conn, each, answer, now)
            except IntegrityError as error:  # it is let go by and by, and tried once more
                log.error("an answer can't be written down", error=type(error).__name__)
            self.down[each.channel] = isinstance(answer, Unreachable | Lost)
            log.debug("sending", channel=each.channel, row=each.id, answer=type(answer).__name__)

    def _settle_one(self, conn: Connection, each: Outgoing, answer: Sent, now: datetime) -> None:
        address, name = (each.channel, each.address), self._presence.name
        match answer:
            case Delivered():
                self.last_sent = now
                if not self.waits(*address):
                    self._ways.pop(address, None)
            case RetryAfter(seconds):
                claims.not_taken(conn, each.id, name)
                self._wait(conn, address, seconds, now)
            case Unreachable() | Lost():
                free = claims.unknown if isinstance(answer, Lost) else claims.not_taken
                free(conn, each.id, name)
                way = self._ways.setdefault(address, _Way())
                way.failures += 1
                self._wait(conn, address, pause(way.failures), now)
            case Shut():
                claims.not_taken(conn, each.id, name)
                access.shut(conn, each.channel, each.address, now)
                _tell_owner(conn, each, now)
            case Refused(reason):
                claims.give_up(conn, each.id, now)
                log.error("the channel refused", channel=each.channel, row=each.id, why=reason)

    def _wait(self, conn: Connection, address: Address, seconds: float, now: datetime) -> None:
        claims.wait(conn, address, seconds, now)
        self.leave_alone(*address, seconds)
        self._ways[address].kept = True


def _attempt(each: Outgoing) -> Attempt:
    return each.id, each.again


def _known(answer: Sent) -> Known:
    """What an answer tells of an attempt."""
    if isinstance(answer, Delivered):
        return Fate.TAKEN, answer.sent_as
    return (Fate.LEFT if isinstance(answer, Lost) else Fate.NOT_SENT), None


def _tell_owner(conn: Connection, sent: Outgoing, now: datetime) -> None:
    """Let the owner know, by a way that is open, whom nothing reaches any more."""
    household = conn.execute(select(outbox.c.household).where(outbox.c.id == sent.id)).scalar_one()
    way_shut(conn, household, sent.channel, sent.address, now)
