"""Telegram at work: each update into the book, and only then is Telegram told that it was taken."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Awaitable, Callable, Coroutine
from datetime import datetime
from typing import Any, TypeVar

from sqlalchemy.exc import OperationalError
from telegram.error import BadRequest, Conflict, InvalidToken, TelegramError
from telegram.error import RetryAfter as PleaseWait

from bot.channels import telegram
from bot.channels.telegram import Telegram
from bot.channels.updates import CHANNEL, Moved, NoUpdate, Tapped, Written, read_update
from bot.serve.delivery import Delivery, pause
from bot.serve.intake import Intake, Press
from bot.serve.logs import blame, log

T = TypeVar("T")
PRESS_TRIES = 4
HASTY = 0.5  # seconds; an answer without news that comes sooner is not asked for again at once
REFUSED_PAUSE = 30.0  # seconds until a token refused in mid-run is tried again
InBook = Callable[[Callable[[], Any]], Awaitable[Any]]


class Phone:
    """Takes updates, by asking for them or as they are sent to us."""

    def __init__(
        self,
        line: Telegram,
        intake: Intake,
        delivery: Delivery,
        in_book: InBook,
        now: Callable[[], datetime],
        stop: asyncio.Event,
    ) -> None:
        self._line = line
        self._intake = intake
        self._delivery = delivery
        self._in_book = in_book
        self._now = now
        self._stop = stop
        self._turn = asyncio.Lock()
        self._aside: set[asyncio.Task[None]] = set()
        self.down = False

    # --- asking for updates -----------------------------------------------------------------

    async def poll(self) -> None:
        """Ask for updates until the end; an offset is confirmed by the next request only."""
        offset: int | None = None
        failures, ready = 0, False
        while not self._stop.is_set():
            asked = time.monotonic()
            try:
                if not ready:
                    await self._optional(self._line.close_webhook())
                    await self._introduce()
                    ready = True
                updates = await self._unless_stopped(self._line.updates(offset))
                self.down, failures = False, 0
            except TelegramError as error:
                failures += 1
                ready = ready and not isinstance(error, Conflict)
                await self._rest(self._after(error, failures))
                continue
            before = offset
            for update in updates or ():
                if self._stop.is_set() or not await self._kept(update):
                    break
                if isinstance(number := _number(update), int):
                    offset = max(number + 1, offset or 0)
            if offset == before and time.monotonic() - asked < HASTY:
                await self._rest(HASTY)

    async def be_called(self, base: str) -> None:
        """Have updates sent to us; tried until it is so."""
        failures = 0
        while not self._stop.is_set():
            try:
                await self._line.open_webhook(base)
                await self._introduce()
                self.down = False
                return
            except TelegramError as error:
                failures += 1
                await self._rest(self._after(error, failures))

    async def _introduce(self) -> None:
        """Learn our own name, which groups use, and offer the menu."""
        if not self._line.me:
            await self._optional(self._line.ask_who())
        self._intake.rackside.bot = self._line.me
        await self._optional(self._line.set_menu())

    async def _optional(self, what: Coroutine[Any, Any, None]) -> None:
        """What we can do without: where it fails, the updates themselves tell why."""
        try:
            await what
        except TelegramError as error:
            log.warning("Telegram did not do what was asked", error=type(error).__name__)

    def _after(self, error: TelegramError, failures: int) -> float:
        """Seconds to wait after an error."""
        if isinstance(error, PleaseWait):
            return telegram.seconds(error)
        self.down = True
        log.warning("Telegram can't be reached", error=type(error).__name__, failures=failures)
        return REFUSED_PAUSE if isinstance(error, InvalidToken) else pause(failures)

    async def _rest(self, seconds: float) -> None:
        await self._unless_stopped(asyncio.sleep(seconds))

    async def _unless_stopped(self, what: Coroutine[Any, Any, T]) -> T | None:
        """What it gives; None, with the request given up, where the end came first."""
        work, end = asyncio.ensure_future(what), asyncio.ensure_future(self._stop.wait())
        await asyncio.wait({work, end}, return_when=asyncio.FIRST_COMPLETED)
        end.cancel()
        if work.done():
            return work.result()
        work.cancel()
        await asyncio.wait({work})
        return None

    # --- one update -------------------------------------------------------------------------

    async def _kept(self, update: object) -> bool:
        """Take an update in; false where the book can't be written now, so that it comes again."""
        try:
            await self.take(update)
        except NoUpdate:
            log.warning("an update of no known form")
        except OperationalError as error:
            log.error("the book can't be written", **blame(error))
            await self._rest(2)
            return False
        except Exception as error:  # it would come again for ever, and hold up all others
            log.error("an update was left out", **blame(error))
        return True

    async def called(self, update: object) -> int:
        """Take an update that was sent to us; the status to answer with."""
        if not isinstance(_number(update), int):
            return 400
        try:
            await self.take(update)
        except NoUpdate:
            return 400
        except OperationalError as error:
            log.error("the book can't be written", **blame(error))
            return 503
        except Exception as error:
            log.error("an update was left out", **blame(error))
        return 200

    async def take(self, update: object) -> None:
        """Take an update in, one at a time. Raises NoUpdate, OperationalError."""
        what = read_update(update, self._line.me)
        async with self._turn:
            if isinstance(what, Written):
                await self._message(what)
            elif isinstance(what, Tapped):
                await self._press(what)
            elif isinstance(what, Moved):
                await self._in_book(lambda: self._intake.moved(what.old, what.new))

    async def _message(self, what: Written) -> None:
        message, name = what.message, what.name

        def step() -> str | None:
            if what.only is not None:
                return self._intake.say_only(message, what.only).aside
            answers = None if what.answers is None else str(what.answers)
            return self._intake.take(message, name, answers).aside

        try:
            aside = await self._in_book(step)
        except OperationalError:
            raise
        except Exception as error:  # ours to mend; the keeper hears that nothing was written
            log.error("a message could not be handled", **blame(error))
            aside = (await self._in_book(lambda: self._intake.say_only(message, "trouble"))).aside
        self._delivery.wake()
        log.info("message taken", channel=CHANNEL)
        if aside is not None:
            self._beside(message.where, self._line.say(message.where, aside))

    async def _press(self, tapped: Tapped) -> None:
        press = Press(
            CHANNEL, tapped.address, tapped.row, tapped.index, self._now(),
            tapped.chat if tapped.group else None,
        )  # fmt: skip
        try:
            pressed = await self._in_book(lambda: self._intake.press(press))
        except OperationalError:
            raise
        except Exception as error:
            log.error("a press could not be handled", **blame(error))
            return
        self._delivery.wake()
        log.info("press taken", channel=CHANNEL, effect=pressed.chosen is not None)
        self._beside(None, self._answer(tapped, pressed.notice))
        if pressed.chosen is not None:
            self._beside(tapped.chat, self._line.mark_pressed(tapped, pressed.chosen))
        if pressed.whole is not None:
            whole = self._line.show_all(tapped, pressed.whole, tapped.row, pressed.left)
            self._beside(tapped.chat, whole)

    async def _answer(self, tapped: Tapped, notice: str) -> None:
        """Answer a press; tried again while Telegram is not there, for as long as it may matter."""
        for failures in range(1, PRESS_TRIES + 1):
            try:
                return await self._line.answer_press(tapped, notice)
            except PleaseWait as error:
                wait = telegram.seconds(error)
            except BadRequest:  # too late to matter
                return None
            except TelegramError:
                wait = pause(failures)
            await self._rest(wait)
        return None

    def _beside(self, address: str | None, what: Coroutine[Any, Any, None]) -> None:
        """Say what is not owed: one try, and not to whom has to be left alone."""
        if address is not None and self._delivery.waits(CHANNEL, address):
            what.close()
            return
        task = asyncio.create_task(self._try(address, what))
        self._aside.add(task)
        task.add_done_callback(self._aside.discard)

    async def _try(self, address: str | None, what: Coroutine[Any, Any, None]) -> None:
        try:
            await what
        except PleaseWait as error:
            if address is not None:
                self._delivery.leave_alone(CHANNEL, address, telegram.seconds(error))
        except TelegramError as error:
            log.debug("not said", error=type(error).__name__)

    async def finish(self, seconds: float) -> None:
        """Let what is being said be said, for so long at most."""
        if self._aside:
            await asyncio.wait(set(self._aside), timeout=seconds)


def _number(update: object) -> object:
    number = update.get("update_id") if isinstance(update, dict) else None
    return None if isinstance(number, bool) else number
