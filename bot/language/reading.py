"""What a message was understood to mean: the result of reading, before anything is written."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from bot.records import Record, record_to_json


class Outcome(StrEnum):
    """How a message came out; the words are those of the reading contract."""

    RECORDS = "records"
    REQUEST = "request"
    ASK = "ask"
    CHAT = "chat"
    UNCLEAR = "unclear"


@dataclass(frozen=True)
class Request:
    """Something asked or told that writes nothing in the book: `ask` and its fields.

    Values are str, int, `date` (from, to), `datetime` (until), or for `correct` the values of
    the record fields put right (also `on`, `at`).
    """

    ask: str
    fields: Mapping[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "fields", MappingProxyType(dict(self.fields)))

    def get(self, name: str, default: Any = None) -> Any:
        return self.fields.get(name, default)


@dataclass(frozen=True)
class Ask:
    """A question back: the field it is `about`, what it could be, the record that `waiting` for it.

    `why` says which sentence the question is asked with: "missing", "ambiguous", "unknown-tag",
    "unknown-slot", "slot-taken", "slot-empty", "not-a-female", "not-a-male", "no-open-pairing",
    "impossible", "unlikely" (a weight far from the last), "in-future", "gone" (the animal left),
    "duplicate" (the new tag exists).
    `said` is the word that gave rise to it, as typed ("F9", "E3", "38").
    """

    about: str
    choices: tuple[str, ...] = ()
    waiting: Record | None = None
    why: str = "missing"
    said: str = ""


@dataclass(frozen=True)
class Reading:
    """The whole meaning of a message. `reasons` is for `read --explain`, one line each.

    `answers` is true where the message answers the open question (which is then closed).
    `offer` is a plan that the reply may offer to remind of ("putting M2 in tomorrow"), not written
    unless the keeper says yes. `hint` names the help topic closest to what was not understood.
    `later` holds the questions after the first, where a message leaves several. `statement` is true
    where what was not understood tells something that may be kept as a note, `about` the animals,
    slots and places of the book that it names.
    """

    outcome: Outcome
    records: tuple[Record, ...] = ()
    request: Request | None = None
    ask: Ask | None = None
    answers: bool = False
    offer: Record | None = None
    hint: str | None = None
    reasons: tuple[str, ...] = ()
    later: tuple[Ask, ...] = ()
    about: tuple[str, ...] = ()
    statement: bool = False


@dataclass(frozen=True)
class Told:
    """A reminder that was told to the member lately and is still open.

    `about` are its tags or slots, `place` where it is to be done, `text` what it said, `at` (aware)
    when it was told. It is `fresh` where the member has written nothing since.
    """

    key: str
    kind: str
    about: tuple[str, ...]
    place: str | None
    text: str
    at: datetime
    fresh: bool = True


@dataclass(frozen=True)
class Act:
    """What the member did with a reminder: `how` is done, skipped or snoozed.

    `at` (aware) is when, `message` the row of the message that said so, `snoozed` until when it
    had been put off before.
    """

    key: str
    how: str
    at: datetime
    message: int | None = None
    snoozed: datetime | None = None


@dataclass(frozen=True)
class Talk:
    """The state of one member's conversation that a message may lean on; all of it optional.

    `question` is the open question, `more` those to be put after it, `offer` an open yes/no offer
    of a plan or note, `last` the records written by the member's last message that wrote any (in
    order), `tasks` what the last list of tasks said, in its numbering (number 1 first): the words
    and tags of each. `told` are the reminders told lately, `acts` what was done with reminders,
    both newest last.
    """

    question: Ask | None = None
    offer: Record | None = None
    last: tuple[Record, ...] = ()
    tasks: tuple[str, ...] = ()
    more: tuple[Ask, ...] = ()
    told: tuple[Told, ...] = ()
    acts: tuple[Act, ...] = ()


NO_TALK = Talk()


def reading_to_json(reading: Reading) -> str:
    """One line of JSON, as the reading contract fixes it."""
    answer: dict[str, Any] = {"outcome": reading.outcome.value}
    if reading.records or reading.outcome is Outcome.RECORDS:
        answer["records"] = [record_to_json(each) for each in reading.records]
    if reading.request is not None:
        answer["request"] = {"ask": reading.request.ask} | {
            name: _plain(value) for name, value in reading.request.fields.items()
        }
    if reading.ask is not None:
        ask = reading.ask
        answer["ask"] = {"about": ask.about, "choices": list(ask.choices)}
        if ask.waiting is not None:
            answer["ask"]["waiting"] = record_to_json(ask.waiting)
    return json.dumps(answer, ensure_ascii=False)


def _plain(value: Any) -> Any:
    if isinstance(value, tuple | list):
        return [_plain(each) for each in value]
    if isinstance(value, time):
        return value.strftime("%H:%M")
    if isinstance(value, date | datetime):
        return value.isoformat()
    return value
