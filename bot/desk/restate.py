"""A record said back in one short sentence, so that a misreading shows.

The sentence stands under `record.KIND` in the words; here are only the fields that need more than
being put in as they are.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from bot import wording
from bot.records import KINDS, Record
from bot.wording import fill, known, listed, lookup, say


@dataclass(frozen=True)
class Manner:
    """How one member is spoken to: today's date and their units ("C"/"F", "g"/"oz")."""

    today: date
    temperature: str = "C"
    weight: str = "g"


def restate(record: Record, manner: Manner) -> str:
    """The record as a sentence; its date is said where it is not today's."""
    return worded(f"record.{_sentence_of(record)}", record, manner)


def worded(key: str, record: Record, manner: Manner, **more: str) -> str:
    """The sentence under `key`, filled with the record's fields in words and with `more`."""
    values = {name: _plain(value) for name, value in record.fields.items()}
    values["on"] = _when(record, manner)
    values |= SPECIAL.get(record.kind, _nothing_more)(record, manner)
    return _capital(say(key, **(values | more)))


def restate_with_gaps(record: Record, manner: Manner, said: Mapping[str, str]) -> str:
    """A record that waits for an answer: `said` is what stood in a gap; dots for what didn't."""
    values = {name: word for name, word in said.items() if word}
    values |= {name: _plain(value) for name, value in record.fields.items()}
    values |= {"on": _when(record, manner)}
    if all(record.get(each.name) is not None for each in KINDS[record.kind].fields if each.needed):
        values |= SPECIAL.get(record.kind, _nothing_more)(record, manner)
    return _capital(fill(known(f"waiting.{record.kind}", f"record.{record.kind}"), values))


def who(tags: tuple[str, ...]) -> str:
    """The animals or places fed, with "everyone" as the words have it."""
    return listed(say("part.everyone") if tag == "everyone" else tag for tag in tags)


def _plain(value: Any) -> str:
    return listed(map(str, value)) if isinstance(value, tuple) else str(value)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _when(record: Record, manner: Manner) -> str:
    day = (
        ""
        if record.on == manner.today
        else say("days.on", day=wording.weekday(record.on, manner.today))
    )
    return day + (say("days.at", time=wording.clock(record.at)) if record.at else "")


def _sentence_of(record: Record) -> str:
    if record.kind == "fed" and record.get("refused"):
        return "refused" if record.get("food") else "wouldnt_eat"
    return record.kind


def _part(name: str, value: object) -> str:
    return say(f"part.{name}", value=value) if value else ""


def _nothing_more(record: Record, manner: Manner) -> dict[str, str]:
    return {}


def _animal(record: Record, manner: Manner) -> dict[str, str]:
    hatched = record.get("hatched")
    details = [
        _part("species", record.get("species")),
        _part("name", record.get("name")),
        _part("hatched", hatched and wording.day(hatched, manner.today)),
        parents(record.get("sire"), record.get("dam")),
        _part("place", record.get("place")),
        _part("traits", ", ".join(record.get("traits", ()))),
    ]
    return {"sex": say(f"sex.{record.get('sex', 'unknown')}"), "details": "".join(details)}


def _described(record: Record, manner: Manner) -> dict[str, str]:
    hatched = record.get("hatched")
    roughly = say("part.roughly") if record.get("roughly") else ""
    details = [
        _part("species", record.get("species")),
        _part("hatched", hatched and roughly + wording.day(hatched, manner.today)),
        parents(record.get("sire"), record.get("dam")),
        _part("traits", ", ".join(record.get("traits", ()))),
    ]
    return {"details": "".join(details).removeprefix(", ") or say("gap")}


def parents(sire: str | None, dam: str | None) -> str:
    """ ", from M2 x F3", or the one parent that is known, or nothing."""
    if sire and dam:
        return say("part.parents", sire=sire, dam=dam)
    return _part("sire", sire) + _part("dam", dam)


def _choice(table: str, field: str) -> Callable[[Record, Manner], dict[str, str]]:
    def words(record: Record, manner: Manner) -> dict[str, str]:
        chosen = str(record.get(field))
        key = f"{table}.{chosen}"
        return {field: say(key) if lookup(key) else chosen}

    return words


def _weighed(record: Record, manner: Manner) -> dict[str, str]:
    return {"grams": wording.weight(record.get("grams"), manner.weight)}


def _fed(record: Record, manner: Manner) -> dict[str, str]:
    food, count = record.get("food"), record.get("count")
    if count is not None and food and _one_animal(record.get("who")):
        said = say("part.count", count=count, food=food)
    elif count is not None:
        said = say("part.each", count=count, food=food or say("part.feeders"))
    else:
        said = say("part.some", food=food) if food else ""
    dusted = say("part.dusted") if record.get("dusted") else ""
    return {"who": who(record.get("who")), "food": food if record.get("refused") else said + dusted}


def _one_animal(fed: tuple[str, ...]) -> bool:
    """Whether one animal alone was fed: a tag is one word with a figure in it."""
    return len(fed) == 1 and " " not in fed[0] and any(c.isdigit() for c in fed[0])


def _searched(record: Record, manner: Manner) -> dict[str, str]:
    found = record.get("found")
    return {"found": say("eggs", n=found) if found else say("part.found_none")}


def _laid(record: Record, manner: Manner) -> dict[str, str]:
    spoiled, slots = record.get("spoiled"), record.get("slots")
    return {
        "spoiled": say("part.spoiled", n=spoiled) if spoiled else "",
        "slots": say("part.slots", slots=listed(slots)) if slots else "",
    }


def _hatched(record: Record, manner: Manner) -> dict[str, str]:
    tags, young = record.get("tags"), record.get("young")
    if tags:
        return {"tags": say("part.tags", tags=listed(tags))}
    return {"tags": say("part.young", young=say("young_of", n=young)) if young else ""}


def _reading(record: Record, manner: Manner) -> dict[str, str]:
    celsius, humidity = record.get("celsius"), record.get("humidity")
    figures = [] if celsius is None else [wording.temperature(celsius, manner.temperature)]
    figures += [] if humidity is None else [f"{wording.number(humidity)}%"]
    return {"figures": ", ".join(figures)}


def _note(record: Record, manner: Manner) -> dict[str, str]:
    about = record.get("about")
    return {
        "about": say("part.about", about=listed(about)) if about else "",
        "text": record.get("text").rstrip("."),
    }


def _plan(record: Record, manner: Manner) -> dict[str, str]:
    return {"when": plan_when(record, manner.today), "text": record.get("text").rstrip(".")}


def plan_when(record: Record, today: date) -> str:
    """ "tomorrow", "Fri 13 Mar at 18:00"."""
    at = say("days.at", time=wording.clock(record.at)) if record.at else ""
    return wording.near(record.on, today) + at


def _box(record: Record, manner: Manner) -> dict[str, str]:
    return {"incubator": _part("incubator", record.get("incubator"))}


SPECIAL: dict[str, Callable[[Record, Manner], dict[str, str]]] = {
    "animal": _animal,
    "described": _described,
    "sexed": lambda record, manner: {"sex": say(f"sexed.{record.get('sex')}")},
    "left": _choice("how", "how"),
    "weighed": _weighed,
    "fed": _fed,
    "seen": _choice("sign", "sign"),
    "searched": _searched,
    "laid": _laid,
    "checked": _choice("state", "state"),
    "hatched": _hatched,
    "reading": _reading,
    "note": _note,
    "plan": _plan,
    "box": _box,
}
