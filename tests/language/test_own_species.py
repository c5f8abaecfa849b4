"""A species of the keeper's own file is read by its key."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from bot.language.reader import read
from bot.language.reading import reading_to_json
from tests.language.cases_of import HERE, MOMENT, ZONE
from tests.language.support import view_of


@pytest.mark.parametrize(
    "text",
    ["new female P44 example", "new example female P44", "P44 is a new female sand-example"],
)
def test_a_newcomer_takes_the_keepers_own_species(text: str) -> None:
    """The species key that only the keeper's file has stands in the record."""
    book = view_of(HERE / "book", ZONE)
    book = replace(book, species={**book.species, "example": "", "sand-example": ""})
    got = json.loads(reading_to_json(read(text, MOMENT, book)))
    wanted = "sand-example" if "sand-example" in text else "example"
    assert got["outcome"] == "records", got
    assert [(r["kind"], r["tag"], r["species"]) for r in got["records"]] == [
        ("animal", "P44", wanted)
    ]


def test_the_word_is_no_species_where_the_book_has_none() -> None:
    """The same word is left unread where no species carries it."""
    book = view_of(HERE / "book", ZONE)
    got = json.loads(reading_to_json(read("new female P44 example", MOMENT, book)))
    assert not any(r.get("species") == "example" for r in got.get("records", ()))
