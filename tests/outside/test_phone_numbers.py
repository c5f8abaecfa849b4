"""Phone numbers in international form (ITU-T E.164), worked by the phonenumbers library's rules."""

from __future__ import annotations

import pytest

from bot.channels.numbers import e164

CASES = [
    ("(202) 555-0143", "US", "+12025550143"),
    ("+1 555 123 0123", None, "+15551230123"),
    ("555-0143", "US", None),
    ("+1 202 555 014", None, None),
    ("020 7946 0018", "GB", "+442079460018"),
    ("+44 7700 900123", None, "+447700900123"),
    ("0412 345 678", "AU", "+61412345678"),
    ("+1234567890123456", None, None),
    ("+0 202 555 0143", None, None),
    ("0412 345 678", None, None),
    ("", None, None),
    ("SHOP", None, None),
]


@pytest.mark.parametrize(("written", "region", "number"), CASES)
def test_number(written: str, region: str | None, number: str | None) -> None:
    """A number that can be texted from abroad has one form; a local or impossible one has none."""
    assert e164(written, region) == number
