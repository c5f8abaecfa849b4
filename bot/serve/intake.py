"""What comes in from afar, into the book first: strangers, messages, edits, presses."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, select

from bot.book import access, households, ledger, post
from bot.book.households import Member
from bot.book.tables import members, messages, outbox
from bot.book.tables import reminders as reminders_table
from bot.desk.talk import talk_from_json, talk_to_json
from bot.messages import Choice, Message, Reply
from bot.serve.words import said
from bot.service import Rackside
from bot.wording import say

UNDO = "undo"
CLOSING = ("done", "snooze")
"""What is said to a reminder alone, and so needs to name it."""


@dataclass(frozen=True)
class Taken:
    """What became of a message. `aside` is a line that the outbox can't hold: for a stranger."""

    aside: str | None = None


@dataclass(frozen=True)
class Press:
    """A button pressed: the `index`-th below the outbox row `row`, by whom and when."""

    channel: str
    address: str
    row: int
    index: int
    at: datetime


@dataclass(frozen=True)
class Pressed:
    """What became of it. `notice` answers the press; `chosen` is the label, where it had effect."""

    notice: str
    chosen: str | None = None


def buttons(reply: Reply) -> tuple[Choice, ...]:
    """The buttons below a reply: its choices, and Undo, Done or Snooze where they belong."""
    offered = list(reply.choices)
    known = {each.says for each in offered}
    extra = [Choice(say("talk.undo"), UNDO)] if reply.wrote else []
    if reply.reminder:
        extra += [Choice(say(f"tell.{each}"), say(f"tell.says_{each}")) for each in CLOSING]
    return (*offered, *(each for each in extra if each.says not in known))


class Intake:
    """Takes in what channels bring. Each call is one step, committed when it returns."""

    def __init__(self, rackside: Rackside) -> None:
        self.rackside = rackside

    def take(self, message: Message, name: str) -> Taken:
        """Take a message in, whoever wrote it. `name` is what the channel calls the sender."""
        meant = self._renamed(message)
        if meant is None:
            return Taken()
        out = self.rackside.handle(meant, name)
        return Taken(next((each.reply.text for each in out if each.id == 0), None))

    def say_only(self, message: Message, key: str) -> Taken:
        """Answer what has no words with a line of our own; a stranger is told so as ever."""
        now = self.rackside.now()
        with self.rackside.book.writing() as conn:
            member = households.find(conn, message.channel, message.address)
            if member is not None:
                access.reopen(conn, message.channel, message.address)
                if post.seen(conn, message) is None:
                    number = post.take_in(conn, message, member, now)
                    reply = Reply(said(key))
                    post.put_out(conn, reply, member, message.channel, message.address, now, number)
                return Taken()
        return self.take(replace(message, text=""), "")

    def press(self, press: Press) -> Pressed:
        """What a press amounts to is handled as a message, once for all buttons of a reply."""
        with self.rackside.book.writing() as conn:
            member = households.find(conn, press.channel, press.address)
            row = _row(conn, press, member)
            if member is None:
                return Pressed(said("press.private"))
            choice = _choice(row, press.index)
            if row is None or choice is None:
                return Pressed(said("press.old"))
            message = _as_message(press, choice)
            if post.seen(conn, message) is not None:
                return Pressed(said("press.old"))
            stale = self._stale(conn, row, choice, member)
            if stale:
                return Pressed(said(stale))
            meant = _about_its_task(conn, row, choice, member, message)
            if meant is None:
                return Pressed(_already(conn, row))
        self.rackside.handle(meant)
        return Pressed(said("press.taken"), choice.label)

    # --- inside -----------------------------------------------------------------------------

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


def _row(conn: Connection, press: Press, member: Member | None) -> Any:
    """The reply that the button belongs to, if it went to this member here."""
    if member is None:
        return None
    return (
        conn.execute(
            select(outbox).where(
                outbox.c.id == press.row,
                outbox.c.household == member.household,
                outbox.c.channel == press.channel,
                outbox.c.address == press.address,
            )
        )
        .mappings()
        .first()
    )


def _choice(row: Any, index: int) -> Choice | None:
    offered = buttons(post.reply_from_json(row["reply"])) if row is not None else ()
    return offered[index] if 0 <= index < len(offered) else None


def _as_message(press: Press, choice: Choice) -> Message:
    """A press under an id that all buttons of a reply share, so that only one has effect."""
    name = f"press.{press.row}" + (f".{UNDO}" if choice.says == UNDO else "")
    return Message(press.channel, name, press.address, choice.says, press.at)


def _about_its_task(
    conn: Connection, row: Any, choice: Choice, member: Member, message: Message
) -> Message | None:
    """Done and Snooze say which task: the one of their own reminder, now number 1 in the talk.

    None where that reminder is closed already.
    """
    from bot.book import reminders
    from bot.desk.reminders import task_words

    key = post.reply_from_json(row["reply"]).reminder
    closing = {say(f"tell.says_{each}"): each for each in CLOSING}
    if key is None or choice.says not in closing:
        return message
    for each in reminders.open_reminders(conn, member.household, message.at + reminders.AHEAD):
        if each.key == key:
            talk = replace(talk_from_json(member.talk), tasks=(task_words(each),))
            households.update_member(conn, member.id, talk=talk_to_json(talk))
            return replace(message, text=f"{closing[choice.says]} 1")
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
