"""An answer is held to what a message may say: a figure that can't be is asked about again."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from bot.language.reader import read
from bot.language.reading import Ask, Outcome, Talk
from bot.language.view import AnimalSeen, View
from bot.records import Record

AT = datetime(2026, 3, 10, 19, 30, tzinfo=UTC)


def answered(about: str, kind: str, text: str, **fields: object) -> tuple[Outcome, object]:
    """What becomes of an answer to a question about one field of a record of F3."""
    view = View(zone=ZoneInfo("Europe/Lisbon"), species={"picta": "Paroedura picta"})
    view.animals["F3"] = AnimalSeen("F3", "female", "picta", None, None, None, "kept")
    waiting = Record(kind, date(2026, 3, 10), None, fields)
    found = read(text, AT, view, Talk(question=Ask(about, (), waiting)))
    value = found.records[0].get(about) if found.records else found.ask and found.ask.why
    return found.outcome, value


@pytest.mark.parametrize(
    ("about", "kind", "fields", "good", "bad"),
    [
        ("eggs", "laid", {"dam": "F3"}, "2", "99999999"),
        ("grams", "weighed", {"tag": "F3"}, "21.4", "99999999999"),
        ("found", "searched", {"tag": "F3"}, "2", "5000"),
    ],
)
def test_a_figure_that_cannot_be_is_asked_again(
    about: str, kind: str, fields: dict[str, object], good: str, bad: str
) -> None:
    """A likely figure is taken; one that no gecko reaches is never written."""
    assert answered(about, kind, good, **fields) == (Outcome.RECORDS, float(good))
    outcome, why = answered(about, kind, bad, **fields)
    assert (outcome, why) == (Outcome.ASK, "impossible")
