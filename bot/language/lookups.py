"""Looks up single tokens: their text, their senses, the number they are."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.numbers import number_at, word_value
from bot.language.tokens import Token
from bot.language.view import View
from bot.language.wording import Lexicon

_SPANS_OF_TIME = frozenset({"min", "mins", "minutes", "hr", "hrs", "hours", "days", "weeks", "ago"})


_BEFORE_NO_NAME = frozenset(
    {
        *("a", "an", "the", "my", "his", "her", "its", "our", "your", "their", "this", "that"),
        *("little", "some", "such", "very", "so", "too", "really", "quite", "is", "was", "are"),
        *("looks", "all", "no", "any", "every", "about", "around", "over", "at", "only", "just"),
    }
)
_AFTER_A_NAME = frozenset(
    {
        *("is", "has", "was", "had", "'s", "did", "didn't", "won't", "wouldn't", "hasn't"),
        *("isn't", "looks", "weighs", "ate", "laid"),
    }
)


class Lookup:
    """Single tokens of a message, with what the lexicon and the book say of them."""

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

    def _joined(self, i: int, n: int) -> str:
        return " ".join(t.text for t in self.tokens[i : i + n])

    def _words(self, i: int, n: int) -> str:
        """Tokens joined by spaces, glued dashes left out; "" where they end in a mark."""
        span = self.tokens[i : i + n]
        kept = [t for t in span if not (t.glued and t.text in ("-", "/", "_", "."))]
        if not kept or kept[-1] is not span[-1]:
            return ""
        return " ".join(t.text for t in kept)

    def _counts_time(self, j: int) -> bool:
        """True where the number before token `j` counts minutes or days: "P2's tub 10 mins ago"."""
        return self._has(j, "period") is not None or self._text(j) in _SPANS_OF_TIME

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

    def _as_name(self, i: int) -> bool:
        """True where a small word stands as a name does: "noodle dropped his tail"."""
        if self._text(i - 1) in _BEFORE_NO_NAME or len(self._text(i)) < 4:
            return False
        follow = self.tokens[i + 1] if i + 1 < len(self.tokens) else None
        if follow is None:
            return False
        told = {s.cls for s in self.lexicon.single(follow.text)}
        verb = bool(told & {"act", "sign", "fed", "how"}) or follow.text in _AFTER_A_NAME
        moved = self._has(i - 1, "act") is not None and "prep" in told
        return (verb and i == 0) or moved or follow.sort == "number"

    def _everyday(self, i: int) -> bool:
        """True for a name that is also a small word and not written as a name ("will", "may")."""
        token = self.tokens[i]
        senses = self.lexicon.single(token.text)
        if not senses or (token.raw[:1].isupper() and i > 0) or not token.spelled:
            return False
        if {s.cls for s in senses} == {"plain"} and self._as_name(i):
            return False
        small = {"mood", "prep", "pron", "joint", "plain", "day", "month", "weekday", "cue"}
        if token.raw[:1].isupper():
            small = {"mood", "prep", "pron", "joint"}
        return any(s.cls in small for s in senses)
