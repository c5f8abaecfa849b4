"""Every sentence of our own case files reads as its case says."""

from __future__ import annotations

import json

import pytest

from bot.language.reader import read
from bot.language.reading import reading_to_json
from bot.language.view import View
from tests.language.cases_of import HERE, MOMENT, ZONE, Case, own_cases
from tests.language.comparing import matches
from tests.language.support import view_of


@pytest.fixture(scope="module")
def book() -> View:
    return view_of(HERE / "book", ZONE)


@pytest.mark.parametrize("case", list(own_cases()), ids=lambda case: case.name)
def test_a_sentence_is_read_as_its_case_says(case: Case, book: View) -> None:
    """What the keeper wrote becomes exactly the records, question or request expected."""
    got = json.loads(reading_to_json(read(case.text, MOMENT, book)))
    assert any(matches(wanted, got) for wanted in case.accept), got
