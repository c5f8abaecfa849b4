"""What a Telegram update says: a message, its edit, a press, a group that moved; or nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from bot.messages import Message
from bot.serve.words import words

CHANNEL = "telegram"
HUGE = 2**63  # Telegram's numbers are below
GROUPS = ("group", "supergroup")


@dataclass(frozen=True)
class Written:
    """A message or its edit. `only` names the answer where there are no words to read.

    `answers` is the number of the message of ours that it was written in reply to.
    """

    message: Message
    name: str
    only: str | None = None
    answers: int | None = None


@dataclass(frozen=True)
class Tapped:
    """A button below one of our messages; `chat` and `number` are where it stands.

    `address` is who pressed it. `group` is true where others can, too.
    """

    query: str
    address: str
    row: int
    index: int
    chat: str
    number: int | None
    text: str
    group: bool = False


@dataclass(frozen=True)
class Moved:
    """A group that has another number from now on."""

    old: str
    new: str


class NoUpdate(ValueError):
    """That is not an update of Telegram's form."""


def read_update(update: Any, me: str = "") -> Written | Tapped | Moved | None:
    """What an update says; None for what concerns nobody here. Raises NoUpdate.

    `me` is the bot's user name: in a group, only what names it, answers it or is a command counts.
    """
    try:
        number = update["update_id"]
        if not isinstance(number, int) or isinstance(number, bool) or abs(number) >= HUGE:
            raise NoUpdate("no number")
        if "callback_query" in update:
            return _tapped(update["callback_query"])
        for kind in ("message", "edited_message"):
            if kind in update:
                return _written(update[kind], number, kind == "edited_message", me)
    except (KeyError, TypeError, AttributeError, ValueError, OverflowError, OSError) as error:
        raise NoUpdate(type(error).__name__) from error
    return None


def _written(body: Mapping[str, Any], number: int, edited: bool, me: str) -> Written | Moved | None:
    chat, sender = body["chat"], body.get("from") or body["chat"]
    if sender.get("is_bot"):
        return None
    group = chat.get("type") in GROUPS
    if group and "migrate_to_chat_id" in body:
        return Moved(str(_id(chat["id"])), str(_id(body["migrate_to_chat_id"])))
    text, picture = body.get("text") or body.get("caption") or "", _picture(body)
    if not isinstance(text, str):
        raise NoUpdate("no text")
    text = _whole(text)
    if group and not _spoken_to(body, text, me):
        return None
    where = f"{_id(chat['id'])}.{_id(body['message_id'])}."
    message = Message(
        channel=CHANNEL,
        id=f"{where}{number}",
        address=str(_id(sender["id"])),
        text=_plain_words(text, me),
        at=datetime.fromtimestamp(int(body["date"]), UTC),
        edits=where if edited else None,
        picture=picture,
        chat=str(_id(chat["id"])) if group else None,
    )
    only = None if text.strip() else ("which_picture" if picture else "only_words")
    if only and _service(body):
        return None
    return Written(message, _name(sender), only, _answered(body))


def _answered(body: Mapping[str, Any]) -> int | None:
    """The number of our message that this one replies to."""
    first = body.get("reply_to_message") or {}
    ours = (first.get("from") or {}).get("is_bot")
    return _id(first["message_id"]) if ours and "message_id" in first else None


def _id(number: Any) -> int:
    found = int(number)
    if abs(found) >= HUGE:
        raise NoUpdate("no id")
    return found


def _whole(text: str) -> str:
    """The text without what no database takes: half characters and NUL."""
    return text.encode("utf-8", "replace").decode().replace("\0", "")


def _picture(body: Mapping[str, Any]) -> str | None:
    sizes = body.get("photo") or ()
    return _whole(str(sizes[-1]["file_id"]))[:200] if sizes else None


def _service(body: Mapping[str, Any]) -> bool:
    """Joins, pins, titles and the like: nobody said anything."""
    said = {
        "photo", "sticker", "voice", "audio", "video", "video_note", "animation", "document",
        "location", "contact", "poll", "dice", "venue", "story",
    }  # fmt: skip
    return not said & set(body)


def _name(who: Mapping[str, Any]) -> str:
    parts = (who.get("first_name"), who.get("last_name"))
    return _whole(" ".join(str(each) for each in parts if each) or str(who.get("title") or ""))


def _spoken_to(body: Mapping[str, Any], text: str, me: str) -> bool:
    answered = (body.get("reply_to_message") or {}).get("from") or {}
    named = bool(me) and f"@{me.casefold()}" in text.casefold()
    return named or text.startswith("/") or bool(answered.get("is_bot"))


def _plain_words(text: str, me: str) -> str:
    """The words alone: no @name of ours, and commands of the menu as what they stand for."""
    if me:
        at = text.casefold().find(f"@{me.casefold()}")
        if at >= 0:
            text = f"{text[:at]}{text[at + len(me) + 1 :]}".strip()
    if not text.startswith("/"):
        return text
    word, _, rest = text[1:].partition(" ")
    word = word.partition("@")[0].casefold()
    known = {each["command"]: each["says"] for each in words()["commands"]}
    if word == "start":  # a link: with a code, or with a tag or slot from a label
        return f"/start {rest.strip()}" if rest.strip() else str(words()["start"])
    return str(known.get(word, f"{word} {rest}".strip()))


def _tapped(query: Mapping[str, Any]) -> Tapped:
    message = query.get("message") or {}
    chat = message.get("chat") or query["from"]
    row, _, index = str(query.get("data", "")).partition(":")
    good = row.isdecimal() and index.isdecimal() and len(row) < 19 and len(index) < 4
    number, text = message.get("message_id"), message.get("text")
    return Tapped(
        query=str(query["id"])[:100],
        address=str(_id(query["from"]["id"])),
        row=int(row) if good else 0,
        index=int(index) if good else 0,
        chat=str(_id(chat["id"])),
        number=int(number) if number is not None else None,
        text=text if isinstance(text, str) else "",
        group=chat.get("type") in GROUPS,
    )
