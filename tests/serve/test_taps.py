"""The buttons below reminders: what each says is read as it is meant, and acts once."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from bot.book import households
from bot.book.pages import Pages
from bot.book.reminders import ReminderRow
from bot.book.store import Book
from bot.desk.reminders import taps
from bot.language.reader import read
from bot.language.view import View
from bot.messages import Choice
from bot.records import Record
from bot.wording import lookup
from scheduler.colony import DUE_KINDS

NOW = datetime(2026, 3, 10, 19, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def view() -> View:
    """M2 is in with F3; F3's two eggs lie in B4 and B5."""
    told = [
        ("animal", {"tag": "F3", "sex": "female", "species": "picta"}),
        ("animal", {"tag": "M2", "sex": "male", "species": "picta"}),
        ("box", {"box": "B", "rows": 3, "columns": 4}),
        ("paired", {"male": "M2", "female": "F3"}),
        ("laid", {"dam": "F3", "eggs": 2, "slots": ("B4", "B5")}),
    ]
    with Book.open(":memory:").writing() as conn:
        owner = households.begin(conn, zone="Europe/Lisbon", owner="Ines", now=NOW)
        pages = Pages(conn, owner.household)
        records = [Record(kind, date(2026, 3, 1), None, fields) for kind, fields in told]
        pages.write(records, member=owner, channel="test", arrived=NOW, text="")
        return pages.view()


def offered(kind: str, *about: str, place: str | None = None) -> dict[str, str]:
    """What each button below a reminder says, by its label."""
    row = ReminderRow(
        key="k", kind=kind, about=about, due=NOW, until=None, text="x", why="", place=place,
        told=NOW, snoozed=None,
    )  # fmt: skip
    found: tuple[Choice, ...] = taps(row)
    return {each.label: each.says for each in found}


@pytest.mark.parametrize(
    ("kind", "about", "label", "record", "fields"),
    [
        ("pull-male", ("M2", "F3"), "Out now", "parted", {"male": "M2", "female": "F3"}),
        ("put-male-in", ("M2", "F3"), "In now", "paired", {"male": "M2", "female": "F3"}),
        ("check-gravid", ("F3",), "Gravid", "seen", {"tag": "F3", "sign": "gravid"}),
        ("search-eggs", ("F3",), "None found", "searched", {"tag": "F3", "found": 0}),
        ("search-eggs", ("F3",), "1 egg", "laid", {"dam": "F3", "eggs": 1}),
        ("search-eggs", ("F3",), "2 eggs", "laid", {"dam": "F3", "eggs": 2}),
        ("candle", ("B4",), "Veins", "checked", {"slots": ("B4",), "state": "fertile"}),
        ("candle", ("B4", "B5"), "Veins", "checked", {"slots": ("B4", "B5"), "state": "fertile"}),
        ("candle", ("B4",), "Too early", "checked", {"slots": ("B4",), "state": "too-early"}),
        ("wet-box", ("B",), "Watered", "watered", {"place": "box B"}),
        ("watch-hatch", ("B4", "B5"), "B5 pipping", "pipped", {"slots": ("B5",)}),
    ],
)
def test_a_tap_is_the_record_that_it_names(
    view: View,
    kind: str,
    about: tuple[str, ...],
    label: str,
    record: str,
    fields: dict[str, object],
) -> None:
    """The words behind each button are read as that one record, with nothing left to ask."""
    says = offered(kind, *about, place="box B")[label]
    found = read(says, NOW, view)
    assert (found.outcome, found.ask) == ("records", None)
    assert [(each.kind, dict(each.fields)) for each in found.records] == [(record, fields)]


def test_every_label_is_tried_here() -> None:
    """A button added to the wording needs a line above."""
    labels = {label for rows in lookup("taps").values() for label, _ in rows}
    assert labels == {
        "Out now", "In now", "Gravid", "None found", "1 egg", "2 eggs", "Veins", "Too early",
        "Watered", "{each} pipping",
    }  # fmt: skip


@pytest.mark.parametrize("kind", sorted(DUE_KINDS))
def test_every_reminder_can_be_done_or_put_off(kind: str) -> None:
    """Done and Snooze stand below each; "still in" means to ask again tomorrow."""
    labels = offered(kind, "M2", "F3", place="box B")
    assert {"Done", "Snooze"} <= labels.keys()
    assert ("Still in" in labels) is (kind == "pull-male")
