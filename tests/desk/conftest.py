"""A desk over a book in memory: tell it readings, look at what it answers and writes."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest

from bot.book import households, post, reminders
from bot.book.pages import Pages
from bot.book.state import State
from bot.book.store import Book
from bot.desk import Context, answer
from bot.desk.talk import talk_from_json, talk_to_json
from bot.language.reading import NO_TALK, Ask, Outcome, Reading, Request, Talk
from bot.messages import Message, Reply
from bot.records import Record

TODAY = date(2026, 3, 10)
EVENING = datetime(2026, 3, 10, 19, 30, tzinfo=UTC)


def rec(kind: str, *, on: date = TODAY, at: time | None = None, **fields: Any) -> Record:
    """A record of today, unless said otherwise."""
    return Record(kind, on, at, fields)


class Desk:
    """One owner's conversation. Each thing said is a message of its own, a second later."""

    def __init__(self, book: Book, export_folder: Path) -> None:
        self.book, self.export_folder = book, export_folder
        self.now = EVENING
        self.talk: Talk = NO_TALK
        self.said = 0
        self.channel = "script"
        self.typed = "as typed"
        self.url = ""
        self.bot = ""
        with book.writing() as conn:
            self.member = households.begin(conn, zone="Europe/Lisbon", owner="Ann", now=EVENING)
            households.add_address(conn, self.member, "script", "ann")

    def take(self, reading: Reading) -> Reply:
        """Give the desk a reading; the talk goes through JSON, as it does in the book."""
        self.said += 1
        self.now += timedelta(seconds=1)
        message = Message(self.channel, str(self.said), "ann", self.typed, self.now)
        with self.book.writing() as conn:
            found = households.find(conn, "script", "ann")
            assert found is not None
            member = replace(found, role=self.member.role)
            pages = Pages(conn, member.household)
            chance = random.Random(4)
            context = Context(
                pages, member, message, None, self.talk, self.now, self.export_folder, chance,
                bot=self.bot,
            )  # fmt: skip
            context.url = self.url
            reply, talk = answer(reading, context)
            reminders.refresh(pages, self.now)
            post.put_out(conn, reply, member, "script", "ann", self.now)
        self.talk = talk_from_json(talk_to_json(talk))
        return reply

    def log(self, *records: Record, answers: bool = False) -> Reply:
        """Records that the reader is sure of."""
        return self.take(Reading(Outcome.RECORDS, records=records, answers=answers))

    def ask(self, what: str, **fields: Any) -> str:
        """A request; the text of its answer."""
        return self.take(Reading(Outcome.REQUEST, request=Request(what, fields))).text

    def question(self, ask: Ask, *sure: Record) -> Reply:
        """A log with something missing."""
        return self.take(Reading(Outcome.ASK, records=sure, ask=ask))

    @property
    def state(self) -> State:
        """The book's state as it is now."""
        with self.book.reading() as conn:
            return Pages(conn, self.member.household).state

    def last_written(self) -> list[Record]:
        """The records of the last message that wrote and still stands."""
        with self.book.reading() as conn:
            written = Pages(conn, self.member.household).last_written(self.member)
        return [record for _, record in written]


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Desk]:
    """A desk over an empty book."""
    book = Book.open(":memory:")
    yield Desk(book, tmp_path / "tables")
    book.close()


@pytest.fixture
def desk(empty: Desk) -> Desk:
    """A small colony: F3 and F7, M2, box B of 12 in incubator 1 at 27.2 degrees C."""
    empty.log(
        rec("animal", tag="F3", sex="female", species="picta", hatched=date(2024, 4, 2),
            place="tub 3", on=date(2026, 1, 5)),
        rec("animal", tag="F7", sex="female", species="picta", hatched=date(2024, 5, 9),
            place="tub 7", on=date(2026, 1, 5)),
        rec("animal", tag="M2", sex="male", species="picta", hatched=date(2023, 8, 1),
            place="tub 9", on=date(2026, 1, 5)),
        rec("box", box="B", rows=3, columns=4, incubator="1", on=date(2026, 1, 5)),
        rec("reading", place="incubator 1", celsius=27.2, humidity=75),
    )  # fmt: skip
    return empty
