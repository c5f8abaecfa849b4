"""Mechanical damage to a message, the way thumbs, phones and haste do it; seeded, never random."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

# Letters beside each other on a phone's keyboard.
_BESIDE = {
    "q": "wa", "w": "qes", "e": "wrd", "r": "etf", "t": "ryg", "y": "tuh", "u": "yij", "i": "uok",
    "o": "ipl", "p": "ol", "a": "qsz", "s": "adw", "d": "sfe", "f": "dgr", "g": "fht", "h": "gjy",
    "j": "hku", "k": "jli", "l": "ko", "z": "xa", "x": "zcs", "c": "xvd", "v": "cbf", "b": "vng",
    "n": "bmh", "m": "nj",
}  # fmt: skip
# What dictation makes of words that sound alike.
_HEARD = {
    "two": "to", "2": "to", "4": "for", "four": "for", "8": "ate", "1": "won", "one": "won",
    "eggs": "eggs", "laid": "layed", "shed": "shed", "weighed": "wade", "box b": "box bee",
    "weak": "week", "male": "mail", "moved": "moved", "veins": "vanes",
}  # fmt: skip
_WORD = re.compile(r"[A-Za-z]{4,}")


def typos(text: str, chance: random.Random, count: int) -> str:
    """`count` words of four letters or more each get one slip: swapped, doubled, lost or beside."""
    words = list(_WORD.finditer(text))
    for found in sorted(chance.sample(words, min(count, len(words))), key=lambda m: -m.start()):
        text = text[: found.start()] + _slip(found.group(), chance) + text[found.end() :]
    return text


def _slip(word: str, chance: random.Random) -> str:
    k = chance.randrange(1, len(word) - 1)
    kind = chance.choice(("swap", "double", "lose", "beside"))
    if kind == "swap":
        return word[:k] + word[k + 1] + word[k] + word[k + 2 :]
    if kind == "double":
        return word[:k] + word[k] + word[k:]
    if kind == "lose":
        return word[:k] + word[k + 1 :]
    near = _BESIDE.get(word[k].lower(), word[k])
    return word[:k] + chance.choice(near) + word[k + 1 :]


def order(text: str, chance: random.Random) -> str:
    """The parts between commas in another order."""
    parts = [part.strip() for part in text.split(",")]
    chance.shuffle(parts)
    return ", ".join(parts)


def heard(text: str, chance: random.Random) -> str:
    """Words as a phone hears them."""
    return " ".join(_HEARD.get(word.lower(), word) for word in text.split())


def no_spaces(text: str, chance: random.Random) -> str:
    """One space in three is lost."""
    return re.sub(" ", lambda _: "" if chance.random() < 1 / 3 else " ", text)


def no_marks(text: str, chance: random.Random) -> str:
    """No punctuation but what is inside numbers, tags and slots."""
    return re.sub(r"(?<!\d)[,;:!.](?!\d)|[,;:!](?=\s)", "", text)


def emoji(text: str, chance: random.Random) -> str:
    """An emoji between two words."""
    words = text.split()
    words.insert(chance.randrange(len(words) + 1), chance.choice("\U0001f98e\U0001f95a\U0001f389"))
    return " ".join(words)


KINDS: dict[str, Callable[[str, random.Random], str]] = {
    "as typed": lambda text, _: text,
    "one typo": lambda text, chance: typos(text, chance, 1),
    "two typos": lambda text, chance: typos(text, chance, 2),
    "parts in another order": order,
    "dictated": heard,
    "spaces lost": no_spaces,
    "all capitals": lambda text, _: text.upper(),
    "no punctuation": no_marks,
    "emoji between": emoji,
}
