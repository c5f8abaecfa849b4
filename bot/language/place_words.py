"""Reads places: those the book knows by name, and "rack B tub 4"."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.items import Item
from bot.language.lookups import Lookup


class PlaceReader(Lookup):
    """Places by name, and by noun and number."""

    def _known_place(self, i: int, before: Sequence[Item]) -> Item | None:
        if self.tokens[i].sort != "word" or self.tokens[i].text not in self.view.place_firsts:
            return None
        for n in range(min(7, len(self.tokens) - i), 0, -1):
            words = self._words(i, n)
            found = self.view.place_keys.get(words) if words else None
            if found is not None and not self._noun_of_longer(i, n, found):
                if self._place_goes_on(i + n):
                    return None
                longer = self._numbered_place(i) if n > 1 else None
                if longer is not None and longer.j > i + n:
                    return longer
                return Item("place", found, i, i + n, self._raw(i, i + n))
        return self._numbered_place(i)

    def _numbered_place(self, i: int) -> Item | None:
        """One more of a sort of place that the book has: "grow-out 9" beside "grow-out 2"."""
        for n in range(min(5, len(self.tokens) - i), 0, -1):
            words = self._words(i, n)
            stem = self.view.place_stems.get(words) if words else None
            if stem is None or self._has(i, "boxnoun"):
                continue
            if n == 1 and self._has(i, "placenoun"):
                continue
            number = self._number(i + n)
            if number is not None and not self._counts_time(number[1]):
                name = f"{stem} {number[0]}"
                return Item("place", name, i, number[1], self._raw(i, number[1]))
        return None

    def _noun_of_longer(self, i: int, n: int, found: str) -> bool:
        """A place called "box B" is a box, and "tub" alone is not "tub 1"."""
        return self._has(i, "boxnoun") is not None or (
            n == 1 and self._has(i, "placenoun") is not None and self._number(i + 1) is not None
        )

    def _place_goes_on(self, j: int) -> bool:
        return self._has(j, "placenoun") is not None and self._id(j + 1) is not None

    def _id(self, i: int) -> tuple[str, int] | None:
        """What follows a place's noun: a number, a letter, or "B2"."""
        if i >= len(self.tokens):
            return None
        if self._text(i) in ("#", "no", "number", "nr", "-") and i + 1 < len(self.tokens):
            return self._number(i + 1)
        token = self.tokens[i]
        if token.sort == "word" and len(token.text) == 1 and token.text not in ("a", "i"):
            follow = self.tokens[i + 1] if i + 1 < len(self.tokens) else None
            if (
                follow is not None
                and follow.glued
                and follow.sort == "number"
                and follow.text.isdigit()
            ):
                return f"{token.text.upper()}{follow.text}", i + 2
            return token.text.upper(), i + 1
        if token.text == "a" and (
            token.raw == "A"
            or self._text(i + 1) in ("and", "&", ",", "/", "+")
            or self._has(i + 1, "placenoun")
            or i + 1 == len(self.tokens)
            or not self.figures
        ):
            return "A", i + 1
        number = (
            self._heard(i)
            if not self.figures or self._text(i) not in ("to", "for", "too")
            else (self._number(i))
        )
        if number is not None:
            if self.tokens[i].sort == "number" and not self.tokens[i].text.isdigit():
                return None
            if self._counts_time(number[1]) or not self._sounds_end(i, number[1]):
                return None
            return number
        if self._has(i, "soundletter") and self._has(i + 1, "placenoun"):
            return (self._has(i, "soundletter") or "").upper(), i + 1
        return None

    def _grouped(self, noun: str, ident: tuple[str, int]) -> bool:
        """ "the tower 6 crickets", where the book has "tower drawer 5" and no "tower 6"."""
        number, j = ident
        if noun not in self.view.place_groups or f"{noun} {number}" in self.view.places:
            return False
        return number.isdigit() and self._counted(j)

    def _fed_whole(self, i: int, noun: str) -> bool:
        """ "fed the whole tower", "did anybody feed the rack": the book has "tower drawer 5"."""
        if noun not in self.view.place_groups or self._text(i + 1) == "'s":
            return False
        k = i - 1
        while k > 0 and self._text(k) in ("the", "whole", "entire", "my", "our"):
            k -= 1
        fed = self._has(k, "act", "feed") is not None or self._has(k, "act", "give") is not None
        more = self._text(k) in ("and", "&") and self._has(k - 1, "placenoun")
        return k < i - 1 and (fed or more in self.view.place_groups)

    def _warm(self, number: str) -> bool:
        """ "incubator 27 and 80": degrees, where the book has no such incubator."""
        known = f"incubator {number}" in self.view.places
        warm = number.isdigit() and (18 <= int(number) <= 36 or 64 <= int(number) <= 97)
        return warm and not known

    def _sounds_end(self, i: int, j: int) -> bool:
        """False for the "for" of "tub for eggs", which is no "tub four"."""
        if self._number(i) is not None or self._text(i) != "for":
            return True
        if j >= len(self.tokens) or self.tokens[j].sort == "sign":
            return True
        return self._has(j, "placenoun") is not None or self._text(j) in ("and", "in", "at", "is")

    def _place(self, i: int, before: Sequence[Item]) -> Item | None:
        """ "tub 12", "rack B tub 4", "incubator 1"; "inc1"."""
        parts: list[str] = []
        j = i
        while (noun := self._has(j, "placenoun")) is not None:
            ident = self._id(j + 1)
            if (
                ident is None
                and not parts
                and noun in ("quarantine", "hatchery")
                and self._text(i - 1) in ("in", "to", "into")
            ):
                return Item(
                    "place", self.view.places.get(noun, noun), i, i + 1, self._raw(i, i + 1)
                )
            if ident is None and not parts and self._fed_whole(i, noun):
                return Item("place", noun, i, i + 1, self._raw(i, i + 1))
            if ident is not None and not parts and self._grouped(noun, ident):
                return Item("place", noun, i, i + 1, self._raw(i, i + 1))
            if noun == "incubator" and ident is not None and self._warm(ident[0]):
                break
            if ident is None or (
                noun == "bin"
                and not parts
                and self._text(j) == "bin"
                and self._text(j - 1) in ("the",)
            ):
                break
            parts.append(f"{noun} {ident[0]}")
            j = ident[1]
            if self._text(j) == "," and self._has(j + 1, "placenoun") and self._id(j + 2):
                if not self._has(i, "placenoun", "rack"):
                    break
                j += 1
            elif self._text(j) in ("in", "of", "on") and self._has(j + 1, "placenoun", "rack"):
                inner = self._id(j + 2)
                if inner is not None:
                    parts.insert(0, f"rack {inner[0]}")
                    j = inner[1]
                break
        if not parts:
            return None
        name = " ".join(parts)
        return Item("place", self.view.places.get(name.casefold(), name), i, j, self._raw(i, j))
