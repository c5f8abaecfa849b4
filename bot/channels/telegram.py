"""Telegram: updates in, replies with buttons out. What an update means is worked out elsewhere.

The library is used for its requests and its pacing alone. Updates are fetched by a loop of our
own, so that one is confirmed only once it is in the book.
"""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
from telegram import BotCommand, InlineKeyboardButton, InlineKeyboardMarkup
from telegram.error import (
    BadRequest,
    ChatMigrated,
    Forbidden,
    InvalidToken,
    NetworkError,
    TelegramError,
)
from telegram.error import RetryAfter as PleaseWait
from telegram.ext import AIORateLimiter, ExtBot
from telegram.request import HTTPXRequest

from bot.channels.updates import CHANNEL as CHANNEL
from bot.channels.updates import Tapped
from bot.messages import Choice, Outgoing
from bot.serve.buttons import buttons, first_part
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
from bot.serve.words import words
from bot.settings import Settings

KINDS = ["message", "edited_message", "callback_query"]
LONGEST = 4096  # characters of a message, as Telegram counts: UTF-16 units
LABEL = 60  # characters of a button that a phone still shows
POLL = 20  # seconds that one request for updates stays open
ANSWER = 10  # seconds until an answer counts as lost
WAIT = 5.0  # seconds to wait where Telegram says "too many" and not how long
PICTURES = frozenset({".png", ".jpg", ".jpeg"})


class Fault(NetworkError):
    """An answer of 5xx: Telegram did not take it."""


class Requests(HTTPXRequest):
    """The library's requests; a fault on Telegram's side is told apart from a lost answer."""

    async def do_request(
        self, url: str, method: str, *rest: Any, **named: Any
    ) -> tuple[int, bytes]:
        """As the library's, but raises Fault for 5xx and PleaseWait for every 429."""
        leaves()
        code, payload = await super().do_request(url, method, *rest, **named)
        if code >= 500:
            raise Fault(f"status {code}")
        if code == 429:
            raise PleaseWait(_asked_wait(payload))
        return code, payload


def _asked_wait(payload: bytes) -> int:
    try:
        return max(1, round(float(json.loads(payload)["parameters"]["retry_after"])))
    except (ValueError, TypeError, KeyError):
        return round(WAIT)


# --- out ------------------------------------------------------------------------------------


def pieces(text: str, longest: int = LONGEST) -> Iterator[str]:
    """The text in messages that Telegram takes, broken between lines, or else between words."""
    while _units(text) > longest:
        end = longest
        while _units(text[:end]) > longest:
            end -= 1
        cut = max(text.rfind("\n", 0, end), 0) or max(text.rfind(" ", 0, end), 0) or end
        yield text[:cut]
        text = text[cut:].lstrip("\n ")
    if text:
        yield text


def _units(text: str) -> int:
    return len(text.encode("utf-16-le")) // 2


def keyboard(row: int, offered: tuple[Choice, ...]) -> InlineKeyboardMarkup | None:
    """Buttons that carry only where they stand: the outbox row and their number."""
    if not offered:
        return None
    made = [
        InlineKeyboardButton(each.label[:LABEL] or "?", callback_data=f"{row}:{number}")
        for number, each in enumerate(offered)
    ]
    width = 2 if all(len(each.label) <= 16 for each in offered) else 1
    return InlineKeyboardMarkup([made[n : n + width] for n in range(0, len(made), width)])


def secret(token: str, use: str) -> str:
    """A secret of our own for the webhook, the same at each start, that does not tell the token."""
    return hmac.new(token.encode(), f"rackside {use}".encode(), hashlib.sha256).hexdigest()[:40]


class Telegram:
    """The bot: asks for updates, sends replies, answers presses."""

    def __init__(self, settings: Settings) -> None:
        assert settings.telegram_token is not None
        self.token = settings.telegram_token
        api = settings.telegram_api
        # Made once for both: reading the certificates takes as long as all the rest here.
        trust = {"verify": httpx.create_ssl_context()}
        self._asking = Requests(
            connection_pool_size=2, connect_timeout=5, read_timeout=ANSWER, httpx_kwargs=trust
        )
        self._sending = Requests(
            connection_pool_size=256, connect_timeout=5, read_timeout=ANSWER, write_timeout=ANSWER,
            pool_timeout=ANSWER, httpx_kwargs=trust,
        )  # fmt: skip
        self.bot: ExtBot[Any] = ExtBot(
            self.token,
            base_url=f"{api}/bot",
            base_file_url=f"{api}/file/bot",
            request=self._sending,
            get_updates_request=self._asking,
            rate_limiter=AIORateLimiter(max_retries=0),
        )
        self.me = ""
        self._done: dict[int, int] = {}  # outbox row: pieces that went out before one did not

    async def ask_who(self) -> None:
        """Learn our own name. Raises InvalidToken, or NetworkError where nobody answers."""
        found = await self.bot.do_api_request("getMe", read_timeout=3)
        self.me = str(found.get("username") or "") if isinstance(found, dict) else ""

    async def open_webhook(self, base: str) -> None:
        """Have updates sent to us."""
        await self.bot.set_webhook(
            f"{base}/telegram/{secret(self.token, 'path')}",
            allowed_updates=KINDS,
            secret_token=secret(self.token, "header"),
        )

    async def close_webhook(self) -> None:
        """Have updates kept until we ask; none is lost."""
        await self.bot.delete_webhook(drop_pending_updates=False)

    async def set_menu(self) -> None:
        """Offer the few commands."""
        listed = [each for each in words()["commands"] if "about" in each]
        menu = [BotCommand(each["command"], each["about"]) for each in listed]
        await self.bot.set_my_commands(menu)

    async def updates(self, offset: int | None) -> list[Any]:
        """The next updates, as they come; asking from `offset` on confirms those before it."""
        asked: dict[str, Any] = {"timeout": POLL, "allowed_updates": KINDS}
        if offset is not None:
            asked["offset"] = offset
        payload = await self.bot.do_api_request("getUpdates", asked, read_timeout=POLL + ANSWER)
        return payload if isinstance(payload, list) else []

    async def send(self, outgoing: Outgoing) -> Sent:
        """Send a reply: its text with buttons below, then its files."""
        not_yet()  # the library may have to wait for its turn
        try:
            return Delivered(await self._send(outgoing, plain=False))
        except BadRequest as error:
            if "chat not found" in str(error).lower():
                return Refused("no such chat")
        except TelegramError as error:
            return outcome(error)
        try:
            return Delivered(await self._send(outgoing, plain=True))
        except TelegramError as error:
            return outcome(error)

    async def _send(self, outgoing: Outgoing, plain: bool) -> str | None:
        """Give the id of the last message sent. `plain` leaves out buttons and files."""
        reply = outgoing.reply
        shown = reply.text if plain else first_part(reply.text)[0]
        texts = list(pieces(marked(shown, outgoing))) or ["-"]
        markup = None if plain else keyboard(outgoing.id, buttons(reply))
        sent = None
        for number, text in enumerate(texts):
            if number < self._done.get(outgoing.id, 0):
                continue
            last = number == len(texts) - 1
            made = await self.bot.send_message(
                chat_id=int(outgoing.address),
                text=text,
                reply_markup=markup if last else None,
                disable_notification=reply.silent,
            )
            sent = str(made.message_id)
            self._done[outgoing.id] = number + 1
        files: tuple[Path | str, ...] = () if plain else (*reply.files, *reply.pictures)
        for number, file in enumerate(files, len(texts)):
            if number >= self._done.get(outgoing.id, 0):
                await self._send_file(outgoing.address, file)
                self._done[outgoing.id] = number + 1
        self._done.pop(outgoing.id, None)
        return sent

    async def _send_file(self, address: str, file: Path | str) -> None:
        """Send a file of ours, or by its id a picture that Telegram has."""
        if isinstance(file, str):
            await self.bot.send_photo(chat_id=int(address), photo=file)
            return
        if not file.is_file():
            return
        with file.open("rb") as body:
            if file.suffix.lower() in PICTURES:
                await self.bot.send_photo(chat_id=int(address), photo=body)
            else:
                await self.bot.send_document(chat_id=int(address), document=body)

    async def say(self, address: str, text: str) -> None:
        """A line that is not kept: one try."""
        await self.bot.send_message(chat_id=int(address), text=text)

    async def answer_press(self, tapped: Tapped, notice: str) -> None:
        """Take the waiting sign off a pressed button, with a word."""
        await self.bot.answer_callback_query(tapped.query, text=notice[:200])

    async def mark_pressed(self, tapped: Tapped, chosen: str) -> None:
        """Write what was chosen below the message, and take its buttons away."""
        if tapped.number is None:
            return
        text = f"{tapped.text}\n\n→ {chosen}"
        where: dict[str, Any] = {"chat_id": int(tapped.chat), "message_id": tapped.number}
        if not tapped.text or _units(text) > LONGEST:
            await self.bot.edit_message_reply_markup(**where)
        else:
            await self.bot.edit_message_text(text, **where)

    async def show_all(self, tapped: Tapped, text: str, row: int, left: tuple[Choice, ...]) -> None:
        """Put the whole of a long answer where its beginning stands; what is too long follows."""
        first, *others = pieces(text)
        if tapped.number is not None:
            await self.bot.edit_message_text(
                first,
                chat_id=int(tapped.chat),
                message_id=tapped.number,
                reply_markup=keyboard(row, left),
            )
        for each in others:
            await self.say(tapped.chat, each)

    async def close(self) -> None:
        """Let go of the connections."""
        await self._asking.shutdown()
        await self._sending.shutdown()


def outcome(error: TelegramError) -> Sent:
    """What the channel said, from what the library made of it."""
    if isinstance(error, PleaseWait):
        return RetryAfter(seconds(error))
    if isinstance(error, Forbidden):
        return Shut()
    if isinstance(error, BadRequest):
        return Refused("bad request")
    if isinstance(error, _NOT_TAKEN) or isinstance(error.__cause__, _NOT_SENT):
        return Unreachable()
    return Lost()


_NOT_TAKEN = (Fault, InvalidToken, ChatMigrated)
_NOT_SENT = (httpx.ConnectError, httpx.ConnectTimeout, httpx.PoolTimeout)


def seconds(error: PleaseWait) -> float:
    """The seconds that Telegram asks us to wait."""
    asked: Any = error._retry_after
    return float(asked.total_seconds() if hasattr(asked, "total_seconds") else asked)
