"""Text message lengths by 3GPP TS 23.038 and 23.040, as gateway manuals work them out."""

from __future__ import annotations

import pytest

from bot.channels.segments import BASIC, EXTENDED, length, split

CASES = [
    ("A" * 160, True, 160, [160]),
    ("A" * 161, True, 161, [153, 8]),
    ("A" * 306, True, 306, [153, 153]),
    ("A" * 307, True, 307, [153, 153, 1]),
    ("{" * 80, True, 160, [80]),
    ("{" * 81, True, 162, [76, 5]),
    ("[ok]~", True, 8, [5]),
    ("A" * 159 + "€", True, 161, [153, 7]),
    ("ж" * 70, False, 70, [70]),
    ("ж" * 71, False, 71, [67, 4]),
    ("A" * 69 + "°", False, 70, [70]),
    ("A" * 70 + "°", False, 71, [67, 4]),
    ("A" * 69 + "🦎", False, 71, [67, 3]),
    ("A" * 66 + "🦎" + "A" * 10, False, 78, [66, 11]),
]


@pytest.mark.parametrize(("text", "gsm", "units", "parts"), CASES)
def test_length(text: str, gsm: bool, units: int, parts: list[int]) -> None:
    """A text takes the units and parts that the standard gives it."""
    found = length(text)
    assert (found.gsm, found.units, found.parts) == (gsm, units, len(parts))
    assert [len(part) for part in split(text)] == parts


def test_the_alphabet() -> None:
    """127 characters take one septet and ten take two; the signs known to be outside are."""
    assert (len(BASIC), len(EXTENDED)) == (127, 10)
    assert set("@$éèùÇ£§") <= BASIC
    assert not set("°ç`“”‘’–—•½") & (BASIC | EXTENDED)
