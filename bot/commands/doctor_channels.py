"""What `rackside doctor` asks the channels: who we are, where messages go, and what time it is."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import urlsplit

from bot.commands.house import House
from bot.settings import Settings

if TYPE_CHECKING:
    from aiohttp import ClientSession

    from bot.commands.doctor import Finding

ANSWER_WITHIN = 10.0  # seconds
CLOCK_OFF = timedelta(seconds=60)  # more than this apart, reminders are noticeably off
BEHIND = 100  # updates waiting at Telegram: more than anybody types while nobody is looking
HERE = ("localhost", "127.0.0.1", "::1")


class Answer(NamedTuple):
    """What an address answered: its status (0: nothing), its JSON, and its own clock."""

    status: int
    body: Any = None
    date: datetime | None = None


def look_at_channels(settings: Settings) -> Iterator[Finding]:
    """What can be seen without asking: whether the world could reach the address set."""
    called = settings.sms_account is not None or settings.telegram_webhook is not None
    yield "url", _address(settings) if called else None


def _address(settings: Settings) -> str | None:
    hook = settings.telegram_webhook
    if settings.sms_account and _far(settings.sms_api) and not _far(settings.url):
        return (
            "the SMS gateway can't reach this machine by that name; "
            "set RACKSIDE_URL to the address that it calls"
        )
    if hook and _far(settings.telegram_api) and not (_far(hook) and hook.startswith("https://")):
        return "Telegram calls only public https addresses; put one in RACKSIDE_TELEGRAM_WEBHOOK"
    return None


def _far(address: str) -> bool:
    return urlsplit(address).hostname not in HERE


def ask_channels(settings: Settings, house: House) -> Iterator[Finding]:
    """Whether each channel that is set up knows us, and agrees with our clock."""
    yield from asyncio.run(_ask(settings, house))


async def _ask(settings: Settings, house: House) -> list[Finding]:
    from aiohttp import ClientSession, ClientTimeout

    found: list[Finding] = []
    dates: list[timedelta] = []
    async with ClientSession(timeout=ClientTimeout(ANSWER_WITHIN)) as session:
        if settings.telegram_token:
            await _telegram(session, settings, house, found, dates)
        if settings.sms_account:
            await _sms(session, settings, house, found, dates)
        if _served(settings):
            found.append(("address", await _ourselves(session, settings)))
    if dates:
        found.append(("clock", _clock(min(dates, key=abs))))
    return found


async def _get(session: ClientSession, url: str, **headers: str) -> Answer:
    from aiohttp import ClientError

    try:
        async with session.get(url, headers=headers, allow_redirects=False) as answer:
            try:
                body = await answer.json(content_type=None)
            except ValueError:
                body = None
            return Answer(answer.status, body, _date(answer.headers.get("Date")))
    except (ClientError, TimeoutError):
        return Answer(0)


def _date(header: str | None) -> datetime | None:
    try:
        found = parsedate_to_datetime(header) if header else None
    except ValueError:
        return None
    return found if found is None or found.tzinfo else found.replace(tzinfo=UTC)


async def _telegram(
    session: ClientSession, settings: Settings, house: House, found: list[Finding],
    dates: list[timedelta],
) -> None:  # fmt: skip
    base = f"{settings.telegram_api}/bot{settings.telegram_token}"
    answer = await _get(session, f"{base}/getMe")
    _note_clock(answer, house, dates)
    found.append(("telegram", _token(answer, settings)))
    if answer.status == 200:
        hook = await _get(session, f"{base}/getWebhookInfo")
        found.append(("webhook", _webhook(hook, settings, house.now())))


def _token(answer: Answer, settings: Settings) -> str | None:
    if answer.status in (401, 404):
        return "the token is refused; copy RACKSIDE_TELEGRAM_TOKEN again from where you got it"
    if answer.status != 200:
        return f"no answer from {settings.telegram_api}; look at the connection, then try again"
    return None


def _webhook(answer: Answer, settings: Settings, now: datetime) -> str | None:
    """Whether updates go where they should. What `serve` would put right by itself is fine."""
    info = answer.body.get("result") if isinstance(answer.body, dict) else None
    if answer.status != 200 or not isinstance(info, dict):
        return None
    url, served = str(info.get("url") or ""), _served(settings)
    if settings.telegram_webhook is None:
        if url and served:
            return "updates are sent to another address, so none comes here; start serve again"
        return None
    if served and not url.startswith(f"{settings.telegram_webhook}/telegram/"):
        return "Telegram does not send updates to RACKSIDE_TELEGRAM_WEBHOOK; start serve again"
    failed = info.get("last_error_date")
    if isinstance(failed, int) and now - datetime.fromtimestamp(failed, UTC) < timedelta(hours=1):
        return (
            f"Telegram could not hand an update over: {str(info.get('last_error_message'))[:200]}"
        )
    if isinstance(waiting := info.get("pending_update_count"), int) and waiting > BEHIND:
        return f"{waiting} updates wait at Telegram; is serve running, and reachable from outside?"
    return None


async def _sms(
    session: ClientSession, settings: Settings, house: House, found: list[Finding],
    dates: list[timedelta],
) -> None:  # fmt: skip
    """Ask for our own account, which sends nothing and costs nothing."""
    from base64 import b64encode

    login = b64encode(f"{settings.sms_account}:{settings.sms_secret}".encode()).decode()
    url = f"{settings.sms_api}/2010-04-01/Accounts/{settings.sms_account}.json"
    answer = await _get(session, url, Authorization=f"Basic {login}")
    _note_clock(answer, house, dates)
    found.append(("sms", _account(answer, settings)))


def _account(answer: Answer, settings: Settings) -> str | None:
    if answer.status == 0 or answer.status >= 500:
        return f"no answer from {settings.sms_api}; look at the connection, then try again"
    if answer.status in (401, 403):
        return "the account is refused; look at RACKSIDE_SMS_ACCOUNT and RACKSIDE_SMS_SECRET"
    status = answer.body.get("status") if isinstance(answer.body, dict) else None
    if status in ("suspended", "closed"):
        return f"the gateway says that the account is {status}; settle that with the gateway"
    return None


async def _ourselves(session: ClientSession, settings: Settings) -> str | None:
    """Whether the `serve` that is running answers at the address that the world is given."""
    answer = await _get(session, f"{settings.url}/health")
    if isinstance(answer.body, dict) and "book" in answer.body:
        return None
    return (
        f"serve is running, but not reached at {settings.url}; look at RACKSIDE_URL and any proxy"
    )


def _served(settings: Settings) -> bool:
    from bot.serve.hold import is_held

    return "://" not in settings.book and is_held(Path(settings.book))


def _note_clock(answer: Answer, house: House, dates: list[timedelta]) -> None:
    if answer.date is not None:
        dates.append(house.now() - answer.date)


def _clock(off: timedelta) -> str | None:
    """The channel's clock against ours."""
    if abs(off) <= CLOCK_OFF:
        return None
    minutes = max(1, round(abs(off).total_seconds() / 60))
    way = "fast" if off > timedelta(0) else "slow"
    return f"it is {minutes} min {way}; reminders go by it, so have the machine set it by network"
