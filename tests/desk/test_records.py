"""Each kind of record is confirmed in one line that repeats what was understood."""

from __future__ import annotations

from datetime import date, time

import pytest

from bot.records import KINDS, Record
from tests.desk.conftest import Desk, rec

YESTERDAY = date(2026, 3, 9)

CONFIRMED: list[tuple[Record, str]] = [
    (
        rec("animal", tag="F14", sex="female", species="picta", hatched=date(2026, 2, 3),
            sire="M2", dam="F3", place="tub 14", traits=("stripe",)),
        "New female F14, picta, hatched 3 Feb, from M2 x F3, in tub 14, stripe.",
    ),
    (rec("sexed", tag="F7", sex="male"), "F7 is a male."),
    (rec("placed", tag="F3", place="tub 12"), "F3 moved to tub 12."),
    (rec("left", tag="F7", how="sold"), "F7 sold."),
    (rec("left", tag="F7", how="died", on=YESTERDAY), "F7 died on Mon 9 Mar."),
    (rec("weighed", tag="F3", grams=21.4), "F3 21.4 g."),
    (rec("fed", who=("rack A",), food="dubia", count=10, dusted=True),
     "Fed rack A 10 dubia each, dusted."),
    (rec("fed", who=("everyone",)), "Fed everyone."),
    (rec("fed", who=("F3",), refused=True), "F3 wouldn't eat."),
    (rec("fed", who=("F3",), food="crickets", refused=True), "F3 refused crickets."),
    (rec("shed", tag="F3", at=time(18, 5)), "F3 shed at 18:05."),
    (rec("seen", tag="F3", sign="slim"), "F3 looks slim."),
    (rec("paired", male="M2", female="F3"), "M2 in with F3."),
    (rec("searched", tag="F3", found=0), "Searched F3's sand: no eggs."),
    (rec("laid", dam="F3", eggs=2, slots=("B4", "B5")), "F3 laid 2 in B4 and B5."),
    (rec("laid", dam="F3", eggs=2, spoiled=1, slots=("B4",)), "F3 laid 2 in B4, 1 spoiled."),
    (rec("reading", place="incubator 1", celsius=27.2, humidity=75),
     "Incubator 1 is 27.2 °C, 75%."),
    (rec("watered", place="box B"), "Added water to box B."),
    (rec("note", about=("F3",), text="kink in tail tip"), "Note on F3: kink in tail tip."),
    (rec("plan", text="order roaches", on=date(2026, 3, 13), at=time(18)),
     "I'll remind you Fri 13 Mar at 18:00: order roaches."),
    (rec("box", box="D", rows=2, columns=3), "New box D, 2 by 3."),
    (rec("named", tag="F3", name="Tansy"), "F3 is called Tansy."),
    (rec("described", tag="F3", species="picta", hatched=date(2024, 11, 1), dam="F7"),
     "F3: picta, hatched 1 Nov 2024, dam F7."),
]  # fmt: skip

OF_EGGS: list[tuple[Record, str]] = [
    (rec("checked", slots=("B4",), state="fertile"), "B4 fertile."),
    (rec("shifted", slots=("B4",), to=("B9",)), "Moved B4 to B9."),
    (rec("discarded", slots=("B4", "B5")), "Threw out B4 and B5."),
    (rec("pipped", slots=("B4",)), "B4 pipping."),
    (rec("hatched", slots=("B4",), tags=("H1",)), "B4 hatched: H1."),
]


@pytest.mark.parametrize(("record", "said"), CONFIRMED, ids=lambda v: getattr(v, "kind", ""))
def test_a_record_is_said_back_and_written(desk: Desk, record: Record, said: str) -> None:
    """What was understood is repeated first, and the ledger holds just that record."""
    reply = desk.log(record)
    assert reply.text.startswith(said)
    assert reply.wrote
    assert reply.choices[0].says == "undo"
    assert desk.last_written() == [record]


@pytest.mark.parametrize(("record", "said"), OF_EGGS, ids=lambda v: getattr(v, "kind", ""))
def test_what_happens_to_an_egg_is_said_back(desk: Desk, record: Record, said: str) -> None:
    """Eggs in their slots: each thing that happens to them is repeated."""
    desk.log(rec("laid", dam="F3", eggs=2, slots=("B4", "B5"), on=date(2026, 3, 1)))
    assert desk.log(record).text.startswith(said)


def test_every_kind_of_record_is_among_these() -> None:
    """No kind is left without its confirmation being looked at."""
    seen = {record.kind for record, _ in [*CONFIRMED, *OF_EGGS]} | {"parted"}
    assert seen == set(KINDS)


def test_a_laying_says_when_they_hatch(desk: Desk) -> None:
    """The hatch window stands behind the confirmation, in days of this year."""
    text = desk.log(rec("laid", dam="F3", eggs=2, slots=("B4", "B5"))).text
    assert "Hatch about " in text
    assert " May (" in text
    assert "No temperature" not in text


def test_without_a_temperature_the_window_says_what_it_assumes(empty: Desk) -> None:
    """Where no temperature was ever logged, that is said beside the window."""
    empty.log(rec("animal", tag="F3", sex="female", species="picta"))
    empty.log(rec("box", box="B", rows=3, columns=4))
    text = empty.log(rec("laid", dam="F3", eggs=1, slots=("B4",))).text
    assert "No temperature is logged, so this assumes the usual one." in text


def test_a_pairing_says_when_he_comes_out(desk: Desk) -> None:
    """The last day of the session is told, with its weekday."""
    text = desk.log(rec("paired", male="M2", female="F3")).text
    assert text.startswith("M2 in with F3. Take him out by Thu 12 Mar.")
    assert desk.log(rec("parted", male="M2", female="F3")).text == "M2 out from F3."


def test_a_female_who_is_not_ready_is_paired_with_a_word_of_care(desk: Desk) -> None:
    """The record is written; what speaks against it is said with it, at the first session."""
    desk.log(rec("animal", tag="F20", sex="female", species="picta", hatched=date(2026, 1, 2)))
    first = desk.log(rec("paired", male="M2", female="F20"))
    assert first.wrote
    assert "Careful: F20 is 2 months old" in first.text
    desk.log(rec("parted", male="M2", female="F20"))
    assert "Careful" not in desk.log(rec("paired", male="M2", female="F20")).text


@pytest.mark.parametrize("sign", ["straining", "weak", "injured"])
def test_a_sign_of_trouble_names_the_vet(desk: Desk, sign: str) -> None:
    """Where an animal may be in trouble the reply defers to a reptile vet."""
    assert "reptile vet" in desk.log(rec("seen", tag="F3", sign=sign)).text


def test_a_weight_says_how_it_changed(desk: Desk) -> None:
    """Against the weighing before, in the member's unit."""
    desk.log(rec("weighed", tag="F3", grams=20.9, on=date(2026, 3, 1)))
    assert desk.log(rec("weighed", tag="F3", grams=21.4)).text.endswith("Up 0.5 g since 1 Mar.")


def test_a_laying_with_no_slots_asks_where_they_went(desk: Desk) -> None:
    """The record stands; the answer is put into it and writes no second laying."""
    laid = rec("laid", dam="F3", eggs=2)
    assert desk.log(laid).text == "F3 laid 2. Where did they go? Say the slots."
    assert desk.talk.question is not None
    assert desk.talk.question.about == "slots"
    reply = desk.log(laid.with_fields(slots=("B4", "B5")), answers=True)
    assert reply.text.startswith("F3 laid 2 in B4 and B5. Hatch about")
    assert len(desk.state.clutches) == 1
    assert desk.talk.question is None


def test_a_hatch_with_no_tag_asks_for_one(desk: Desk) -> None:
    """The young one's tag is asked for and put into the hatch."""
    desk.log(rec("laid", dam="F3", eggs=1, slots=("B4",), on=date(2026, 1, 8)))
    hatched = rec("hatched", slots=("B4",))
    assert desk.log(hatched).text == "B4 hatched. What tag does the young one get?"
    assert desk.log(hatched.with_fields(tags=("H1",)), answers=True).text == "B4 hatched: H1."
    assert desk.state.animals["H1"].dam == "F3"


def test_several_records_are_confirmed_a_line_each(desk: Desk) -> None:
    """In the order said."""
    reply = desk.log(rec("shed", tag="F3"), rec("watered", place="box B"))
    assert reply.text == "F3 shed.\nAdded water to box B."


def test_units_are_the_members_own(desk: Desk) -> None:
    """Who uses ounces and Fahrenheit reads them; the book keeps grams and Celsius."""
    desk.ask("settings", set="temperature", to="fahrenheit")
    desk.ask("settings", set="weight", to="oz")
    assert desk.log(rec("weighed", tag="F3", grams=21.4)).text == "F3 0.75 oz."
    assert desk.log(rec("reading", place="incubator 1", celsius=27.2)).text == (
        "Incubator 1 is 81 °F."
    )


def test_weight_lost_says_what_to_watch(desk: Desk) -> None:
    """A little less is only said; a tenth less names what to check, and stands on the card."""
    desk.log(rec("weighed", tag="F3", grams=22.0, on=date(2026, 2, 20)))
    desk.log(rec("weighed", tag="F3", grams=21.9, on=date(2026, 3, 1)))
    text = desk.log(rec("weighed", tag="F3", grams=19.0)).text
    assert text.startswith("F3 19 g. Down 2.9 g since 1 Mar. Down from 22 g on 20 Feb")
    assert "Check food, heat and stool" in text
    assert "Check food, heat and stool" in desk.ask("animal", tag="F3")
