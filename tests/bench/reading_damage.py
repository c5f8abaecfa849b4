"""Damages messages the way thumbs, phones and hurry do: mechanically, and repeatably."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Mapping

from bot.language.wording import OWN_WORDS, read_words

NEIGHBOURS = {
    "a": "qs", "b": "vn", "c": "xv", "d": "sf", "e": "wr", "f": "dg", "g": "fh", "h": "gj",
    "i": "uo", "j": "hk", "k": "jl", "l": "k", "m": "n", "n": "bm", "o": "ip", "p": "o",
    "q": "wa", "r": "et", "s": "ad", "t": "ry", "u": "yi", "v": "cb", "w": "qe", "x": "zc",
    "y": "tu", "z": "x",
}  # fmt: skip
EMOJI = ("🦎", "🥚", "😀", "👍", "🎉")

Damage = Callable[[str, random.Random], str]


def _slip(word: str, rng: random.Random) -> str:
    """One letter dropped, doubled, swapped or hit beside, in a word of four letters or more."""
    at = rng.randrange(len(word))
    letter = word[at]
    kind = rng.choice(("drop", "double", "swap", "beside"))
    if kind == "drop":
        return word[:at] + word[at + 1 :]
    if kind == "double":
        return word[:at] + letter + word[at:]
    if kind == "swap" and at + 1 < len(word):
        return word[:at] + word[at + 1] + letter + word[at + 2 :]
    near = NEIGHBOURS.get(letter.lower(), letter)
    return word[:at] + rng.choice(near) + word[at + 1 :]


def typos(count: int) -> Damage:
    """That many slips, each in a word of four plain letters or more."""

    def damage(text: str, rng: random.Random) -> str:
        words = text.split(" ")
        for _ in range(count):
            long = [n for n, word in enumerate(words) if len(word) >= 4 and word.isalpha()]
            if long:
                n = rng.choice(long)
                words[n] = _slip(words[n], rng)
        return " ".join(words)

    return damage


def word_order(text: str, rng: random.Random) -> str:
    """Two neighbouring words change places."""
    words = text.split(" ")
    if len(words) > 2:
        at = rng.randrange(len(words) - 1)
        words[at], words[at + 1] = words[at + 1], words[at]
    return " ".join(words)


def dictated(text: str, rng: random.Random) -> str:
    """Half the codes and small numbers become words as a phone hears them; marks are lost."""
    heard = _heard()
    out = []
    for word in text.lower().split():
        code = re.fullmatch(r"([a-z])-?(\d{1,2})([,.;:!?]*)", word)
        plain = re.sub(r"(?<!\d)[,.;:!?]|[,.;:!?](?!\d)", "", word)
        if code and code.group(2) in heard and rng.random() < 0.5:
            out.append(f"{code.group(1)} {rng.choice(heard[code.group(2)])}")
        elif plain in heard and rng.random() < 0.5:
            out.append(rng.choice(heard[plain]))
        elif plain:
            out.append(plain)
    return " ".join(out)


def _heard() -> Mapping[str, list[str]]:
    """Letters and small numbers with what they sound like, from the reader's own data."""
    table: dict[str, list[str]] = {}
    for words, sense in read_words(OWN_WORDS / "numbers.toml"):
        if sense.cls == "soundnumber" and words[0] in ("to", "too", "for", "won", "ate"):
            table.setdefault(sense.value, []).append(words[0])
        elif sense.cls == "number" and len(words) == 1 and words[0].isalpha():
            table.setdefault(sense.value, [words[0]])
    return table


def no_spaces(text: str, rng: random.Random) -> str:
    """Three gaps between words are lost."""
    for _ in range(3):
        gaps = [n for n, c in enumerate(text) if c == " "]
        if gaps:
            at = rng.choice(gaps)
            text = text[:at] + text[at + 1 :]
    return text


def all_caps(text: str, rng: random.Random) -> str:
    """Everything in capitals."""
    return text.upper()


def no_punctuation(text: str, rng: random.Random) -> str:
    """Every mark but those within numbers and codes is lost."""
    return re.sub(r"(?<!\d)[,.;:!?]|[,.;:!?](?!\d)", "", text)


def emoji_between(text: str, rng: random.Random) -> str:
    """An emoji after a third of the words."""
    return " ".join(
        f"{word} {rng.choice(EMOJI)}" if rng.random() < 0.3 else word for word in text.split(" ")
    )


DAMAGES: Mapping[str, Damage] = {
    "as typed": lambda text, rng: text,
    "typo, one": typos(1),
    "typo, two": typos(2),
    "word order": word_order,
    "dictated": dictated,
    "no spaces": no_spaces,
    "all caps": all_caps,
    "no punctuation": no_punctuation,
    "emoji between": emoji_between,
}


def damaged(text: str, name: str) -> str:
    """The text with one kind of damage; the same text is always damaged the same way."""
    return DAMAGES[name](text, random.Random(f"{name}:{text}"))
