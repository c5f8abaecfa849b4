"""Cuts a message into words, numbers and signs, the way a keeper's thumb may have left them."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

LONGEST = 1400  # characters; an evening round of fifty logs fits
MOST = 280  # pieces; what is longer is no message but a paste

_ALIKE = str.maketrans({
    "’": "'", "‘": "'", "ʼ": "'", "`": "'", "´": "'", "“": '"', "”": '"', "„": '"',
    "‐": "-", "‑": "-", "−": "-", "‒": "-", "º": "°", "⁰": "°", "˚": "°", "⟶": "→", "➔": "→",
    "➜": "→", "➝": "→", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "…": "...", "⅓": " third",
})  # fmt: skip

_PARTS = re.compile(
    r"(?P<iso>\d{4}-\d{2}-\d{2})(?!\d)"
    r"|(?P<clock>\d{1,2}:\d{2})(?!\d)"
    r"|(?P<number>\d+[.,·]\d+|\d+|\.\d+(?!\w))"
    r"|(?P<word>'(?:s|ll|ve|re|d|m)(?!\w)|[^\W\d_]+(?:[.'][^\W\d_]+)*'?)"
    r"|(?P<sign>->|=>|\.\.+|\n|[^\w\s]|_)"
)
_ENDINGS = re.compile(r"^(.+?)('s|'ll|'ve|'re|'d|'m)$")
_JOINED_CODE = re.compile(r"^[A-Z]?[a-z]+[A-Z]$")
_KEEP_WHOLE = re.compile(r"\d?[^\W\d_]+\d?[^\W\d_]+|[^\W\d_]{1,2}/", re.UNICODE)


@dataclass(slots=True)
class Token:
    """A piece of the message. `text` is folded, `raw` as typed; `glued` is true where no space
    parts it from the piece before. `sort` is word, number, clock, iso or sign."""

    text: str
    raw: str
    sort: str
    start: int
    end: int
    glued: bool
    spelled: bool = True  # False where it was put right from a misspelling


def tokens_of(text: str, wholes: frozenset[str] = frozenset()) -> list[Token]:
    """The pieces of `text`, in order.

    `wholes` are wordings that mix letters, digits and signs ("2nite", "w/") and stay in one piece.
    Emoji part words and are dropped; "F3laid" comes apart where letters meet digits.
    """
    text = _flat(text)
    out: list[Token] = []
    skip_to = 0
    for found in _PARTS.finditer(text):
        start, end = found.span()
        if start < skip_to:
            continue
        sort = found.lastgroup or "sign"
        whole = _whole_at(text, start, wholes) if sort != "iso" else None
        if whole is not None:
            end, sort, skip_to = start + len(whole), "word", start + len(whole)
        raw = text[start:end]
        glued = bool(out) and out[-1].end == start
        if sort == "word" and _JOINED_CODE.match(raw) and text[end : end + 1].isdigit():
            _add_word(out, raw[:-1], start, glued)  # "inK5"
            _add_word(out, raw[-1], end - 1, True)
        elif sort == "word":
            _add_word(out, raw, start, glued)
        else:
            out.append(Token(raw.casefold(), raw, sort, start, end, glued))
    return out


def _flat(text: str) -> str:
    """The same text with look-alike signs made one and emoji made spaces, length kept roughly."""
    text = text.translate(_ALIKE)
    if text.isascii():
        return text
    return "".join(_flat_sign(c) for c in unicodedata.normalize("NFC", text))


def _flat_sign(char: str) -> str:
    if char.isascii() or char in "°→½¼¾×–—€£➡⇒":
        return {"½": ".5", "¼": ".25", "¾": ".75"}.get(char, char)
    category = unicodedata.category(char)
    if category[0] in "SCM" or char in "\u200d\ufe0f":
        return " "
    if category == "Nd":
        return str(unicodedata.digit(char))
    return unicodedata.normalize("NFKC", char)[:1] if category[0] == "N" else char


def _whole_at(text: str, start: int, wholes: frozenset[str]) -> str | None:
    if start and text[start - 1].isalnum():
        return None
    end = start
    while end < len(text) and not text[end].isspace() and end - start < 12:
        end += 1
    piece = text[start:end].rstrip(",;:!?").casefold()
    if piece in wholes:
        return piece
    if piece[:2] in wholes and not piece[2:3].isspace():  # "w/f3"
        return piece[:2]
    return None


def _add_word(out: list[Token], raw: str, start: int, glued: bool) -> None:
    folded = raw.casefold().rstrip("'")
    ending = _ENDINGS.match(folded)
    if ending is None:
        out.append(Token(folded, raw, "word", start, start + len(raw), glued))
        return
    cut = start + len(ending.group(1))
    end = start + len(raw)
    out.append(Token(ending.group(1), raw[: cut - start], "word", start, cut, glued))
    out.append(Token(ending.group(2), raw[cut - start :], "word", cut, end, True))
