"""What a keeper asks over a season, typed and answered: traits, young, feeders, health."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from bot.book import households
from bot.book.store import Book
from bot.messages import Message
from bot.service import Rackside


class Season:
    """A keeper's book in memory, and the days going by."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 1, 19, 0, tzinfo=UTC)
        book = Book.open(":memory:")
        with book.writing() as conn:
            keeper = households.begin(conn, zone="UTC", owner="keeper", now=self.now)
            households.add_address(conn, keeper, "script", "keeper")
        self.desk = Rackside(book, lambda: self.now)
        self.count = 0

    def say(self, *lines: str) -> str:
        """Say each line; the answer to the last."""
        for line in lines:
            self.count += 1
            message = Message("script", str(self.count), "keeper", line, self.now)
            told = self.desk.handle(message)
        return "\n".join(each.reply.text for each in told)

    def later(self, days: int) -> None:
        self.now += timedelta(days)


@pytest.fixture
def season() -> Season:
    """Two pictas that may carry stripe, an egg box."""
    season = Season()
    season.say(
        "new female F5 picta het stripe",
        "new male M5 picta 66% het stripe",
        "new box B, 4 by 4, incubator 1",
    )
    return season


def hatched(season: Season) -> None:
    """M5 and F5 had two young, H1 and H2."""
    season.say("M5 in with F5", "pulled M5", "F5 laid 2, box B slots 1 and 2")
    season.later(60)
    season.say("B1 hatched, H1", "B2 hatched, H2")


def test_a_possible_het_is_proven_by_what_hatches(season: Season) -> None:
    """Notes, odds, a hatch, the young one's look: and the father is no longer a maybe."""
    before = season.say("note: stripe is recessive", "odds for M5 and F5")
    assert "16.7% stripe" in before
    hatched(season)
    said = season.say("note H1: shows stripe")
    assert said == (
        "Note on H1: shows stripe. Odds count H1 as stripe from now on. "
        "M5 is proven het stripe by its young."
    )
    after = season.say("odds for M5 and F5")
    assert "25% stripe" in after
    assert "M5 is proven het stripe by its young." in after


def test_plain_young_make_a_possible_het_less_likely(season: Season) -> None:
    """Two young that do not show it speak against, and the odds say by how much."""
    season.say("note: stripe is recessive")
    hatched(season)
    said = season.say("odds for M5 and F5")
    assert "M5 het stripe: 67% before its young, 53% after them." in said


def test_what_a_note_told_of_a_look_can_be_undone(season: Season) -> None:
    """With the note goes the proof."""
    season.say("note: stripe is recessive")
    hatched(season)
    season.say("note H1: shows stripe", "undo")
    assert "proven" not in season.say("odds for M5 and F5")


def test_a_double_form_has_the_keepers_name(season: Season) -> None:
    """Two copies of snow are called blizzard here, in the odds and on an animal."""
    season.say("new female F6 picta snow", "new male M6 picta snow")
    season.say("note: snow is incomplete dominant, double is blizzard")
    said = season.say("odds for M6 and F6")
    assert "25% blizzard" in said and "50% snow" in said
    season.say("new female F7 picta blizzard")
    assert season.say("odds for M6 and F7").splitlines()[1:3] == ["50% blizzard", "50% snow"]


@pytest.mark.parametrize(("system", "daughters_show"), [("", True), (", XY", False)])
def test_a_sex_linked_trait_goes_by_the_chromosomes_that_were_named(
    season: Season, system: str, daughters_show: bool
) -> None:
    """A male that shows it and a plain female: all daughters show it by ZW, none by XY."""
    season.say("new female F6 picta", "new male M6 picta pale")
    said = season.say(f"note: pale is sex-linked{system}", "odds for M6 and F6").splitlines()
    assert any(line.startswith("100% pale") for line in said) == daughters_show, said


def test_a_young_one_is_told_apart_from_its_siblings(season: Season) -> None:
    """The card of one that lags behind the two it hatched with says so, and what to do."""
    season.say("F5 laid 3, box B slots 1, 2 and 3")
    season.later(60)
    season.say("B1 hatched, H1", "B2 hatched, H2", "B3 hatched, H3")
    season.later(30)
    season.say("H1 1.6g", "H2 1.4g", "H3 0.9g")
    card = season.say("tell me about H3")
    assert "At 30 days it weighed 60% of its 2 siblings' usual 1.5 g: behind" in card
    assert "behind" not in season.say("tell me about H1")


def test_feeders_follow_what_was_fed(season: Season) -> None:
    """Five for each of two animals every other day is five a day for both: 70 for two weeks."""
    for _ in range(4):
        season.say("fed everyone 5 crickets each")
        season.later(2)
    assert "70 crickets" in season.say("feeders for the next 2 weeks")


def test_feeders_from_one_feeding_say_how_little_that_is(season: Season) -> None:
    """A single evening is no plan yet."""
    season.say("fed everyone 5 crickets each")
    assert "one day's feeding" in season.say("feeders for the next 2 weeks")


def test_weight_lost_and_straining_are_for_a_vet(season: Season) -> None:
    """Told at once and on her card, with the figures and no diagnosis."""
    season.say("F5 20g")
    season.later(20)
    assert "20 g on 1 Mar to 15 g on 21 Mar: 25%" in season.say("F5 15g")
    season.say("F5 is straining")
    card = season.say("tell me about F5")
    assert "Seen straining on 21 Mar. Ask a reptile vet today." in card
    assert "alert is at 10%" in card
