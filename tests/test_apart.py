"""Two households in one book, with the same tags: neither sees a word of the other's, ever.

One of them says everything that can be said. What it is answered is compared, letter by letter,
with what the same household is answered in a book of its own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from bot.book import households
from bot.book.store import Book
from bot.book.tables import metadata
from bot.guide import ways_to_ask, ways_to_log
from bot.language.examples import CORRECTIONS
from bot.messages import Message
from bot.service import Rackside

NOW = datetime(2026, 3, 10, 19, 30, tzinfo=UTC)

COLONY = (
    "new male M2 picta hatched 2023-08-01", "new female F3 picta hatched 2023-04-02",
    "new female F7 picta hatched 2023-05-09", "new female F9 picta hatched 2023-05-20",
    "new female F13 picta hatched 2023-06-01", "new box A, 3 by 4, incubator 1",
    "new box B, 3 by 4, incubator 1", "new box C, 3 by 4, incubator 1",
    "M2 in with F3 on 1 Feb", "F3 laid 2 on 20 Feb, box B slots 4 and 6",
    "F7 laid 1 on 3 Feb, box A slot 1", "new animal H4 picta", "new animal H12 picta",
)  # fmt: skip
"""What both have, by the same names."""

OURS = ("F3 is called Tansy", "moved F3 to tub 3", "F3 22.5g", "put F7 in rack B")
THEIRS = (
    "F3 is called Umbrina", "moved F3 to tub 917", "F3 33.3g", "F7 34.4g", "M2 35.5g",
    "note F3: quetzal feather on her back", "note M2: limps like a quagga", "F3 shed",
    "F7 is called Wisteria", "M2 is called Zanthos", "moved M2 to tub 927", "F9 looks gravid",
    "candled B4, veins", "B6 is dead", "incubator 1 is 29.9C, 61%", "fed F3 7 roaches",
    "went through F7's sand, no eggs", "remind me friday 6pm to call Quillon",
    "moved F13 to tub 937", "M2 in with F13", "F9 laid 2, box C slots 1 and 2",
    "added water to box C",
)  # fmt: skip
"""What only the other household has said."""
SECRETS = ("umbrina", "wisteria", "zanthos", "quetzal", "quagga", "quillon", "917", "927", "33.3",
           "34.4", "35.5", "29.9")  # fmt: skip

SAID = (
    *(way for ways in ways_to_log().values() for way in ways),
    *(way for ask, ways in ways_to_ask().items() if ask != "undo" for way in ways),
    *CORRECTIONS, "undo", "scratch that", "undo", "done 1", "skip 1",
    "what does F3 weigh", "where is F7", "history of M2", "what's in box C",
)  # fmt: skip
RANDOM = re.compile(r"\b[A-Z2-9]{8}\b|/calendar/\S+")
"""Codes and secret addresses: other ones each time."""


class House:
    """A book with a clock; the keepers write in turn."""

    def __init__(self, where: str | Path, folder: Path) -> None:
        self.book = Book.open(where)
        self.folder = folder
        self.now = NOW
        self.count = 0
        self.assistant = Rackside(self.book, lambda: self.now, folder)

    def begin(self, *names: str) -> None:
        for name in names:
            with self.book.writing() as conn:
                owner = households.begin(conn, zone="Europe/Lisbon", owner=name, now=NOW)
                households.add_address(conn, owner, "telegram", name)
        for line in COLONY:
            for name in names:
                self.say(name, line)
        self.assistant.tick()

    def say(self, who: str, line: str) -> str:
        """The answer, with what stands in any files that come with it."""
        self.count += 1
        message = Message("telegram", str(self.count), who, line, self.now)
        out = self.assistant.handle(message)
        files = [each for o in out for each in o.reply.files if each.suffix == ".csv"]
        texts = [o.reply.text for o in out] + [f.read_text(encoding="utf-8") for f in files]
        return RANDOM.sub("…", "\n".join(texts))

    def conversation(self) -> dict[str, str]:
        """Everything that can be said, by ours, a minute apart, with reminders in between."""
        for line in OURS:
            self.say("ours", line)
        answers = {}
        for number, line in enumerate(SAID):
            self.now = NOW + timedelta(minutes=number)
            answers[f"{number} {line}"] = self.say("ours", line)
        self.now = NOW + timedelta(days=3)
        told = [each.reply.text for each in self.assistant.tick() if each.address == "ours"]
        return answers | {"told": RANDOM.sub("…", "\n".join(told))}

    def rows_of(self, who: str) -> Mapping[str, Any]:
        """Every row of their household but the talk, by table."""
        with self.book.reading() as conn:
            member = households.find(conn, "telegram", who)
            assert member is not None
            return {
                table.name: sorted(
                    str(row)
                    for row in conn.execute(
                        select(table).where(table.c.household == member.household)
                    )
                )
                for table in metadata.sorted_tables
                if "household" in table.c
            }


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """What ours is answered in a book of its own."""
    folder = tmp_path_factory.mktemp("alone")
    house = House(":memory:", folder)
    house.begin("ours")
    return house.conversation()


@pytest.mark.parametrize("store", ["sqlite", "postgres"])
def test_no_answer_has_a_word_of_the_other_household_and_its_rows_stay(
    store: str, alone: dict[str, str], tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    """Every kind of record and request, undo and corrections; answered as if it were alone."""
    where = ":memory:" if store == "sqlite" else request.getfixturevalue("database")
    house = House(where, tmp_path)
    house.begin("theirs", "ours")
    for line in THEIRS:
        house.say("theirs", line)
    before = house.rows_of("theirs")
    answers = house.conversation()
    assert [line for line in answers.values() for word in SECRETS if word in line.lower()] == []
    assert answers == alone
    after = house.rows_of("theirs")
    for table in before.keys() - {"reminders", "outbox", "members"}:  # those change with time
        assert after[table] == before[table], table
    house.book.close()


def test_the_other_household_has_said_what_is_looked_for(tmp_path: Path) -> None:
    """Were these words not in the other's answers, not finding them would prove nothing."""
    house = House(":memory:", tmp_path)
    house.begin("theirs")
    for line in THEIRS:
        house.say("theirs", line)
    told = "\n".join(house.say("theirs", line) for line in SAID).lower()
    missing = [word for word in SECRETS if word not in told]
    assert missing == []
