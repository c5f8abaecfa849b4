"""Replies for SMS: plain signs, and pages that never run over."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.channels.segments import is_gsm, length, page, plain, split

MORE = "Reply MORE for the rest."


@pytest.mark.parametrize(
    ("written", "sent"),
    [
        ("Incubator 1 is at 27.2 °C", "Incubator 1 is at 27.2 C"),
        ("82°F", "82F"),
        ("9–19 May — “B4”, F3’s", '9-19 May - "B4", F3\'s'),
        ("F3 × M2…", "F3 x M2..."),
        ("a\u00a0b", "a b"),
        ("Done 🦎", "Done "),
        ("½ a pinch", "1/2 a pinch"),
    ],
)
def test_signs_become_plain(written: str, sent: str) -> None:
    """Degree signs, dashes, quotes and emoji become what the GSM alphabet has."""
    assert plain(written) == sent
    assert is_gsm(plain(written))


def test_a_name_keeps_its_letters() -> None:
    """A name that needs another letter keeps it, and the message is counted as UCS-2."""
    assert plain("Zoë’s gecko") == "Zoë's gecko"
    assert not length("Zoë's gecko").gsm


def test_a_decomposed_letter_is_put_together() -> None:
    """An accent typed as a sign of its own becomes the one letter that the alphabet has."""
    assert plain("Ame\u0301lie") == "Amélie"


def test_two_parts_go_whole() -> None:
    """A text of exactly two parts is sent whole; one septet more is cut into pages."""
    assert page("A" * 306, MORE) == ("A" * 306, "")
    now, rest = page("A" * 307, MORE)
    assert now.endswith(MORE)
    assert rest


def test_a_page_ends_with_a_line() -> None:
    """A list is cut between its lines."""
    lines = [f"B{n}: F3, laid 3 Mar, 9 to 19 May" for n in range(1, 30)]
    now, rest = page("\n".join(lines), MORE)
    shown = now.split("\n")[:-1]
    assert shown + rest.split("\n") == lines


@given(st.text(alphabet="ab .\n[€é°ж🦎", max_size=900))
def test_pages_hold_everything(text: str) -> None:
    """Every page has at most two parts, and together they hold every word."""
    pages, rest = [], text
    while rest:
        now, rest = page(rest, MORE)
        assert length(now).parts <= 2
        pages.append(now.removesuffix(MORE) if rest else now)
    assert "".join("".join(pages).split()) == "".join(text.split())


@given(st.text(alphabet="ab[€éж🦎", max_size=500))
def test_parts_hold_everything(text: str) -> None:
    """The parts together are the text, and none is longer than a part may be."""
    parts = split(text)
    assert "".join(parts) == text
    room = 160 if is_gsm(text) else 70
    if len(parts) > 1:
        room = 153 if is_gsm(text) else 67
    double = set("^{}\\[~]|€\f") if is_gsm(text) else {"🦎"}
    assert all(len(part) + sum(s in double for s in part) <= room for part in parts)


@given(st.text(max_size=200))
def test_plain_leaves_only_letters_outside(text: str) -> None:
    """Whatever is written, what stays outside the alphabet is a letter or its mark."""
    import unicodedata

    outside = [s for s in plain(text) if not is_gsm(s)]
    assert all(unicodedata.category(s)[0] in "LM" for s in outside)
