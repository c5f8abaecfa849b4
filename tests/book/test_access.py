"""Who may come in: the owner's code, shared codes, strangers, and guessing."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Connection, insert, select

from bot.book import access, households
from bot.book.access import Joined, Private, Rule, admit
from bot.book.tables import addresses, codes
from bot.messages import Message
from tests.book import support

pytestmark = pytest.mark.usefixtures("either_store")
NOW = datetime(2026, 3, 10, 19, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
RULE = Rule("Europe/Lisbon", "owners-code")


@pytest.fixture
def conn(either_store: str) -> Connection:
    with support.open_book().writing() as conn:
        yield conn


def says(text: str, who: str = "1") -> Message:
    return Message("telegram", f"{who}:{text}", who, text, NOW)


def shared(conn: Connection, code: str, role: str = "helper", household: int = 1) -> None:
    conn.execute(
        insert(codes).values(
            code=code, household=household, role=role, made=NOW, ends=NOW + timedelta(days=1)
        )
    )


def test_the_owner_code_makes_one_owner(conn: Connection) -> None:
    """The first who sends it owns the book; it is worth nothing afterwards."""
    first = admit(conn, says("owners-code"), "Ines", RULE, NOW)
    assert isinstance(first, Joined)
    assert (first.member.role, first.member.name) == ("owner", "Ines")
    assert isinstance(admit(conn, says("owners-code", "2"), "Rui", RULE, NOW), Private)


def test_a_code_that_we_make_is_kept_until_it_is_used(conn: Connection) -> None:
    """Asked again it is the same one; used, there is none to print."""
    rule, chance = Rule("Europe/Lisbon"), random.Random(4)
    made = access.open_owner_code(conn, rule, NOW, chance)
    assert made is not None
    assert access.MADE.fullmatch(made)
    assert access.open_owner_code(conn, rule, NOW, chance) == made
    assert isinstance(admit(conn, says(f"/start {made}"), "Ines", rule, NOW), Joined)
    assert access.open_owner_code(conn, rule, NOW, chance) is None


def test_the_keeper_from_the_console_owns_the_book_from_afar_too(conn: Connection) -> None:
    """Who began in the terminal sends the owner code from the phone and is the same member."""
    owner = households.begin(conn, zone="Europe/Lisbon", owner="keeper", now=NOW)
    households.add_address(conn, owner, "console", "owner")
    found = admit(conn, says("owners-code"), "Ines", RULE, NOW)
    assert isinstance(found, Joined)
    assert found.member.id == owner.id


def test_a_shared_code_is_good_once_and_for_a_day(conn: Connection) -> None:
    """A day less a second after it was made it lets one person in; at a day nobody."""
    admit(conn, says("owners-code"), "Ines", RULE, NOW)
    shared(conn, "ABCD2345")
    shared(conn, "EFGH2345")
    day = NOW + timedelta(days=1)
    late = admit(conn, says("EFGH2345", "2"), "Rui", RULE, day)
    in_time = admit(conn, says("abcd2345", "3"), "Ana", RULE, day - timedelta(seconds=1))
    again = admit(conn, says("ABCD2345", "4"), "Eva", RULE, NOW)
    assert isinstance(late, Private)
    assert isinstance(in_time, Joined)
    assert in_time.member.role == "helper"
    assert isinstance(again, Private)


def test_strangers_are_told_at_most_once_an_hour(conn: Connection) -> None:
    """One line, then silence for an hour less a second, then one again."""
    told = [
        admit(conn, says("hi"), "", RULE, NOW + after)
        for after in (timedelta(0), timedelta(minutes=1), HOUR - timedelta(seconds=1), HOUR)
    ]
    assert told == [Private(True), Private(False), Private(False), Private(True)]


@pytest.mark.parametrize(("wrong", "comes_in"), [(9, True), (10, False)])
def test_ten_wrong_codes_and_none_is_looked_at_for_an_hour(
    conn: Connection, wrong: int, comes_in: bool
) -> None:
    """After nine the right code still works, after ten not, an hour later again."""
    for number in range(wrong):
        admit(conn, says(f"WRONGCD{number}".replace("0", "2").replace("1", "2")), "", RULE, NOW)
    assert isinstance(admit(conn, says("owners-code"), "", RULE, NOW), Joined) is comes_in
    if not comes_in:
        nearly = NOW + HOUR - timedelta(seconds=1)
        assert isinstance(admit(conn, says("owners-code"), "", RULE, nearly), Private)
        assert isinstance(admit(conn, says("owners-code"), "", RULE, NOW + HOUR), Joined)


def test_others_are_not_held_up_by_a_guesser(conn: Connection) -> None:
    """Ten wrong codes of one sender leave another's alone."""
    for _ in range(10):
        admit(conn, says("WRONGCDE", "9"), "", RULE, NOW)
    assert isinstance(admit(conn, says("owners-code", "1"), "", RULE, NOW), Joined)


def test_an_open_service_begins_a_household_for_a_stranger(conn: Connection) -> None:
    """With `open`, once the owner is there, whoever writes gets a household of their own."""
    rule = Rule("Europe/Lisbon", "owners-code", open=True)
    assert isinstance(admit(conn, says("hello"), "", rule, NOW), Private)
    admit(conn, says("owners-code", "2"), "Ines", rule, NOW)
    found = admit(conn, says("hello", "3"), "Rui", rule, NOW)
    assert isinstance(found, Joined)
    assert found.member.household != 1


def test_a_member_joins_another_household_and_speaks_there(conn: Connection) -> None:
    """The code of a second household moves the address to it; the first stays known."""
    ines = admit(conn, says("owners-code"), "Ines", RULE, NOW).member
    other = households.begin(conn, zone="Europe/Lisbon", owner="Rui", now=NOW)
    shared(conn, "ABCD2345", household=other.household)
    access.join_other(conn, says("ABCD2345"), ines, NOW)
    now_in = households.find(conn, "telegram", "1")
    assert now_in is not None
    assert now_in.household == other.household
    assert len(conn.execute(select(addresses)).all()) == 2


def test_a_code_of_ones_own_household_is_for_somebody_else(conn: Connection) -> None:
    """The owner who sends a helper's code stays the owner, and the code stays good."""
    ines = admit(conn, says("owners-code"), "Ines", RULE, NOW).member
    shared(conn, "ABCD2345")
    assert access.join_other(conn, says("ABCD2345"), ines, NOW) is None
    assert isinstance(admit(conn, says("ABCD2345", "2"), "Rui", RULE, NOW), Joined)
