"""What is told later of an animal: said back, kept, undone, asked about where it can't be."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import pytest

from bot.book import pages as book_pages
from bot.book.state import State
from scheduler.colony import Animal
from tests.house import House


@pytest.fixture
def house() -> Iterator[House]:
    """F1, whose species was not said, and M2, an adult picta; box B."""
    house = House()
    for line in (
        "new female F1 hatched 2024-03-01", "new female F4", "new male M2 picta hatched 2023-08-01",
        "new box B 3 by 4",
    ):  # fmt: skip
        house.says("Ann", line)
    yield house
    house.book.close()


def _says(house: House, text: str) -> str:
    house.now += timedelta(seconds=30)
    return house.says("Ann", text)[0][1]


def _state(house: House) -> State:
    with house.book.reading() as conn:
        pages = book_pages.Pages(conn, house.people["Ann"].household)
        assert pages.check() == []
        return pages.state


def _animal(house: House, tag: str) -> Animal:
    return _state(house).animals[tag]


@pytest.mark.parametrize(
    ("said", "answer", "kept"),
    [
        ("F4 is a picta", "F4: picta.", {"species": "picta"}),
        ("F4 hatched 3 Feb 2025", "F4: hatched 3 Feb 2025.", {"hatched": date(2025, 2, 3)}),
        ("F4 is about 18 months old", "F4: hatched about 30 Aug 2024.",
         {"hatched": date(2024, 8, 30)}),
        ("F4 is 20 days old", "F4: hatched 9 Feb.", {"hatched": date(2026, 2, 9)}),
        ("F4's mother is F1", "F4: dam F1.", {"dam": "F1"}),
        ("M2 is F4's father", "F4: sire M2.", {"sire": "M2"}),
        ("F4 is out of M2 x F1", "F4: from M2 x F1.", {"sire": "M2", "dam": "F1"}),
        ("F4 is het stripe", "F4: het stripe.", {"traits": ("het stripe",)}),
        ("M2 is a stripe", "M2: stripe.", {}),
        ("F4 is a picta, hatched 3 Feb 2025, from M2 x F1",
         "F4: picta, hatched 3 Feb 2025, from M2 x F1.", {"species": "picta", "dam": "F1"}),
    ],
)  # fmt: skip
def test_what_is_told_is_said_back_and_kept(
    house: House, said: str, answer: str, kept: dict[str, object]
) -> None:
    """The reply repeats it, the book has it, and the ledger replayed agrees."""
    assert _says(house, said).splitlines()[0].startswith(answer)
    found = _animal(house, "F4")
    assert {name: getattr(found, name) for name in kept} == kept


def test_undo_brings_back_what_the_book_knew(house: House) -> None:
    """The species was picta before it was called a leopard."""
    _says(house, "F1 is a picta")
    _says(house, "F1 is a leopard")
    assert _animal(house, "F1").species == "leopard"
    assert _says(house, "undo") == "Undone: F1: leopard."
    assert _animal(house, "F1").species == "picta"


def test_a_species_told_at_once_needs_no_name(house: House) -> None:
    """The reply to a newcomer asks for the species; one word answers it."""
    assert "Which species is it?" in _says(house, "new male M9")
    assert _says(house, "picta") == "M9: picta."
    assert _says(house, "he's het stripe").startswith("M9: het stripe. For odds, say how")


def test_one_word_after_anything_else_is_no_description(house: House) -> None:
    """A bare species long after the newcomer is not laid on whoever was spoken of."""
    _says(house, "F1 shed")
    _says(house, "picta")
    assert _animal(house, "F1").species is None


def test_eggs_laid_before_the_species_was_told_take_it(house: House) -> None:
    """So do young of hers that had none."""
    _says(house, "F1 laid 2 in B1 and B2")
    _says(house, "F4's mother is F1")
    _says(house, "F1 is a picta")
    state = _state(house)
    assert {egg.species for egg in state.eggs.values()} == {"picta"}
    assert state.animals["F4"].species == "picta"
    _says(house, "undo")
    assert {egg.species for egg in _state(house).eggs.values()} == {None}


def test_a_carried_trait_takes_the_place_of_the_same_one_shown(house: House) -> None:
    """She shows no stripe after all; her other trait stays."""
    _says(house, "F4 is a stripe")
    _says(house, "F4 is het tremper albino")
    _says(house, "F4 is het stripe")
    assert _animal(house, "F4").traits == ("het tremper albino", "het stripe")


@pytest.mark.parametrize(
    ("said", "asked"),
    [
        ("F4's father is F1", "F1 is not a male in the book. Say which male it was."),
        ("F4's mother is M2", "M2 is not a female in the book. Say which female it was."),
        ("F1's father is F1", "F1 is not a male in the book. Say which male it was."),
        ("F9 is a picta", "There is no F9 in the book."),
        ("F4's mother is F9", "There is no F9 in the book."),
    ],
)
def test_what_cannot_be_is_asked_about(house: House, said: str, asked: str) -> None:
    """Nothing of it is written before the answer."""
    assert asked in _says(house, said)
    assert _animal(house, "F4").dam is None


def test_a_parent_younger_than_its_young_is_asked_about(house: House) -> None:
    """F4 hatched in 2025 and can't be the mother of F1, who hatched in 2024."""
    _says(house, "F4 hatched 3 Feb 2025")
    assert _says(house, "F1's mother is F4") == (
        "F4 is not older than F1, as the book has it. Which female is the dam?"
    )
    assert _animal(house, "F1").dam is None


def test_the_answer_fills_the_gap(house: House) -> None:
    """The father is named after a wrong one."""
    _says(house, "F4's father is F1")
    assert _says(house, "M2") == "F4: sire M2."
    assert _animal(house, "F4").sire == "M2"


def test_it_stands_in_the_history(house: House) -> None:
    """As it was said back."""
    _says(house, "F4 is about 18 months old")
    assert "F4: hatched about 30 Aug 2024." in _says(house, "history of F4")
