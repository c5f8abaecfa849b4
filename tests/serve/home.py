"""A household on the phone, for tests: who says what, what is said back; a real book and desk."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from sqlalchemy import select

from bot import desk
from bot.book import family, households, post
from bot.book.access import Rule
from bot.book.households import Member
from bot.book.pages import Pages
from bot.book.store import Book
from bot.book.tables import addresses, reminders
from bot.desk.context import Context
from bot.desk.talk import talk_from_json, talk_to_json
from bot.language.reading import Outcome, Reading, Request
from bot.messages import Message, Outgoing
from bot.serve.buttons import buttons
from bot.serve.intake import Intake, Press, Pressed
from bot.service import Rackside

NOW = datetime(2026, 3, 10, 12, 0, tzinfo=UTC)
INES, MINA, RUI, STRANGER = "1", "2", "3", "9"
GROUP = "-70"
RULE = Rule("Europe/Lisbon", "owners-code")
NAMES = {INES: "Ines", MINA: "Mina", RUI: "Rui", STRANGER: "Zoe"}


class Home:
    """Ines owns the book; others join it by codes. Everybody writes on Telegram."""

    def __init__(self, where: str = ":memory:") -> None:
        self.now = NOW
        self.book = Book.open(where)
        self.intake = Intake(Rackside(self.book, lambda: self.now, rule=RULE))
        self.count = 0
        self.says(INES, "owners-code")

    def says(
        self, who: str, text: str, chat: str | None = None, answers: str | None = None
    ) -> list[str]:
        """What is said back: through the outbox, or aside to a stranger."""
        self.count += 1
        before = self._last()
        message = Message("telegram", f"{self.count}.", who, text, self.now, chat=chat)
        aside = self.intake.take(message, NAMES[who], answers).aside
        return ([aside] if aside else []) + [each.reply.text for each in self.since(before)]

    def asks(self, who: str, ask: str, /, **fields: str) -> str:
        """A request as the reader would give it, at the desk."""
        self.count += 1
        message = Message("telegram", f"{self.count}.", who, "", self.now)
        with self.book.writing() as conn:
            member = family.speaker(conn, message)
            assert member is not None
            pages = Pages(conn, member.household)
            talk = talk_from_json(member.talk)
            reading = Reading(Outcome.REQUEST, request=Request(ask, fields))
            number = post.take_in(conn, message, member, self.now)
            context = Context(pages, member, message, number, talk, self.now)
            reply, talk = desk.answer(reading, context)
            households.update_member(conn, member.id, talk=talk_to_json(talk))
            out = post.put_out(conn, reply, member, "telegram", who, self.now, number)
            return out.reply.text

    def join(self, who: str, role: str, inviter: str = INES) -> None:
        code = self.says(inviter, f"share {role}")[0].split()[-1]
        self.says(who, code)

    def other_book(self, owner: str, name: str = "") -> int:
        """A second household, in which somebody owns the book."""
        with self.book.writing() as conn:
            member = households.begin(conn, zone="Europe/Lisbon", owner=NAMES[owner], now=self.now)
            households.set_name(conn, member.household, name)
            households.add_address(conn, member, "telegram", owner)
            return member.household

    def remind(self, member: Member, what: str, where: str = "") -> Outgoing:
        """A keeper has asked to be reminded of something, and an hour later it is told."""
        self.count += 1
        at = (self.now + timedelta(hours=1)).strftime("%H:%M")
        text = f"remind me at {at} to order {what}"
        who = self.address_of(member)
        asked = Message(
            "telegram", f"{self.count}.", who, text, self.now, household=member.household
        )
        self.intake.take(asked, member.name)
        self.now += timedelta(hours=1)
        told = self.intake.rackside.tick()
        return next(
            each
            for each in told
            if what in each.reply.text.casefold() and each.address == (where or who)
        )

    def address_of(self, member: Member) -> str:
        with self.book.reading() as conn:
            query = select(addresses.c.address).where(addresses.c.member == member.id)
            return str(conn.execute(query).scalar_one())

    def press(self, who: str, sent: Outgoing, says: str, chat: str | None = None) -> Pressed:
        index = [each.says for each in buttons(sent.reply)].index(says)
        return self.intake.press(Press("telegram", who, sent.id, index, self.now, chat))

    def member(self, who: str, household: int = 1) -> Member:
        with self.book.reading() as conn:
            found = family.member_at(conn, "telegram", who, household)
        assert found is not None
        return found

    def open_in(self, household: int) -> list[str]:
        """What a book still has to be done, by its last word."""
        with self.book.reading() as conn:
            query = select(reminders.c.text).where(
                reminders.c.household == household, reminders.c.closed.is_(None)
            )
            return sorted(each.split()[-1].rstrip(".") for each in conn.execute(query).scalars())

    def to(self, who: str) -> list[str]:
        """What waits to be sent to an address."""
        return [e.reply.text for e in self.intake.rackside.unsent("telegram") if e.address == who]

    def told(self, what: str) -> list[str]:
        """The addresses to which a reminder of something went."""
        waiting = self.intake.rackside.unsent("telegram")
        return sorted(e.address for e in waiting if e.reply.text.startswith(f"Order {what}"))

    def since(self, number: int) -> list[Outgoing]:
        return [each for each in self.intake.rackside.unsent("telegram") if each.id > number]

    def _last(self) -> int:
        return max((each.id for each in self.intake.rackside.unsent("telegram")), default=0)
