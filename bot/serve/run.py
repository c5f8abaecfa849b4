"""`rackside serve`: puts book, channels, clock and HTTP together, until SIGTERM or SIGINT."""

from __future__ import annotations

import asyncio
import gc
import random
import signal
import sys
from collections.abc import Awaitable, Callable, Coroutine, Mapping
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, TypeVar

from aiohttp import ClientSession, web

from bot.book.access import Rule, open_owner_code
from bot.book.bound import take_turn
from bot.book.errors import BookError
from bot.book.store import Book
from bot.channels.allowance import month_of
from bot.language import calendar_days
from bot.serve import logs
from bot.serve.calendar import calendar
from bot.serve.copies import copy_of_the_day
from bot.serve.delivery import Delivery
from bot.serve.hold import held
from bot.serve.intake import Intake
from bot.serve.logs import blame, log
from bot.serve.metrics import Counted, CountedRackside, Metrics, Post, post_now, used_in
from bot.serve.sending import Sender
from bot.serve.server import Doors, application
from bot.settings import Settings

if TYPE_CHECKING:
    from bot.serve.phone import Phone

T = TypeVar("T")
STOPPED, WRONG_SETTING, NO_BOOK = 0, 3, 4
SIGNALS = (signal.SIGTERM, signal.SIGINT)
RING = 2.0  # seconds between looks at the wall clock
AT_A_TIME = 20  # households told of what is due before the next message gets its turn
LAST_WORDS = 3.5  # seconds to send what is owed when we end
STARTING = 10.0  # seconds for the first messages, before what few of them need is made ready
BOOK_ANSWERS = 3.0  # seconds within which a usable book can be written


def serve(settings: Settings) -> int:
    """Serve until a signal; gives the exit status. What is wrong is said on stderr, a line each."""
    if settings.telegram_token is None and settings.sms_account is None:
        return _say(
            WRONG_SETTING, "RACKSIDE_TELEGRAM_TOKEN: missing; set it, or RACKSIDE_SMS_ACCOUNT, "
            "RACKSIDE_SMS_SECRET and RACKSIDE_SMS_NUMBER: there is no channel to serve",
        )  # fmt: skip
    for each in SIGNALS:  # until the loop takes them over
        signal.signal(each, lambda *_: sys.exit(STOPPED))
    secrets = (settings.telegram_token, settings.sms_secret, settings.owner_code)
    logs.set_up(settings.log, secrets)
    try:
        book = Book.open(settings.book)
    except BookError as error:
        return _say(NO_BOOK, str(error))
    try:
        with held(book.path):
            return asyncio.run(_Serve(settings, book).run())
    except BookError as error:
        return _say(NO_BOOK, str(error))
    finally:
        book.close()


def _say(status: int, line: str) -> int:
    print(f"rackside: {line}", file=sys.stderr, flush=True)
    return status


def wall_clock() -> datetime:
    """The one place where `serve` reads the wall clock."""
    return datetime.now(UTC)


class _Serve:
    """One run of `serve`. The book is used on one thread of its own, a step at a time."""

    def __init__(self, settings: Settings, book: Book) -> None:
        self.settings = settings
        self.book = book
        self.rule = Rule(settings.zone.key, settings.owner_code, settings.open)
        self.metrics = Metrics()
        self.rackside = CountedRackside(book, wall_clock, rule=self.rule, metrics=self.metrics)
        self.rackside.url = settings.url
        self.rackside.at_a_time = AT_A_TIME
        self.thread = ThreadPoolExecutor(1, "book")
        self.trials = ThreadPoolExecutor(1, "health")
        self.trial: asyncio.Future[bool] | None = None
        self.stop = asyncio.Event()
        self.senders: dict[str, Sender] = {}
        worker = random.SystemRandom().getrandbits(31)
        self.delivery = Delivery(book, self.senders, wall_clock, self.in_book, worker)
        self.phone: Phone | None = None

    async def in_book(self, step: Callable[[], T]) -> T:
        """Run a step on the book's thread."""
        return await asyncio.get_running_loop().run_in_executor(self.thread, step)

    async def run(self) -> int:
        """Start, serve, end; gives the exit status."""
        for each in SIGNALS:
            asyncio.get_running_loop().add_signal_handler(each, self.stop.set)
        async with ClientSession() as session:
            if not await self._open_channels(session):
                return _say(WRONG_SETTING, "RACKSIDE_TELEGRAM_TOKEN: Telegram refused the token")
            runner = web.AppRunner(
                application(self._doors()),
                access_log=None,
                shutdown_timeout=1.5,
                handle_signals=False,
            )
            await runner.setup()
            try:
                await web.TCPSite(runner, *self.settings.listen).start()
            except OSError:
                await runner.cleanup()
                host, port = self.settings.listen
                return _say(WRONG_SETTING, f"RACKSIDE_LISTEN: {host}:{port} can't be listened at")
            await self._serve(runner)
        self.thread.shutdown()
        self.trials.shutdown(wait=False)
        return STOPPED

    async def _serve(self, runner: web.AppRunner) -> None:
        code = await self.in_book(self._owner_code)
        if code is not None and self.settings.owner_code is None:
            print(f"owner code {code}", flush=True)
        log.info("serving", channels=sorted(self.senders), worker=self.delivery.worker)
        polling = self._updates()
        work = (self._ring, self.delivery.run, self._settle)
        tasks = [asyncio.create_task(self._never_ending(each)) for each in work]
        asked = asyncio.create_task(self._never_ending(polling)) if polling else None
        await self.stop.wait()
        log.info("ending")
        if asked is not None:
            await asyncio.wait({asked}, timeout=2.5)
        await runner.cleanup()
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        await self.delivery.finish(LAST_WORDS)
        if self.phone is not None:
            await self.phone.finish(0.5)
        log.info("ended")

    async def _settle(self) -> None:
        """Once the start is over: make ready for dates, and look for garbage again.

        What the start made stays to the end, so it is not looked through every time.
        """
        await asyncio.sleep(STARTING)
        await asyncio.get_running_loop().run_in_executor(self.trials, calendar_days.warm)
        gc.collect()
        gc.freeze()
        gc.enable()

    def _owner_code(self) -> str | None:
        with self.book.writing() as conn:
            take_turn(conn, None)  # two processes may start at once
            return open_owner_code(conn, self.rule, wall_clock(), random.SystemRandom())

    # --- channels ---------------------------------------------------------------------------

    async def _open_channels(self, session: ClientSession) -> bool:
        """False where Telegram refuses the token; being out of reach is no reason to end."""
        settings = self.settings
        if settings.sms_account is not None:
            from bot.channels.sms_sender import SmsSender

            gateway = SmsSender(session, settings, self.book, wall_clock, self.in_book)
            self.senders["sms"] = Counted("sms", gateway, self.metrics)
        if settings.telegram_token is None:
            return True
        from telegram.error import InvalidToken, TelegramError

        from bot.channels.telegram import CHANNEL, Telegram
        from bot.serve.phone import Phone

        line = Telegram(settings)
        self.senders[CHANNEL] = Counted(CHANNEL, line, self.metrics)
        intake = Intake(self.rackside)
        self.phone = Phone(line, intake, self.delivery, self.in_book, wall_clock, self.stop)
        try:
            await line.ask_who()
        except InvalidToken:
            return False
        except TelegramError as error:
            self.phone.down = True
            log.warning("Telegram can't be reached", error=type(error).__name__)
        return True

    def _updates(self) -> Callable[[], Coroutine[Any, Any, None]] | None:
        """How updates come: asked for, or sent to us once Telegram knows where."""
        phone, base = self.phone, self.settings.telegram_webhook
        if phone is None:
            return None
        if base is None:
            return phone.poll
        return lambda: phone.be_called(base)

    def _doors(self) -> Doors:
        async def find_calendar(secret: str) -> bytes | None:
            return await self.in_book(lambda: calendar(self.book, secret, wall_clock()))

        doors: dict[str, Any] = {
            "health": self._health, "calendar": find_calendar, "delivery": self._delivered,
            "metrics": self._figures, "watch": self.metrics.request,
        }  # fmt: skip
        if self.phone is not None and self.settings.telegram_webhook is not None:
            from bot.channels.telegram import secret

            token = self.settings.telegram_token or ""
            doors |= {
                "telegram": self.phone.called,
                "telegram_path": secret(token, "path"),
                "telegram_header": secret(token, "header"),
            }
        if "sms" in self.senders:
            doors["sms"] = self._sms
        return Doors(**doors)

    async def _sms(self, form: Mapping[str, str], signature: str) -> tuple[int, str]:
        from bot.channels.sms import answer

        def step() -> tuple[int, str]:
            # On the book's thread like every other step, so that two never share what is kept.
            return asyncio.run(answer(form, signature, self.settings, self.rackside))

        said = await self.in_book(step)
        self.delivery.wake()
        return said

    # --- clock and health -------------------------------------------------------------------

    async def _ring(self) -> None:
        """Look at the wall clock every few seconds; what the book says is due goes out."""
        while True:
            if await self.in_book(self.rackside.tick):
                self.delivery.wake()
            if self.rackside.behind:
                continue
            await self._copy()
            await asyncio.sleep(RING)

    async def _copy(self) -> None:
        folder = self.settings.backups
        if folder is None:
            return
        today = wall_clock().astimezone(self.settings.zone).date()
        try:
            if await self.in_book(lambda: copy_of_the_day(self.book, folder, today)):
                log.info("copied the book")
        except OSError as error:
            log.error("the book could not be copied", **blame(error))

    async def _never_ending(self, work: Callable[[], Awaitable[None]]) -> None:
        """Begin again where a loop ends by an error: one bad row must not end the service."""
        while True:
            try:
                return await work()
            except Exception as error:
                log.error("begun again after an error", **blame(error))
                await asyncio.sleep(RING)

    async def _health(self) -> dict[str, str]:
        states = {"book": "ok" if await self._usable() else "down"}
        for channel in ("telegram", "sms"):
            down = self.delivery.down.get(channel, False)
            if channel == "telegram" and self.phone is not None:
                down = down or self.phone.down
            states[channel] = ("down" if down else "ok") if channel in self.senders else "off"
        return states

    async def _delivered(self) -> dict[str, str | None]:
        """The moments that tell whether delivery is alive."""
        post, _ = await self.in_book(self._look)
        moments = {"last_delivery": post.last, "oldest_undelivered": post.oldest}
        return {name: at.isoformat() if at else None for name, at in moments.items()}

    async def _figures(self, accept: str) -> tuple[bytes, str]:
        """The metrics, with what the book says now where it can be asked."""
        usable = await self._usable()
        self.metrics.usable(usable)
        if usable:
            post, used = await self.in_book(self._look)
            self.metrics.look(post, wall_clock(), used, self.settings.sms_monthly)
        return self.metrics.text(accept)

    def _look(self) -> tuple[Post, int]:
        month = month_of(wall_clock().astimezone(self.settings.zone))
        with self.book.reading() as conn:
            return post_now(conn, list(self.senders)), used_in(conn, "sms", month)

    async def _usable(self) -> bool:
        """Whether the book can be written within a few seconds, tried on a thread of its own."""
        if self.trial is None or self.trial.done():
            loop = asyncio.get_running_loop()
            self.trial = loop.run_in_executor(self.trials, self.book.usable)
        try:
            return await asyncio.wait_for(asyncio.shield(self.trial), BOOK_ANSWERS)
        except Exception:  # whatever it is: it can't be used
            self.trial.add_done_callback(lambda trial: trial.exception())
            return False
