"""A message of few words taken apart by what it means: "he's out", "none", "both clear", "22.4"."""

from __future__ import annotations

import tomllib
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from bot.language.drafts import Scene, Span
from bot.language.items import Item
from bot.language.tokens import tokens_of
from bot.language.wording import Lexicon, WordsError, expanded
from bot.records import KINDS

FILE = Path(__file__).parent / "replies.toml"
MOST_PIECES = 16  # what is longer is no answer in few words

_ACTS = {
    "out": "out", "take": "out", "took": "out", "part": "out", "pair": "in", "find": "found",
    "egg": "eggs", "lay": "laid", "search": "searched", "weigh": "weighed", "candle": "looked",
    "check": "looked", "pip": "pip", "hatch": "hatch", "water": "watered", "toss": "toss",
    "sex": "sexed", "put": "put", "at": "in", "name": "name", "move": "moved",
}  # fmt: skip
# Deeds that are only meant or under way in other forms: "pulling him", "bin it".
_ORDERED = frozenset({"out", "in", "toss", "watered", "put", "searched", "moved"})
_ONE = frozenset({"it", "its", "a", "an"})
_LABELS = ("state", "sign", "sex")
_REFUSED = frozenset({"if", "wish", "hearsay", "almost", "hedge", "either", "fix", "except"})
_MEASURES = frozenset({"num", "grams", "temp", "pct"})


@dataclass(frozen=True)
class Asked:
    """What one kind of reminder asks.

    `answers` are the kinds of record of which an answer writes one (none where "done" is all),
    `also` what else it may write, `deed` the meanings that tell it happened, `later` those that
    tell it has not yet, `again` the hours until it is told again.
    """

    answers: frozenset[str]
    deed: frozenset[str]
    later: frozenset[str]
    also: frozenset[str]
    again: int


@dataclass(frozen=True)
class Replies:
    """The table of replies.toml: phrases by first word, longest first; what each kind asks."""

    phrases: Mapping[str, tuple[tuple[tuple[str, ...], frozenset[str]], ...]]
    asks: Mapping[str, Asked]


@lru_cache(maxsize=2)
def replies(wholes: frozenset[str]) -> Replies:
    """The table of replies. `wholes` are the lexicon's words that are never cut.

    Raises WordsError where the file names a kind of record that is none.
    """
    tables = tomllib.loads(FILE.read_text(encoding="utf-8"))
    found: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for meaning, wordings in tables["said"].items():
        for wording in wordings:
            for plain in expanded(wording):
                found[tuple(t.text for t in tokens_of(plain, wholes))].add(meaning)
    by_first: dict[str, list[tuple[tuple[str, ...], frozenset[str]]]] = defaultdict(list)
    for words, meanings in found.items():
        by_first[words[0]].append((words, frozenset(meanings)))
    phrases = {
        first: tuple(sorted(each, key=lambda pair: -len(pair[0])))
        for first, each in by_first.items()
    }
    asks = {kind: _asked(kind, table) for kind, table in tables["asks"].items()}
    return Replies(phrases, asks)


def _asked(kind: str, table: Mapping[str, object]) -> Asked:
    answers, also = _words(table["answers"]), _words(table["also"])
    for each in answers + also:
        if each not in KINDS:
            raise WordsError(f"{FILE.name}, asks.{kind}: no kind of record {each!r}")
    later, deed = _words(table["later"]), _words(table["deed"])
    return Asked(
        answers=frozenset(answers),
        deed=frozenset(deed),
        later=frozenset((*later, "later", "soon", "not-today")),
        also=frozenset(also),
        again=int(str(table["again"])),
    )


def _words(value: object) -> list[str]:
    return [str(each) for each in value] if isinstance(value, list) else []


# -- taking a message apart ------------------------------------------------------------------


@dataclass
class Said:
    """A short message by what it means.

    `pieces` are its words, each with all that it may mean, without what means nothing; `numbers`
    are its measures in order; `labels` says for each number what was said right after it ("bad").
    """

    pieces: list[frozenset[str]] = field(default_factory=list)
    numbers: list[Item] = field(default_factory=list)
    labels: list[set[str]] = field(default_factory=list)
    tags: tuple[str, ...] = ()
    slots: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    days: list[Item] = field(default_factory=list)
    strange: list[str] = field(default_factory=list)  # words that mean nothing here
    single: bool = False  # "it's clear", "a dud": of one, whichever

    def has(self, *meanings: str) -> bool:
        """True where some word means one of these."""
        return any(piece & set(meanings) for piece in self.pieces)

    def only(self, *meanings: str) -> bool:
        """True where every word means one of these and none is strange."""
        allowed = set(meanings)
        return not self.strange and all(piece & allowed for piece in self.pieces)

    def values(self, label: str) -> list[str]:
        """What it says of a "state", "sign" or "sex", each once, in order."""
        found = [
            meaning.partition(":")[2]
            for piece in self.pieces
            for meaning in sorted(piece)
            if meaning.startswith(f"{label}:")
        ]
        return list(dict.fromkeys(found))


def taken_apart(
    items: Sequence[Item], words: Sequence[str], scene: Scene, lexicon: Lexicon
) -> Said | None:
    """The message by what its words mean; None for one that guesses, wishes, or is too long."""
    if not items or len(items) > MOST_PIECES:
        return None
    said = Said(single=bool(_ONE & set(words)))
    starts = {item.i: item for item in items}
    at, end = min(starts), max(item.j for item in items)
    table = replies(lexicon.wholes)
    while at < end:
        item = starts.get(at)
        phrase = _phrase_at(words, at, table)
        long = item.j - item.i if item is not None else 0
        if phrase is not None and item is not None and item.is_("mood", "fix"):
            long = 0  # "nope, nothing" puts nothing right
        if phrase is not None and len(phrase[0]) >= long and not _measures(item, phrase[0]):
            meanings = phrase[1] | (_meanings(item) if item and long == len(phrase[0]) else set())
            _note(said, frozenset(meanings), starts, at, at + len(phrase[0]))
            at += len(phrase[0])
        elif item is None:
            _note_word(said, words[at])
            at += 1
        elif not _take(said, item):
            return None
        else:
            at = item.j
    span = Span(items, scene)
    said.tags = tuple(tag for each in span.animals() for tag in span.tag_names(each))
    said.slots = tuple(
        slot for each in span.slot_items() for slot in span.slot_names(each)
        if slot not in said.tags
    )  # fmt: skip
    said.places = tuple(name for name, _ in span.place_names())
    return said


def _phrase_at(
    words: Sequence[str], at: int, table: Replies
) -> tuple[tuple[str, ...], frozenset[str]] | None:
    for phrase, meanings in table.phrases.get(words[at], ()):
        if tuple(words[at : at + len(phrase)]) == phrase:
            return phrase, meanings
    return None


def _measures(item: Item | None, phrase: tuple[str, ...]) -> bool:
    """A measure is a measure, and a day a day, whatever else its first word may mean."""
    if item is None or len(phrase) > item.j - item.i:
        return False
    return item.what in ("grams", "temp", "pct", "date", "time", "tag", "slot", "place", "box")


def _note(
    said: Said, meanings: frozenset[str], starts: Mapping[int, Item], start: int, end: int
) -> None:
    """A phrase that was met; a number or day among its words counts besides."""
    if meanings == {"some"} or meanings & {"some"}:
        item = starts.get(start)
        if item is not None and item.what == "num":
            said.numbers.append(item)
            said.labels.append(set())
    if "filler" in meanings and len(meanings) == 1:
        return
    said.pieces.append(meanings - {"filler"})
    if said.labels:
        said.labels[-1] |= meanings


def _note_word(said: Said, word: str) -> None:
    if word.isalnum():
        said.strange.append(word)


def _take(said: Said, item: Item) -> bool:
    """A piece that is no phrase of ours; False where it says that nothing is sure."""
    if item.what in ("stop", "comma") or (item.what == "joint" and not item.is_("joint", "or")):
        return True
    if item.what in _MEASURES:
        said.numbers.append(item)
        said.labels.append(set())
        return True
    if item.what in ("date", "time", "span"):
        said.days.append(item)
        return True
    if item.what in ("tag", "slot", "place", "box"):
        return True
    if item.what == "ml":
        said.pieces.append(frozenset({"watered"}))
        return True
    mood = item.get("mood")
    if mood in _REFUSED or item.is_("joint", "or") or item.is_("cue"):
        return False
    meanings = _meanings(item)
    if meanings:
        said.pieces.append(frozenset(meanings))
        if said.labels:
            said.labels[-1] |= meanings
    elif not _says_nothing(item):
        said.strange.append(item.text.casefold())
    return True


def _says_nothing(item: Item) -> bool:
    """Small words that change nothing."""
    return any(item.is_(cls) for cls in ("pron", "prep", "chat")) or item.is_("mood", "neutral")


def _meanings(item: Item) -> set[str]:
    found: set[str] = set()
    act = item.get("act")
    if act is not None:
        deed = _ACTS.get(act, f"act:{act}")
        found.add("plan" if item.form in ("base", "now") and deed in _ORDERED else deed)
    if item.is_("climate"):
        found.add(f"climate:{item.get('climate')}")
    if item.is_("ordinal"):
        found.add("some")
    for label in _LABELS:
        if item.is_(label):
            found.add(f"{label}:{item.get(label)}")
    if item.is_("spoil"):
        found.add(str(item.get("spoil")))
    if item.is_("mood", "neg", "plan"):
        found.add(str(item.get("mood")))
    if item.is_("answer", "yes", "no"):
        found.add(str(item.get("answer")))
    return found
