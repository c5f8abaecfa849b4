"""The whole assistant behind any channel: a message in, replies out; and what falls due.

One message is one transaction: the message, its records, the state of the talk and the reply commit
together, and only then is anything sent.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from bot import desk, digest
from bot.book import households, ledger, pictures, post, reminders
from bot.book.access import Rule
from bot.book.households import Household, Member
from bot.book.pages import Cache, Pages
from bot.book.store import Book
from bot.desk.context import Context
from bot.desk.talk import talk_from_json, talk_to_json
from bot.door import come_in
from bot.language.reader import read
from bot.language.reading import Reading
from bot.messages import Message, Outgoing, Reply

LATE = timedelta(hours=1)  # told longer after its time than this, a reminder is marked late
NEW_DAY = time(0, 5)  # when each household's reminders are worked out for the day
DAWN = 6  # the hour before which no reminder is due: until then a new day is seen as it begins
TELLS = ("owner", "keeper")  # who gets reminders


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
        self._cache: Cache = {}
        self._fresh: dict[int, object] = {}  # household -> local day whose reminders are made

    def handle(self, message: Message, name: str = "") -> list[Outgoing]:
        """Take one message in and give what is to be sent back.

        A message that came before gives nothing. A stranger's message is not kept, and what
        answers it has the id 0. `name` is what the channel calls the sender.
        """
        now = self.now()
        with self.book.writing() as conn:
            member = households.find(conn, message.channel, message.address)
            if post.seen(conn, message) is not None:
                return []
            come = come_in(conn, message, member, name, self.rule, now) if self.rule else None
            if member is None or come is not None:
                return come or []
            pages = Pages(conn, member.household, self._cache)
            out = self._answer(conn, pages, member, message, now)
            kept = pages.keeps()
        self._cache.update(kept)
        return out

    def _answer(
        self, conn: Connection, pages: Pages, member: Member, message: Message, now: datetime
    ) -> list[Outgoing]:
        before = post.original(conn, message)
        number = post.take_in(conn, message, member, now)
        if before is not None:
            said = ledger.Said(member.id, message.channel, now, message.text, number)
            pages.undo_message(before, member=member, said=said)
        talk = talk_from_json(member.talk)
        reading = read(message.text, message.at, pages.view(), talk)
        context = Context(pages, member, message, number, talk, now, self.export_folder)
        reply, talk = desk.answer(reading, context)
        reply = self._with_pictures(conn, message, number, reading, reply, member, now)
        households.update_member(conn, member.id, talk=talk_to_json(talk))
        reminders.refresh(pages, now, reminders.Why.MESSAGE)
        self._fresh[member.household] = now.astimezone(pages.zone).date()
        if not reply.text:
            return []
        return [post.put_out(conn, reply, member, message.channel, message.address, now, number)]

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
        return replace(
            reply, pictures=pictures.of(conn, member.household, about, message.channel)
        )

    def tick(self) -> list[Outgoing]:
        """Put in the outbox what falls due by now, and give it."""
        now = self.now()
        out: list[Outgoing] = []
        with self.book.reading() as conn:
            everyone = households.all_households(conn)
        for household in everyone:
            out += self._tell(household, now)
        return out

    def _tell(self, household: Household, now: datetime) -> list[Outgoing]:
        today = now.astimezone(ZoneInfo(household.zone)).date()
        with self.book.writing() as conn:
            kept: Cache = {}
            if self._fresh.get(household.id) != today:
                pages = Pages(conn, household.id, self._cache)
                reminders.refresh(pages, now, self._why(household, now))
                kept = pages.keeps()
            out = self._put_out_due(conn, household, now)
            out += self._put_out_digests(conn, household, now)
        self._cache.update(kept)
        self._fresh[household.id] = today
        return out

    def _why(self, household: Household, now: datetime) -> reminders.Why:
        """A new day, where we saw it begin; else a start: we were down, or the machine dozed."""
        local = now.astimezone(ZoneInfo(household.zone))
        yesterday = local.date() - timedelta(days=1)
        seen = self._fresh.get(household.id) == yesterday and local.hour < DAWN
        return reminders.Why.NEW_DAY if seen else reminders.Why.START

    def _put_out_due(self, conn: Connection, household: Household, now: datetime) -> list[Outgoing]:
        due = reminders.to_tell(conn, household.id, now)
        ways = households.ways(conn, household.id)
        routes = [
            (member, channel, address)
            for member, channel, address in households.routes(conn, household.id)
            # The console shows it too: nobody carries a console about.
            if ((member, channel, address) in ways or channel == "console")
            and member.role in TELLS
            and not quiet(member, household, now)
        ]
        if not due or not routes:
            return []
        late = {row.key for row in due if now - (row.snoozed or row.due) > LATE}
        for row in due:
            reminders.told(conn, household.id, row.key, now)
        return [
            post.put_out(conn, reply, member, channel, address, now)
            for member, channel, address in routes
            for reply in desk.tell(due, member, household, now, late)
        ]

    def _put_out_digests(
        self, conn: Connection, household: Household, now: datetime
    ) -> list[Outgoing]:
        wanted = digest.wanting(conn, household, now)
        if not wanted:
            return []
        ways = {member.id: (c, a) for member, c, a in households.ways(conn, household.id)}
        return digest.put_out(Pages(conn, household.id, {}), wanted, ways, now)

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
        found: list[datetime] = []
        with self.book.reading() as conn:
            for household in households.all_households(conn):
                zone = ZoneInfo(household.zone)
                day = after.astimezone(zone).date() + timedelta(days=1)
                found.append(datetime.combine(day, NEW_DAY, zone))
                due = reminders.next_due(conn, household.id, after)
                if due is not None:
                    found.append(due)
                found += _quiet_ends(conn, household, after)
        return min(found, default=None)


def quiet(member: Member, household: Household, now: datetime) -> bool:
    """Whether it is now in this member's quiet hours: a reminder then waits for their end."""
    if not member.quiet_from or not member.quiet_to:
        return False
    wall = now.astimezone(ZoneInfo(member.zone or household.zone)).strftime("%H:%M")
    if member.quiet_from <= member.quiet_to:
        return member.quiet_from <= wall < member.quiet_to
    return wall >= member.quiet_from or wall < member.quiet_to


def _quiet_ends(conn: Connection, household: Household, after: datetime) -> list[datetime]:
    ends = []
    for member in households.of_household(conn, household.id):
        if member.quiet_to:
            zone = ZoneInfo(member.zone or household.zone)
            day = after.astimezone(zone).date()
            for each in (day, day + timedelta(days=1)):
                end = datetime.combine(each, time.fromisoformat(member.quiet_to), zone)
                if end > after:
                    ends.append(end)
    return ends


__all__ = ["Rackside", "Reply", "quiet"]
