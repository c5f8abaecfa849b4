"""Finds tags, names, slots, boxes and places among the tokens, and joins lists of them."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.codes import code_of, find_box, find_tag, split_slot
from bot.language.items import Code, Item
from bot.language.numbers import number_at, word_value
from bot.language.tokens import Token
from bot.language.view import View
from bot.language.wording import Lexicon, Sense

_SEXED_LETTER = {"female": "F", "male": "M"}
_ONLY_LETTERS = frozenset("bcdefghjklmpqtvyz")
_SPANS_OF_TIME = frozenset({"min", "mins", "minutes", "hr", "hrs", "hours", "days", "weeks", "ago"})
_NOT_LETTERS = frozenset({"a", "i"})
_WORDS_BEFORE_SEE = frozenset(
    {
        "i",
        "you",
        "we",
        "they",
        "can",
        "could",
        "did",
        "to",
        "will",
        "'ll",
        "not",
        "didn't",
        "didnt",
        "cant",
        "can't",
        "only",
        "should",
        "might",
        "would",
        "let's",
        "lets",
        "cannot",
        "just",
    }
)


class AddressFinder:
    """Reads what the book knows by name, starting at a token."""

    def __init__(self, tokens: Sequence[Token], view: View, lexicon: Lexicon) -> None:
        self.tokens = tokens
        self.view = view
        self.lexicon = lexicon
        self.figures = any(t.sort == "number" for t in tokens)

    def _text(self, i: int) -> str:
        return self.tokens[i].text if 0 <= i < len(self.tokens) else ""

    def _has(self, i: int, cls: str, value: str | None = None) -> str | None:
        if not 0 <= i < len(self.tokens):
            return None
        for sense in self.lexicon.single(self.tokens[i].text):
            if sense.cls == cls and (value is None or sense.value == value):
                return sense.value
        return None

    def _raw(self, i: int, j: int) -> str:
        return "".join(
            ("" if t.glued and k else " ") + t.raw for k, t in enumerate(self.tokens[i:j])
        ).strip()

    # -- entry ------------------------------------------------------------------------------------

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

    # -- names and places the book knows ----------------------------------------------------------

    def _joined(self, i: int, n: int) -> str:
        return " ".join(t.text for t in self.tokens[i : i + n])

    def _known_place(self, i: int, before: Sequence[Item]) -> Item | None:
        if self.tokens[i].sort != "word" or self.tokens[i].text not in self.view.place_firsts:
            return None
        for n in range(min(7, len(self.tokens) - i), 0, -1):
            words = self._words(i, n)
            found = self.view.place_keys.get(words) if words else None
            if found is not None and not self._noun_of_longer(i, n, found):
                if self._place_goes_on(i + n):
                    return None
                return Item("place", found, i, i + n, self._raw(i, i + n))
        return self._numbered_place(i)

    def _words(self, i: int, n: int) -> str:
        """Tokens joined by spaces, glued dashes left out; "" where they end in a mark."""
        span = self.tokens[i : i + n]
        kept = [t for t in span if not (t.glued and t.text in ("-", "/", "_", "."))]
        if not kept or kept[-1] is not span[-1]:
            return ""
        return " ".join(t.text for t in kept)

    def _numbered_place(self, i: int) -> Item | None:
        """One more of a sort of place that the book has: "grow-out 9" beside "grow-out 2"."""
        for n in range(min(5, len(self.tokens) - i), 0, -1):
            words = self._words(i, n)
            stem = self.view.place_stems.get(words) if words else None
            if stem is None or self._has(i, "placenoun") or self._has(i, "boxnoun"):
                continue
            number = self._number(i + n)
            if number is not None and not self._counts_time(number[1]):
                name = f"{stem} {number[0]}"
                return Item("place", name, i, number[1], self._raw(i, number[1]))
        return None

    def _counts_time(self, j: int) -> bool:
        """True where the number before token `j` counts minutes or days: "P2's tub 10 mins ago"."""
        return self._has(j, "period") is not None or self._text(j) in _SPANS_OF_TIME

    def _noun_of_longer(self, i: int, n: int, found: str) -> bool:
        """A place called "box B" is a box, and "tub" alone is not "tub 1"."""
        return self._has(i, "boxnoun") is not None or (
            n == 1 and self._has(i, "placenoun") is not None and self._number(i + 1) is not None
        )

    def _place_goes_on(self, j: int) -> bool:
        return self._has(j, "placenoun") is not None and self._id(j + 1) is not None

    def _name(self, i: int, before: Sequence[Item]) -> Item | None:
        names = self.view.names
        if not names or self.tokens[i].sort != "word":
            return None
        for n in range(min(3, len(self.tokens) - i), 0, -1):
            joined = self._joined(i, n)
            if joined in names and not (n == 1 and self._everyday(i)):
                return self.named(joined, i, i + n)
        return None

    def _everyday(self, i: int) -> bool:
        """True for a name that is also a small word and not written as a name ("will", "may")."""
        token = self.tokens[i]
        senses = self.lexicon.single(token.text)
        if not senses or (token.raw[:1].isupper() and i > 0) or not token.spelled:
            return False
        small = {"mood", "prep", "pron", "joint", "plain", "day", "month", "weekday", "cue"}
        if token.raw[:1].isupper():
            small = {"mood", "prep", "pron", "joint"}
        return any(s.cls in small for s in senses)

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

    # -- codes: F3, B4 ----------------------------------------------------------------------------

    def _number(self, i: int) -> tuple[str, int] | None:
        """Digits of a whole number at token `i` (figures or words), and the token after."""
        if i >= len(self.tokens):
            return None
        token = self.tokens[i]
        if token.sort == "number" and token.text.isdigit():
            return token.text[:6], i + 1
        if token.sort == "word":
            found = number_at(self.tokens, i, self.lexicon)
            if (
                found is not None
                and found.whole
                and self._text(i) not in ("a", "both", "half", "single")
            ):
                return str(int(found.value)), found.j
        return None

    def _heard(self, i: int) -> tuple[str, int] | None:
        """A number word or one that sounds like it."""
        number = self._number(i)
        if number is not None:
            return number
        if 0 <= i < len(self.tokens) and self.tokens[i].sort == "word":
            value = word_value(self.tokens[i].text, self.lexicon, sounds=True)
            if value is not None:
                return str(value), i + 1
        return None

    def _code(self, i: int, before: Sequence[Item]) -> Item | None:
        code, j = self._one_code(i)
        if code is None:
            return None
        if code.slot is not None and (code.tag is None or self._slot_context(i, before)):
            return self._slot_list(code, i, j)
        what = "tag" if code.tag or code.slot is None else "slot"
        return Item(what, (code.tag or code.wrote,), i, j, self._raw(i, j), codes=(code,))

    def _slot_context(self, i: int, before: Sequence[Item]) -> bool:
        """Where a code could be an animal or a slot: eggs, boxes or slots spoken of before."""
        return any(
            e.what in ("slot", "box") or e.is_("act", "candle", "pip", "toss") or e.is_("state")
            for e in before[-3:]
        )

    def _one_code(self, i: int) -> tuple[Code | None, int]:
        if i >= len(self.tokens):
            return None, i
        token = self.tokens[i]
        if token.text == "#" and i + 1 < len(self.tokens):
            code, j = self._one_code(i + 1)
            return code, j
        if token.sort != "word" or len(token.text) > 5 or not token.text.isascii():
            return self._sounded(i)
        j = i + 1
        gap = ""
        if self._text(j) in ("-", "_", "#", ".") and self.tokens[j].glued:
            gap, j = self._text(j), j + 1
        elif self._text(j) == "#":
            j += 1
        if j >= len(self.tokens):
            return None, i
        number = self.tokens[j]
        if number.sort == "number" and number.text.replace(",", "").isdigit():
            digits = number.text.split(",")[0]
            glued = number.glued and (not gap or self.tokens[i + 1].glued)
            return self._lettered(i, j, digits, glued)
        spelt = self._number(j)
        if spelt is not None and len(token.text) == 1:
            return self._spaced(i, spelt[0], spelt[1])
        return self._sounded(i)

    def _lettered(self, i: int, j: int, digits: str, glued: bool) -> tuple[Code | None, int]:
        letters = self.tokens[i].text
        raw = "".join(t.raw for t in self.tokens[i : j + 1])
        code = code_of(letters, digits, self.view, raw)
        end = j + 1
        if not glued:
            return self._spaced(i, digits, end) if len(letters) <= 3 else (None, i)
        if self._measure_like(letters) and code.tag is None and code.slot is None:
            return None, i
        if len(letters) > 3 and code.tag is None and code.slot is None:
            return None, i
        if self._has(i, "placenoun") or self._has(i, "boxnoun") or self._has(i, "slotnoun"):
            return (code, end) if code.tag else (None, i)
        if (
            self.lexicon.single(letters)
            and len(letters) > 1
            and code.tag is None
            and code.slot is None
        ):
            return None, i
        return code, end

    def _measure_like(self, letters: str) -> bool:
        return letters in ("x", "rh", "at", "to", "no", "wt", "by", "is", "d", "inc")

    def _spaced(self, i: int, digits: str, end: int) -> tuple[Code | None, int]:
        """Letters apart from the number, "f three", taken when the book knows the result."""
        letters = self.tokens[i].text
        code = code_of(letters, digits, self.view)
        known = code.tag is not None or (code.slot is not None)
        upper = self.tokens[i].raw.isupper()
        article = letters in _NOT_LETTERS and not upper and not self._slotty(i)
        if article and not (code.slot and (self.figures is False or self._spoken_slot(i, end))):
            return None, i
        if known and (len(letters) == 1 or code.tag is not None):
            if len(letters) > 1 and self.lexicon.single(letters):
                return None, i
            return code, end
        if len(letters) == 1 and letters not in (
            "x",
            "n",
            "w",
            "c",
            "k",
            "s",
            "d",
            "t",
            "u",
            "r",
            "a",
            "i",
        ):
            return code, end
        return None, i

    def _spoken_slot(self, i: int, j: int) -> bool:
        """True for the "a seven" of "in a seven and a nine": no count of things follows it."""
        if self.tokens[j - 1].sort != "word" or self._counted(j):
            return False
        if self._text(i - 1) in ("is", "'s", "was", "what", "such", "quite", "only", "just", "of"):
            return False
        if j >= len(self.tokens) or self.tokens[j].sort != "word":
            return True
        told = ("act", "state", "sign", "joint", "prep", "chat", "spoil")
        senses = self.lexicon.single(self._text(j))
        return any(s.cls in told for s in senses) or self._text(j) in ("is", "has", "are", "have")

    def _slotty(self, i: int) -> bool:
        return self._has(i - 1, "boxnoun") is not None or self._text(i - 1) in ("in", "candled")

    def _sounded(self, i: int) -> tuple[Code | None, int]:
        """ "em to", "bee seven": letters and numbers by sound, where the book knows the result."""
        letter = self._has(i, "soundletter")
        if letter is None or (
            self._text(i - 1) in _WORDS_BEFORE_SEE and self._text(i) in ("see", "be")
        ):
            if len(self._text(i)) == 1 and self._text(i) not in _NOT_LETTERS:
                letter = self._text(i)
            else:
                return None, i
        heard = self._heard(i + 1)
        if heard is None:
            return None, i
        exact = self._number(i + 1) is not None
        everyday = self._text(i) in (
            "if",
            "are",
            "him",
            "why",
            "an",
            "the",
            "we",
            "age",
            "each",
            "end",
            "am",
            "end",
            "okay",
            "hell",
            "hey",
            "tea",
            "al",
            "be",
            "hem",
        )
        if everyday and self.figures:
            return None, i
        if not exact and self.figures and len(self._text(i)) > 1:
            return None, i
        if everyday and not exact:
            return None, i
        if (
            not exact
            and len(self._text(i)) == 1
            and self._text(i + 1) in ("to", "for")
            and self.figures
            and not self._lone_code(i)
        ):
            return None, i
        code = code_of(letter, heard[0], self.view, heard=True)
        if code.tag is None and code.slot is None:
            return None, i
        return code, heard[1]

    def _lone_code(self, i: int) -> bool:
        """True for a letter alone that can be no word, so that "b for" beside figures is B4."""
        before = self.tokens[i - 1] if i else None
        if before is None:
            return self._text(i) in _ONLY_LETTERS
        if self._has(i - 1, "boxnoun") or self._has(i - 1, "placenoun") or before.text == "'":
            return False
        unit = before.sort == "number" and self._text(i) in ("c", "f", "g", "k", "h", "m", "p", "l")
        return self._text(i) in _ONLY_LETTERS and not unit

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

    # -- slots and boxes --------------------------------------------------------------------------

    def _box_letter(self, i: int) -> tuple[str, int] | None:
        """A box's letter or name at token `i`, after the word "box"; also by sound."""
        if i >= len(self.tokens):
            return None
        for n in (3, 2, 1):
            if i + n <= len(self.tokens):
                known = self.view.box_names.get(self._joined(i, n))
                if known is not None:
                    return known, i + n
        token = self.tokens[i]
        if token.sort == "word":
            letter = self._has(i, "soundletter")
            if letter is not None and find_box(letter, self.view) is not None:
                return find_box(letter, self.view) or letter, i + 1
            if len(token.text) == 1:
                return token.text.upper(), i + 1
        return None

    def _box(self, i: int, before: Sequence[Item]) -> Item | None:
        """ "box B", "box B slot 4", "box b #4", "boxes A and B"."""
        if self._has(i, "boxnoun") is None:
            return self._bare_box(i)
        start = i + 1
        if self._text(start) in ("-", "#", ":"):
            start += 1
        letter = self._box_letter(start)
        if letter is None:
            return None
        box, j = letter
        slot = self._slots_after_box(box, j)
        if slot is not None:
            return self._slot_item(slot[0], i, slot[1])
        boxes, j = self._more_boxes([box], j)
        return Item("box", tuple(boxes), i, j, self._raw(i, j))

    def _bare_box(self, i: int) -> Item | None:
        """ "B slot 4", "b slots 4 and 5"."""
        token = self.tokens[i]
        named = self.view.box_names.get(token.text) if len(token.text) > 2 else None
        if named is not None and self._text(i - 1) not in ("'s", "s") and not self._everyday(i):
            slot = self._slots_after_box(named, i + 1)
            if slot is not None:
                return self._slot_item(slot[0], i, slot[1])
            return Item("box", (named,), i, i + 1, token.raw)
        if len(token.text) == 1 and self._lone_letter(i):
            boxes, j = self._more_boxes([find_box(token.text, self.view) or token.text], i + 1)
            return Item("box", tuple(boxes), i, j, self._raw(i, j))
        if token.sort != "word" or (
            len(token.text) > 1 and find_box(token.text, self.view) is None
        ):
            return None
        box = find_box(token.text, self.view) or self._has(i, "soundletter")
        if (
            box is None
            or self._has(i + 1, "slotnoun") is None
            or self._text(i + 1) in ("no", "number", "spot", "hole", "space")
        ):
            return None
        known = find_box(box, self.view)
        slot = self._slots_after_box(known, i + 1) if known else None
        return self._slot_item(slot[0], i, slot[1]) if slot else None

    def _lone_letter(self, i: int) -> bool:
        """ "20 ml to B", "any room in C": a box's letter alone after a small word."""
        token = self.tokens[i]
        follow = self.tokens[i + 1] if i + 1 < len(self.tokens) else None
        if (
            not (
                self._text(i - 1) in ("in", "to", "into", "for") or self._has(i - 1, "act", "water")
            )
            or find_box(token.text, self.view) is None
        ):
            return False
        if follow is not None and (
            follow.sort == "number" or self._has(i + 1, "slotnoun") or self._has(i + 1, "number")
        ):
            return False
        if not self.figures and self._has(i + 1, "soundnumber"):
            return False
        return token.raw.isupper() or token.text not in ("a", "i", "c", "f")

    def _more_boxes(self, boxes: list[str], j: int) -> tuple[list[str], int]:
        while j < len(self.tokens) and (
            self._text(j) in ("and", "&", ",", "+", "/") or self._next_letter(j)
        ):
            k = j if self._next_letter(j) else j + 1
            if self._text(k) in ("and", "&"):
                k += 1
            if self._has(k, "boxnoun"):
                k += 1
            elif len(self._text(k)) != 1 or self._text(k) in _NOT_LETTERS:
                break
            letter = self._box_letter(k)
            if letter is None or letter[0] not in self.view.boxes or letter[0] in boxes:
                break
            if self._slots_after_box(letter[0], letter[1]) is not None:
                break
            boxes.append(letter[0])
            j = letter[1]
        return boxes, j

    def _next_letter(self, j: int) -> bool:
        """ "box A B and C": one more letter of a box, standing alone."""
        text = self._text(j)
        follow = self.tokens[j + 1] if j + 1 < len(self.tokens) else None
        return (
            len(text) == 1
            and text not in _NOT_LETTERS
            and find_box(text, self.view) is not None
            and (follow is None or follow.sort != "number")
        )

    def _slots_after_box(self, box: str, j: int) -> tuple[list[str], int] | None:
        """Slot numbers that follow a box: "slot 4", "#4", "4 & 5", ", slots 4 and 5"."""
        k = j
        if self._text(k) in (",", ":", "-", "/", "in", "s", "'s") and self._has(k + 1, "slotnoun"):
            k += 1
        named = False
        while self._has(k, "slotnoun") is not None or self._text(k) == "#":
            named, k = True, k + 1
        number = self._heard(k) if named else self._number(k)
        if number is None or (not named and not self._bare_slot(k, number[1])):
            return None
        return self._numbers(box, number[0], number[1], named)

    def _bare_slot(self, k: int, j: int) -> bool:
        """In "box B 27.1" or "box B 2 eggs" the number is no slot."""
        if self.tokens[k].sort == "number" and not self.tokens[k].text.isdigit():
            return False
        senses = self.lexicon.single(self._text(j))
        return not any(
            s.cls in ("unit", "food", "climate") or s.value in ("egg", "hatch") for s in senses
        )

    def _numbers(self, box: str, first: str, j: int, named: bool) -> tuple[list[str], int]:
        """The rest of a list of slot numbers: "4 and 5", "4-6", "4, 5 & 6"."""
        numbers = [int(first)]
        while j < len(self.tokens):
            step = self._list_step(j, numbers[-1], named)
            if step is None:
                break
            more, j = step
            numbers += more
        return [f"{box}{n}" for n in dict.fromkeys(numbers)], j

    def _list_step(self, j: int, last: int, named: bool) -> tuple[list[int], int] | None:
        """One more step of a list of numbers after a slot: the numbers it adds, the token after."""
        sign = self._text(j)
        k = j + 1
        if sign in ("to", "-", "–", "thru", "through", "till", "until") or sign.startswith(".."):
            number = self._number(k)
            if number is None or (sign == "to" and not named):
                return None
            top = int(number[0])
            if self._counted(number[1]):
                return None
            if last < top <= last + 60:
                return list(range(last + 1, top + 1)), number[1]
            return None
        if sign not in ("and", "&", "+", "/", ",", "n", "plus"):
            if (
                named
                and self.tokens[j].sort == "number"
                and self.tokens[j].text.isdigit()
                and not (self.tokens[j].glued)
                and not self._counted(j + 1)
            ):
                return [int(self.tokens[j].text[:6])], j + 1
            return None
        while self._text(k) in ("and", "&") or (self._has(k, "slotnoun") and self._text(k) != "no"):
            k += 1
        number = self._number(k)
        if number is None or self._counted(number[1]):
            return None
        if self.tokens[k].sort == "number" and not self.tokens[k].text.isdigit():
            return None
        spaced = not self.tokens[k].glued
        if sign == "," and spaced and not named and len(self._text(k)) > 2:
            return None
        if (
            sign in (",", "and", "&")
            and spaced
            and not named
            and self._text(number[1]) in ("in", "from")
        ):
            return None
        return [int(number[0])], number[1]

    def _counted(self, j: int) -> bool:
        """True where the number before token `j` counts something else ("2 eggs", "5 dubia")."""
        if (
            self._text(j) in (".", ":")
            and self._number(j + 1) is not None
            and j < len(self.tokens)
            and (self.tokens[j].glued)
        ):
            return True
        return any(
            s.cls in ("unit", "food", "period")
            or (s.cls == "act" and s.value in ("egg", "lay"))
            or s.cls == "spoil"
            or s.cls == "month"
            or s.value in ("infertile",)
            or s.cls in ("number",)
            for s in self.lexicon.single(self._text(j))
        )

    def _slot_words(self, i: int, before: Sequence[Item]) -> Item | None:
        """ "slot 4 in box B", "slots 4 and 5 of B", and "slot 4" with the box left open ("?4")."""
        if self._has(i, "slotnoun") is None or self._text(i) in ("no", "number", "nos", "num"):
            return None
        k = i + 1
        while self._text(k) == "#" or self._has(k, "slotnoun") is not None:
            k += 1
        letter = self._box_letter(k)
        if (letter is not None and len(self._text(k)) == 1) or self._has(k, "boxnoun"):
            code, j = self._one_code(k)  # "slot B4", "slots B4 and B5"
            if code is not None and code.slot is not None:
                return self._slot_list(code, i, j)
        number = self._heard(k)
        if number is not None and self._is_measure(number[1]):
            return None
        if number is None:
            code, j = self._one_code(k)
            return self._slot_list(code, i, j) if code is not None and code.slot else None
        slots, j = self._numbers("?", number[0], number[1], True)
        m = j
        if self._text(m) in ("in", "of", "on", ",", "from", "at", "inside"):
            m += 1
        if self._text(m) == "the":
            m += 1
        boxed = self._has(m, "boxnoun") is not None
        found = self._box_letter(m + 1 if boxed else m)
        if (
            found is not None
            and (boxed or found[0] in self.view.boxes)
            and (boxed or m > j or len(self._text(m)) == 1)
            and not (not boxed and self._number(m + 1) is not None)
        ):
            return self._slot_item([found[0] + s[1:] for s in slots], i, found[1])
        return self._slot_item(slots, i, j)

    def _is_measure(self, j: int) -> bool:
        """ "hot spot 31c": the number is a measure and no slot."""
        return self._has(j, "unit") is not None and self.tokens[j].glued

    def _slot_list(self, code: Code, i: int, j: int) -> Item:
        """A slot and the list that may follow: "B4-5", "B4 and 5", "B4, B5 & B6", "B4 B5"."""
        slot = code.slot or code.wrote
        box, _number = split_slot(slot)
        last = self.tokens[j - 1]
        slots = [slot]
        if last.sort == "number" and "," in last.text:
            slots += [f"{box}{int(part[:6])}" for part in last.text.split(",")[1:] if part]
        while j < len(self.tokens):
            more, k = self._next_slot(box, slots, j)
            if k == j:
                break
            slots += more
            j = k
        slots = list(dict.fromkeys(slots))
        item = self._slot_item(slots, i, j)
        item.codes = (code,)
        return item

    def _next_slot(self, box: str, slots: list[str], j: int) -> tuple[list[str], int]:
        sign = self._text(j)
        k = j
        while self._text(k) in ("and", "&", ",", "+", "/", "-", "–", "n", "plus") and k - j < 2:
            k += 1
        code, end = self._one_code(k) if k < len(self.tokens) else (None, k)
        if code is not None and code.slot is not None and code.tag is None:
            if sign in ("-", "–") and k == j + 1:
                first, last = split_slot(slots[-1])[1], split_slot(code.slot)
                if last[0] == box and first < last[1] <= first + 60:
                    return [f"{box}{n}" for n in range(first + 1, last[1] + 1)], end
            if sign in ("->", "→"):
                return [], j
            if sign in ("/", "+") and k == j + 1:
                return [code.slot], end
        if k > j and code is None:
            step = self._list_step(j, split_slot(slots[-1])[1], False)
            if step is not None:
                return [f"{box}{n}" for n in step[0]], step[1]
        return [], j

    def _slot_item(self, slots: Sequence[str], i: int, j: int) -> Item:
        codes = tuple(Code(slot, slot=slot) for slot in slots[:1])
        return Item("slot", tuple(slots), i, j, self._raw(i, j), codes=codes)

    # -- places -----------------------------------------------------------------------------------

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


def place_sense(item: Item) -> Sense | None:
    """The place noun of an item that is a place's noun alone ("tub")."""
    return item.senses.get("placenoun")
