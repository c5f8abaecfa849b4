"""Cautions stand where they belong, once a day to the same person."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.language.reading import Outcome, Reading
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
