"""Done by one is done for all: the others who were told hear in one short line who did what."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import select, update

from bot.book import ledger, reminders
from bot.book.households import Member
from bot.book.pages import Pages
from bot.book.reminders import ReminderRow
from bot.book.tables import addresses, messages, outbox
from bot.book.tables import ledger as ledger_table
from bot.desk.restate import Manner, restate
from bot.messages import Outgoing, Reply
from bot.people import People
from bot.records import Record
from bot.wording import say

BY_WORD = ("done", "skipped")


def tell_others(
    pages: Pages, before: Iterable[str], doer: Member, message: int, now: datetime
) -> list[Outgoing]:
    """Tell the others of what this message closed; `before` are the keys that were told and open.

    What fell away by itself, with no record of the message that answers it, is not told.
    """
    keys = list(before)
    closed = reminders.closed_of(pages.conn, pages.household.id, keys) if keys else []
    if not closed:
        return []
    people = People(pages.conn, pages.household, now)
    take_back(pages, {row.key for row, _ in closed}, now)
    records = _records(pages, message)
    heard: dict[int, list[str]] = {}
    for row, how in closed:
        answer = next((each for each in records if _answers(each, row)), None)
        if how == "answered" and answer is not None:
            reminders.credit(pages.conn, pages.household.id, row.key, doer)
        for member in _others(row, doer, people):
            line = _line(row, how, answer, doer, member, people)
            if line and line not in heard.setdefault(member.id, []):
                heard[member.id].append(line)
    if _in_the_group(pages, message, people):  # there the answer has told them
        heard = {number: lines for number, lines in heard.items() if number not in people.inside}
    return [
        each
        for number in people.one_voice(number for number, lines in heard.items() if lines)
        for each in people.tell(
            people.members[number], Reply("\n".join(heard[number]), silent=True)
        )
    ]


def tell_open_again(
    pages: Pages, row: ReminderRow, doer: Member, message: int | None, now: datetime
) -> list[Outgoing]:
    """Tell the others who had a reminder that who closed it has taken that back."""
    people = People(pages.conn, pages.household, now)
    whom = {member.id for member in _others(row, doer, people)}
    if message is not None and _in_the_group(pages, message, people):
        whom -= people.inside
    line = say("heard.open_again", name=doer.name, what=row.text.rstrip("."))
    reply = Reply(line, silent=True)
    return [
        each
        for number in people.one_voice(whom)
        for each in people.tell(people.members[number], reply)
    ]


def take_back(pages: Pages, keys: set[str], now: datetime) -> None:
    """What is closed and still waits at a shut way is not sent when that way opens again."""
    here = (addresses.c.channel == outbox.c.channel) & (addresses.c.address == outbox.c.address)
    query = (
        select(outbox.c.id, outbox.c.reply)
        .join(addresses, here & (addresses.c.household == outbox.c.household))
        .where(
            outbox.c.household == pages.household.id,
            outbox.c.sent.is_(None),
            outbox.c.given_up.is_(None),
            addresses.c.shut.is_not(None),
        )
    )
    stale = [row.id for row in pages.conn.execute(query) if row.reply.get("reminder") in keys]
    if stale:
        pages.conn.execute(update(outbox).where(outbox.c.id.in_(stale)).values(given_up=now))


def _in_the_group(pages: Pages, message: int, people: People) -> bool:
    """Whether the message was written in the group where reminders are told."""
    chat = select(messages.c.chat).where(messages.c.id == message)
    return people.room is not None and pages.conn.execute(chat).scalar() == people.room


def _others(row: ReminderRow, doer: Member, people: People) -> list[Member]:
    told = (people.members.get(number) for number in row.told_to if number != doer.id)
    return [each for each in told if each is not None and each.role != "watcher"]


def _line(
    row: ReminderRow, how: str, answer: Record | None, doer: Member, member: Member, people: People
) -> str:
    if how in BY_WORD:
        return say(f"heard.{how}", name=doer.name, what=row.text.rstrip("."))
    if how == "answered" and answer is not None:
        today = people.today
        what = restate(answer, Manner(today, member.temperature, member.weight))
        return say("heard.record", name=doer.name, what=what)
    return ""


def _records(pages: Pages, message: int) -> list[Record]:
    """What a message wrote."""
    rows = pages.conn.execute(
        select(ledger_table)
        .where(
            ledger_table.c.household == pages.household.id,
            ledger_table.c.message == message,
            ledger_table.c.kind != ledger.UNDO,
        )
        .order_by(ledger_table.c.id)
    ).mappings()
    return [ledger.to_record(dict(row)) for row in rows]


def _answers(record: Record, row: ReminderRow) -> bool:
    """Whether a record names what a reminder is about, or its place."""
    named: set[str] = set()
    for value in record.fields.values():
        named.update(value if isinstance(value, tuple) else (str(value),))
    return bool(named & set(row.about)) or (row.place or "").casefold() in {
        each.casefold() for each in named
    }
