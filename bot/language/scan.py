"""Types every word of a message: what the book knows, numbers, units, days, the trade's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bot.language.addresses import AddressFinder
from bot.language.daywords import DayFinder, day_word, names_day, weekdays_near
from bot.language.items import Item
from bot.language.numbers import Number, celsius_of, grams_of, number_at
from bot.language.spelling import near_keys, one_slip
from bot.language.tokens import Token
from bot.language.view import View
from bot.language.wording import Lexicon, Sense

_BETWEEN = frozenset({"it", "them", "him", "her", "that", "both"})
_PARTICLES = frozenset({"out", "away", "off", "up", "down", "back", "over", "apart", "together"})


def scan(tokens: list[Token], view: View, lexicon: Lexicon) -> tuple[list[Item], list[Token]]:
    """The typed pieces of a message, in order, and its tokens with misspellings put right."""
    tokens = _spelled(tokens, view, lexicon)
    scanner = _Scanner(tokens, view, lexicon)
    return scanner.run(), tokens


def _spelled(tokens: list[Token], view: View, lexicon: Lexicon) -> list[Token]:
    """The same tokens with misspelt words put right and run-together ones taken apart."""
    out: list[Token] = []
    tries = 24  # a message of more unknown words is in no language that is known here
    for token in tokens:
        if tries <= 0:
            out.append(token)
            continue
        if token.sort == "word" and token.text in lexicon.slips and token.text not in view.names:
            word = lexicon.slips[token.text]
            out.append(replace(token, text=word, raw=word))
            continue
        if token.sort != "word" or _known(token.text, view, lexicon):
            out.append(token)
            continue
        if token.text.endswith("in") and f"{token.text}g" in lexicon.known:  # "lookin"
            out.append(replace(token, text=f"{token.text}g"))
            continue
        tries -= 1
        days = weekdays_near(token.text)
        if days:
            out.append(token if len(days) > 1 else replace(token, text=days[0], spelled=False))
            continue
        parts = _apart(token.text, view, lexicon) if len(token.text) >= 6 else None
        names = _near_names(token.text, view) if 5 <= len(token.text) <= 14 else []
        if len(names) == 1:
            out.append(replace(token, text=names[0], spelled=False))
            continue
        meant = lexicon.speller.nearest(token.text)
        if meant is not None and (
            parts is None
            or len(token.text) <= 8
            or names_day(meant, lexicon)
            or one_slip(token.text, meant)
        ):
            out.append(replace(token, text=meant, spelled=False))
        elif parts is not None:
            out += _cut(token, parts)
        else:
            out.append(token)
    return out


def _near_names(word: str, view: View) -> list[str]:
    return [n for n in near_keys(word, view.names) if len(view.names[n]) == 1]


def _known(word: str, view: View, lexicon: Lexicon) -> bool:
    if len(word) < 2 or word in lexicon.known:
        return True
    return word in view.names or word in view.place_words or word in view.species


def _apart(word: str, view: View, lexicon: Lexicon) -> list[str] | None:
    """Known words that together spell `word` ("noeggsfrom"), longest first; None if it can't be."""
    if len(word) > 80:
        return None
    best: list[tuple[int, list[str]] | None] = [None] * (len(word) + 1)
    best[0] = (0, [])
    for end in range(1, len(word) + 1):
        for start in range(max(0, end - 14), end):
            before = best[start]
            piece = word[start:end]
            if before is None or not _joinable(piece, view, lexicon):
                continue
            cost = before[0] + 1 + (2 if len(piece) == 1 else 0)
            current = best[end]
            if current is None or cost < current[0]:
                best[end] = (cost, [*before[1], piece])
    whole = best[len(word)]
    if whole is None or len(whole[1]) < 2 or whole[0] > 2 + len(word) / 2.4:
        return None
    if not any(len(p) > 2 and (p in lexicon.speller.words or p in view.names) for p in whole[1]):
        return None
    return whole[1]


def _joinable(piece: str, view: View, lexicon: Lexicon) -> bool:
    if len(piece) == 1:
        return piece.upper() in view.boxes or piece in "afmhlx"
    return piece in lexicon.known or piece in view.names


def _cut(token: Token, parts: Sequence[str]) -> list[Token]:
    out: list[Token] = []
    at = token.start
    for part in parts:
        raw = token.raw[at - token.start : at - token.start + len(part)]
        out.append(Token(part, raw, "word", at, at + len(part), bool(out) or token.glued))
        at += len(part)
    return out


class _Scanner:
    def __init__(self, tokens: list[Token], view: View, lexicon: Lexicon) -> None:
        self.tokens = tokens
        self.view = view
        self.lexicon = lexicon
        self.days = DayFinder(tokens, lexicon, view)
        self.addresses = AddressFinder(tokens, view, lexicon)
        self.items: list[Item] = []
        self.tries = 12  # looking for a misspelt name costs the most

    def run(self) -> list[Item]:
        i = 0
        while i < len(self.tokens):
            item = self._item(i)
            if item is None:
                i += 1
                continue
            self.items.append(item)
            i = max(item.j, i + 1)
        return self.items

    def _item(self, i: int) -> Item | None:
        token = self.tokens[i]
        if token.sort == "sign":
            return self._sign(i)
        phrase = self._phrase(i)
        length = phrase.j - i if phrase else 0
        day = self.days.at(i)
        longer = day is not None and day[2] - i > length  # "this time", but "this time yesterday"
        if phrase is not None and length > 1 and set(phrase.senses) == {"plain"} and not longer:
            return phrase
        if day is not None and day[2] - i >= length and self._day_fits(day[0], i):
            what = "time" if day[0] == "maybe-time" else day[0]
            return self._with_senses(Item(what, day[1], i, day[2], self._raw(i, day[2])))
        own = self._own_species(i) if length < 2 else None
        if own is not None:
            return own
        address = self.addresses.at(i, length, self.items)
        if address is not None:
            return address
        number = number_at(self.tokens, i, self.lexicon)
        if number is not None and number.j - i >= length:
            return self._number(i, number)
        if number is None and phrase is not None and length == 1 and phrase.is_("soundnumber"):
            heard = self._heard_number(i, phrase)
            if heard is not None:
                return heard
        if phrase is not None:
            return phrase
        return self._name_like(i) or Item("word", None, i, i + 1, token.raw, sure=token.spelled)

    def _own_species(self, i: int) -> Item | None:
        """A species that only the keeper's own file has, by its key; said beside a newcomer."""
        for n in range(min(3, len(self.tokens) - i), 0, -1):
            key = "-".join(t.text for t in self.tokens[i : i + n] if t.text != "-")
            if key not in self.view.species:
                continue
            senses = self.lexicon.single(self.tokens[i].text)
            if n == 1 and (any(s.cls != "plain" for s in senses) or key in self.view.names):
                return None
            told = {"species": Sense("species", key)}
            return Item("word", None, i, i + n, self._raw(i, i + n), told)
        return None

    def _raw(self, i: int, j: int) -> str:
        return " ".join(t.raw for t in self.tokens[i:j])

    def _joined_text(self, i: int, j: int) -> str:
        return " ".join(t.text for t in self.tokens[i:j])

    def _phrase(self, i: int) -> Item | None:
        """The longest wording that starts at token `i`."""
        parted = self._parted_phrase(i)
        if parted is not None:
            return parted
        first = self.tokens[i].text
        second = self.tokens[i + 1].text if i + 1 < len(self.tokens) else ""
        for words, senses in self.lexicon.phrases.get(first, ()):
            n = len(words)
            if n > 1 and words[1] != second:
                continue
            if n == 1 or (
                i + n <= len(self.tokens)
                and all(self.tokens[i + k].text == words[k] for k in range(1, n))
            ):
                if n > 1 and len(words[-1]) == 1 and self._starts_code(i + n - 1):
                    continue
                return self._meaning(i, i + n, senses)
        return None

    def _starts_code(self, k: int) -> bool:
        """True for the W of "in W4", which ends no "in w"."""
        follow = self.tokens[k + 1] if k + 1 < len(self.tokens) else None
        return follow is not None and follow.glued and follow.sort == "number"

    def _parted_phrase(self, i: int) -> Item | None:
        """A two-word verb with its pronoun between: "threw it away", "took him out"."""
        if i + 2 >= len(self.tokens) or self.tokens[i + 1].text not in _BETWEEN:
            return None
        verb, particle = self.tokens[i].text, self.tokens[i + 2].text
        for words, senses in self.lexicon.phrases.get(verb, ()):
            if (
                words == (verb, particle)
                and particle in _PARTICLES
                and senses[0].cls == "act"
                and (senses[0].value != "lay")
            ):
                item = self._meaning(i, i + 3, senses)
                for sense in self.lexicon.single(self.tokens[i + 1].text):
                    item.senses.setdefault(sense.cls, sense)
                return item
        return None

    def _meaning(self, i: int, j: int, senses: Sequence[Sense]) -> Item:
        by_class: dict[str, Sense] = {}
        for sense in senses:
            by_class.setdefault(sense.cls, sense)
        sure = all(t.spelled for t in self.tokens[i:j])
        item = Item("word", None, i, j, self._raw(i, j), by_class, sure=sure)
        if not sure:
            item.meant = self._joined_text(i, j)
        if "day" in by_class and self._day_word(item):
            item.what, item.value = "date", day_word(int(by_class["day"].value), item.text)
        elif "span" in by_class:
            item.what, item.value = "span", by_class["span"].value
        elif "joint" in by_class and by_class["joint"].value in ("and", "then", "or"):
            item.what = "joint"
        return item

    def _day_word(self, item: Item) -> bool:
        """ "earlier" and "just" are only days where no other sense wants them."""
        return item.text.casefold() not in ("just",)

    def _with_senses(self, item: Item) -> Item:
        """Keeps the part of the day ("tonight") that a day phrase also tells."""
        for k in range(item.i, item.j):
            senses = self.lexicon.single(self.tokens[k].text)
            month = any(sense.cls == "month" for sense in senses)  # "4 may" plans nothing
            for sense in senses:
                if sense.cls == "daypart" or (sense.cls == "mood" and not month):
                    item.senses.setdefault(sense.cls, sense)
        return item

    def _day_fits(self, what: str, i: int) -> bool:
        """Bare "at 7" is an hour after a deed or a measure, not after a name ("F5 at 10")."""
        if what != "maybe-time" or not self.items:
            return what != "maybe-time"
        last = self.items[-1]
        if last.what == "date":
            return True
        if last.what == "place":
            return any(each.is_("act") for each in self.items)
        if last.what in ("tag", "slot", "box"):
            return any(
                each.is_("act", "put", "move", "take", "took", "part", "pair")
                for each in self.items
            )
        return not last.is_("climate") and any(
            each.is_("act") or each.what in ("grams", "temp", "pct", "num") or each.is_("sign")
            for each in self.items
        )

    def _sign(self, i: int) -> Item | None:
        token = self.tokens[i]
        sign = token.text
        if sign in (".", "!", "?", ";", "\n"):
            return Item("stop", sign, i, i + 1, sign)
        if sign == "-" and token.glued and i + 1 < len(self.tokens) and self.tokens[i + 1].glued:
            return None
        phrase = self._phrase(i)
        if phrase is not None and not phrase.is_("joint", "through"):
            if phrase.is_("unit"):
                return None
            return phrase
        if sign in (
            ",",
            "-",
            "–",
            "—",
            "(",
            ")",
            "/",
            ":",
            "|",
            "•",
            "·",
            "~",
            "\\",
        ) or sign.startswith(".."):
            return Item("comma", sign, i, i + 1, sign)
        return None

    def _number(self, i: int, number: Number) -> Item:
        """A number with its unit, if one follows."""
        number = self._and_a_half(number)
        unit, j = self._unit(number.j, number.whole)
        raw = self._raw(i, j)
        if unit in ("g", "oz", "kg", "lb", "mg"):
            return Item("grams", grams_of(number.value, unit), i, j, raw, unit=unit)
        if unit in ("C", "F", "deg"):
            told = None if unit == "deg" else unit
            celsius = celsius_of(number.value, told)
            return Item("temp", celsius, i, j, raw, unit=unit if told else "")
        if unit == "%":
            return Item("pct", number.value, i, j, raw, unit=unit)
        if unit == "ml":
            return Item("ml", number.value, i, j, raw, unit=unit)
        if unit == "other":
            return Item("other", number.value, i, j, raw, unit=unit)
        j = number.j
        if j < len(self.tokens) and self.tokens[j].text in ("x", "×") and not self._code_ahead(j):
            j += 1
        item = Item("num", number.value, i, j, self._raw(i, number.j))
        item.unit = None
        item.senses = {"whole": Sense("whole", "yes")} if number.whole else {}
        if number.pair is not None:
            item.senses["pair"] = Sense("pair", f"{number.pair[0]},{number.pair[1]}")
        return item

    def _and_a_half(self, number: Number) -> Number:
        """ "22 and a half grams": the half belongs to the figure before it."""
        half = [t.text for t in self.tokens[number.j : number.j + 3]]
        if number.whole and half == ["and", "a", "half"]:
            return Number(number.value + 0.5, number.j + 3, False)
        return number

    def _code_ahead(self, j: int) -> bool:
        return (
            j + 1 < len(self.tokens)
            and self.tokens[j + 1].sort == "number"
            and self.tokens[j + 1].glued
        )

    def _unit(self, j: int, whole: bool = True) -> tuple[str | None, int]:
        """The unit that starts at token `j`. A letter that begins a tag or slot is none."""
        if j >= len(self.tokens):
            return None, j
        for words, senses in self.lexicon.phrases.get(self.tokens[j].text, ()):
            if [t.text for t in self.tokens[j : j + len(words)]] != list(words):
                continue
            unit = next((s.value for s in senses if s.cls == "unit"), None)
            if unit is not None and self._is_unit(j, j + len(words), unit, whole):
                return unit, j + len(words)
        return None, j

    def _is_unit(self, j: int, end: int, unit: str, whole: bool) -> bool:
        token = self.tokens[j]
        text = token.text
        if end - j == 1 and len(text) == 1 and text.isalpha():
            follow = self.tokens[end] if end < len(self.tokens) else None
            if (
                follow is not None
                and follow.sort == "number"
                and (follow.glued or (whole and not token.glued and "." not in follow.text))
            ):
                return False
            return token.glued or text in "gcf"
        if unit == "other" and len(text) <= 2:
            return token.glued or text in ("cm", "mm")
        if text in ("pc", "mil", "no"):
            return True
        return True

    def _heard_number(self, i: int, phrase: Item) -> Item | None:
        """ "to", "for", "ate" as numbers, where only a number can stand."""
        if i + 1 >= len(self.tokens):
            return None
        value = float(phrase.senses["soundnumber"].value)
        after = self.lexicon.single(self.tokens[i + 1].text)
        before = self.items[-1] if self.items else None
        doing = any(
            e.is_("act", "lay", "give", "leave", "drop", "feed", "put", "find")
            for e in self.items[-5:]
        )
        counted = any((s.cls == "act" and s.value == "egg") or s.cls == "food" for s in after)
        if not counted and self.tokens[i + 1].text in ("good", "lovely", "nice", "more", "dusted"):
            counted = i + 2 < len(self.tokens) and any(
                s.value == "egg" or s.cls == "food"
                for s in self.lexicon.single(self.tokens[i + 2].text)
            )
        if counted and doing:
            return Item(
                "num", value, i, i + 1, self._raw(i, i + 1), {"whole": Sense("whole", "yes")}
            )
        text = self.tokens[i].text
        if (
            before is not None
            and before.is_("act", "lay")
            and text in ("to", "too")
            and (self.tokens[i + 1].text in ("in", "into"))
        ):
            return Item(
                "num", value, i, i + 1, self._raw(i, i + 1), {"whole": Sense("whole", "yes")}
            )
        if (
            before is not None
            and before.is_("act", "lay")
            and text in ("to", "too", "won", "for")
            and (self.addresses.begins(i + 1) or (text == "too" and not after))
        ):
            return Item(
                "num", value, i, i + 1, self._raw(i, i + 1), {"whole": Sense("whole", "yes")}
            )
        return None

    def _name_like(self, i: int) -> Item | None:
        """A misspelt name of an animal: one slip in a word of five letters or more, one answer."""
        token = self.tokens[i]
        if len(token.text) < 5 or token.sort != "word" or token.text in self.lexicon.known:
            return None
        self.tries -= 1
        if self.tries < 0 or len(token.text) > 16:
            return None
        near = [n for n in near_keys(token.text, self.view.names) if len(self.view.names[n]) == 1]
        if len(near) != 1:
            return None
        return self.addresses.named(near[0], i, i + 1, sure=False)
