"""What is asked back, what waits, what closes a question, and who may write."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from bot.book.pages import Pages
from bot.desk.talk import talk_from_json, talk_to_json
from bot.language.reader import read
from bot.language.reading import Ask, Outcome, Reading, Request, Talk
from tests.desk.conftest import EVENING, Desk, rec

NO_DAM = rec("laid", eggs=2, slots=("B4", "B5"))

ASKED: list[tuple[Ask, str]] = [
    (Ask("dam", ("F3", "F7"), NO_DAM), "Which female laid?\n1 F3, 2 F7"),
    (Ask("eggs", (), rec("laid", dam="F3")), "How many eggs did F3 lay?"),
    (Ask("female", (), rec("paired", male="M2")), "Which female did M2 go in with?"),
    (Ask("to", (), rec("shifted", slots=("B4",))), "Where did B4 go? Say the new slot."),
    (Ask("state", (), rec("checked", slots=("B4",))), "How did B4 look?"),
    (Ask("tag", (), rec("animal", sex="female")), "What tag does it get?"),
    (Ask("on", (), rec("plan", text="order roaches")), "When shall I remind you?"),
    (Ask("celsius", ("38 C", "38 F"), rec("reading", place="incubator 1"), "ambiguous", "38"),
     "Is 38 in °C or °F?\n1 38 C, 2 38 F"),
    (Ask("dam", ("F3", "F7"), NO_DAM, "unknown-tag", "F9"),
     "There is no F9 in the book. Which did you mean?\n1 F3, 2 F7"),
    (Ask("tag", (), rec("shed"), "unknown-tag", "F9"),
     'There is no F9 in the book. To add it, say "new female F9" or "new male F9".'),
    (Ask("slots", (), rec("discarded"), "unknown-slot", "E3"),
     'There is no slot E3. Say "free slots" to see what there is.'),
    (Ask("slots", ("B5",), rec("laid", dam="F3", eggs=1), "slot-taken", "B4"),
     "B4 is taken. Which slot is it?\n1 B5"),
    (Ask("slots", (), rec("pipped"), "slot-empty", "B4"),
     'There is no egg in B4. Say another slot, or "what\'s in box B".'),
    (Ask("dam", (), NO_DAM, "not-a-female", "M2"),
     "M2 is not a female in the book. Say which female it was."),
    (Ask("male", ("M2",), rec("paired", female="F3"), "not-a-male", "F7"),
     "F7 is not a male in the book. Which male was it?\n1 M2"),
    (Ask("female", (), rec("parted", male="M2"), "no-open-pairing", "M2"),
     "M2 is not in with any female in the book. Which one was it?"),
    (Ask("grams", (), rec("weighed", tag="F3"), "impossible", "900 g"),
     "900 g can't be right as a weight. What did F3 weigh?"),
    (Ask("on", (), rec("shed", tag="F3"), "in-future", "friday"),
     "That day is still to come. When was it?"),
    (Ask("tag", (), rec("shed"), "gone", "F3"),
     "F3 has left, as the book has it. Say which one it was."),
    (Ask("tag", (), rec("animal"), "duplicate", "F3"),
     "F3 is in the book already. What tag does the new one get?"),
]  # fmt: skip


@pytest.mark.parametrize(("ask", "said"), ASKED, ids=lambda v: getattr(v, "why", ""))
def test_each_question_has_its_sentence(desk: Desk, ask: Ask, said: str) -> None:
    """Nothing is written, the choices are numbered, and the talk keeps the question."""
    before = desk.last_written()
    reply = desk.question(ask)
    assert reply.text == said
    assert not reply.wrote
    assert [each.says for each in reply.choices] == list(ask.choices)
    assert desk.talk.question == ask
    assert desk.last_written() == before


def test_the_sure_records_are_written_and_the_reply_says_what_waits(desk: Desk) -> None:
    """Which are in the book and which is not stands apart."""
    reply = desk.question(Ask("dam", ("F3", "F7"), NO_DAM), rec("shed", tag="F7"))
    assert reply.text.splitlines() == [
        "F7 shed.",
        "Not written yet: … laid 2.",
        "Which female laid?",
        "1 F3, 2 F7",
    ]
    assert reply.wrote
    assert desk.last_written() == [rec("shed", tag="F7")]


def test_an_answer_writes_what_waited(desk: Desk) -> None:
    """The question is closed with it."""
    desk.question(Ask("dam", ("F3", "F7"), NO_DAM))
    reply = desk.log(NO_DAM.with_fields(dam="F3"), answers=True)
    assert reply.text.startswith("F3 laid 2 in B4 and B5.")
    assert desk.talk.question is None


def test_no_closes_the_question(desk: Desk) -> None:
    """Nothing is written."""
    desk.question(Ask("dam", ("F3", "F7"), NO_DAM))
    reply = desk.take(Reading(Outcome.CHAT, answers=True))
    assert reply.text == "Fine, nothing written."
    assert desk.talk.question is None


def test_a_question_passed_over_is_said_to_be_left_out(desk: Desk) -> None:
    """A new log instead of an answer closes the question openly."""
    desk.question(Ask("dam", ("F3", "F7"), NO_DAM))
    assert desk.log(rec("shed", tag="F3")).text == "F3 shed.\nNot written: … laid 2."


UNKNOWN = Ask("dam", ("F3", "F7"), rec("laid", eggs=1, slots=("B6",)), "unknown-tag", "F9")
TAKEN = Ask("slots", ("B4", "B5"), rec("laid", dam="F3", eggs=1), "slot-taken", "B1")


def test_every_thing_that_waits_is_named_and_asked_in_turn(desk: Desk) -> None:
    """A round with two questions loses neither: the second is put when the first is answered."""
    first = desk.take(Reading(Outcome.ASK, (rec("shed", tag="F7"),), ask=TAKEN, later=(UNKNOWN,)))
    assert first.text.splitlines() == [
        "F7 shed.",
        "Not written yet: F3 laid 1. F9 laid 1.",
        "B1 is taken. Which slot is it?",
        "1 B4, 2 B5",
    ]
    second = desk.log(rec("laid", dam="F3", eggs=1, slots=("B4",)), answers=True)
    assert second.text.splitlines()[-3:] == [
        "Not written yet: F9 laid 1.",
        "There is no F9 in the book. Which did you mean?",
        "1 F3, 2 F7",
    ]
    assert desk.talk.question == UNKNOWN
    assert desk.talk.more == ()


def test_a_slot_filled_meanwhile_is_not_offered_again(desk: Desk) -> None:
    """Two layings that both want a free slot: the second is offered what is left."""
    other = replace(TAKEN, waiting=rec("laid", dam="F7", eggs=1))
    desk.take(Reading(Outcome.ASK, ask=TAKEN, later=(other,)))
    reply = desk.log(rec("laid", dam="F3", eggs=1, slots=("B4",)), answers=True)
    assert [each.says for each in reply.choices] == ["undo", "B5"]


def test_everything_passed_over_is_named(desk: Desk) -> None:
    """A new log closes all that waited, openly."""
    desk.take(Reading(Outcome.ASK, ask=TAKEN, later=(UNKNOWN,)))
    reply = desk.log(rec("shed", tag="F3"))
    assert reply.text.splitlines() == ["F3 shed.", "Not written: F3 laid 1. F9 laid 1."]
    assert desk.talk.more == ()


def test_looking_something_up_keeps_the_question(desk: Desk) -> None:
    """It is still open afterwards."""
    ask = Ask("dam", ("F3", "F7"), NO_DAM)
    desk.question(ask)
    desk.ask("where", tag="F3")
    assert desk.talk.question == ask


def test_a_plan_told_in_passing_is_offered(desk: Desk) -> None:
    """Yes writes it, as a plan."""
    plan = rec("plan", text="put M2 in", on=date(2026, 3, 11))
    reply = desk.take(Reading(Outcome.CHAT, offer=plan))
    assert reply.text == ("Nothing written yet. Shall I remind you tomorrow: put M2 in? Yes or no.")
    assert [each.says for each in reply.choices] == ["yes", "no"]
    assert desk.talk.offer == plan
    assert desk.log(plan, answers=True).text == "I'll remind you tomorrow: put M2 in."
    assert desk.talk.offer is None


@pytest.mark.parametrize("hint", [None, "eggs", "no such topic"])
def test_what_is_not_understood_says_how_to_say_it(desk: Desk, hint: str | None) -> None:
    """And that nothing is written."""
    reply = desk.take(Reading(Outcome.UNCLEAR, hint=hint))
    assert reply.text.startswith("I didn't understand that; nothing is written.")
    assert '"F3 laid 2' in reply.text


def test_a_watcher_cannot_write(desk: Desk) -> None:
    """Looking up works."""
    desk.member = replace(desk.member, role="watcher")
    assert not desk.log(rec("shed", tag="F3")).wrote
    assert desk.ask("where", tag="F3") == "F3 is in tub 3."
    assert desk.ask("undo").startswith("You can look things up here, but not write.")


def test_a_helper_logs_but_does_not_invite(desk: Desk) -> None:
    """Inviting is for keepers."""
    desk.member = replace(desk.member, role="helper")
    assert desk.log(rec("shed", tag="F3")).wrote
    assert desk.ask("share", role="keeper") == "That is for a keeper of this book. Ask the owner."


def test_records_and_a_request_are_answered_together(desk: Desk) -> None:
    """The confirmation first, then the answer."""
    reading = Reading(
        Outcome.RECORDS, records=(rec("shed", tag="F3"),), request=Request("where", {"tag": "F3"})
    )
    reply = desk.take(reading)
    assert reply.text == "F3 shed.\nF3 is in tub 3."
    assert reply.wrote


def test_a_talk_comes_back_from_json_as_it_was() -> None:
    """Question, offer, last records and tasks."""
    talk = Talk(
        question=Ask("dam", ("F3",), NO_DAM, "unknown-tag", "F9"),
        offer=rec("plan", text="put M2 in"),
        last=(rec("shed", tag="F3"),),
        tasks=("Weigh F3. [F3]",),
    )
    assert talk_from_json(talk_to_json(talk)) == talk
    assert talk_from_json(None) == Talk()


def test_a_question_without_an_answer_says_what_can_be_asked(desk: Desk) -> None:
    """ "Nothing written" would be no answer to somebody who asked."""
    desk.typed = "who is the prettiest"
    assert desk.take(Reading(Outcome.CHAT)).text.startswith("I have no answer to that. Ask")


def test_a_message_that_is_too_long_is_to_be_sent_in_parts(desk: Desk) -> None:
    """A pasted list is not "not understood": it only has to be cut."""
    with desk.book.reading() as conn:
        view = Pages(conn, desk.member.household).view()
    reply = desk.take(read("F3 21.2 g\n" * 1000, EVENING, view))
    assert reply.text.startswith("That is too long to be read safely; nothing is written.")
