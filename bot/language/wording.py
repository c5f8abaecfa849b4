"""Loads the words a keeper may use from data files, checked, into one lexicon."""

from __future__ import annotations

import itertools
import re
import tomllib
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from bot.language.kept_words import kept
from bot.language.spelling import Speller
from bot.language.tokens import tokens_of
from bot.records import EGG_STATES, SEXES, SIGNS, WAYS_TO_LEAVE

OWN_WORDS = Path(__file__).parent / "words"
_MADE_BY = ("wording.py", "tokens.py", "spelling.py")  # the code of what a lexicon holds
_OTHER_TABLES = ("requests", "frames", "days", "english", "slips")

# What a class of words may hold; None is anything.
CLASSES: Mapping[str, frozenset[str] | None] = {
    "act": None,
    "sign": frozenset(SIGNS),
    "state": frozenset(EGG_STATES) | {"unsure"},
    "better": None,
    "sex": frozenset(SEXES),
    "sexmark": frozenset(SEXES),
    "species": None,
    "how": frozenset(WAYS_TO_LEAVE) | {"unclear"},
    "trait": None,
    "food": None,
    "fed": frozenset({"dusted", "refused", "each"}),
    "everyone": None,
    "placenoun": None,
    "boxnoun": None,
    "slotnoun": None,
    "ground": None,
    "number": None,
    "soundnumber": None,
    "soundletter": None,
    "unit": frozenset({"g", "oz", "kg", "lb", "mg", "C", "F", "deg", "%", "ml", "other"}),
    "climate": frozenset({"temperature", "humidity", "reads"}),
    "mood": frozenset(
        {
            "neg",
            "almost",
            "plan",
            "if",
            "wish",
            "hedge",
            "hearsay",
            "either",
            "fix",
            "neutral",
            "except",
        }
    ),
    "prep": None,
    "pron": None,
    "joint": frozenset({"and", "then", "or", "through"}),
    "spoil": frozenset({"bad", "good"}),
    "day": None,
    "weekday": None,
    "month": None,
    "ordinal": None,
    "span": None,
    "clock": None,
    "daypart": frozenset({"am", "pm"}),
    "ago": None,
    "period": None,
    "chat": None,
    "answer": frozenset({"yes", "no", "neither", "forget", "same"}),
    "cue": None,
    "plain": None,
}
_TURNING = ("mood", "day", "span", "period", "ago")  # classes whose words turn a meaning
FORMS = ("past", "base", "often", "now")
# Classes whose single words a misspelling may be put right to.
CORRECTABLE = frozenset(CLASSES) - {"prep", "pron", "joint", "soundnumber", "soundletter", "chat"}


class WordsError(ValueError):
    """A words file that can't be used: names the file, the line and what to do."""


class Sense(NamedTuple):
    """One thing a wording may mean: its class, the value, and for a verb its form."""

    cls: str
    value: str
    form: str = "past"


@dataclass
class Lexicon:
    """Every wording by its first word, and the plain words that are never put right.

    `phrases` maps a first word to (words, senses) pairs, longest first. `cues`, of which questions
    are made, lie apart, since they overlap the words that records are made of. `everyday` are words
    that mean nothing here, `slips` small words as they are often misspelt, with the word meant,
    `turning` words that deny, plan or doubt.
    """

    phrases: dict[str, list[tuple[tuple[str, ...], tuple[Sense, ...]]]]
    known: frozenset[str]
    wholes: frozenset[str]
    speller: Speller
    cues: dict[str, list[tuple[tuple[str, ...], str]]] = field(default_factory=dict)
    singles: dict[str, tuple[Sense, ...]] = field(default_factory=dict)
    counts: dict[str, list[tuple[tuple[str, ...], int]]] = field(default_factory=dict)
    everyday: frozenset[str] = frozenset()
    slips: Mapping[str, str] = field(default_factory=dict)
    turning: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        for first, pairs in self.phrases.items():
            for words, senses in pairs:
                if len(words) == 1:
                    self.singles[first] = senses
                number = next((s.value for s in senses if s.cls == "number"), None)
                if number is not None:
                    self.counts.setdefault(first, []).append((words, int(number)))

    def single(self, word: str) -> tuple[Sense, ...]:
        """The senses of one word on its own."""
        return self.singles.get(word, ())


@lru_cache(maxsize=8)
def lexicon(extra: Path | None = None) -> Lexicon:
    """The lexicon of our own words and, where given, a keeper's folder of more.

    Raises WordsError where a file can't be used.
    """
    if extra is not None:
        return _read([OWN_WORDS, extra])
    code = Path(__file__).parent
    made_from = [*OWN_WORDS.glob("*.toml"), *(code / each for each in _MADE_BY)]
    return kept(made_from, (Lexicon, Sense, Speller), lambda: _read([OWN_WORDS]))


def _read(folders: Sequence[Path]) -> Lexicon:
    senses: dict[tuple[str, ...], list[Sense]] = defaultdict(list)
    for folder in folders:
        for file in sorted(folder.glob("*.toml")):
            if file.stem in _OTHER_TABLES and folder == OWN_WORDS:
                continue
            for words, sense in read_words(file):
                if sense not in senses[words]:
                    senses[words].append(sense)
    return _built(senses, common_english())


@lru_cache(maxsize=1)
def common_english(file: Path = OWN_WORDS / "english.toml") -> frozenset[str]:
    """Everyday words that mean nothing here and are no misspelling either."""
    return frozenset(tomllib.loads(file.read_text(encoding="utf-8"))["words"].split())


def _small(senses: Mapping[tuple[str, ...], list[Sense]]) -> frozenset[str]:
    """Single words that are, or may be, no more than small words."""
    small = {"plain", "prep", "pron", "joint"}
    return frozenset(
        words[0]
        for words, meanings in senses.items()
        if len(words) == 1 and any(each.cls in small for each in meanings)
    )


@lru_cache(maxsize=1)
def slips_of(file: Path = OWN_WORDS / "slips.toml") -> Mapping[str, str]:
    """Small words as they are often misspelt, each with the word meant."""
    tables = tomllib.loads(file.read_text(encoding="utf-8"))
    return {slip: meant for meant, slips in tables["slips"].items() for slip in slips}


def _built(
    senses: dict[tuple[str, ...], list[Sense]], everyday: frozenset[str] = frozenset()
) -> Lexicon:
    phrases: dict[str, list[tuple[tuple[str, ...], tuple[Sense, ...]]]] = defaultdict(list)
    cues: dict[str, list[tuple[tuple[str, ...], str]]] = defaultdict(list)
    known: set[str] = set()
    trade: dict[str, set[str]] = defaultdict(set)
    risky: set[str] = set()
    for words, meanings in senses.items():
        cues[words[0]] += [(words, each.value) for each in meanings if each.cls == "cue"]
        told = tuple(each for each in meanings if each.cls != "cue")
        if told:
            phrases[words[0]].append((words, told))
        known.update(words)
        if any(each.cls in CORRECTABLE and each.cls != "plain" for each in meanings):
            turning = any(each.cls in _TURNING for each in meanings)
            for word in words:
                if turning:
                    risky.add(word)
                if len(word) == 3 and all(each.cls == "unit" for each in meanings):
                    continue  # "ggs" is eggs and no "gms"
                if len(word) > 2 and word.isalpha():
                    means = trade[word]
                    if len(words) == 1:
                        means.update(f"{m.cls}.{m.value}" for m in meanings)
    for each in phrases.values():
        each.sort(key=lambda pair: -len(pair[0]))
    wholes = frozenset(
        word for word in known if not word.isalpha() and not word.isdigit() and len(word) > 1
    )
    plain = {
        words[0]
        for words, m in senses.items()
        if len(words) == 1 and all(s.cls == "plain" for s in m)
    }
    return Lexicon(
        dict(phrases),
        frozenset(known) | everyday,
        wholes,
        Speller(
            {word: frozenset() for word in plain if len(word) > 3 and word.isalpha()}
            | {word: frozenset(means) for word, means in trade.items() if word not in plain},
            frozenset(risky),
        ),
        {word: found for word, found in cues.items() if found},
        everyday=everyday | _small(senses),
        slips=slips_of(),
        turning=_turning_words(senses),
    )


_MOODS_THAT_TURN = frozenset({"neg", "almost", "plan", "if", "wish", "hedge", "except", "either"})
_SMALL_TURNS = frozenset({"last", "about", "used", "before", "until", "without", "longer"})


def _turning_words(senses: Mapping[tuple[str, ...], list[Sense]]) -> frozenset[str]:
    """Single words that deny, plan, wish or doubt, and those that do so with another."""
    turns = {
        words[0]
        for words, meanings in senses.items()
        if len(words) == 1
        and any(m.cls == "mood" and m.value in _MOODS_THAT_TURN for m in meanings)
    }
    return frozenset(w for w in turns | _SMALL_TURNS if len(w) > 3)


def read_words(file: Path) -> Iterator[tuple[tuple[str, ...], Sense]]:
    """Each wording of a words file with what it means. Raises WordsError naming file and line."""
    source = file.read_text(encoding="utf-8")
    try:
        tables = tomllib.loads(source)
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"line (\d+)", str(error))
        where = line.group(1) if line else str(len(source.splitlines()))
        raise WordsError(f"{file.name}, line {where}: {error}") from error
    for cls, values in tables.items():
        if cls not in CLASSES:
            known = ", ".join(CLASSES)
            raise _error(file, source, f"[{cls}", f"no class of words {cls!r}; use one of: {known}")
        if not isinstance(values, dict):
            raise _error(file, source, cls, f"{cls!r} must be a table: [{cls}]")
        for value, wordings in values.items():
            yield from _wordings_of(file, source, cls, value, wordings)


def _wordings_of(
    file: Path, source: str, cls: str, value: str, wordings: Any
) -> Iterator[tuple[tuple[str, ...], Sense]]:
    allowed = CLASSES[cls]
    if allowed is not None and value not in allowed:
        raise _error(
            file,
            source,
            value,
            f"{cls} can't be {value!r}; use one of: {', '.join(sorted(allowed))}",
        )
    forms = wordings if isinstance(wordings, dict) else {"past": wordings}
    for form, texts in forms.items():
        if form not in FORMS:
            raise _error(file, source, form, f"no form {form!r}; use one of: {', '.join(FORMS)}")
        if not isinstance(texts, list):
            raise _error(file, source, value, f"{value!r} needs a list of wordings in [ ]")
        for text in texts:
            if not isinstance(text, str) or not text.strip():
                raise _error(file, source, value, f"a wording of {value!r} is empty or no text")
            for plain in expanded(text):
                words = tuple(_words(plain))
                if words:
                    yield words, Sense(cls, value, form)


def _words(wording: str) -> list[str]:
    """The wording cut as a message is, but for one-piece oddities ("2nite") that stay whole."""
    if wording.isascii() and wording.replace(" ", "").isalpha():  # as most are
        return wording.casefold().split()
    out: list[str] = []
    for piece in wording.split():
        if re.fullmatch(r"[a-z]\d+", piece):  # "d3" must not hide a slot or tag
            out += [piece[0], piece[1:]]
            continue
        mixed = any(c.isdigit() for c in piece) and any(c.isalpha() for c in piece)
        if mixed or piece in ("w/", "n.b.", "p/h", "r.i.p", "r.i.p.", "->", "=>", "50/50"):
            out.append(piece.casefold())
        else:
            out += [token.text for token in tokens_of(piece)]
    return out


def expanded(wording: str) -> Iterator[str]:
    """Every plain wording that "(a|b) [c]" stands for.

    >>> sorted(expanded("dropped (her|his) tail[s]"))[:2]
    ['dropped her tail', 'dropped her tails']
    """
    if "(" not in wording and "[" not in wording:
        yield " ".join(wording.split())
        return
    parts = re.split(r"(\([^()]*\)|\[[^\[\]]*\])", wording)
    choices = [
        part[1:-1].split("|")
        if part[:1] == "("
        else ["", part[1:-1]]
        if part[:1] == "["
        else [part]
        for part in parts
    ]
    for chosen in itertools.product(*choices):
        yield " ".join("".join(chosen).split())


def _error(file: Path, source: str, wanted: str, why: str) -> WordsError:
    line = next(
        (
            n
            for n, text in enumerate(source.splitlines(), 1)
            if text.lstrip().strip('"').startswith(wanted.strip('"'))
        ),
        next((n for n, text in enumerate(source.splitlines(), 1) if wanted in text), 1),
    )
    return WordsError(f"{file.name}, line {line}: {why}")
