"""How long a text message is: the GSM alphabet, parts, pages, and plainer signs in place of others.

Lengths follow 3GPP TS 23.038 (the 7-bit alphabet and its extension table) and TS 23.040 (140 octets
a message, a 6-octet header in each part when there are several).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

BASIC = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
"""The 127 characters of one septet (3GPP TS 23.038, 6.2.1; the 128th is the escape)."""

EXTENDED = frozenset("^{}\\[~]|€\f")
"""The ten characters of two septets: an escape and one more (3GPP TS 23.038, 6.2.1.1)."""

PAGE = 2  # parts in one reply; a reply may be three, which leaves room for a gateway's own words

PLAINER = {
    " °": " ", "°": "", "’": "'", "‘": "'", "‚": "'", "′": "'", "`": "'", "´": "'",
    "“": '"', "”": '"', "„": '"', "«": '"', "»": '"', "″": '"',
    "–": "-", "—": "-", "‐": "-", "‑": "-", "‒": "-", "−": "-", "•": "-", "·": "-",
    "…": "...", "×": "x", "÷": "/", "±": "+/-", "≥": ">=", "≤": "<=", "≈": "~", "→": "->",
    "½": "1/2", "¼": "1/4", "¾": "3/4", "♀": "female", "♂": "male", "\t": " ", "\r\n": "\n",
}  # fmt: skip
"""Signs outside the alphabet, and what says the same inside it."""

_SIGNS = re.compile("|".join(map(re.escape, sorted(PLAINER, key=len, reverse=True))))


@dataclass(frozen=True)
class Length:
    """How a text is sent: `gsm` or UCS-2, its units (septets, or 16-bit words), its parts."""

    gsm: bool
    units: int
    parts: int


def plain(text: str) -> str:
    """The text with signs of the GSM alphabet where one says the same; letters stay as they are.

    A name that needs another letter keeps it. Signs without a plain form (emoji) are left out.

    >>> plain("27.2 °C — “warm”")
    '27.2 C - "warm"'
    """
    text = _SIGNS.sub(lambda found: PLAINER[found[0]], unicodedata.normalize("NFC", text))
    return "".join(map(_plain_sign, text))


def _plain_sign(sign: str) -> str:
    if sign in BASIC or sign in EXTENDED or unicodedata.category(sign)[0] in "LM":
        return "" if unicodedata.category(sign) == "Me" or sign == "\ufe0f" else sign
    wider = unicodedata.normalize("NFKC", sign)
    return wider if is_gsm(wider) else ""


def is_gsm(text: str) -> bool:
    """Whether the GSM alphabet has every character."""
    return all(sign in BASIC or sign in EXTENDED for sign in text)


def length(text: str) -> Length:
    """How long a message is. Nothing at all is one part of no units."""
    gsm = is_gsm(text)
    return Length(gsm, sum(_units(text, gsm)), len(split(text)))


def split(text: str) -> list[str]:
    """The parts in which a text is sent: an escape or surrogate pair is never cut."""
    gsm = is_gsm(text)
    alone, each = (160, 153) if gsm else (70, 67)
    sizes = list(_units(text, gsm))
    if sum(sizes) <= alone:
        return [text]
    parts, start, used = [], 0, 0
    for place, size in enumerate(sizes):
        if used + size > each:
            parts.append(text[start:place])
            start, used = place, 0
        used += size
    return [*parts, text[start:]]


def _units(text: str, gsm: bool) -> Iterator[int]:
    for sign in text:
        yield (2 if sign in EXTENDED else 1) if gsm else (2 if ord(sign) > 0xFFFF else 1)


def page(text: str, more: str, parts: int = PAGE) -> tuple[str, str]:
    """What to send now and what is left. `more` is the last line where something is left.

    Cut between lines if that keeps half of the room, else between words, else anywhere.
    """
    if length(text).parts <= parts:
        return text, ""
    end = _room(text, more, parts)
    cut = _good_cut(text, end)
    return f"{text[:cut].rstrip()}\n{more}", text[cut:].lstrip()


def _room(text: str, more: str, parts: int) -> int:
    """How many characters fit with `more` after them, found by halving: fitting never returns."""
    low, high = 1, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if length(f"{text[:middle]}\n{more}").parts <= parts:
            low = middle
        else:
            high = middle - 1
    return low


def _good_cut(text: str, end: int) -> int:
    for gap in ("\n", ". ", " "):
        cut = text.rfind(gap, end // 2, end + 1)
        if cut > 0:
            return cut + (1 if gap == ". " else 0)
    return end
