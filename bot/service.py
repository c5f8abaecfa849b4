"""The whole assistant behind any channel: a message in, replies out; and what falls due.

One message is one transaction: the message, its records, the state of the talk and the reply commit
together, and only then is anything sent.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection

from bot import desk
from bot.book import bound, households, ledger, pictures, post, reminders, wakes
from bot.book.access import Rule
from bot.book.duework import lean_on_rows
from bot.book.households import Member
from bot.book.pages import Cache, Pages, remember
from bot.book.store import Book
from bot.desk.context import Context
from bot.desk.family import outright, picked
from bot.desk.talk import talk_from_json, talk_to_json
from bot.desk.told import lately_told
from bot.door import come_in, speaker, where_it_went
from bot.heard import tell_others
from bot.language.reader import read
from bot.language.reading import Reading
from bot.links import followed
from bot.messages import Message, Outgoing, Reply
from bot.telling import Telling, next_moment

POSTPONED = timedelta(minutes=1)  # until a household that could not be told is tried again


class Rackside:
    """Answers messages and tells what is due. `now` gives an aware moment; nothing else does."""

    def __init__(
        self,
        book: Book,
        now: Callable[[], datetime],
        export_folder: Path | None = None,
        rule: Rule | None = None,
    ) -> None:
        self.book = book
        self.now = now
        self.export_folder = export_folder
        self.rule = rule  # how strangers may come in; None: not at all
        self.bot = ""  # our name on Telegram, once it is known
        self.url = ""  # how the world reaches us, without a trailing slash
        self.at_a_time: int | None = None  # households that one tick looks at; None: all
        self.behind = False  # whether the last tick may have left some for the next
        self._cache: Cache = {}
        self.telling = Telling(book, self._cache)

    def handle(self, message: Message, name: str = "") -> list[Outgoing]:
        """Take one message in and give what is to be sent back.

        A message that came before gives nothing. A stranger's message is not kept, and what
        answers it has the id 0. `name` is what the channel calls the sender.
        """
        now = self.now()
        with self.book.writing() as conn:
            member = _who(conn, message)
            if post.seen(conn, message) is not None:
                return []
            come = come_in(conn, message, member, name, self.rule, now)
            if member is None or come is not None:
                return come or []
            pages = Pages(conn, member.household, self._cache)
            out = self._answer(conn, pages, member, message, now)
            kept = pages.keeps()
        remember(self._cache, kept)
        return out

    def _answer(
        self, conn: Connection, pages: Pages, member: Member, message: Message, now: datetime
    ) -> list[Outgoing]:
        before = post.original(conn, message)
        number = post.take_in(conn, message, member, now)
        lean_on_rows(pages, now)
        told = open_now = reminders.told_and_open(conn, member.household)
        if before is not None:
            said = ledger.Said(member.id, message.channel, now, message.text, number)
            pages.undo_message(before, member=member, said=said)
            reminders.refresh(pages, now, reminders.Why.MESSAGE)
            open_now = reminders.told_and_open(conn, member.household)
        text, talk = picked(message.text, talk_from_json(member.talk))
        talk = replace(talk, told=lately_told(conn, open_now, member, now, before or number))
        message = replace(message, text=text)
        reading = (
            followed(text, pages.state)
            or outright(text)
            or read(text, message.at, pages.view(), talk)
        )
        context = Context(
            pages, member, message, number, talk, now, self.export_folder,
            bot=self.bot, url=self.url,
        )  # fmt: skip
        reply, talk = desk.answer(reading, context)
        reply = self._with_pictures(conn, message, number, reading, reply, member, now)
        reply = where_it_went(conn, message, member, reply)
        plain = talk_to_json(talk)
        if plain != (member.talk or {}):
            households.update_member(conn, member.id, talk=plain)
        reminders.refresh(pages, now, reminders.Why.MESSAGE)
        pages.wake(now.astimezone(pages.zone).date())
        out = context.others
        if reply.text:
            to = (member, message.channel, message.where)
            out = [post.put_out(conn, reply, *to, now, number), *out]
        return out + tell_others(pages, [row.key for row in told], member, number, now)

    def _with_pictures(
        self, conn: Connection, message: Message, number: int, reading: Reading, reply: Reply,
        member: Member, now: datetime,
    ) -> Reply:  # fmt: skip
        """Keep the picture that came; show the one of the animal or slot that was asked about."""
        if message.picture:
            pictures.keep(conn, member.household, number, message.picture, now)
        asked = reading.request
        about = (asked.get("tag") or asked.get("slot")) if asked else None
        if not isinstance(about, str):
            return reply
        return replace(reply, pictures=pictures.of(conn, member.household, about, message.channel))

    def tick(self) -> list[Outgoing]:
        """Put in the outbox what falls due by now, and give it.

        Where one household can't be told, the others are all the same, and then it is raised.
        """
        now, out, failed = self.now(), list[Outgoing](), list[Exception]()
        with self.book.reading() as conn:
            waiting = wakes.due(conn, now, self.at_a_time)
        self.behind = len(waiting) == self.at_a_time
        for household in waiting:
            try:
                out += self.telling.tell(household, now)
            except Exception as error:
                failed.append(error)
                with self.book.writing() as conn:
                    wakes.sleep_until(conn, household, now + POSTPONED, now)
        if failed:
            raise failed[0]
        return out

    def sent(self, number: int) -> None:
        """A channel has sent this one."""
        with self.book.writing() as conn:
            post.mark_sent(conn, number, self.now())

    def unsent(self, channel: str) -> list[Outgoing]:
        """What a channel still has to send, from before."""
        with self.book.reading() as conn:
            return post.unsent(conn, channel)

    def read(self, text: str, at: datetime, household: int) -> Reading:
        """What a message would be understood as; nothing is written."""
        with self.book.reading() as conn:
            return read(text, at, Pages(conn, household, {}).view())

    def next_wake(self, after: datetime) -> datetime | None:
        """The next moment at which `tick` may have something to do; None without households."""
        with self.book.reading() as conn:
            everyone = households.all_households(conn)
            moments = (next_moment(conn, household, after) for household in everyone)
            return min(moments, default=None)


def _who(conn: Connection, message: Message) -> Member | None:
    """Who speaks, once nobody else writes for their household; None for a stranger."""
    member = speaker(conn, message)
    if bound.take_turn(conn, member.household if member else None):
        return speaker(conn, message)
    return member


__all__ = ["Rackside", "Reply"]
