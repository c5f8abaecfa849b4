"""A family at one book: roles given and taken back, who wrote what, invitations and links."""

from __future__ import annotations

import pytest
from sqlalchemy import select, update

from bot.book import households
from bot.book.tables import codes, ledger, members
from bot.book.tables import households as households_table
from tests.serve.home import INES, MINA, NAMES, RUI, STRANGER, Home


@pytest.fixture
def home() -> Home:
    return Home()


# --- roles ----------------------------------------------------------------------------------


def test_a_keeper_made_a_watcher_can_write_no_more(home: Home) -> None:
    """At once: the very next record is refused; both sides are told in a line."""
    home.join(MINA, "keeper")
    assert home.says(MINA, "new female F3 picta")[0].startswith("New female F3")
    assert home.asks(INES, "role", who="mina", role="watcher") == ("Mina is a watcher from now on.")
    assert home.to(MINA)[-1] == "You are a watcher of this book from now on."
    assert "not write" in home.says(MINA, "F3 21.4g")[0]


def test_who_is_removed_is_a_stranger_at_once_and_is_told_once(home: Home) -> None:
    """One polite line, then only the line for strangers; nothing that waited is sent."""
    home.join(MINA, "keeper")
    home.remind(home.member(MINA), "roaches")
    said = home.asks(INES, "role", who="Mina", role="none")
    assert said == ("Mina has no access any more, from now on. What Mina wrote stays in the book.")
    assert home.to(MINA) == ["Your access to Ines's book has ended. Thank you for your help."]
    assert "private book" in home.says(MINA, "what's due today")[0]
    assert home.says(MINA, "F3 21.4g") == []


def test_the_records_of_who_is_gone_stay_with_their_name(home: Home) -> None:
    """The history still says by whom."""
    home.join(MINA, "helper")
    home.says(MINA, "new female F3 picta")
    home.says(INES, "F3 21.4g")
    home.asks(INES, "role", who="Mina", role="none")
    lines = home.says(INES, "history of F3")[0].splitlines()
    assert [line.rpartition(", ")[2] for line in lines] == ["by Ines.", "by Mina."]


@pytest.mark.parametrize("role", ["helper", "none"])
def test_unused_codes_of_who_is_taken_back_lapse(home: Home, role: str) -> None:
    """An invitation of a keeper who is none any more lets nobody in; the owner's still does."""
    home.join(MINA, "keeper")
    theirs = home.says(MINA, "share keeper")[0].split()[-1]
    owners = home.says(INES, "share helper")[0].split()[-1]
    home.asks(INES, "role", who="Mina", role=role)
    assert "private" in home.says(STRANGER, theirs)[0]
    assert "helper" in home.says(STRANGER, owners)[0]


def test_the_calendar_link_of_who_is_removed_leads_nowhere(home: Home) -> None:
    """The secret that they may know is worth nothing afterwards, and the reply says so."""
    home.join(MINA, "keeper")
    home.says(MINA, "calendar link")
    said = home.asks(INES, "role", who="Mina", role="none")
    assert "calendar link" in said
    with home.book.reading() as conn:
        assert conn.execute(select(households_table.c.calendar)).scalar() is None


def test_the_owner_stays_unless_there_is_another(home: Home) -> None:
    """A keeper can't touch the owner, and the last owner can't leave."""
    home.join(MINA, "keeper")
    assert home.asks(MINA, "role", who="Ines", role="none").startswith("Only an owner")
    assert home.asks(INES, "role", who="me", role="none").startswith("You are the owner")
    assert home.member(INES).role == "owner"
    with home.book.writing() as conn:
        conn.execute(update(members).where(members.c.name == "Mina").values(role="owner"))
    assert home.asks(INES, "role", who="me", role="none").startswith("You are out")


@pytest.mark.parametrize("role", ["helper", "watcher"])
def test_only_owner_and_keepers_change_roles(home: Home, role: str) -> None:
    """Others are told whose job it is; leaving by oneself is open to all."""
    home.join(MINA, role)
    home.join(RUI, "helper")
    assert home.asks(MINA, "role", who="Rui", role="none") == (
        "That is for a keeper of this book. Ask the owner."
    )
    assert home.asks(MINA, "role", who="me", role="none").startswith("You are out")
    assert "private" in home.says(MINA, "F3?")[0]


def test_a_name_that_nobody_has_is_asked_about_and_a_number_answers(home: Home) -> None:
    """The question lists who can be meant; after another message a number means nothing."""
    home.join(MINA, "helper")
    home.join(RUI, "helper")
    asked = home.asks(INES, "role", who="Nina", role="watcher").splitlines()
    assert asked[1:] == ["1 Mina, a helper", "2 Rui, a helper"]
    home.says(INES, "1")
    assert (home.member(MINA).role, home.member(RUI).role) == ("watcher", "helper")
    home.asks(INES, "role", who="Nina", role="keeper")
    home.says(INES, "hello")
    home.says(INES, "2")
    assert home.member(RUI).role == "helper"


def test_a_name_that_may_be_two_people_is_asked_about(home: Home) -> None:
    """Mina and Mina Roe: nobody is changed before it is said who; a tap says it."""
    home.join(MINA, "helper")
    home.join(RUI, "helper")
    with home.book.writing() as conn:
        households.update_member(conn, home.member(RUI).id, name="Mina Roe")
    assert home.asks(INES, "role", who="Mina", role="none").splitlines()[1:] == [
        "1 Mina, a helper", "2 Mina Roe, a helper",
    ]  # fmt: skip
    sent = home.intake.rackside.unsent("telegram")[-1]
    assert home.press(INES, sent, sent.reply.choices[1].says).chosen == "Mina Roe, a helper"
    with home.book.reading() as conn:
        assert [each.name for each in households.of_household(conn, 1)] == ["Ines", "Mina"]


def test_two_of_one_name_are_told_apart(home: Home) -> None:
    """The second to come gets a number, so that a name means one person."""
    home.join(MINA, "helper")
    NAMES[RUI] = "Mina"
    try:
        home.join(RUI, "helper")
    finally:
        NAMES[RUI] = "Rui"
    assert home.asks(INES, "members").splitlines()[2:] == [
        "Mina: helper, logs and sees what is due, on Telegram",
        "Mina 2: helper, logs and sees what is due, on Telegram",
    ]


def test_everybody_in_the_book_is_listed_with_role_and_way(home: Home) -> None:
    """Who asks is marked; who is gone is not listed."""
    assert "Only you" in home.asks(INES, "members")
    home.join(MINA, "watcher")
    home.join(RUI, "helper")
    home.asks(INES, "role", who="Rui", role="none")
    assert home.asks(MINA, "members").splitlines() == [
        "In Ines's book:",
        "Ines: owner, everything, on Telegram",
        "Mina: watcher, looks things up, on Telegram (you)",
    ]


# --- links ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("payload", "answer"),
    [
        ("F3", "F3: female picta"),
        ("box_20B", "Box B"),
        ("B4", "B4"),
        ("F99", "That link or code leads nowhere"),
        ("ABCD2345", "That link or code leads nowhere"),
        ("undo", "That link or code leads nowhere"),
        ("F3_20laid_202", "That link or code leads nowhere"),
    ],
)
def test_a_labels_link_asks_and_never_writes(home: Home, payload: str, answer: str) -> None:
    """It answers as the tag with a question mark would; whatever else it holds, nothing happens."""
    home.says(INES, "new female F3 picta")
    home.says(INES, "new box B, 3 by 4, incubator 1")
    assert home.says(INES, f"/start {payload}")[0].startswith(answer)
    with home.book.reading() as conn:
        kinds = conn.execute(select(ledger.c.kind)).scalars().all()
    assert kinds == ["animal", "box"]


def test_a_link_is_as_any_wrong_code_to_a_stranger(home: Home) -> None:
    """The tenth ends the looking at codes for an hour, so that links can't be tried either."""
    home.says(INES, "new female F3 picta")
    told = [home.says(STRANGER, f"/start F{n}") for n in range(1, 11)]
    assert "private" in told[0][0]
    assert told[1:] == [[]] * 9
    code = home.says(INES, "share helper")[0].split()[-1]
    home.says(STRANGER, f"/start {code}")
    with home.book.reading() as conn:
        assert conn.execute(select(codes.c.used).where(codes.c.code == code)).scalar() is None


def test_an_invitation_is_a_link_where_our_name_is_known(home: Home) -> None:
    """The code stays alone on the last line; tapping the link lets the guest in."""
    home.intake.rackside.bot = "rack_bot"
    lines = home.says(INES, "share helper")[0].splitlines()
    code = lines[-1]
    assert lines[-2] == f"As a link: https://t.me/rack_bot?start={code}"
    assert "helper" in home.says(MINA, f"/start {code}")[0]
