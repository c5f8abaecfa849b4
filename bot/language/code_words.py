"""Reads codes, letters with a number: F3, b-4, "em to", "bee seven"."""

from __future__ import annotations

from bot.language.codes import code_of
from bot.language.items import Code
from bot.language.lookups import Lookup

_ONLY_LETTERS = frozenset("bcdefghjklmpqtvyz")
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


class CodeReader(Lookup):
    """Codes as they are typed and as a phone hears them."""

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
