"""How a keeper tells the way a trait is inherited: a note, which the odds then go by."""

from __future__ import annotations

from datetime import date

import pytest

from bot.book.facts import trait_in
from scheduler.colony import Trait
from tests.desk.conftest import Desk, rec


@pytest.fixture
def striped(desk: Desk) -> Desk:
    """M5 and F5 both carry stripe unseen."""
    for tag, sex in (("M5", "male"), ("F5", "female")):
        desk.log(rec("animal", tag=tag, sex=sex, species="picta", traits=("het stripe",)))
    return desk


def odds(desk: Desk) -> list[str]:
    """What M5 and F5 may throw, a line each."""
    return desk.ask("odds", male="M5", female="F5").splitlines()[1:]


@pytest.mark.parametrize(
    ("text", "trait"),
    [
        ("stripe is recessive", Trait("stripe", "recessive")),
        ("Trait stripe is recessive.", Trait("stripe", "recessive")),
        ("the trait super fine is Dominant", Trait("super fine", "dominant")),
        ("snow is incomplete dominant", Trait("snow", "incomplete dominant")),
        ("snow is in complete-dominant", Trait("snow", "incomplete dominant")),
        ("  the  trait stripe\n is  recessive ", Trait("stripe", "recessive")),
        ("pale is sex linked", Trait("pale", "sex-linked")),
        ("pale is sex-linked", Trait("pale", "sex-linked")),
        ("size is polygenic", Trait("size", "polygenic")),
        ("Snow is incomplete dominant, double is Blizzard",
         Trait("snow", "incomplete dominant", "blizzard")),
        ("snow is incomplete dominant, two copies are called blizzard",
         Trait("snow", "incomplete dominant", "blizzard")),
        ("pale is sex-linked, XY", Trait("pale", "sex-linked", None, "XY")),
        ("pale is sex-linked by xy.", Trait("pale", "sex-linked", None, "XY")),
        ("pale is sex-linked, the system is ZW", Trait("pale", "sex-linked")),
        ("stripe is recessive, XY", None),
        ("pale is sex-linked, double is blizzard", None),
        ("stripe is recessive, I think", None),
        ("stripe is not for sale", None),
        ("is recessive", None),
        ("kink in tail tip", None),
    ],
)  # fmt: skip
def test_a_note_defines_a_trait_or_is_another_note(text: str, trait: Trait | None) -> None:
    """Only a whole sentence about inheritance counts."""
    assert trait_in(text) == trait


def test_after_the_note_the_odds_are_mendels(striped: Desk) -> None:
    """Two hets of a recessive: a quarter shows it, half carries it."""
    said = striped.log(rec("note", text="stripe is recessive")).text
    assert said == "Note: stripe is recessive. Odds go by that for stripe from now on."
    assert odds(striped) == ["50% het stripe", "25% stripe", "25% normal"]


def test_a_note_undone_takes_the_trait_back(striped: Desk) -> None:
    """Then it is asked about as before."""
    before = striped.ask("odds", male="M5", female="F5")
    striped.log(rec("note", text="stripe is recessive"))
    striped.ask("undo")
    assert striped.ask("odds", male="M5", female="F5") == before
    assert 'Say "note: stripe is recessive"' in before


def test_the_later_note_on_a_trait_counts(striped: Desk) -> None:
    """Also where the earlier was logged after it, in other letters."""
    striped.log(rec("note", text="stripe is polygenic"))
    striped.log(rec("note", text="Stripe is recessive", on=date(2026, 3, 1)))
    assert odds(striped) == []
    assert "polygenic" in striped.ask("odds", male="M5", female="F5")


def test_the_word_asked_about_is_the_traits_name(striped: Desk) -> None:
    """Not how an animal carries it: "66% het tangerine" is about tangerine."""
    striped.log(rec("note", text="stripe is recessive"))
    striped.log(
        rec("animal", tag="F8", sex="female", species="picta", traits=("66% het tangerine",))
    )
    said = striped.ask("odds", male="M5", female="F8")
    assert 'Say "note: tangerine is recessive"' in said
    assert "stripe is recessive" not in said
