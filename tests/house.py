"""A house for tests of telling: people with phones, a clock set by hand, and who got what."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import select, update

from bot.book import access, households, reminders, wakes
from bot.book.households import Member
from bot.book.reminders import ReminderRow
from bot.book.tables import households as households_table
from bot.book.tables import outbox
from bot.desk.context import Context
from bot.desk.talk import talk_from_json, talk_to_json
from bot.language.reading import Outcome, Reading, Request
from bot.messages import Message, Outgoing, Reply
from bot.service import Rackside
from tests.book import support

SUNDAY = datetime(2026, 3, 1, 19, 0, tzinfo=UTC)  # in Lisbon, whose winter time is UTC


class House:
    """Ann owns the book. Everybody is on Telegram under their own name."""

    def __init__(self) -> None:
        self.now = SUNDAY
        self.book = support.open_book()
        self.rackside = Rackside(self.book, lambda: self.now)
        self.said = 0
        self.people: dict[str, Member] = {}
        with self.book.writing() as conn:
            ann = households.begin(conn, zone="Europe/Lisbon", owner="Ann", now=self.now)
            households.add_address(conn, ann, "telegram", "Ann")
        self.people["Ann"] = ann

    # --- people -----------------------------------------------------------------------------

    def join(self, name: str, role: str, **settings: Any) -> None:
        with self.book.writing() as conn:
            number = self.people["Ann"].household
            member = households.join(conn, household=number, name=name, role=role, now=self.now)
            households.add_address(conn, member, "telegram", name)
        self.people[name] = member
        self.set(name, **settings)

    def set(self, name: str, **columns: Any) -> None:
        if columns:
            with self.book.writing() as conn:
                households.update_member(conn, self.people[name].id, **columns)

    def set_pass_on(self, minutes: int | None) -> None:
        with self.book.writing() as conn:
            conn.execute(update(households_table).values(pass_on=minutes))

    def shut(self, name: str) -> None:
        with self.book.writing() as conn:
            access.shut(conn, "telegram", name, self.now)

    # --- what is said -----------------------------------------------------------------------

    def says(self, name: str, text: str) -> list[tuple[str, str]]:
        """Somebody writes; what goes out because of it."""
        self.said += 1
        return _told(
            self.rackside.handle(Message("telegram", str(self.said), name, text, self.now))
        )

    def asks(self, name: str, what: str, typed: str = "", **fields: Any) -> Reply:
        """A request as the reader gives it; the answer. What goes to others is in the outbox."""
        request = Request(what, fields)
        return self.reads(name, Reading(Outcome.REQUEST, request=request), typed)

    def reads(self, name: str, reading: Reading, typed: str = "") -> Reply:
        """A reading at the desk, the talk kept as the book keeps it."""
        from bot import desk
        from bot.book.pages import Pages

        with self.book.writing() as conn:
            member = households.find(conn, "telegram", name)
            assert member is not None
            pages = Pages(conn, member.household)
            message = Message("telegram", "", name, typed, self.now)
            talk = talk_from_json(member.talk)
            context = Context(pages, member, message, None, talk, self.now)
            reply, talk = desk.answer(reading, context)
            households.update_member(conn, member.id, talk=talk_to_json(talk))
            wakes.wake(conn, member.household)
        return reply

    # --- time -------------------------------------------------------------------------------

    def wait(self, **span: int) -> list[tuple[str, str]]:
        """What is told on the way, each at its own moment: to whom, and the words."""
        until, told = self.now + timedelta(**span), []
        while (wake := self.rackside.next_wake(self.now)) and wake <= until:
            self.now = wake.astimezone(UTC)
            told += _told(self.rackside.tick())
        self.now = until
        return told + self.look()

    def look(self) -> list[tuple[str, str]]:
        return _told(self.rackside.tick())

    # --- what is in the book ----------------------------------------------------------------

    def reminder(self, kind: str) -> ReminderRow:
        with self.book.reading() as conn:
            rows = reminders.open_reminders(
                conn, self.people["Ann"].household, self.now + timedelta(days=30)
            )
        return next(row for row in rows if row.kind == kind)

    def letters(self, name: str) -> list[str]:
        """Everything that was ever put in the outbox for somebody."""
        query = select(outbox.c.reply).where(outbox.c.member == self.people[name].id)
        with self.book.reading() as conn:
            return [
                str(reply["text"]) for reply in conn.execute(query.order_by(outbox.c.id)).scalars()
            ]


def _told(out: list[Outgoing]) -> list[tuple[str, str]]:
    return [(each.member, each.reply.text) for each in out]


def paired(house: House) -> House:
    """M2 goes in with F3, in tub 3, on a Sunday evening; he is to come out on Tuesday at nine."""
    for line in (
        "new female F3 picta hatched 2024-08-19, tub 3", "new male M2 picta hatched 2024-06-28",
        "F3 22g", "M2 24g", "M2 in with F3",
    ):  # fmt: skip
        house.says("Ann", line)
    house.look()
    return house
