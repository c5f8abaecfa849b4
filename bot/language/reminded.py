"""What answers to reminders share: a reminder with its answer, and how one is written and said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bot.language.completing import completed
from bot.language.dates import when_of
from bot.language.drafts import Scene
from bot.language.reading import Ask, Outcome, Reading, Request, Told
from bot.language.shortly import Said
from bot.records import Record

Part = tuple[str, dict[str, object]]
"""A record in the making: its kind and fields."""
BY_THE_WAY = ("done", "yes", "okay", "all")  # said along with an answer


@dataclass(frozen=True)
class Fit:
    """A reminder and the reading of a message as its answer."""

    told: Told
    reading: Reading

    @property
    def sole(self) -> Record | None:
        """The one record that it writes, if it writes one."""
        records = self.reading.records
        return records[0] if len(records) == 1 and self.reading.ask is None else None

    @property
    def says(self) -> str:
        """The same answer as a message that needs no reminder."""
        request, ask = self.reading.request, self.reading.ask
        if request is not None:
            whose = " and ".join(self.told.about) or str(request.get("task"))
            return f"{whose} not yet" if request.ask == "snooze" else f"{request.ask} {whose}"
        waiting = [ask.waiting] if ask is not None and ask.waiting is not None else []
        return all_in_words([*self.reading.records, *waiting])


def task_of(told: Told) -> str:
    """The words that name a reminder among others, as a request's `task`."""
    if not told.about:
        return " ".join(word.strip(".,:") for word in told.text.split())
    return f"{told.kind} {' '.join(told.about)}"


def all_in_words(records: Sequence[Record]) -> str:
    """Records as one message that would write them."""
    return ", ".join(filter(None, (in_words(each) for each in records)))


def in_words(record: Record) -> str:
    """A record as a keeper would log it in full."""
    pattern = _SAYS.get(record.kind, "")
    fields = {
        name: " and ".join(map(str, value)) if isinstance(value, tuple) else value
        for name, value in record.fields.items()
    }
    text = pattern.format_map(_Gaps(fields)).strip()
    if record.kind == "laid" and record.get("slots"):
        text += f", {fields['slots']}"
    return text


class _Gaps(dict[str, object]):
    def __missing__(self, key: str) -> str:
        return ""


_SAYS = {
    "parted": "pulled {male} from {female}",
    "paired": "{male} in with {female}",
    "seen": "{tag} looks {sign}",
    "searched": "searched {tag}, no eggs",
    "laid": "{dam} laid {eggs}",
    "checked": "{slots} {state}",
    "discarded": "tossed {slots}",
    "weighed": "{tag} {grams}g",
    "reading": "{place} {celsius}C",
    "watered": "added water to {place}",
    "pipped": "{slots} pipped",
    "hatched": "{slots} hatched",
    "sexed": "{tag} is {sex}",
}


# -- what all kinds share ----------------------------------------------------------------------


def made(said: Said, told: Told, scene: Scene, *parts: Part) -> Reading | None:
    """Records of these kinds and fields on the day said; a question where the book objects."""
    when = when_of(said.days, scene.now)
    if when.future or when.wrong:
        return None
    done: list[Record] = []
    for kind, fields in parts:
        given = {name: value for name, value in fields.items() if value not in (None, ())}
        record, ask = completed(Record(kind, when.on, when.at, given), scene)
        if ask is not None:
            return Reading(Outcome.ASK, tuple(done), ask=ask, reasons=(why(told),))
        done.append(record)
    return Reading(Outcome.RECORDS, tuple(done), reasons=(why(told),))


def why(told: Told) -> str:
    return f"answers: {told.text}"


def wants(
    said: Said, told: Told, scene: Scene, about: str, kind: str, *,
    choices: tuple[str, ...] = (), **fields: object,
) -> Reading:  # fmt: skip
    """The question for what an answer leaves open."""
    if about == "slots":
        choices = tuple(each for each in choices if each in scene.view.eggs)
    when = when_of(said.days, scene.now)
    waiting = Record(kind, when.on, when.at, fields)
    return Reading(Outcome.ASK, ask=Ask(about, choices, waiting, "ambiguous"), reasons=(why(told),))


def closed(told: Told, ask: str = "done", fine: bool = False) -> Reading:
    """Nothing to write: the reminder is done (`fine`: nothing was called for), or skipped."""
    fields = {"task": task_of(told)} | ({"fine": "yes"} if fine else {})
    return Reading(Outcome.REQUEST, request=Request(ask, fields), reasons=(why(told),))


def whole(said: Said) -> list[int]:
    return [int(n.value) for n in said.numbers if n.what == "num" and "whole" in n.senses]
