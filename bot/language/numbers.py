"""Reads numbers in figures and in words, with the unit that follows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bot.language.tokens import Token
from bot.language.wording import Lexicon

OUNCE = 28.349523125  # grams in an avoirdupois ounce (exact by definition)


@dataclass(frozen=True, slots=True)
class Number:
    """A number and the token after it. `pair` holds both halves of "4,5", which may be a list."""

    value: float
    j: int
    whole: bool
    pair: tuple[int, int] | None = None


def number_at(tokens: Sequence[Token], i: int, lexicon: Lexicon) -> Number | None:
    """The number that starts at token `i`: "21.4", "71,4", "twenty two point one", "a couple"."""
    token = tokens[i]
    if token.sort == "number":
        return _figures(token.text, i)
    if token.sort != "word":
        return None
    phrase = _phrase(tokens, i, lexicon)
    if phrase is not None and phrase[1] > i + 1:
        return Number(phrase[0], phrase[1], True)
    spoken = _spoken(tokens, i, lexicon)
    if spoken is not None:
        return spoken
    return Number(phrase[0], phrase[1], True) if phrase is not None else None


def _figures(text: str, i: int) -> Number:
    if "," in text or "·" in text:
        one, two = text.replace("·", ",").split(",")
        pair = (int(one[:9]), int(two[:9])) if len(two) <= 2 else None
        return Number(float(f"{one[:9]}.{two[:9]}"), i + 1, False, pair)
    value = float(text[:15] if "." in text else text[:9])
    return Number(value, i + 1, "." not in text)


def _phrase(tokens: Sequence[Token], i: int, lexicon: Lexicon) -> tuple[float, int] | None:
    for words, value in lexicon.counts.get(tokens[i].text, ()):
        n = len(words)
        if n == 1 or [t.text for t in tokens[i : i + n]] == list(words):
            return float(value), i + n
    return None


def word_value(text: str, lexicon: Lexicon, sounds: bool = False) -> int | None:
    """What a single number word is worth; `sounds` takes "won" and "for" too."""
    for sense in lexicon.single(text):
        if sense.cls == "number" or (sounds and sense.cls == "soundnumber"):
            return int(sense.value)
    return None


def _spoken(tokens: Sequence[Token], i: int, lexicon: Lexicon) -> Number | None:
    """ "twenty nine point three", "eighty won", "a hundred and two"."""
    first = word_value(tokens[i].text, lexicon)
    if first is None and tokens[i].text != "point":
        return None
    value, j = float(first or 0), i
    if first is not None:
        j = i + 1
        value, j = _tens(value, tokens, j, lexicon)
        if first == 100:
            value, j = _after_hundred(value, tokens, j, lexicon)
    if j < len(tokens) and tokens[j].text in ("point", "dot") and j + 1 < len(tokens):
        tail, k = _decimals(tokens, j + 1, lexicon)
        if tail:
            return Number(float(f"{int(value)}.{tail}"), k, False)
    if first is not None and [t.text for t in tokens[j : j + 3]] == ["and", "a", "half"]:
        return Number(value + 0.5, j + 3, False)
    return Number(value, j, True) if first is not None else None


def _tens(value: float, tokens: Sequence[Token], j: int, lexicon: Lexicon) -> tuple[float, int]:
    if value not in range(20, 100, 10) or j >= len(tokens):
        return value, j
    k = j + 1 if tokens[j].text == "-" and j + 1 < len(tokens) else j
    last = k + 1 >= len(tokens)
    unit = word_value(
        tokens[k].text, lexicon, sounds=last or tokens[k].text not in ("for", "free", "mine")
    )
    if unit is not None and 1 <= unit <= 9 and tokens[k].sort == "word":
        return value + unit, k + 1
    return value, j


def _after_hundred(
    value: float, tokens: Sequence[Token], j: int, lexicon: Lexicon
) -> tuple[float, int]:
    k = j + 1 if j < len(tokens) and tokens[j].text == "and" else j
    rest = word_value(tokens[k].text, lexicon) if k < len(tokens) else None
    if rest is not None and rest < 100:
        total, k = _tens(float(rest), tokens, k + 1, lexicon)
        return value + total, k
    return value, j


def _decimals(tokens: Sequence[Token], j: int, lexicon: Lexicon) -> tuple[str, int]:
    digits = ""
    while j < len(tokens) and len(digits) < 3:
        text = tokens[j].text
        if text.isdigit():
            digits += text
        elif text in ("oh", "o"):
            digits += "0"
        else:
            value = word_value(text, lexicon, sounds=not digits)
            if value is None or value > 99 or (digits and value > 9):
                break
            digits += str(value)
        j += 1
    return digits, j


def grams_of(value: float, unit: str) -> float | None:
    """Grams, one decimal, or None for a unit that is no weight of a gecko's size."""
    factor = {"g": 1.0, "oz": OUNCE, "kg": 1000.0, "lb": 16 * OUNCE, "mg": 0.001}.get(unit)
    return round(value * factor + 1e-9, 1) if factor is not None else None


def celsius_of(value: float, unit: str | None) -> float | None:
    """Degrees Celsius, one decimal; with no unit by what is possible, None where it is not clear.

    27 can only be Celsius and 81 only Fahrenheit in a gecko room; 32 to 45 could be either.
    """
    if unit == "F" or (unit in (None, "deg") and 45 < value <= 120):
        return round((value - 32) * 5 / 9 + 1e-9, 1)
    if unit == "C" or value < 32:
        return round(value + 1e-9, 1)
    return None
