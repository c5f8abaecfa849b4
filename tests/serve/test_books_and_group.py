"""Several books at one address, and a group that is reminded; a real book and desk."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
from sqlalchemy import select, update

from bot.book import access, family, households
from bot.book.tables import ledger, outbox, reminders
from bot.book.tables import messages as messages_table
from tests.serve.home import GROUP, INES, MINA, NOW, RUI, STRANGER, Home


@pytest.fixture
def home() -> Home:
    return Home()


# --- several books --------------------------------------------------------------------------


@pytest.fixture(params=["a file", "a shared database"])
def between(request: pytest.FixtureRequest) -> Iterator[Home]:
    """Mina owns a book called Attic and then joins that of Ines: she speaks to this one now."""
    shared = request.param == "a shared database"
    home = Home(request.getfixturevalue("database") if shared else ":memory:")
    home.other_book(MINA, "Attic")
    home.join(MINA, "keeper")
    yield home
    home.book.close()


def test_joining_a_second_book_says_which_one_speaks_now(home: Home) -> None:
    """The welcome names the book and the way back."""
    home.other_book(MINA, "Attic")
    code = home.says(INES, "share keeper")[0].split()[-1]
    assert home.says(MINA, code) == [
        "You are in Ines's book now, as a keeper; what you send goes there. "
        'To go back, say "switch to the book Attic".'
    ]


def test_replies_name_the_book_for_who_is_in_several(between: Home) -> None:
    """Mina hears which book it was; Ines, who is in one, does not."""
    assert between.says(MINA, "new female F3 picta")[0].startswith("Ines's book: New female F3")
    assert between.says(INES, "F3 21.4g")[0].startswith("F3 21.4 g")


def test_one_switches_between_books_by_name_or_number(between: Home) -> None:
    """The answer says which speaks now; what is written goes there."""
    assert between.says(MINA, "switch to the book Attic") == [
        "You speak to Attic now, no longer to Ines's book."
    ]
    assert between.says(MINA, "new female F9 picta")[0].startswith("Attic: New female F9")
    listed = between.asks(MINA, "household").splitlines()
    assert listed[1:] == ["1 Attic", "2 Ines's book"]
    assert "no longer to Attic" in between.asks(MINA, "household", which="2")
    assert "no book of yours" in between.asks(MINA, "household", which="Grandma's")
    assert between.asks(INES, "household") == "You are in Ines's book, and in no other."


def test_a_book_is_called_what_a_keeper_calls_it(between: Home) -> None:
    """A helper can't; a name that is too long is not taken."""
    assert between.says(INES, "call this book Spare room")[0] == (
        "This book is called Spare room from now on."
    )
    assert between.says(MINA, "new female F3 picta")[0].startswith("Spare room: ")
    assert between.asks(INES, "settings", set="name", to="x" * 41).startswith("Say what")
    between.join(RUI, "helper")
    assert "keeper" in between.asks(RUI, "settings", set="name", to="Mine")


def test_reminders_of_the_other_book_still_reach_the_person(between: Home) -> None:
    """Mina speaks to the book of Ines, and Attic still has a way to her."""
    attic = between.member(MINA, 2)
    with between.book.reading() as conn:
        assert [way[1:] for way in households.ways(conn, 2)] == [("telegram", MINA)]
    sent = between.remind(attic, "roaches")
    assert sent.reply.text.startswith("Attic: Order roaches.")


def test_done_below_the_other_books_reminder_acts_on_that_book(between: Home) -> None:
    """The key is the same in both books; the one that the button belongs to is closed."""
    between.remind(between.member(MINA, 1), "roaches")
    sent = between.remind(between.member(MINA, 2), "roaches")
    assert between.press(MINA, sent, "done").chosen == "Done"
    assert (between.open_in(1), between.open_in(2)) == (["roaches"], [])
    assert between.press(INES, sent, "done").chosen is None


def test_done_that_is_typed_goes_to_the_book_that_reminded_last(between: Home) -> None:
    """Also where that is not the book that one speaks to; the reply names it."""
    between.remind(between.member(MINA, 1), "roaches")
    between.remind(between.member(MINA, 2), "moss")
    assert between.says(MINA, "done")[0].startswith("Attic: Done")
    assert (between.open_in(1), between.open_in(2)) == (["roaches"], [])


def test_a_record_after_the_other_books_reminder_says_where_it_went(between: Home) -> None:
    """It goes to the book that one speaks to, and both are named."""
    between.says(MINA, "new female F3 picta")
    between.remind(between.member(MINA, 2), "roaches")
    said = between.says(MINA, "F3 21.4g")[0]
    assert "Attic reminded you last, but this went to Ines's book." in said


def test_a_reply_to_a_reminder_goes_to_its_book(between: Home) -> None:
    """Telegram tells which message was replied to; that one's reminder is closed."""
    sent = between.remind(between.member(MINA, 2), "roaches")
    between.remind(between.member(MINA, 2), "moss")
    between.remind(between.member(MINA, 1), "bulbs")
    with between.book.writing() as conn:
        conn.execute(update(outbox).where(outbox.c.id == sent.id).values(sent_as="881"))
    between.says(MINA, "done", answers="881")
    assert (between.open_in(1), between.open_in(2)) == (["bulbs"], ["moss"])


def test_who_is_removed_from_one_book_speaks_to_the_other(between: Home) -> None:
    """Their other book is untouched, and speaks from then on, unnamed as the only one."""
    between.asks(INES, "role", who="Mina", role="none")
    assert between.says(MINA, "new female F9 picta")[0].startswith("New female F9")
    with between.book.reading() as conn:
        assert conn.execute(select(ledger.c.household)).scalars().all() == [2]


# --- the group ------------------------------------------------------------------------------


@pytest.fixture
def grouped(home: Home) -> Home:
    """Ines and Mina have the group remind them; Rui has never written in it."""
    home.join(MINA, "keeper")
    home.join(RUI, "keeper")
    home.says(MINA, "hello", GROUP)
    home.says(INES, "remind us here", GROUP)
    return home


def test_in_a_group_each_is_found_by_themselves_and_the_group_is_answered(home: Home) -> None:
    """The record is the sender's, the reply goes to the group, and the message says where."""
    home.join(MINA, "helper")
    home.says(MINA, "new female F3 picta", GROUP)
    assert home.to(GROUP)[0].startswith("New female F3")
    with home.book.reading() as conn:
        assert conn.execute(select(ledger.c.member)).scalar() == home.member(MINA).id
        assert GROUP in conn.execute(select(messages_table.c.chat)).scalars().all()


def test_a_stranger_in_the_group_is_told_once_an_hour(home: Home) -> None:
    """Whoever is no member gets the one line, an hour less a second later still nothing."""
    told = []
    for after in (timedelta(0), timedelta(minutes=59, seconds=59), timedelta(hours=1)):
        home.now = NOW + after
        told.append(len(home.says(STRANGER, "F3?", GROUP)))
    assert told == [1, 0, 1]


def test_reminders_are_told_once_in_the_group_and_singly_to_the_rest(grouped: Home) -> None:
    """Those who write in the group hear it there, the others where they are."""
    grouped.remind(grouped.member(INES), "roaches", GROUP)
    assert grouped.told("roaches") == [GROUP, RUI]
    assert grouped.says(INES, "not here", GROUP) == ["Reminders go to each of you again."]
    grouped.remind(grouped.member(INES), "moss")
    assert grouped.told("moss") == [INES, MINA, RUI]


def test_a_helper_or_a_private_talk_makes_no_group(home: Home) -> None:
    """It is for keepers, in a group."""
    home.join(MINA, "helper")
    assert "keeper" in home.says(MINA, "remind us here", GROUP)[0]
    assert home.says(INES, "remind us here") == [
        "Say that in the group where reminders should be told."
    ]
    with home.book.reading() as conn:
        assert family.room(conn, 1) is None


def test_whoever_taps_done_in_the_group_has_done_it_for_all(grouped: Home) -> None:
    """A member's tap counts under their name, a stranger's changes nothing, a second neither."""
    sent = grouped.remind(grouped.member(INES), "roaches", GROUP)
    assert grouped.press(STRANGER, sent, "done", GROUP).chosen is None
    assert grouped.open_in(1) == ["roaches"]
    assert grouped.press(MINA, sent, "done", GROUP).chosen == "Done"
    assert grouped.press(INES, sent, "done", GROUP).chosen is None
    with grouped.book.reading() as conn:
        by = conn.execute(select(reminders.c.closed_by)).scalar_one()
    assert by == grouped.member(MINA).id


def test_a_group_that_we_were_put_out_of_is_given_up(grouped: Home) -> None:
    """What waited for it goes to the member by themselves, and so does what falls due later."""

    sent = grouped.remind(grouped.member(INES), "roaches", GROUP)
    with grouped.book.writing() as conn:
        access.shut(conn, "telegram", GROUP, NOW)
        assert family.room(conn, 1) is None
    assert sent.id in [e.id for e in grouped.intake.rackside.unsent("telegram")]
    assert grouped.told("roaches") == [INES, RUI]
    assert grouped.to(INES)[-1].startswith("The group takes no messages")
    assert grouped.to(GROUP) == []


def test_a_group_that_grew_is_found_under_its_new_number(grouped: Home) -> None:
    """Telegram gives it another one; reminders and who writes there move along."""
    grouped.remind(grouped.member(INES), "roaches", GROUP)
    grouped.intake.moved(GROUP, "-1009")
    assert grouped.told("roaches") == ["-1009", RUI]
    grouped.remind(grouped.member(INES), "moss", "-1009")
    assert grouped.told("moss") == ["-1009", RUI]
