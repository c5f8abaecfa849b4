"""The torture itself is tested: a few kills go well, and a doctored record of sends is seen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from tests.torture.counting import WRONG, Arrived, Said, ToTell, Written, count
from tests.torture.kills import storm

NOW = datetime(2026, 3, 10, 12, 0, tzinfo=UTC)
INES, RUI = "1", "2"
AGAIN = "\n(Sent again, in case it was lost.)"
SAID = [
    Said(1, INES, "F1 40.0g", "F1 400"),
    Said(2, INES, "F2 40.0g", "F2 400"),
    Said(3, INES, "F1 40.1g", "F1 401", edits=2, replaces="F2 400"),
    Said(4, INES, "remind me in 2 minutes to order p0000", "p0000"),
]
TO_TELL = [ToTell("r0000", NOW, (INES, RUI)), ToTell("p0000", NOW, (INES,))]


def arrived(*texts: tuple[str, str]) -> list[Arrived]:
    return [
        Arrived(who, text, float(number), NOW + timedelta(seconds=number))
        for number, (who, text) in enumerate(texts)
    ]


def good() -> list[Arrived]:
    return arrived(
        (INES, "F1 40 g."), (INES, "F2 40 g. Up 1 g."), (INES, "F1 40.1 g."),
        (INES, "I'll remind you today at 12:02: order p0000."),
        (INES, "Order r0000. You asked to be reminded."),
        (RUI, "Order r0000. You asked to be reminded."),
        (RUI, f"Order r0000. You asked to be reminded.{AGAIN}"),
        (INES, "Order p0000. You asked to be reminded."),
        (INES, "To do, today:\n1 Order r0000\n2 Order p0000"),
    )  # fmt: skip


def book() -> Written:
    ledger = Counter({"F1 400": 1, "F2 400": 1, "F1 401": 1})
    return Written(ledger, Counter({"F1 400": 1, "F1 401": 1}))


def wrong(sent: list[Arrived], holds: Written | None = None) -> dict[str, int]:
    counts = count(SAID, TO_TELL, sent, holds or book())
    return {name: counts[name] for name in WRONG if counts.get(name)}


def test_what_is_promised_is_not_called_wrong() -> None:
    """Everything once, or twice where the second says so, is as it should be."""
    assert wrong(good()) == {}
    counts = count(SAID, TO_TELL, good(), book())
    assert counts["reminders in two copies"] == 1
    assert counts["acknowledged before the last kill"] == 3


def _without(number: int) -> Callable[[list[Arrived]], list[Arrived]]:
    return lambda sent: [each for n, each in enumerate(sent) if n != number]


def _and(who: str, text: str) -> Callable[[list[Arrived]], list[Arrived]]:
    return lambda sent: [*sent, *arrived((who, text))]


@pytest.mark.parametrize(
    ("doctor", "seen"),
    [
        (_without(1), {"replies lost": 1}),
        (_without(4), {"reminders lost": 1}),
        (_and(INES, "F1 40 g."), {"second copies unmarked": 1}),
        (_and(INES, "Order p0000."), {"second copies unmarked": 1}),
        (_and(RUI, f"Order r0000.{AGAIN}"), {"reminders in more": 1}),
        (_and(RUI, "Order p0000."), {"reminders for nobody there": 1}),
        (lambda sent: [sent[1], sent[0], *sent[2:]], {"out of order": 1}),
        (
            lambda sent: [*sent[:4], replace(sent[4], clock=NOW - timedelta(minutes=1)), *sent[5:]],
            {"reminders before their time": 1},
        ),
    ],
)
def test_a_doctored_record_of_sends_is_seen(
    doctor: Callable[[list[Arrived]], list[Arrived]], seen: dict[str, int]
) -> None:
    """One answer or reminder missing, once too often, to the wrong one, too early: each counts."""
    assert wrong(doctor(good())) == seen


def test_two_copies_are_good_and_three_are_not() -> None:
    """A marked copy more is promised; one more than that is not."""
    twice = [*good(), *arrived((INES, f"F1 40 g.{AGAIN}"))]
    assert wrong(twice) == {}
    assert wrong([*twice, *arrived((INES, f"F1 40 g.{AGAIN}"))]) == {"replies in more": 1}


def test_a_doctored_book_is_seen() -> None:
    """A record missing, doubled, or standing though it was replaced; a replay that differs."""
    lost, doubled, stands = book(), book(), book()
    del lost.ledger["F1 400"]
    doubled.ledger["F1 400"] = 2
    stands.standing["F2 400"] = 1
    assert wrong(good(), lost) == {"acknowledged records lost": 1, "records lost": 1}
    assert wrong(good(), doubled) == {"records doubled": 1}
    assert wrong(good(), stands) == {"edits lost": 1}
    assert wrong(good(), Written(*vars(book()).values())) == {}
    assert wrong(good(), replace(book(), differs=1)) == {"replay differs from state": 1}


@pytest.mark.slow
def test_a_few_kills_lose_nothing() -> None:
    """Three kills on a book in a file, with messages, reminders and faults under way."""
    counts = storm(seed=5, kills=3, minutes=0.2)
    assert counts["kills"] == 3
    assert counts["messages"] > 3
    assert counts["reminders due"] > 3
    assert {name: counts[name] for name in WRONG if counts.get(name)} == {}
