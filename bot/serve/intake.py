"""What comes in from afar, into the book first: strangers, messages, edits, presses."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, select

from bot.book import access, family, households, ledger, post
from bot.book.households import Member
from bot.book.tables import members, messages, outbox
from bot.book.tables import reminders as reminders_table
from bot.desk.talk import talk_from_json, talk_to_json
from bot.messages import Choice, Message, Reply
from bot.serve.buttons import MORE, UNDO, buttons, first_part
from bot.serve.words import said
from bot.service import Rackside

_CLOSES = re.compile(r"(done|skip|snooze)\b(?!\s+\d+(?:\s|$))", re.IGNORECASE)
"""Said in reply to a reminder, and with no number of another, it is about that one."""


@dataclass(frozen=True)
class Taken:
    """What became of a message. `aside` is a line that the outbox can't hold: for a stranger."""

    aside: str | None = None


@dataclass(frozen=True)
class Press:
    """A button pressed: the `index`-th below the outbox row `row`, by whom and when.

    `chat` is the group that it stands in, where it is one.
    """

    channel: str
    address: str
    row: int
    index: int
    at: datetime
    chat: str | None = None

    @property
    def where(self) -> str:
        """The address that the row went to."""
        return self.chat or self.address


@dataclass(frozen=True)
class Pressed:
    """What became of it. `notice` answers the press; `chosen` is the label, where it had effect.

    `whole` is all of an answer of which the beginning was shown, with the buttons `left` below it.
    """

    notice: str
    chosen: str | None = None
    whole: str | None = None
    left: tuple[Choice, ...] = ()


class Intake:
    """Takes in what channels bring. Each call is one step, committed when it returns."""

    def __init__(self, rackside: Rackside) -> None:
        self.rackside = rackside

    def take(self, message: Message, name: str, answers: str | None = None) -> Taken:
        """Take a message in, whoever wrote it. `name` is what the channel calls the sender.

        `answers` is the channel's id of a message of ours that it was written in reply to.
        """
        meant = self._renamed(message)
        if meant is None:
            return Taken()
        if answers is not None:
            meant = self._in_reply(meant, answers)
        if self._said_more(meant):
            return Taken()
        out = self.rackside.handle(meant, name)
        return Taken(next((each.reply.text for each in out if each.id == 0), None))

    def say_only(self, message: Message, key: str) -> Taken:
        """Answer what has no words with a line of our own; a stranger is told so as ever."""
        with self.rackside.book.writing() as conn:
            member = family.speaker(conn, message)
            if member is not None:
                access.reopen(conn, message.channel, message.where)
                if post.seen(conn, message) is None:
                    self._reply(conn, message, member, Reply(said(key)))
                return Taken()
        return self.take(replace(message, text=""), "")

    def moved(self, old: str, new: str) -> None:
        """A group has another number now."""
        with self.rackside.book.writing() as conn:
            family.move_room(conn, old, new)

    def press(self, press: Press) -> Pressed:
        """What a press amounts to is handled as a message, once for all buttons of a reply."""
        with self.rackside.book.writing() as conn:
            row = _row(conn, press)
            member = _presser(conn, press, row)
            if member is None:
                return Pressed(said("press.private"))
            choice = _choice(row, press.index)
            if row is None or choice is None:
                return Pressed(said("press.old"))
            if choice.says == MORE:
                return _all_of(row)
            message = _as_message(press, choice, row)
            if post.seen(conn, message) is not None:
                return Pressed(said("press.old"))
            stale = self._stale(conn, row, choice, member)
            if stale:
                return Pressed(said(stale))
            meant = _about_its_task(conn, row, choice.says, member, message)
            if meant is None:
                return Pressed(_already(conn, row))
        self.rackside.handle(meant)
        return Pressed(said("press.taken"), choice.label)

    # --- inside -----------------------------------------------------------------------------

    def _reply(self, conn: Connection, message: Message, member: Member, reply: Reply) -> None:
        now = self.rackside.now()
        number = post.take_in(conn, message, member, now)
        post.put_out(conn, reply, member, message.channel, message.where, now, number)

    def _in_reply(self, message: Message, answers: str) -> Message:
        """A reply goes to the book that it replies to; "done" is about that reminder."""
        with self.rackside.book.writing() as conn:
            row = _sent_as(conn, message, answers)
            if row is None:
                return message
            book = row["household"]
            member = family.member_at(conn, message.channel, message.address, book)
            if member is None:
                return message
            meant = replace(message, household=book)
            closes = _CLOSES.match(meant.text.strip())
            if closes is None or post.seen(conn, meant) is not None:
                return meant
            return _about_its_task(conn, row, closes[0], member, meant) or meant

    def _said_more(self, message: Message) -> bool:
        """Whether it was "more", answered with the rest of the last long answer there."""
        if message.text.strip().strip(".!").casefold() != MORE:
            return False
        with self.rackside.book.writing() as conn:
            member = family.speaker(conn, message)
            rest = _rest_of_the_last(conn, message, member) if member is not None else ""
            if member is None or not rest or post.seen(conn, message) is not None:
                return False
            self._reply(conn, message, member, Reply(rest))
        return True

    def _renamed(self, message: Message) -> Message | None:
        """An edit of an edit replaces the last one; None where the words stayed the same."""
        if message.edits is None:
            return message
        with self.rackside.book.reading() as conn:
            last = conn.execute(
                select(messages.c.channel_id, messages.c.text)
                .where(
                    messages.c.channel == message.channel,
                    messages.c.channel_id.startswith(message.edits, autoescape=True),
                    messages.c.channel_id != message.id,
                )
                .order_by(messages.c.id.desc())
            ).first()
        if last is None:
            return replace(message, edits=None)
        return None if last.text == message.text else replace(message, edits=last.channel_id)

    def _stale(self, conn: Connection, row: Any, choice: Choice, member: Member) -> str | None:
        """Why a press comes too late to mean what it says, or None where it does not."""
        reply = post.reply_from_json(row["reply"])
        if choice.says == UNDO:
            return None if _wrote_last(conn, row["message"], member) else "press.later"
        if reply.reminder:
            return None
        question = talk_from_json(member.talk).question
        if question is not None and choice.says in question.choices:
            return None
        return None if row["id"] == _latest_reply(conn, member, row) else "press.old"


def _row(conn: Connection, press: Press) -> Any:
    """The reply that the button belongs to, if it went to where it was pressed."""
    return (
        conn.execute(
            select(outbox).where(
                outbox.c.id == press.row,
                outbox.c.channel == press.channel,
                outbox.c.address == press.where,
            )
        )
        .mappings()
        .first()
    )


def _presser(conn: Connection, press: Press, row: Any) -> Member | None:
    """Who pressed it, in the book that the button belongs to; else in any."""
    if row is None:
        return households.find(conn, press.channel, press.address)
    return family.member_at(conn, press.channel, press.address, row["household"])


def _sent_as(conn: Connection, message: Message, number: str) -> Any:
    """What we sent under the channel's own number, where the message was written."""
    return (
        conn.execute(
            select(outbox)
            .where(
                outbox.c.channel == message.channel,
                outbox.c.address == message.where,
                outbox.c.sent_as == number,
            )
            .order_by(outbox.c.id.desc())
        )
        .mappings()
        .first()
    )


def _rest_of_the_last(conn: Connection, message: Message, member: Member) -> str:
    """What the last answer to a place has still to say; "" where that is nothing."""
    last = conn.execute(
        select(outbox.c.reply)
        .where(
            outbox.c.household == member.household,
            outbox.c.channel == message.channel,
            outbox.c.address == message.where,
        )
        .order_by(outbox.c.id.desc())
        .limit(1)
    ).scalar()
    return "" if last is None else first_part(post.reply_from_json(last).text)[1]


def _all_of(row: Any) -> Pressed:
    """The whole of a long answer; it writes nothing, and may be pressed as often as one likes."""
    reply = post.reply_from_json(row["reply"])
    left = tuple(each for each in buttons(reply) if each.says != MORE)
    return Pressed("", whole=reply.text, left=left)


def _choice(row: Any, index: int) -> Choice | None:
    offered = buttons(post.reply_from_json(row["reply"])) if row is not None else ()
    return offered[index] if 0 <= index < len(offered) else None


def _as_message(press: Press, choice: Choice, row: Any) -> Message:
    """A press under an id that all buttons of a reply share, so that only one has effect."""
    name = f"press.{press.row}" + (f".{UNDO}" if choice.says == UNDO else "")
    return Message(
        press.channel, name, press.address, choice.says, press.at,
        chat=press.chat, household=row["household"],
    )  # fmt: skip


def _about_its_task(
    conn: Connection, row: Any, says: str, member: Member, message: Message
) -> Message | None:
    """Done and Snooze say which task: the one of their own reminder, now number 1 in the talk.

    None where that reminder is closed already.
    """
    from bot.book import reminders
    from bot.desk.reminders import task_words

    key = post.reply_from_json(row["reply"]).reminder
    closes = _CLOSES.match(says)
    if key is None or closes is None:
        return message
    for each in reminders.open_reminders(conn, member.household, message.at + reminders.AHEAD):
        if each.key == key:
            talk = replace(talk_from_json(member.talk), tasks=(task_words(each),))
            households.update_member(conn, member.id, talk=talk_to_json(talk))
            rest = message.text.strip()[closes.end() :]
            return replace(message, text=f"{closes[1].casefold()} 1{rest}")
    return None


def _already(conn: Connection, row: Any) -> str:
    """That it is done already, and by whom, where somebody said so."""
    name = conn.execute(
        select(members.c.name)
        .join(reminders_table, reminders_table.c.closed_by == members.c.id)
        .where(
            reminders_table.c.household == row["household"],
            reminders_table.c.key == post.reply_from_json(row["reply"]).reminder,
        )
    ).scalar()
    return said("press.done_by", name=name) if name else said("press.old")


def _wrote_last(conn: Connection, message: int | None, member: Member) -> bool:
    """Whether this message is the last of the member's that wrote and still stands."""
    rows = ledger.rows(conn, member.household)
    gone = ledger.taken_back(rows)
    mine = [
        row["message"]
        for row in rows
        if row["member"] == member.id and row["kind"] != ledger.UNDO and row["id"] not in gone
    ]
    return bool(mine) and message is not None and mine[-1] == message


def _latest_reply(conn: Connection, member: Member, row: Any) -> int | None:
    found = conn.execute(
        select(func.max(outbox.c.id)).where(
            outbox.c.member == member.id,
            outbox.c.channel == row["channel"],
            outbox.c.address == row["address"],
            outbox.c.message.is_not(None),
        )
    ).scalar()
    return None if found is None else int(found)
