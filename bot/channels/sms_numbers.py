"""What a bare number means by SMS: an answer to the last text that went to that phone.

Buttons carry what they stand for; a number does not. So it is looked up in what was sent last: a
reminder (1 done, 2 snooze), or a reply with numbered choices. Where it could answer two things, it
is asked which, and nothing is done.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, NamedTuple

from sqlalchemy import Connection, select

from bot.book import households, post
from bot.book.households import Member
from bot.book.tables import addresses, outbox
from bot.desk.reminders import task_words, told_at
from bot.desk.talk import talk_from_json, talk_to_json
from bot.messages import Choice, Message, Reply
from bot.wording import say

if TYPE_CHECKING:
    from bot.book.reminders import ReminderRow
    from bot.language.reading import Talk

BARE = re.compile(r"#?([1-9]\d?)[.)!]?", re.ASCII)
CLOSING = ("done", "snooze")  # what 1 and 2 mean to a reminder
UNDO = "undo"


class Last(NamedTuple):
    """The last text that went to a phone: of which household, to whom, whether it was an answer."""

    number: int
    household: int
    member: int
    reply: Reply
    answers: bool


def numbered(reply: Reply) -> tuple[Choice, ...]:
    """The choices that a number picks, in their order; undo is said in words."""
    if reply.reminder:
        says = [say(f"tell.says_{each}") for each in CLOSING]
        return tuple(each for said in says for each in reply.choices if each.says == said)
    return tuple(each for each in reply.choices if each.says != UNDO)


def unsaid(reply: Reply) -> bool:
    """Whether there are choices that the text does not say itself, so that they are to be added."""
    return any(
        each.label not in reply.text and f'"{each.says}"' not in reply.text
        for each in numbered(reply)
    )


def _picked(reply: Reply, number: int) -> Choice | None:
    """The choice that was shown under a number; none that was only offered in words."""
    choices = numbered(reply)
    if number > len(choices):
        return None
    choice = choices[number - 1]
    return choice if unsaid(reply) or f"{number} {choice.label}" in reply.text else None


def meant(
    conn: Connection, message: Message, member: Member, now: datetime
) -> Message | Reply | None:
    """What a bare number amounts to: other words, or a question back; None where it stays as it is.

    What it is about is noted in the member's talk.
    """
    found = BARE.fullmatch(message.text.strip())
    if not found:
        return None
    number, last = int(found[1]), _last(conn, message)
    if last is None:
        return None
    whose = _member(conn, last) or member
    if last.household != member.household:
        message = replace(message, household=last.household)
    talk = talk_from_json(whose.talk)
    if talk.question is not None:
        return None if last.answers else Reply(say("sms.two_meanings"))
    if not last.answers and (last.reply.reminder or not last.reply.choices):
        return _to_a_reminder(conn, number, last, whose, talk, message, now)
    if talk.tasks and not last.reply.choices and _lists(last, number):
        return Reply(say("sms.which_verb", n=number))
    choice = _picked(last.reply, number)
    return replace(message, text=choice.says) if choice else None


def _to_a_reminder(
    conn: Connection, number: int, last: Last, member: Member, talk: Talk, message: Message,
    now: datetime,
) -> Message | Reply | None:  # fmt: skip
    """1 is done, 2 is snooze; below a list of several the number is that of the list."""
    if last.reply.reminder is None:
        return replace(message, text=f"{CLOSING[0]} {number}") if _lists(last, number) else None
    if number > len(CLOSING):
        return None
    rows = _told(conn, last.household, member, now)
    if not rows:
        return Reply(say("tasks.nothing_open"))
    verb = CLOSING[number - 1]
    talk = replace(talk, tasks=tuple(task_words(row) for row in rows))
    households.update_member(conn, member.id, talk=talk_to_json(talk))
    return replace(message, text=f"{verb} 1") if len(rows) == 1 else _which(verb, rows)


def _lists(last: Last, number: int) -> bool:
    """Whether a text has a line of that number."""
    return any(line.startswith(f"{number} ") for line in last.reply.text.split("\n"))


def _which(verb: str, rows: Sequence[ReminderRow]) -> Reply:
    choices = tuple(Choice(row.text.rstrip("."), f"{verb} {n}") for n, row in enumerate(rows, 1))
    lines = [f"{n} {each.label}" for n, each in enumerate(choices, 1)]
    return Reply("\n".join([say("sms.which", verb=verb), *lines]), choices)


def _told(conn: Connection, household: int, member: Member, now: datetime) -> list[ReminderRow]:
    """What was told to this member and nobody has answered, in the order of telling."""
    from bot.book import reminders

    rows = reminders.open_reminders(conn, household, now + reminders.AHEAD)
    told = [(at, row) for row in rows if (at := told_at(row, member.id)) and row.snoozed is None]
    return [row for _, row in sorted(told, key=lambda each: (each[0], each[1].due, each[1].key))]


def _last(conn: Connection, message: Message) -> Last | None:
    """The last text to the phone that this came from, of any household that it is in."""
    here = (addresses.c.channel == message.channel) & (addresses.c.address == message.address)
    found: list[Last] = []
    for household in conn.execute(select(addresses.c.household).where(here)).scalars():
        query = (
            select(outbox.c.id, outbox.c.member, outbox.c.reply, outbox.c.message)
            .where(
                outbox.c.household == household, outbox.c.channel == message.channel,
                outbox.c.address == message.address,
            )
            .order_by(outbox.c.id.desc())
            .limit(1)
        )  # fmt: skip
        for row in conn.execute(query):
            reply = post.reply_from_json(row.reply)
            found.append(Last(row.id, household, row.member, reply, row.message is not None))
    return max(found, default=None, key=lambda last: last.number)


def _member(conn: Connection, last: Last) -> Member | None:
    everyone = households.of_household(conn, last.household)
    return next((each for each in everyone if each.id == last.member), None)
