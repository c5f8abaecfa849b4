"""Cautions stand where they belong, once a day to the same person."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.book import households
from bot.desk.care import at_the_door
from bot.language.reading import Outcome, Reading
from scheduler.cautions import caution
from tests.desk.conftest import Desk, rec


def test_a_helpers_first_job_of_a_day_carries_the_hygiene_line(desk: Desk) -> None:
    """Not the second; the next day again. A keeper is not told."""
    assert "Wash hands" not in desk.log(rec("shed", tag="F3")).text
    desk.member = replace(desk.member, role="helper")
    assert "Wash hands with soap" in desk.log(rec("shed", tag="F3")).text
    assert "Wash hands" not in desk.log(rec("shed", tag="F7")).text
    desk.now += timedelta(days=1)
    assert "Wash hands with soap" in desk.log(rec("watered", place="box B")).text


def test_a_sale_points_to_the_law_once_a_day(desk: Desk) -> None:
    """The second sale of the day does without."""
    first, second = (desk.log(rec("left", tag=tag, how="sold")).text for tag in ("F3", "F7"))
    assert "Selling may need a license" in first
    assert second == "F7 sold."


def test_trouble_names_the_vet_every_time(desk: Desk) -> None:
    """It is not left out because it was said before."""
    said = [desk.log(rec("seen", tag="F3", sign="straining")).text for _ in range(2)]
    assert all("Call a reptile vet today" in each for each in said)


@pytest.mark.parametrize("outcome", [Outcome.CHAT, Outcome.UNCLEAR])
def test_a_question_about_a_dose_is_for_a_vet(desk: Desk, outcome: Outcome) -> None:
    """No dose is ever given, however the message was read."""
    desk.typed = "what dose of oxytocin does she need?"
    text = desk.take(Reading(outcome)).text
    assert "for a vet to choose. I do not give doses." in text


def test_eggs_picked_up_are_not_to_be_turned(desk: Desk) -> None:
    """Said once a day, when eggs are put in a slot or moved to another, not when only counted."""
    turned = "Mark the top of each egg and keep that side up."
    assert turned not in desk.log(rec("laid", dam="F7", eggs=1)).text
    assert turned in desk.log(rec("laid", dam="F3", eggs=1, slots=("B4",))).text
    assert turned not in desk.log(rec("shifted", slots=("B4",), to=("B5",))).text
    desk.now += timedelta(days=1)
    assert turned in desk.log(rec("shifted", slots=("B5",), to=("B4",))).text


def test_a_heated_box_calls_for_care_with_electricity(desk: Desk) -> None:
    """A box that stands in no incubator does not."""
    heat = "Every heat source needs a thermostat."
    desk.now += timedelta(days=1)  # the desk has such a box from today
    assert heat not in desk.log(rec("box", box="X", rows=2, columns=2)).text
    assert heat in desk.log(rec("box", box="Y", rows=2, columns=2, incubator="1")).text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (
            "can I wash the tubs in the kitchen sink",
            "No geckos, tubs or feeder cups in the kitchen",
        ),
        ("my sister is pregnant, can she help", "pregnant people and anyone with weak immunity"),
        ("we had an outage last night", "Keep the incubator shut"),
    ],
)
def test_what_people_are_at_risk_from_is_answered(desk: Desk, typed: str, said: str) -> None:
    """A message that is no log, and names a kitchen, a pregnancy, a power cut."""
    desk.typed = typed
    assert said in desk.take(Reading(Outcome.CHAT)).text


@pytest.mark.parametrize(
    ("role", "lines"), [("owner", 3), ("keeper", 3), ("helper", 1), ("watcher", 0)]
)
def test_who_comes_in_is_told_what_goes_with_geckos(role: str, lines: int) -> None:
    """Keepers all of it, helpers who should keep away: their first job has the hygiene line."""
    told = at_the_door(role)
    assert len(told) == lines
    assert (caution("salmonella-hands").text in told) == (role in ("owner", "keeper"))


def test_the_day_is_the_helpers_own(desk: Desk) -> None:
    """Seven hours west of the rack it is still yesterday after midnight."""
    desk.member = replace(desk.member, role="helper", zone="America/Los_Angeles")
    with desk.book.writing() as conn:
        households.update_member(conn, desk.member.id, zone="America/Los_Angeles")
    assert "Wash hands" in desk.log(rec("shed", tag="F3")).text
    desk.now += timedelta(hours=11)  # 06:30 in Lisbon, 23:30 where the helper is
    assert "Wash hands" not in desk.log(rec("shed", tag="F7")).text
    desk.now += timedelta(hours=1)  # half past midnight there
    assert "Wash hands" in desk.log(rec("shed", tag="F7")).text


def test_a_long_days_talk_does_not_bring_it_twice(desk: Desk) -> None:
    """Also with more said in between than is looked at in one go."""
    desk.member = replace(desk.member, role="helper")
    said = [desk.log(rec("shed", tag="F3")).text for _ in range(65)]
    assert sum("Wash hands" in each for each in said) == 1
