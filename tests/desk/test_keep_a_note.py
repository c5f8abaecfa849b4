"""A statement that fits no record is offered to be kept as a note."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bot.book import post
from tests.house import House


@pytest.fixture
def house() -> House:
    """F1 and M2, box A."""
    house = House()
    for line in ("new female F1 picta, tub 1", "new male M2 picta", "new box A 3 by 4"):
        house.says("Ann", line)
    return house


def _says(house: House, text: str, name: str = "Ann") -> str:
    house.now += timedelta(seconds=30)
    return house.says(name, text)[0][1]


@pytest.mark.parametrize(
    ("said", "about"),
    [
        ("F1 scar on left leg", " on F1"),
        ("A1 fell and broke", " on A1"),
        ("F1 and M2 had a scrap", " on F1 and M2"),
        ("tub 1 has a crack in it", " on tub 1"),
        ("the thermostat was off last night", ""),
    ],
)
def test_a_statement_is_offered_as_a_note(house: House, said: str, about: str) -> None:
    """Nothing is written before yes; then the note has the words as typed, and undo works."""
    assert _says(house, said) == f"Nothing is written. Keep it as a note{about}? Yes or no."
    assert _says(house, "yes") == f"Note{about}: {said}."
    assert _says(house, "undo") == f"Undone: Note{about}: {said}."


def test_the_note_stands_in_the_history(house: House) -> None:
    """Of the animal that it names."""
    _says(house, "F1 scar on left leg")
    _says(house, "yes")
    assert "Note on F1: F1 scar on left leg." in _says(house, "history of F1")


def test_yes_and_no_are_offered_as_taps(house: House) -> None:
    """One tap answers."""
    house.says("Ann", "F1 scar on left leg")
    with house.book.reading() as conn:
        asked = post.unsent(conn, "telegram")[-1].reply
    assert [choice.says for choice in asked.choices] == ["yes", "no"]


def test_no_writes_nothing(house: House) -> None:
    """And a later yes finds nothing to keep."""
    _says(house, "F1 scar on left leg")
    assert _says(house, "no") == "Fine, nothing written."
    assert "Note" not in _says(house, "history of F1")


def test_a_yes_to_something_else_does_not_keep_it(house: House) -> None:
    """The offer stands for the next message alone."""
    _says(house, "F1 scar on left leg")
    _says(house, "what's due today")
    assert not _says(house, "yes").startswith("Note")


def test_signs_of_illness_name_the_vet(house: House) -> None:
    """Mites are for a reptile vet, and may still be noted."""
    said = _says(house, "F1 has mites")
    assert "a reptile vet can" in said
    assert said.endswith("Keep it as a note on F1? Yes or no.")
    assert "Call a doctor" not in _says(house, "F1 has diarrhoea")


def test_a_power_cut_has_its_caution_and_the_offer(house: House) -> None:
    """What to do about the heat comes first."""
    said = _says(house, "power was out for 3 hours")
    assert said.endswith("Nothing is written. Keep it as a note? Yes or no.")
    assert not said.startswith("Nothing is written")


@pytest.mark.parametrize(
    "said",
    [
        "has F1 got mites?", "F1 doesn't have mites", "I hope F1 has no mites",
        "my friend's F1 has mites", "if F1 has mites", "zzxq plorf", "F1 might get mites",
        "show me all females", "Sunny day at last, windows wide open",
    ],
)  # fmt: skip
def test_what_states_nothing_is_not_offered(house: House, said: str) -> None:
    """Questions, denials, wishes, hearsay and orders are no notes."""
    assert "Keep it as a note" not in _says(house, said)


def test_a_watcher_is_offered_nothing(house: House) -> None:
    """Who may not write is not asked whether to."""
    house.join("Wim", "watcher")
    assert "Keep it as a note" not in _says(house, "F1 scar on left leg", "Wim")
