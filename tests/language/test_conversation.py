"""What a message means after another: answers, a yes, corrections, the same of another."""

from __future__ import annotations

from datetime import date, time
from typing import Any

import pytest

from bot.language.reader import read
from bot.language.reading import NO_TALK, Ask, Outcome, Reading, Talk
from bot.language.view import View
from bot.records import Record
from tests.language.cases_of import HERE, MOMENT, ZONE
from tests.language.support import view_of

TODAY = date(2026, 4, 16)


@pytest.fixture(scope="module")
def book() -> View:
    return view_of(HERE / "book", ZONE)


def say(text: str, book: View, talk: Talk = NO_TALK) -> Reading:
    return read(text, MOMENT, book, talk)


def after(text: str, book: View) -> Talk:
    """The conversation once `text` has been said and answered."""
    reading = say(text, book)
    return Talk(question=reading.ask, offer=reading.offer, last=reading.records)


def only(reading: Reading) -> dict[str, Any]:
    """The one record of a reading, as plain fields with its kind."""
    assert reading.outcome is Outcome.RECORDS, reading
    (record,) = reading.records
    return {"kind": record.kind, **record.fields}


ANSWERS = [
    ("candled K4", "infertile", {"kind": "checked", "slots": ("K4",), "state": "infertile"}),
    ("candled K4", "veins", {"kind": "checked", "slots": ("K4",), "state": "fertile"}),
    ("candled K4", "1", {"kind": "checked", "slots": ("K4",), "state": "fertile"}),
    ("P1 laid", "2", {"kind": "laid", "dam": "P1", "eggs": 2}),
    ("P1 laid", "two eggs", {"kind": "laid", "dam": "P1", "eggs": 2}),
    (
        "laid 2 in K5 and K6",
        "Juniper",
        {"kind": "laid", "dam": "P1", "eggs": 2, "slots": ("K5", "K6")},
    ),
    (
        "laid 2 in K5 and K6",
        "it was P2",
        {"kind": "laid", "dam": "P2", "eggs": 2, "slots": ("K5", "K6")},
    ),
    ("P1 laid 2 in K1", "K5", {"kind": "laid", "dam": "P1", "eggs": 2, "slots": ("K5",)}),
    (
        "P1 laid 2 in K1",
        "k5 and k6",
        {"kind": "laid", "dam": "P1", "eggs": 2, "slots": ("K5", "K6")},
    ),
    ("P1 laid 2, slot 5", "box K", {"kind": "laid", "dam": "P1", "eggs": 2, "slots": ("K5",)}),
    (
        "P1 laid 2, slot 5",
        "the second one",
        {"kind": "laid", "dam": "P1", "eggs": 2, "slots": ("L5",)},
    ),
    ("moved P2", "tub 12", {"kind": "placed", "tag": "P2", "place": "tub 12"}),
    ("weighed P2", "19.4", {"kind": "weighed", "tag": "P2", "grams": 19.4}),
    ("weighed P2", "19.4g", {"kind": "weighed", "tag": "P2", "grams": 19.4}),
    ("21.6g", "P2", {"kind": "weighed", "tag": "P2", "grams": 21.6}),
    ("inc 1 at 40", "F", {"kind": "reading", "place": "incubator 1", "celsius": 4.4}),
    ("Y1 went to a new home", "sold", {"kind": "left", "tag": "Y1", "how": "sold"}),
    ("Y1 went to a new home", "2", {"kind": "left", "tag": "Y1", "how": "given"}),
    ("moved K1", "N5", {"kind": "shifted", "slots": ("K1",), "to": ("N5",)}),
    ("pulled P11", "from P2", {"kind": "parted", "male": "P11", "female": "P2"}),
    ("put P11 in", "with Saffron", {"kind": "paired", "male": "P11", "female": "P3"}),
    (
        "fed 5 crickets each",
        "rack A",
        {"kind": "fed", "who": ("rack A",), "food": "crickets", "count": 5},
    ),
    (
        "fed 5 crickets each",
        "everyone",
        {"kind": "fed", "who": ("everyone",), "food": "crickets", "count": 5},
    ),
    ("searched P1", "none", {"kind": "searched", "tag": "P1", "found": 0}),
    ("searched P1", "0", {"kind": "searched", "tag": "P1", "found": 0}),
    ("maybe K4 is fertile", "yes", {"kind": "checked", "slots": ("K4",), "state": "fertile"}),
    ("remind me to order roaches", "friday", {"kind": "plan", "text": "order roaches"}),
    ("P1 laid", "one good one bad", {"kind": "laid", "dam": "P1", "eggs": 2, "spoiled": 1}),
    ("P1 laid", "2, K5 and K6", {"kind": "laid", "dam": "P1", "eggs": 2, "slots": ("K5", "K6")}),
    ("P1 laid 2 in K1", "slot 5", {"kind": "laid", "dam": "P1", "eggs": 2, "slots": ("K5",)}),
    ("P1 laid 2 in K1", "the second", {"kind": "laid", "dam": "P1", "eggs": 2, "slots": ("K6",)}),
    ("candled K4", "good", {"kind": "checked", "slots": ("K4",), "state": "fertile"}),
    ("inc 1 at 40", "fahrenheit", {"kind": "reading", "place": "incubator 1", "celsius": 4.4}),
    ("inc 1 at 40", "2", {"kind": "reading", "place": "incubator 1", "celsius": 4.4}),
    ("new box H", "3 by 4", {"kind": "box", "box": "H", "rows": 3, "columns": 4}),
]


@pytest.mark.parametrize(("said", "reply", "record"), ANSWERS)
def test_an_answer_completes_the_record_that_waits(
    said: str, reply: str, record: dict[str, Any], book: View
) -> None:
    """A number, a word, a part or a sentence answers the question, and closes it."""
    reading = say(reply, book, after(said, book))
    assert only(reading) == record
    assert reading.answers


@pytest.mark.parametrize("reply", ["neither", "never mind", "none of them", "forget it"])
def test_a_question_may_be_dropped(reply: str, book: View) -> None:
    """Saying that it is none of them writes nothing and closes the question."""
    reading = say(reply, book, after("laid 2 in K5 and K6", book))
    assert (reading.outcome, reading.records, reading.answers) == (Outcome.CHAT, (), True)


def test_a_new_log_leaves_the_question_aside(book: View) -> None:
    """A sentence of its own is read as such, whatever was asked."""
    reading = say("P2 shed", book, after("candled K4", book))
    assert only(reading) == {"kind": "shed", "tag": "P2"}
    assert not reading.answers


def test_an_answer_that_can_t_be_is_asked_again(book: View) -> None:
    """A taken slot given as the answer leads to the next question about slots."""
    reading = say("K2", book, after("P1 laid 2 in K1", book))
    assert reading.outcome is Outcome.ASK and reading.answers
    assert reading.ask is not None and (reading.ask.about, reading.ask.why) == (
        "slots",
        "slot-taken",
    )


def test_yes_takes_the_reminder_offered(book: View) -> None:
    """A dated plan is offered as a reminder, and a yes writes it."""
    talk = after("putting P11 in with P2 tomorrow", book)
    assert talk.offer is not None and talk.offer.on == date(2026, 4, 17)
    reading = say("yes please", book, talk)
    assert only(reading)["text"] == "put P11 in with P2"
    assert reading.answers


def test_yes_with_an_hour_sets_it(book: View) -> None:
    """ "yes at 8pm" takes the offer and its hour."""
    reading = say("yes at 8pm", book, after("putting P11 in with P2 tomorrow", book))
    assert (reading.records[0].on, reading.records[0].at) == (date(2026, 4, 17), time(20))


def test_no_leaves_the_offer(book: View) -> None:
    """A no to an offer writes nothing."""
    reading = say("no thanks", book, after("putting P11 in with P2 tomorrow", book))
    assert (reading.outcome, reading.records, reading.answers) == (Outcome.CHAT, (), True)


CORRECTIONS = [
    ("P1 laid 2 in K5", "no, it was P2", {"dam": "P2"}),
    ("P1 laid 2 in K5", "no, slot 6", {"slots": ("K6",)}),
    ("P1 laid 2 in K5", "make that slot 6", {"slots": ("K6",)}),
    ("P1 laid 2 in K5", "that was yesterday", {"on": date(2026, 4, 15)}),
    ("P1 laid 2 in K5", "sorry, 1 egg", {"eggs": 1}),
    ("P1 laid 2 in K5", "no, K7", {"slots": ("K7",)}),
    ("P1 shed", "make that P2", {"tag": "P2"}),
    ("P1 shed", "sorry I meant Saffron", {"tag": "P3"}),
    ("P1 shed", "it was at 7pm", {"at": time(19)}),
    ("P1 20.1g", "sorry 21.4", {"grams": 21.4}),
    ("P1 20.1g", "no, 21.4g", {"grams": 21.4}),
    ("P11 in with P2", "no, with P1", {"female": "P1"}),
    ("P11 in with P2", "I meant P10", {"male": "P10"}),
    ("moved P2 to tub 5", "no, tub 6", {"place": "tub 6"}),
    ("candled K4, veins", "no, infertile", {"state": "infertile"}),
    ("inc 1 27.4", "make that 26.4", {"celsius": 26.4}),
    ("fed P1 5 dubia", "no it was P2", {"who": ("P2",)}),
    ("fed P1 5 dubia", "make it 6", {"count": 6}),
    ("fed P1 5 dubia", "crickets not dubia", {"food": "crickets"}),
    ("P1 laid 2 in K5", "yesterday", {"on": date(2026, 4, 15)}),
    ("P1 laid 2 in K5", "1 bad", {"spoiled": 1}),
    ("P1 laid 2 in K5", "not P1, P2", {"dam": "P2"}),
    ("P11 in with P2", "at 7pm", {"at": time(19)}),
    ("P11 in with P2", "no with P1", {"female": "P1"}),
    ("P1 20.1g", "22.4 sorry", {"grams": 22.4}),
]


@pytest.mark.parametrize(("said", "fix", "fields"), CORRECTIONS)
def test_a_correction_names_the_fields_put_right(
    said: str, fix: str, fields: dict[str, Any], book: View
) -> None:
    """What was said last is put right by the names its record has for it."""
    reading = say(fix, book, after(said, book))
    assert reading.outcome is Outcome.REQUEST and reading.request is not None, reading
    assert reading.request.ask == "correct"
    assert dict(reading.request.fields) == fields


AGAIN = [
    ("P1 shed", "and P2 too", {"kind": "shed", "tag": "P2"}),
    ("P1 shed", "same for P2", {"kind": "shed", "tag": "P2"}),
    ("P3 looks gravid", "P1 as well", {"kind": "seen", "tag": "P1", "sign": "gravid"}),
    ("fed P1 5 dubia", "same for P2", {"kind": "fed", "who": ("P2",), "food": "dubia", "count": 5}),
    ("P11 in with P2", "and P1 too", {"kind": "paired", "male": "P11", "female": "P1"}),
    ("K3 fertile", "K4 too", {"kind": "checked", "slots": ("K4",), "state": "fertile"}),
    ("fed P1 5 dubia", "P2 6", {"kind": "fed", "who": ("P2",), "food": "dubia", "count": 6}),
]


@pytest.mark.parametrize(("said", "more", "record"), AGAIN)
def test_the_same_of_another(said: str, more: str, record: dict[str, Any], book: View) -> None:
    """ "And P2 too" is the last record again, of another animal or egg."""
    assert only(say(more, book, after(said, book))) == record


def test_both_sexes_unknown_is_about_the_young_just_hatched(book: View) -> None:
    """ "Both" are the two animals of the last message."""
    talk = Talk(
        last=(Record("hatched", TODAY, None, {"slots": ("K1", "K2"), "tags": ("Y1", "Y2")}),)
    )
    reading = say("both sexes unknown", book, talk)
    assert [dict(r.fields) for r in reading.records] == [
        {"tag": "Y1", "sex": "unknown"},
        {"tag": "Y2", "sex": "unknown"},
    ]


def test_she_is_whom_we_spoke_of(book: View) -> None:
    """A pronoun stands for the animal of the last message."""
    assert only(say("she's gravid", book, after("P1 shed", book))) == {
        "kind": "seen",
        "tag": "P1",
        "sign": "gravid",
    }


def test_she_is_nobody_when_nobody_was_named(book: View) -> None:
    """With nobody spoken of, a pronoun is a question."""
    reading = say("she shed", book)
    assert reading.ask is not None and reading.ask.about == "tag"


@pytest.mark.parametrize("text", ["undo", "scratch that", "take that back please"])
def test_undo_is_undo_in_any_conversation(text: str, book: View) -> None:
    """Taking back is asked for, whatever is open."""
    reading = say(text, book, after("P1 laid 2 in K5", book))
    assert reading.request is not None and reading.request.ask == "undo"


def test_an_hour_is_no_word_of_a_reminder(book: View) -> None:
    """ "Tomorrow at 8" to "what shall I remind you of?" is kept, and the words are asked for."""
    reading = say("tomorrow at 8", book, after("remind me", book))
    assert reading.outcome is Outcome.ASK and reading.ask is not None and reading.ask.waiting
    waiting = reading.ask.waiting
    assert (reading.ask.about, waiting.on, waiting.at) == ("text", date(2026, 4, 17), time(8))
    done = say("to weigh P1", book, Talk(question=reading.ask))
    assert [(r.on, r.at, r.get("text")) for r in done.records] == [
        (date(2026, 4, 17), time(8), "weigh P1")
    ]


def test_words_of_a_reminder_are_followed_by_its_day(book: View) -> None:
    """With words told and no day, the day is asked for; its hour is kept."""
    reading = say("weigh P1", book, after("remind me", book))
    assert reading.ask is not None and reading.ask.about == "on"
    done = say("friday 6pm", book, Talk(question=reading.ask))
    assert [(r.on, r.at, r.get("text")) for r in done.records] == [
        (date(2026, 4, 17), time(18), "weigh P1")
    ]


def test_a_box_alone_leads_to_its_free_slots(book: View) -> None:
    """ "Box L" to "which slot?" is asked about with the free slots of that box."""
    reading = say("box L", book, after("P1 laid 2 in K1", book))
    assert reading.ask is not None and reading.answers
    assert reading.ask.choices == ("L4", "L5", "L6", "L7")


def test_a_dud_that_is_binned_is_two_records(book: View) -> None:
    """An egg's state and its end may be told in one answer."""
    reading = say("dud, binned it", book, after("candled K4", book))
    assert [r.kind for r in reading.records] == ["checked", "discarded"]


def test_parents_told_afterwards_are_no_pairing(book: View) -> None:
    """ "From P10 x P1" after a newcomer puts nobody together."""
    assert not say("from P10 x P1", book, after("new female P15 picta", book)).records


def test_sexes_go_with_their_tags(book: View) -> None:
    """ "Y40 is male, Y41 female" sexes each of the young by its own word."""
    waiting = Record("hatched", TODAY, None, {"slots": ("K1", "K2")})
    reading = say("Y40 is male Y41 female", book, Talk(question=Ask("tags", (), waiting)))
    assert [(r.get("tag"), r.get("sex")) for r in reading.records[1:]] == [
        ("Y40", "male"),
        ("Y41", "female"),
    ]


def test_her_is_whom_the_open_question_is_about(book: View) -> None:
    """While "How many eggs did P1 lay?" is open "her" is P1; the question is left open."""
    talk = Talk(question=say("P1 laid", book).ask, last=say("P2 shed", book).records)
    reading = say("gave her 3 crickets", book, talk)
    assert only(reading) == {"kind": "fed", "who": ("P1",), "food": "crickets", "count": 3}
    assert not reading.answers


def test_a_question_to_the_book_answers_no_question(book: View) -> None:
    """ "next clutch P1" is no tag for the young one."""
    reading = say("next clutch P1", book, after("K1 hatched", book))
    assert reading.request is not None and reading.request.ask == "next_clutch"
    assert not reading.records


def test_another_meal_is_no_number_for_the_one_asked_about(book: View) -> None:
    """A message with a verb and feeders of its own is a new log, whatever figure it holds."""
    reading = say("gave Y1 3 fruit flies", book, after("fed P1 4 to 6 crickets", book))
    assert only(reading) == {"kind": "fed", "who": ("Y1",), "food": "fruit flies", "count": 3}
