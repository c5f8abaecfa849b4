"""Puts misspelt and misheard words right, carefully: only towards words of the trade, only when one
of them is plainly nearest."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterator, Mapping

LETTERS = "abcdefghijklmnopqrstuvwxyz"


class Speller:
    """The nearest word of a fixed list, by letters dropped (a look-up costs the same however
    long the list), then by sound."""

    def __init__(
        self, words: Mapping[str, frozenset[str]], risky: frozenset[str] = frozenset()
    ) -> None:
        """`words` maps each word to what it may mean, so that two wordings of one are no rivals.

        `risky` are words of longer wordings that turn a meaning ("last" of "last night").
        """
        self.words = words
        self.risky = risky
        self._index: dict[str, list[str]] | None = None
        self._sounds: dict[str, list[str]] | None = None
        self._remembered: dict[str, str | None] = {}
        self._slips: dict[str, float | None] = {}

    def nearest(self, word: str) -> str | None:
        """The word meant, or None where none or more than one is near enough.

        One slip in a word of three to five letters, two in a longer one; the first letter counts
        as near only when the rest agrees.
        """
        if word in self._remembered:
            return self._remembered[word]
        answer = self._nearest(word)
        if len(self._remembered) < 20_000:
            self._remembered[word] = answer
        return answer

    def slip_of(self, word: str) -> float | None:
        """How far the nearest word that means something lies, or None where none is a slip away."""
        if word not in self._slips:
            from rapidfuzz.distance import OSA

            allowed = 1 if len(word) <= 5 else 2
            costs = [
                _cost(OSA.distance(word, each), word, each)
                for each in set(self._candidates(word) if len(word) <= 24 else ())
                if self.words[each] or each in self.risky
            ]
            near = [cost for cost in costs if cost <= allowed + 0.6]
            self._slips[word] = min(near) if near else None
        return self._slips[word]

    def _nearest(self, word: str) -> str | None:
        if not 3 <= len(word) <= 24 or not word.isalpha():
            return None
        found = set(self._candidates(word))
        if not found:
            return self._by_sound(word)
        from rapidfuzz.distance import OSA

        if len(word) == 3:  # too short to guess a letter: only two changed about
            found = {each for each in found if sorted(each) == sorted(word) or len(each) > 3}
        allowed = 1 if len(word) <= 5 else 2
        ranked = sorted(
            (_cost(OSA.distance(word, each), word, each) + (0 if self.words[each] else 0.3), each)
            for each in found
        )
        near = [(cost, each) for cost, each in ranked if cost <= allowed + 0.5]
        if not near:
            return self._by_sound(word)
        if (
            len(near) > 1
            and near[1][0] - near[0][0] < self._margin(word, near[0][1], near[1][1])
            and not self._kin(near[0][1], near[1][1])
        ):
            return None
        return near[0][1]

    def _margin(self, word: str, best: str, rival: str) -> float:
        """How far ahead the best must be: farther for a short word with two meanings beside it."""
        doubtful = len(word) <= 4 and self.words[rival] and sorted(word) != sorted(best)
        return 0.65 if doubtful else 0.25

    def _kin(self, one: str, other: str) -> bool:
        """True for two wordings of one thing ("egg", "eggs"; "pipped", "piped")."""
        return bool(self.words[one] & self.words[other]) or one.rstrip("s") == other.rstrip("s")

    @property
    def _short(self) -> dict[str, list[str]]:
        """Words by what is left of them with one letter dropped; made when first needed."""
        if self._index is None:
            self._index = defaultdict(list)
            for word in self.words:
                if len(word) >= 3:
                    for piece in {word, *_dropped(word)}:
                        self._index[piece].append(word)
        return self._index

    def _candidates(self, word: str) -> Iterator[str]:
        pieces = {word, *_dropped(word)}
        if len(word) >= 6:
            pieces |= {two for one in _dropped(word) for two in _dropped(one)}
        for piece in pieces:
            yield from self._short.get(piece, ())

    def _by_sound(self, word: str) -> str | None:
        if len(word) < 5:
            return None
        from jellyfish import metaphone
        from rapidfuzz.distance import OSA

        if self._sounds is None:
            self._sounds = defaultdict(list)
            for each in self.words:
                if len(each) >= 5:
                    self._sounds[metaphone(each)].append(each)
        code = metaphone(word)
        if len(code) < 3:
            return None
        near = [w for w in self._sounds.get(code, ()) if OSA.distance(w, word) <= 3]
        return near[0] if len(near) == 1 else None


def near_keys(word: str, keys: Container[str]) -> list[str]:
    """The keys of a dict that are one slip from `word`; cost does not grow with the dict.

    >>> near_keys("tanzy", {"tansy": 1, "basil": 2})
    ['tansy']
    """
    return [each for each in sorted(set(_one_slip(word))) if each in keys and each != word]


def one_slip(word: str, meant: str) -> bool:
    """True where two words are one letter dropped, added, changed or swapped apart."""
    from rapidfuzz.distance import OSA

    return OSA.distance(word, meant) <= 1


def slip_cost(typed: str, meant: str) -> float:
    """How far a word lies from the one it was put right to."""
    from rapidfuzz.distance import OSA

    return _cost(OSA.distance(typed, meant), typed, meant)


def plain_slip(word: str, plain: Container[str]) -> float | None:
    """How far the nearest of some everyday words lies, or None where none is one slip away."""
    costs = [
        _cost(1, word, each) for each in set(_one_slip(word)) if len(each) > 1 and each in plain
    ]
    return min(costs) if costs else None


def _one_slip(word: str) -> Iterator[str]:
    for at in range(len(word) + 1):
        head, tail = word[:at], word[at:]
        if tail:
            yield head + tail[1:]
        if len(tail) > 1:
            yield head + tail[1] + tail[0] + tail[2:]
        for letter in LETTERS:
            yield head + letter + tail
            if tail:
                yield head + letter + tail[1:]


def _dropped(word: str) -> list[str]:
    return [word[:at] + word[at + 1 :] for at in range(len(word))]


def _undoubled(word: str) -> str:
    """A word with each letter that is doubled said once."""
    return "".join(c for k, c in enumerate(word) if k == 0 or word[k - 1] != c)


def _cost(distance: int, typed: str, meant: str) -> float:
    """Slips counted, with a wrong first letter dearer and a doubled or swapped one cheaper."""
    cost = float(distance)
    if typed[0] != meant[0]:
        cost += 0.6
    if sorted(typed) == sorted(meant) or _undoubled(typed) == _undoubled(meant):
        cost -= 0.3
    if len(typed) <= 3 and len(meant) < len(typed):
        cost += 1
    return cost
