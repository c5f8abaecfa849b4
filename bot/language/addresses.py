"""Finds tags, names, slots, boxes and places among the tokens, and joins lists of them."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.codes import find_tag, split_slot
from bot.language.items import Code, Item
from bot.language.place_words import PlaceReader
from bot.language.slot_words import SlotReader

_SEXED_LETTER = {"female": "F", "male": "M"}


class AddressFinder(SlotReader, PlaceReader):
    """Reads what the book knows by name, starting at a token."""

    def at(self, i: int, phrase_length: int, before: Sequence[Item]) -> Item | None:
        """The tag, slot, box or place that starts at token `i`, or None.

        `phrase_length` is how many tokens the best wording there would take: it wins when longer.
        """
        for reader in (
            self._known_place,
            self._name,
            self._box,
            self._slot_words,
            self._place,
            self._whole_tag,
            self._sexed_number,
            self._code,
        ):
            item = reader(i, before)
            if item is not None and item.j - i >= phrase_length:
                return item
        return None

    def begins(self, i: int) -> bool:
        """True where a slot or box starts at token `i`."""
        if i >= len(self.tokens):
            return False
        item = self._box(i, ()) or self._slot_words(i, ()) or self._code(i, ())
        return item is not None and item.what in ("slot", "box")

    def named(self, name: str, i: int, j: int, sure: bool = True) -> Item:
        """The animals that carry a name, as an item."""
        tags = self.view.names[name]
        codes = tuple(Code(tag, tag=tag) for tag in tags)
        item = Item(
            "tag",
            tags[:1] if len(tags) == 1 else tags,
            i,
            j,
            self._raw(i, j),
            codes=codes,
            sure=sure,
        )
        item.either = len(tags) > 1
        return item

    def _name(self, i: int, before: Sequence[Item]) -> Item | None:
        names = self.view.names
        if not names or self.tokens[i].sort != "word":
            return None
        for n in range(min(3, len(self.tokens) - i), 0, -1):
            joined = self._joined(i, n)
            if joined in names and not (n == 1 and self._everyday(i)):
                return self.named(joined, i, i + n)
        owner = self.tokens[i].text.removesuffix("s")
        if len(owner) > 3 and owner in names and not self.lexicon.single(self.tokens[i].text):
            return self.named(owner, i, i + 1)  # "buttons a girl", "biscuits lay box"
        return None

    def _whole_tag(self, i: int, before: Sequence[Item]) -> Item | None:
        """A tag of any other shape, typed as the book writes it ("Leo-A", "X17b")."""
        if self.tokens[i].glued or self.tokens[i].sort not in ("word", "number"):
            return None
        end = i + 1
        while (
            end < len(self.tokens)
            and self.tokens[end].glued
            and end - i < 6
            and (self.tokens[end].sort in ("word", "number") or self.tokens[end].text in "-_.")
        ):
            end += 1
        for j in range(end, i, -1):
            raw = "".join(t.raw for t in self.tokens[i:j])
            if j == i + 1 and (raw.isdigit() or self.lexicon.single(raw.casefold())):
                continue
            for spelling in (raw, raw.upper(), raw.capitalize()):
                if spelling in self.view.animals:
                    if self._code_shape(i, j):
                        return None
                    return Item("tag", (spelling,), i, j, raw, codes=(Code(spelling, spelling),))
        return None

    def _code_shape(self, i: int, j: int) -> bool:
        sorts = [t.sort for t in self.tokens[i:j]]
        return sorts in (["word", "number"], ["word", "sign", "number"])

    def _code(self, i: int, before: Sequence[Item]) -> Item | None:
        code, j = self._one_code(i)
        if code is None:
            return None
        if code.slot is not None and (
            code.tag is None or (self._slot_context(i, j, before) and not self._dam(code, j))
        ):
            return self._slot_list(code, i, j)
        what = "tag" if code.tag or code.slot is None else "slot"
        if code.tag:
            run, end = self._tags_through(code.tag, j)
            if run:
                codes = tuple(Code(tag, tag=tag) for tag in run)
                return Item("tag", run, i, end, self._raw(i, end), codes=codes)
        return Item(what, (code.tag or code.wrote,), i, j, self._raw(i, j), codes=(code,))

    def _tags_through(self, tag: str, j: int) -> tuple[tuple[str, ...], int]:
        """ "H1-H4", "H1 to H4", "H1-4": every animal of the book from the one to the other."""
        sign = self._text(j)
        if sign not in ("-", "–", "—", "to", "thru", "through", "till"):
            return (), j
        letters, first = split_slot(tag)
        code, end = self._one_code(j + 1) if j + 1 < len(self.tokens) else (None, j)
        if code is not None and code.tag is not None:
            other, last = split_slot(code.tag)
            if other != letters or self._text(self._start_of(j) - 1) in ("from", "was"):
                return (), j
        elif self._glued_number(j) and not self._counted(j + 2):
            last, end = int(self.tokens[j + 1].text[:6]), j + 2
            if f"{letters}{last}" not in self.view.animals:
                return (), j
        else:
            return (), j
        if not first < last <= first + 60:
            return (), j
        run = (f"{letters}{n}" for n in range(first, last + 1))
        return tuple(t for t in run if t in self.view.animals), end

    def _start_of(self, j: int) -> int:
        """The token at which a code that ends before token `j` begins."""
        k = j - 1
        while k > 0 and self.tokens[k].glued:
            k -= 1
        return k

    def _glued_number(self, j: int) -> bool:
        """True for the "-4" of "H1-4"."""
        if j + 1 >= len(self.tokens) or not self.tokens[j].glued:
            return False
        number = self.tokens[j + 1]
        return number.glued and number.sort == "number" and number.text.isdigit()

    def _slot_context(self, i: int, j: int, before: Sequence[Item]) -> bool:
        """Where a code could be an animal or a slot: eggs, boxes or slots spoken of before."""
        if any(
            e.what in ("slot", "box") or e.is_("act", "candle", "pip", "toss") or e.is_("state")
            for e in before[-3:]
        ):
            return True
        laid = (
            len(before) > 2
            and self._text(j) not in ("'s", "s")
            and any(e.is_("act", "lay") for e in before[-4:-1])
        )
        counted = laid and (before[-2].what == "num" or before[-2].is_("act", "egg", "lay"))
        return counted and before[-1].is_("prep", "in") and any(e.what == "tag" for e in before)

    def _dam(self, code: Code, j: int) -> bool:
        """ "C7 C8, D17 laid 1": a code with a laying right after it, of a female."""
        seen = self.view.animals.get(code.tag or "")
        return seen is not None and seen.sex == "female" and self._has(j, "act", "lay") is not None

    def _sexed_number(self, i: int, before: Sequence[Item]) -> Item | None:
        """ "female 3", "male two", "gecko F3": F3 where the book has one."""
        sex = self._has(i, "sex")
        number = self._number(i + 1)
        if (
            sex not in _SEXED_LETTER
            or number is None
            or (self._text(i) not in ("female", "male", "femal", "femail", "mail", "fem"))
        ):
            return None
        tag = find_tag(_SEXED_LETTER[sex], number[0], self.view)
        if tag is None:
            return None
        follow = self._text(number[1])
        if follow and any(s.cls in ("food", "unit") for s in self.lexicon.single(follow)):
            return None
        return Item("tag", (tag,), i, number[1], self._raw(i, number[1]), codes=(Code(tag, tag),))
