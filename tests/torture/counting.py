"""What was said and was to be told, against what arrived and what the book holds: the counts.

Every message and every reminder has a word of its own, by which it is known wherever it turns up.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from bot.serve.words import said as line_of_ours
from bot.wording import say

COPIES = 2  # at most, of what may have been taken
_WEIGHT = re.compile(r"(F\d+) ([\d.]+) g\b")
_CONFIRMS = re.compile(r"I'll remind you .*\b(p\d{4})\b")
_REMINDS = re.compile(r"\b[rp]\d{4}\b")


@dataclass(frozen=True)
class Said:
    """A message. `word` is what its answer is known by; `replaces` the word that it takes back.

    `at` is when it was written (UTC), however late it is handed over.
    """

    number: int
    address: str
    text: str
    word: str
    at: datetime = datetime.min
    edits: int | None = None
    replaces: str | None = None

    @property
    def weighs(self) -> bool:
        """Whether it is a weight, and so a record that can be counted."""
        return self.word.startswith("F")


@dataclass(frozen=True)
class ToTell:
    """A reminder, and to which addresses it goes."""

    word: str
    due: datetime
    addresses: tuple[str, ...]


@dataclass(frozen=True)
class Arrived:
    """A text that a channel took for an address. `clock` is what the process's clock showed."""

    address: str
    text: str
    at: float
    clock: datetime

    @property
    def again(self) -> bool:
        """Whether it says that it may be a repeat."""
        return line_of_ours("again") in self.text

    @property
    def answers(self) -> str | None:
        """The word of the message that it answers."""
        weight, plan = _WEIGHT.match(self.text), _CONFIRMS.match(self.text)
        if weight:
            return weight_word(weight[1], round(float(weight[2]) * 10))
        return plan[1] if plan else None

    @property
    def is_digest(self) -> bool:
        """Whether it lists what is to be done today; that reminds nobody of anything anew."""
        return self.text.startswith("To do, today")

    @property
    def reminds(self) -> tuple[str, ...]:
        """The words of the reminders in it."""
        return () if self.answers or self.is_digest else tuple(_REMINDS.findall(self.text))


@dataclass
class Written:
    """What the book holds at the end: weights in the ledger and those that stand, by word."""

    ledger: Counter[str] = field(default_factory=Counter)
    standing: Counter[str] = field(default_factory=Counter)
    given_up: int = 0
    waiting: int = 0
    differs: int = 0
    replies: Sequence[str] = ()


def unfolded(each: Arrived, replies: Iterable[str]) -> Arrived:
    """A text that is the first page of a long one, with the rest, which "MORE" would bring."""
    shown, more, _ = each.text.partition(say("sms.more"))
    if not more:
        return each
    whole = (text for text in replies if text.startswith(shown.strip()))
    return replace(each, text=next(whole, shown) + each.text[len(shown) :])


def weight_word(tag: str, tenths: int) -> str:
    """What the weight of an animal is known by; tenths of a gram."""
    return f"{tag} {tenths}"


def count(
    said: Sequence[Said], to_tell: Sequence[ToTell], arrived: Sequence[Arrived], book: Written,
    last_kill: float = float("inf"),
) -> dict[str, int]:  # fmt: skip
    """The rows of the table; those whose name is in WRONG have to be 0."""
    replies, reminders = _replies(arrived), _reminders(arrived)
    expected = [(each.address, each.word) for each in said]
    due = [(address, each.word) for each in to_tell for address in each.addresses]
    weights = [each.word for each in said if each.weighs]
    gone = {each.replaces for each in said if each.replaces}
    known = {each.answers for each in arrived if each.at < last_kill}
    acknowledged = [word for word in weights if word in known]
    return {
        "messages": len(said),
        "acknowledged before the last kill": len(acknowledged),
        "acknowledged records lost": sum(not book.ledger[word] for word in acknowledged),
        "records lost": sum(not book.ledger[word] for word in weights),
        "records doubled": sum(book.ledger[word] > 1 for word in weights),
        "edits lost": _edits_lost(weights, gone, book),
        "replies lost": sum(not replies[each] for each in expected),
        "replies in two copies": sum(len(replies[each]) == COPIES for each in expected),
        "replies in more": sum(len(replies[each]) > COPIES for each in expected),
        "reminders due": len(due),
        "reminders lost": sum(not reminders[each] for each in due),
        "reminders in two copies": sum(len(reminders[each]) == COPIES for each in due),
        "reminders in more": sum(len(reminders[each]) > COPIES for each in due),
        "reminders for nobody there": len(reminders.keys() - set(due)),
        "reminders before their time": _early(to_tell, arrived),
        "second copies unmarked": _unmarked(replies) + _unmarked(reminders),
        "out of order": _disorder(said, arrived),
        "given up, in doubt twice": book.given_up,
        "left unsent": book.waiting,
        "replay differs from state": book.differs,
    }


WRONG = (
    "acknowledged records lost", "records lost", "records doubled", "edits lost", "replies lost",
    "replies in more", "reminders lost", "reminders in more", "reminders for nobody there",
    "reminders before their time", "second copies unmarked", "out of order", "left unsent",
    "replay differs from state", "/health not true", "digests too many or few",
)  # fmt: skip


class _Copies(dict[tuple[str, str], list[Arrived]]):
    """Who was sent what, by address and word; nothing where it never came."""

    def __missing__(self, key: tuple[str, str]) -> list[Arrived]:
        return []


def _replies(arrived: Iterable[Arrived]) -> _Copies:
    found = _Copies()
    for each in arrived:
        if each.answers is not None:
            found.setdefault((each.address, each.answers), []).append(each)
    return found


def _reminders(arrived: Iterable[Arrived]) -> _Copies:
    found = _Copies()
    for each in arrived:
        for word in each.reminds:
            found.setdefault((each.address, word), []).append(each)
    return found


def _edits_lost(weights: Sequence[str], gone: set[str], book: Written) -> int:
    """Weights that stand though an edit replaced them, or that no longer do without one."""
    return sum(book.standing[word] != (word not in gone) for word in weights if book.ledger[word])


def _unmarked(copies: _Copies) -> int:
    """Second copies that do not say so; which of two arrives first the channel decides."""
    return sum(sum(not each.again for each in sent) > 1 for sent in copies.values())


def _early(to_tell: Iterable[ToTell], arrived: Iterable[Arrived]) -> int:
    due = {each.word: each.due for each in to_tell}
    return sum(
        (each.clock - due[word]).total_seconds() < -1.0
        for each in arrived
        for word in each.reminds
        if word in due
    )


def _disorder(said: Sequence[Said], arrived: Sequence[Arrived]) -> int:
    """Answers that came, for the first time, after the answer to a later message of the same."""
    place = {(each.address, each.word): number for number, each in enumerate(said)}
    latest: dict[str, int] = {}
    seen, wrong = set[tuple[str, str]](), 0
    for each in arrived:
        key = (each.address, each.answers or "")
        if key in seen or key not in place:
            continue
        seen.add(key)
        wrong += place[key] < latest.get(each.address, -1)
        latest[each.address] = max(place[key], latest.get(each.address, -1))
    return wrong
