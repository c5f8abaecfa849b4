"""The card says what there is to watch, how a young one grows, and what comes at its age."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from scheduler.health import vet_line
from tests.desk.conftest import TODAY, Desk, rec

AGE = 50


@pytest.fixture
def litter(desk: Desk) -> Desk:
    """H1, H2 and H3 of F3, hatched 50 days ago; H2 and H3 weigh 4.0 and 4.2 g today."""
    hatched = TODAY - timedelta(AGE)
    for tag in ("H1", "H2", "H3"):
        desk.log(
            rec("animal", tag=tag, species="picta", hatched=hatched, dam="F3", sire="M2",
                on=hatched)
        )  # fmt: skip
    desk.log(rec("weighed", tag="H2", grams=4.0), rec("weighed", tag="H3", grams=4.2))
    return desk


def card(desk: Desk, tag: str) -> list[str]:
    """The card's lines."""
    return desk.ask("animal", tag=tag).splitlines()


def test_a_young_one_that_keeps_up_is_said_to(litter: Desk) -> None:
    """Against the middle of its siblings at the same age."""
    litter.log(rec("weighed", tag="H1", grams=4.1))
    assert "At 50 days it weighed 100% of its 2 siblings' usual 4.1 g." in card(litter, "H1")


def test_a_young_one_that_lags_is_said_to_be_behind(litter: Desk) -> None:
    """With what to do."""
    litter.log(rec("weighed", tag="H1", grams=2.05))
    line = "At 50 days it weighed 50% of its 2 siblings' usual 4.1 g: behind, see that it eats."
    assert line in card(litter, "H1")


def test_the_siblings_weight_is_in_the_members_unit(litter: Desk) -> None:
    """Ounces for one who weighs in ounces."""
    litter.log(rec("weighed", tag="H1", grams=4.1))
    litter.ask("settings", set="weight", to="oz")
    assert any("usual 0.14 oz" in line for line in card(litter, "H1"))


def test_what_comes_next_stands_in_one_line(litter: Desk) -> None:
    """The two soonest ages: apart at 75 days, sexed at 120."""
    (line,) = [each for each in card(litter, "H1") if each.startswith("To come: ")]
    apart, sexed = TODAY + timedelta(75 - AGE), TODAY + timedelta(120 - AGE)
    assert (apart, sexed) == (date(2026, 4, 4), date(2026, 5, 19))
    assert line == ("To come: away from the other sex, about 4 Apr; sex can be told, about 19 May.")


@pytest.mark.parametrize("age", [0, 60, 100, 140, 250])
def test_every_age_has_its_words(desk: Desk, age: int) -> None:
    """Two ages to come at the most, and never a word that is missing."""
    hatched = TODAY - timedelta(age)
    desk.log(rec("animal", tag="H1", sex="female", species="picta", hatched=hatched, on=hatched))
    (line,) = [each for each in card(desk, "H1") if each.startswith("To come: ")]
    assert line.count(";") == (age < 150)


def test_past_the_usual_day_the_last_is_said(litter: Desk) -> None:
    """At 80 days it should be apart by day 90."""
    litter.now += timedelta(80 - AGE)
    (line,) = [each for each in card(litter, "H1") if each.startswith("To come: ")]
    assert line.startswith("To come: away from the other sex, by 19 Apr;")


def test_a_grown_animal_has_no_such_lines(litter: Desk) -> None:
    """Its growth is done, however it compares; nothing empty is said."""
    litter.log(rec("weighed", tag="F3", grams=21.4))
    said = card(litter, "F3")
    assert not [each for each in said if each.startswith(("At ", "To come"))]
    assert all(said)


def test_trouble_stands_on_the_card_with_the_vet_line(litter: Desk) -> None:
    """The gravest first; without trouble there is no such line."""
    assert vet_line() not in card(litter, "F3")
    litter.log(rec("seen", tag="F3", sign="thin"))
    litter.log(rec("seen", tag="F3", sign="straining"))
    said = card(litter, "F3")
    (straining,) = [n for n, each in enumerate(said) if each.startswith("Seen straining")]
    (thin,) = [n for n, each in enumerate(said) if each.startswith("Seen thin")]
    assert straining < thin < said.index(vet_line())
    assert said[straining].endswith("Ask a reptile vet today.")


def test_a_sign_that_is_no_vets_matter_has_no_vet_line(litter: Desk) -> None:
    """It is told with what to do."""
    litter.log(rec("seen", tag="F3", sign="thin"))
    said = card(litter, "F3")
    assert any(each.startswith("Seen thin on ") for each in said)
    assert vet_line() not in said
