"""How long real replies are by SMS; `python -m tests.bench.sms_segments` prints all of them."""

from __future__ import annotations

import pytest

from tests.bench.sms_segments import Sized, demo_replies, sized


@pytest.fixture(scope="module")
def said() -> list[Sized]:
    """Everything said in the demo conversations, as it goes out."""
    return sized(demo_replies())


def test_none_is_over_two_segments(said: list[Sized]) -> None:
    """What has more to say ends with how to get it, within two segments."""
    assert [each.text for each in said if each.parts > 2] == []


def test_all_are_in_the_gsm_alphabet(said: list[Sized]) -> None:
    """Names of the GSM alphabet need no other."""
    assert [each.text for each in said if not each.gsm] == []


def test_most_are_one_segment(said: list[Sized]) -> None:
    """Three in four or more fit one segment."""
    assert len(said) > 50
    assert sum(each.parts == 1 for each in said) >= 0.75 * len(said)
