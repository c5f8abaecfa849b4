"""The household under test: who is in its book, what they say, what they are to be told."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any

from sqlalchemy import Connection, func, select, update

from bot.book import households, reminders
from bot.book.pages import Pages
from bot.book.store import Book
from bot.book.tables import ledger, outbox
from bot.book.tables import reminders as rows
from bot.records import Record
from tests.torture.counting import Said, ToTell, Written, weight_word

LIGHTEST = 400  # tenths of a gram
SOON = timedelta(minutes=2)  # what is asked for by message comes after this long


@dataclass(frozen=True)
class Person:
    """Somebody in the book, with animals of their own to weigh."""

    name: str
    role: str
    channel: str
    address: str
    animals: tuple[str, ...]


INES = Person("Ines", "owner", "telegram", "5010203040", ("F1", "F2", "F3", "F4", "F5"))
RUI = Person("Rui", "keeper", "sms", "+351912345678", ("F11", "F12", "F13", "F14", "F15"))
MINA = Person("Mina", "helper", "telegram", "5010203041", ("F21", "F22", "F23", "F24", "F25"))
EVERYBODY = (INES, RUI, MINA)
TOLD = (INES.address, RUI.address)  # helpers are told where they stand in, so not here


def _record(kind: str, on: Any, **fields: Any) -> Record:
    return Record(kind, on, None, MappingProxyType(fields))


def write_book(
    where: str, zone: str, now: datetime, dues: Sequence[datetime], digest: str | None = None
) -> list[ToTell]:
    """A book with these people, their animals, and a reminder for each of these moments.

    They are asked for the days before and put off until then, so that they can fall due at any
    second. `digest` is the hour of Mina's.
    """
    words = [f"r{number:04}" for number in range(len(dues))]
    book = Book.open(where)
    with book.writing() as conn:
        pages, owner = _people(conn, zone, now - timedelta(days=30), digest)
        before = (now - timedelta(days=1)).date()
        plans = [_record("plan", before, text=f"order {word}") for word in words]
        pages.write(plans, member=owner, channel="telegram", arrived=now, text="plans")
        reminders.refresh(pages, now)
        for word, due in zip(words, dues, strict=True):
            mine = rows.c.text == f"Order {word}"
            changed = conn.execute(update(rows).where(mine).values(snoozed=due)).rowcount
            assert changed == 1
    book.close()
    return [ToTell(word, due, TOLD) for word, due in zip(words, dues, strict=True)]


def _people(
    conn: Connection, zone: str, begun: datetime, digest: str | None
) -> tuple[Pages, households.Member]:
    owner = households.begin(conn, zone=zone, owner=INES.name, now=begun)
    members = {INES.name: owner}
    for each in (RUI, MINA):
        members[each.name] = households.join(
            conn, household=owner.household, name=each.name, role=each.role, now=begun
        )
    for each in EVERYBODY:
        households.add_address(conn, members[each.name], each.channel, each.address)
    if digest:
        households.update_member(conn, members[MINA.name].id, digest=digest)
    pages = Pages(conn, owner.household)
    animals = [tag for each in EVERYBODY for tag in each.animals]
    pages.write(
        [_record("animal", begun.date(), tag=t, sex="female", species="leopard") for t in animals]
        + [_record("weighed", begun.date(), tag=t, grams=LIGHTEST / 10 - 0.1) for t in animals],
        member=owner, channel="telegram", arrived=begun, text="everybody",
    )  # fmt: skip
    return pages, owner


class Stream:
    """What is said: weights each of its own, edits of the last one, and wishes to be reminded."""

    def __init__(self, chance: random.Random, speakers: Sequence[Person] = EVERYBODY) -> None:
        self.chance = chance
        self.speakers = speakers
        self.said: list[Said] = []
        self.to_tell: list[ToTell] = []
        self._weighed = Counter[str]()
        self._last: dict[str, Said] = {}

    def next(self, now: datetime, plans: bool = True) -> tuple[Person, Said]:
        """Somebody says something."""
        who, dice = self.chance.choice(self.speakers), self.chance.random()
        if plans and dice < 0.08:
            made = self._wish(who, now)
        elif dice < 0.2 and who.channel == "telegram" and who.name in self._last:
            made = self._edit(who, now)
        else:
            made = self._last[who.name] = self._weight(who, at=now)
        self.said.append(made)
        return who, made

    def _weight(self, who: Person, **more: Any) -> Said:
        number = self._weighed[who.name]
        self._weighed[who.name] += 1
        tag = who.animals[number % len(who.animals)]
        tenths = LIGHTEST + number // len(who.animals)
        text, word = f"{tag} {tenths / 10}g", weight_word(tag, tenths)
        return Said(len(self.said) + 1, who.address, text, word, **more)

    def _edit(self, who: Person, now: datetime) -> Said:
        last = self._last[who.name]
        made = self._weight(who, at=now, edits=last.edits or last.number, replaces=last.word)
        self._last[who.name] = made
        return made

    def _wish(self, who: Person, now: datetime) -> Said:
        word = f"p{len(self.to_tell):04}"
        due = (now + SOON).replace(second=0, microsecond=0)
        self.to_tell.append(ToTell(word, due, TOLD))
        text = f"remind me in {SOON.seconds // 60} minutes to order {word}"
        return Said(len(self.said) + 1, who.address, text, word, now)


def written(where: str) -> Written:
    """What the book holds in the end."""
    book = Book.open(where)
    with book.writing() as conn:
        (household,) = households.all_households(conn)
        pages = Pages(conn, household.id)
        raw = conn.execute(select(ledger.c.fields).where(ledger.c.kind == "weighed")).scalars()
        standing = (h for h in pages.state.happenings.values() if h.kind == "weighed")
        waits = outbox.c.sent.is_(None) & outbox.c.given_up.is_(None)
        replies = conn.execute(select(outbox.c.reply)).scalars()
        found = Written(
            _words(raw), _words({"tag": h.about, "grams": h.fields["grams"]} for h in standing),
            _number(conn, outbox.c.given_up.is_not(None)), _number(conn, waits),
            len(pages.check()), [each["text"] for each in replies],
        )  # fmt: skip
    book.close()
    return found


def _words(fields: Iterable[Any]) -> Counter[str]:
    return Counter(weight_word(each["tag"], round(each["grams"] * 10)) for each in fields)


def _number(conn: Connection, where: Any) -> int:
    return int(conn.execute(select(func.count()).select_from(outbox).where(where)).scalar_one())
