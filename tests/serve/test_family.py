"""A family at one book: roles, several books at one address, the group; a real book and desk."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select, update

from bot import desk
from bot.book import family, households, post
from bot.book.access import Rule
from bot.book.households import Member
from bot.book.pages import Pages
from bot.book.store import Book
from bot.book.tables import addresses, codes, ledger, members, outbox, reminders
from bot.book.tables import households as households_table
from bot.book.tables import messages as messages_table
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

    def __init__(self) -> None:
        self.now = NOW
        self.book = Book.open(":memory:")
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


# --- several books --------------------------------------------------------------------------


@pytest.fixture
def between(home: Home) -> Home:
    """Mina owns a book called Attic and then joins that of Ines: she speaks to this one now."""
    home.other_book(MINA, "Attic")
    home.join(MINA, "keeper")
    return home


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
    from bot.book import access

    sent = grouped.remind(grouped.member(INES), "roaches", GROUP)
    with grouped.book.writing() as conn:
        access.shut(conn, "telegram", GROUP, NOW)
        assert family.room(conn, 1) is None
    assert sent.id in [e.id for e in grouped.intake.rackside.unsent("telegram")]
    assert grouped.told("roaches") == [INES, RUI]
    assert grouped.to(GROUP) == []


def test_a_group_that_grew_is_found_under_its_new_number(grouped: Home) -> None:
    """Telegram gives it another one; reminders and who writes there move along."""
    grouped.remind(grouped.member(INES), "roaches", GROUP)
    grouped.intake.moved(GROUP, "-1009")
    assert grouped.told("roaches") == ["-1009", RUI]
    grouped.remind(grouped.member(INES), "moss", "-1009")
    assert grouped.told("moss") == ["-1009", RUI]


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
