"""Who is told what, when; who hears what the others did; and where an unanswered reminder goes."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from bot.book import access, households, post
from bot.book.tables import households as households_table
from bot.channels.numbers import e164
from tests.house import House, paired

PULL = "Pull M2 from F3"
HANDS = "Wash hands with soap"


@pytest.fixture
def house() -> House:
    """Ann owns the book, Bo is a keeper, Mina helps, Wim watches; M2 is in with F3."""
    made = House()
    for name, role in (("Bo", "keeper"), ("Mina", "helper"), ("Wim", "watcher")):
        made.join(name, role)
    return paired(made)


def told(sent: list[tuple[str, str]], words: str = PULL) -> list[str]:
    return [name for name, text in sent if words in text]


# --- who is told ----------------------------------------------------------------------------


def test_keepers_are_told_and_helpers_and_watchers_are_not(house: House) -> None:
    """At the hour, each once; the book keeps who it was."""
    sent = house.wait(days=1, hours=14)
    assert told(sent) == ["Ann", "Bo"]
    ann, bo = (house.people[name].id for name in ("Ann", "Bo"))
    assert set(house.reminder("pull-male").told_to) == {ann, bo}


def test_who_sleeps_when_the_others_are_told_gets_it_on_waking(house: House) -> None:
    """Once, when their quiet hours end, not a second before; and only if it is still open."""
    house.set("Bo", quiet_from="08:00", quiet_to="10:30")
    assert told(house.wait(days=1, hours=14)) == ["Ann"]
    assert told(house.wait(minutes=89, seconds=59)) == []
    assert told(house.wait(seconds=1)) == ["Bo"]
    assert told(house.wait(minutes=30)) == []


def test_who_sleeps_is_not_woken_for_what_was_done_meanwhile(house: House) -> None:
    """Ann pulls him before Bo is up: Bo was not told and hears nothing."""
    house.set("Bo", quiet_from="08:00", quiet_to="10:30")
    house.wait(days=1, hours=14)
    house.says("Ann", "pulled M2")
    assert told(house.wait(hours=3), "M2") == []


def test_quiet_hours_go_by_the_members_own_zone(house: House) -> None:
    """Quiet until eight in New York is one in the afternoon in Lisbon."""
    house.set("Bo", quiet_from="22:00", quiet_to="08:00", zone="America/New_York")
    assert told(house.wait(days=1, hours=14)) == ["Ann"]
    house.set("Ann", quiet_from=None)
    sent = house.wait(hours=4)
    assert told(sent)[-1:] == ["Bo"]
    assert house.now.hour == 13


def test_everyone_asleep_is_told_as_each_wakes(house: House) -> None:
    """Nobody is told at nine; Bo at ten, Ann at eleven."""
    house.set("Ann", quiet_from="08:00", quiet_to="11:00")
    house.set("Bo", quiet_from="08:00", quiet_to="10:00")
    assert told(house.wait(days=1, hours=14, minutes=59)) == []
    assert told(house.wait(minutes=1)) == ["Bo"]
    assert told(house.wait(hours=1)) == ["Ann"]


# --- done by one is done for all ------------------------------------------------------------


def test_the_others_hear_who_did_it(house: House) -> None:
    """One short silent line to who was told; none to the doer, to helpers not told, to watchers."""
    house.wait(days=1, hours=14)
    sent = house.says("Bo", "pulled M2")
    assert sent == [("Bo", sent[0][1]), ("Ann", "Bo: M2 out from F3.")]


def test_the_doer_may_be_somebody_who_was_not_told(house: House) -> None:
    """Mina happens to pull him: both keepers hear of it."""
    house.wait(days=1, hours=14)
    assert told(house.says("Mina", "pulled M2"), "Mina: M2 out") == ["Ann", "Bo"]


def test_done_and_skipped_by_word_are_heard_too(house: House) -> None:
    """In words that say it was not logged."""
    house.wait(days=1, hours=14)
    assert ("Bo", f"Ann has done it: {PULL}.") in house.says("Ann", "done")


def test_several_done_in_one_message_come_in_one(house: House) -> None:
    """Two tasks closed by one message are two lines of one message."""
    house.says("Ann", "new female F7 picta hatched 2024-05-09")
    house.says("Ann", "new male M4 picta hatched 2024-05-02")
    house.says("Ann", "M4 in with F7")
    house.wait(days=1, hours=14)
    sent = [text for name, text in house.says("Bo", "pulled M2 and M4") if name == "Ann"]
    assert [text.splitlines() for text in sent] == [["Bo: M2 out from F3.", "Bo: M4 out from F7."]]


def test_what_was_not_told_yet_is_nobodys_news(house: House) -> None:
    """He is pulled a day early: nobody was reminded, and nobody hears."""
    house.wait(days=1)
    assert told(house.says("Bo", "pulled M2"), "M2") == ["Bo"]


def test_what_falls_away_by_itself_is_nobodys_doing(house: House) -> None:
    """A message about something else is not taken for the answer."""
    house.wait(days=1, hours=14)
    assert [name for name, _ in house.says("Bo", "F3 shed")] == ["Bo"]


# --- passing on -----------------------------------------------------------------------------


def test_unanswered_for_two_hours_it_goes_to_the_helper_once(house: House) -> None:
    """Not a second before; it says from whom; who helps is told what to do."""
    house.wait(days=1, hours=14)
    assert told(house.wait(minutes=119, seconds=59)) == []
    sent = house.wait(seconds=1)
    assert told(sent) == ["Mina"]
    text = sent[0][1]
    assert text.startswith(f"Passed on from Ann and Bo, no answer so far. {PULL}")
    for part in ("Where: tub 3.", "never hold him by the tail", "Ring Ann if", HANDS):
        assert part in text
    assert told(house.wait(hours=10)) == []
    assert house.reminder("pull-male").passed_on is not None


def test_an_answer_in_time_keeps_it_here(house: House) -> None:
    """Snoozed is answered: it comes back to the keepers and is not passed on before."""
    house.wait(days=1, hours=14)
    house.asks("Ann", "snooze", until=house.now + timedelta(hours=3))
    assert told(house.wait(hours=3)) == ["Ann", "Bo"]


def test_helpers_come_in_order_of_joining_and_sleepers_are_passed_over(house: House) -> None:
    """Mina sleeps, so Lia, who joined later, gets it."""
    house.join("Lia", "helper")
    house.set("Mina", quiet_from="10:00", quiet_to="20:00")
    assert told(house.wait(days=1, hours=18)) == ["Ann", "Bo", "Lia"]


@pytest.mark.parametrize(("minutes", "after"), [(30, 30), (240, 240), (0, None), (None, 120)])
def test_the_wait_is_the_households(house: House, minutes: int | None, after: int | None) -> None:
    """Half an hour, four hours, never; two hours where nothing was set."""
    house.set_pass_on(minutes)
    house.wait(days=1, hours=14)
    nine = house.now
    sent: list[str] = []
    while not sent and house.now < nine + timedelta(hours=10):
        sent = told(house.wait(minutes=10))
    waited = round((house.now - nine).total_seconds() / 60) if sent else None
    assert waited == after


@pytest.mark.parametrize(
    ("to", "said", "kept"),
    [
        ("90", "after 90 minutes", 90),
        ("120", "after 2 hours", 120),
        ("5", "after 5 minutes", 5),
        ("4", 'Say "if nobody answers in 2 hours', None),
        ("1440", "after 24 hours", 1440),
        ("1441", 'Say "if nobody answers in 2 hours', None),
        ("off", "not passed on", 0),
        ("usual", "after 2 hours", None),
        ("soon", 'Say "if nobody answers in 2 hours', None),
    ],
)
def test_the_wait_is_set_in_words(house: House, to: str, said: str, kept: int | None) -> None:
    """Minutes from five to a day, off, or the usual; anything else changes nothing."""
    assert said in house.asks("Ann", "settings", set="pass_on", to=to).text
    with house.book.reading() as conn:
        assert conn.execute(select(households_table.c.pass_on)).scalar() == kept


def test_a_helper_does_not_set_the_wait(house: House) -> None:
    """It is the household's."""
    assert "keeper" in house.asks("Mina", "settings", set="pass_on", to="off").text
    with house.book.reading() as conn:
        assert conn.execute(select(households_table.c.pass_on)).scalar() is None


def test_routine_work_is_not_passed_on(house: House) -> None:
    """A weighing that nobody does stays with the keepers."""
    house.says("Ann", "pulled M2")
    sent = house.wait(days=40)
    assert told(sent, "Weigh F3") == ["Ann", "Bo"]
    assert "Mina" not in told(sent, "Weigh")


def test_who_cannot_be_reached_has_it_passed_on_at_once(house: House) -> None:
    """Both keepers are cut off after being told: Mina gets it in the next tick, of any kind."""
    house.wait(days=1, hours=14)
    house.shut("Ann")
    assert told(house.wait(seconds=2)) == []
    house.shut("Bo")
    sent = house.look()
    assert told(sent) == ["Mina"]
    assert sent[0][1].startswith("Passed on from Ann and Bo, who can't be reached.")


def test_with_no_keeper_to_be_reached_it_goes_to_the_helper_when_due(house: House) -> None:
    """Nothing due is kept to ourselves."""
    house.shut("Ann")
    house.shut("Bo")
    assert told(house.wait(days=1, hours=14)) == ["Mina"]


# --- a way that is shut ---------------------------------------------------------------------


def shut_off(house: House, name: str) -> list[tuple[str, str]]:
    """A channel refuses; what the next look at the clock brings."""
    house.shut(name)
    return house.look()


def test_the_owner_hears_once_that_somebody_cannot_be_reached(house: House) -> None:
    """By name and channel; and where it is the owner, a keeper hears it."""
    gone = "can't be reached on Telegram any more"
    assert told(shut_off(house, "Wim"), f"Wim {gone}") == ["Ann"]
    assert house.look() == []
    assert told(shut_off(house, "Ann"), f"Ann {gone}") == ["Bo"]
    with house.book.writing() as conn:
        access.reopen(conn, "telegram", "Wim")
    house.now += timedelta(minutes=1)
    assert told(shut_off(house, "Wim"), f"Wim {gone}") == ["Bo"]


def test_what_waits_for_a_shut_way_goes_by_the_other(house: House) -> None:
    """Ann has a number, too: the reminder that Telegram refused goes there."""
    number = e164("+351 912 345 678")
    assert number is not None
    with house.book.writing() as conn:
        households.add_address(conn, house.people["Ann"], "sms", number)
        households.update_member(conn, house.people["Ann"].id, prefers="telegram")
    house.wait(days=1, hours=14)
    assert [name for name, _ in shut_off(house, "Ann")] == ["Ann"]
    with house.book.reading() as conn:
        waiting = [each.reply.text for each in post.unsent(conn, "sms")]
    assert [PULL in text or "can't be reached" in text for text in waiting] == [True, True]
    assert told(house.look()) == []


def test_what_was_done_meanwhile_is_not_told_when_a_way_opens_again(house: House) -> None:
    """Ann unblocks us days later: the male that Bo pulled is no news to her."""
    house.wait(days=1, hours=14)
    house.shut("Ann")
    house.says("Bo", "pulled M2")
    with house.book.writing() as conn:
        access.reopen(conn, "telegram", "Ann")
        waiting = [e.reply.text for e in post.unsent(conn, "telegram") if e.address == "Ann"]
    assert not [text for text in waiting if PULL in text]


# --- cautions -------------------------------------------------------------------------------


def test_the_hygiene_line_comes_once_a_day_to_a_helper(house: House) -> None:
    """With the first job, told or logged, and on the next day again; keepers are not told."""
    house.wait(days=1, hours=14)
    assert HANDS in house.says("Mina", "F3 shed")[0][1]
    assert not told(house.wait(hours=3), HANDS)
    assert "Mina" in told(house.wait(days=1) + house.says("Mina", "F3 shed"), HANDS)
    assert not any(HANDS in text for text in house.letters("Ann"))


def test_an_answer_taken_back_is_nobodys(house: House) -> None:
    """Bo undoes it: the task is open again and not told again; who then does it is named."""
    house.wait(days=1, hours=14)
    house.says("Bo", "pulled M2")
    assert house.says("Bo", "undo")[0][1].startswith("Undone")
    assert house.reminder("pull-male").told is not None
    assert ("Bo", "Ann: M2 out from F3.") in house.says("Ann", "pulled M2")
