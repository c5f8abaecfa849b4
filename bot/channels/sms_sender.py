"""Sends replies by SMS: the gateway's REST call, what its answers mean, and the month's allowance.

The form is Twilio's (`/2010-04-01/Accounts/<sid>/Messages.json`), which other gateways speak too.
"""

from __future__ import annotations

import asyncio
import json
from base64 import b64encode
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import Any
from urllib.parse import urlsplit

import aiohttp
from sqlalchemy import Connection

from bot.book import households, post
from bot.book.store import Book
from bot.channels import allowance
from bot.channels.sms_words import first_page
from bot.messages import Outgoing, Reply
from bot.serve.sending import (
    Delivered,
    Lost,
    Refused,
    RetryAfter,
    Sent,
    Shut,
    Unreachable,
    leaves,
    marked,
    not_yet,
)
from bot.settings import Settings
from bot.wording import say

CHANNEL = "sms"
InBook = Callable[[Callable[[], Any]], Awaitable[Any]]
OPTED_OUT = 21610  # the gateway's code for a number that has sent STOP
ANSWER_WITHIN = 20.0  # seconds
PAUSE = 5.0  # seconds, where the gateway asks for a pause without saying how long
LOOK_AGAIN = 3600.0  # seconds at most until the allowance is looked at again


class SmsSender:
    """The `Sender` for SMS. `now` gives an aware moment; months are those of the zone set.

    `in_book` runs a step of the book off the event loop, because it may have to wait for another
    writer. A book in memory has one connection, so there it must be the one way of all others.
    """

    def __init__(
        self,
        session: aiohttp.ClientSession,
        settings: Settings,
        book: Book,
        now: Callable[[], datetime],
        in_book: InBook = asyncio.to_thread,
    ) -> None:
        account, secret = settings.sms_account, settings.sms_secret
        if not (account and secret and settings.sms_number):
            raise ValueError("SMS is not set up")
        self._session = session
        self._settings = settings
        self._book = book
        self._now = now
        self._in_book = in_book
        login = b64encode(f"{account}:{secret}".encode()).decode()
        self._headers = {"Authorization": f"Basic {login}"}
        self._url = f"{settings.sms_api}/2010-04-01/Accounts/{account}/Messages.json"

    async def send(self, outgoing: Outgoing) -> Sent:
        """Send one page of a reply. A full month is a pause, so nothing is lost by it."""
        not_yet()  # the book comes first, and may take a while
        local = self._now().astimezone(self._settings.zone)
        month = allowance.month_of(local)
        taken = await self._in_book(lambda: self._take(month))
        if taken is None:
            return RetryAfter(min(allowance.until_next_month(local), LOOK_AGAIN))
        text = marked(first_page(outgoing.reply)[0], outgoing)
        if taken.last:
            text += "\n" + say("sms.last", most=taken.most)
        sent = await self._post(outgoing.address, text)
        if not isinstance(sent, Delivered | Lost):
            await self._in_book(lambda: self._give_back(month))
        elif taken.nearly_last:
            await self._in_book(lambda: self._tell_owner(taken, month))
        return sent

    def _take(self, month: str) -> allowance.Taken | None:
        with self._book.writing() as conn:
            return allowance.take(conn, CHANNEL, month, self._settings.sms_monthly)

    def _give_back(self, month: str) -> None:
        with self._book.writing() as conn:
            allowance.give_back(conn, CHANNEL, month)

    async def _post(self, to: str, text: str) -> Sent:
        body = {"To": to, "From": self._settings.sms_number, "Body": text}
        if can_be_called(self._settings):
            body["StatusCallback"] = f"{self._settings.url}/sms"
        leaves()
        try:
            async with self._session.post(
                self._url, data=body, headers=self._headers, allow_redirects=False,
                timeout=aiohttp.ClientTimeout(total=ANSWER_WITHIN),
            ) as response:  # fmt: skip
                status, headers = response.status, response.headers
                answer = _fields(await response.text(errors="replace"))
        except (aiohttp.ClientConnectorError, aiohttp.ConnectionTimeoutError):
            return Unreachable()
        except (aiohttp.ClientError, TimeoutError):
            return Lost()
        return meaning(status, answer, headers.get("Retry-After"), self._now())

    def _tell_owner(self, taken: allowance.Taken, month: str) -> None:
        """Warn whoever runs this past 80%, and say when all are used; by another channel if any."""
        with self._book.writing() as conn:
            first = allowance.warn(conn, CHANNEL, month)
            route = _owner_route(conn)
            by_sms = route is not None and route[1] == CHANNEL
            if route is None or not (taken.last or first) or (taken.last and by_sms):
                return
            key = "sms.spent" if taken.last else "sms.nearly"
            reply = Reply(say(key, sent=taken.sent, most=taken.most))
            post.put_out(conn, reply, *route, self._now())


def _owner_route(conn: Connection) -> tuple[households.Member, str, str] | None:
    """The owner of the first household (who set this up), on another channel than SMS if any."""
    for household in households.all_households(conn)[:1]:
        routes = [r for r in households.routes(conn, household.id) if r[0].role == "owner"]
        return min(routes, key=lambda route: route[1] == CHANNEL, default=None)
    return None


def can_be_called(settings: Settings) -> bool:
    """Whether the gateway can report to us: one far off refuses an address of this machine."""
    here = {"localhost", "127.0.0.1", "::1"}
    ours, theirs = urlsplit(settings.url).hostname, urlsplit(settings.sms_api).hostname
    return ours not in here or theirs in here


def _fields(body: str) -> dict[str, Any]:
    try:
        found = json.loads(body)
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}


def meaning(status: int, answer: dict[str, Any], retry_after: str | None, now: datetime) -> Sent:
    """What the gateway's answer says about the message."""
    code = answer.get("code")
    if 200 <= status < 300:
        sid = answer.get("sid")
        return Delivered(sid[:80] if isinstance(sid, str) else None)
    if code == OPTED_OUT:
        return Shut()
    if status == 429:
        return RetryAfter(_pause(retry_after, now))
    if status >= 500 or status == 401 or (status == 403 and str(code).startswith("20")):
        return Unreachable()  # codes 20xxx are about our account, not about this number
    if status == 403:
        return Shut()
    return Refused(f"status {status}, code {code if isinstance(code, int) else 'none'}")


def _pause(retry_after: str | None, now: datetime) -> float:
    """Seconds, from a Retry-After header: a number of them, or a date (RFC 9110, 10.2.3)."""
    if not retry_after:
        return PAUSE
    if retry_after.strip().isdecimal():
        return float(retry_after)
    try:
        until = parsedate_to_datetime(retry_after)
    except ValueError:
        return PAUSE
    until = until if until.tzinfo else until.replace(tzinfo=UTC)
    return max(0.0, (until - now).total_seconds())
