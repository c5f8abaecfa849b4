"""One person with two channels: how they join as one, and where their reminders come."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from bot.book import households
from bot.book.access import Rule
from bot.book.tables import members
from bot.messages import Message
from bot.service import Rackside
from tests.house import House, paired

PHONE = "+351900000007"


@pytest.fixture
def house() -> House:
    """Ann, on Telegram; M2 is in with F3. Codes are looked at."""
    made = paired(House())
    made.rackside = Rackside(made.book, lambda: made.now, rule=Rule("Europe/Lisbon"))
    return made


def texts(house: House, words: str, by: str = PHONE) -> str:
    """Somebody texts; what comes back."""
    house.said += 1
    out = house.rackside.handle(Message("sms", f"s{house.said}", by, words, house.now))
    return "\n".join(each.reply.text for each in out)


def ways(house: House) -> list[tuple[str, str, str]]:
    """Who is reached, and how."""
    with house.book.reading() as conn:
        found = households.ways(conn, house.people["Ann"].household)
        return [(member.name, channel, address) for member, channel, address in found]


def test_a_second_channel_is_the_same_person(house: House) -> None:
    """Ann asks for texts, sends the code from her phone, and has her reminders there, once."""
    asked = house.asks("Ann", "settings", set="channel", to="sms").text
    assert ways(house) == [("Ann", "telegram", "Ann")]
    code = asked.split("\n")[-1]
    assert "your book" in texts(house, code)
    assert ways(house) == [("Ann", "sms", PHONE)]
    with house.book.reading() as conn:
        assert len(conn.execute(select(members.c.id)).all()) == 1
    house.now = house.now.replace(day=4, hour=12)
    out = [each for each in house.rackside.tick() if "Pull M2" in each.reply.text]
    assert [(each.channel, each.address) for each in out] == [("sms", PHONE)]


def test_the_code_is_good_once(house: House) -> None:
    """Somebody who finds the code afterwards stays a stranger."""
    code = house.asks("Ann", "settings", set="channel", to="text").text.split("\n")[-1]
    texts(house, code)
    assert "private" in texts(house, code, by="+351900000008")


def test_back_again(house: House) -> None:
    """Said from the phone, "here" is the phone; Telegram again where she says so."""
    code = house.asks("Ann", "settings", set="channel", to="sms").text.split("\n")[-1]
    texts(house, code)
    assert "on Telegram" in house.asks("Ann", "settings", set="channel", to="Telegram").text
    assert ways(house) == [("Ann", "telegram", "Ann")]


def test_a_channel_that_is_none_is_asked_back(house: House) -> None:
    """What names no channel says how to say it, and changes nothing."""
    said = house.asks("Ann", "settings", set="channel", to="pigeon").text
    assert "text me the reminders" in said
    assert ways(house) == [("Ann", "telegram", "Ann")]
