"""Tells a new log or request from an answer to the open question."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.asking import read_request
from bot.language.drafts import Scene
from bot.language.frames import frames
from bot.language.items import Item
from bot.language.reading import Ask
from bot.language.tellings import is_question
from bot.language.wording import Lexicon
from bot.records import KINDS, FieldType, Record

_NUMERIC = frozenset({FieldType.COUNT, FieldType.GRAMS, FieldType.CELSIUS, FieldType.PERCENT})
_ASKED = frozenset(
    {
        *("hatching", "tasks", "history", "free", "pairs", "next_clutch", "ready", "rates"),
        *("snooze", "undo"),
        *("match", "odds", "feeders", "chart", "label", "export", "calendar", "help"),
    }
)


def of_its_own(
    items: Sequence[Item], words: Sequence[str], scene: Scene, question: Ask | None, lex: Lexicon
) -> bool:
    """True for a message that asks or tells something else than what was asked."""
    waiting = question.waiting if question is not None else None
    if question is None or waiting is None or len(items) < 2:
        return False
    return _requests(items, words, scene, lex) or _logs(items, question.about, waiting)


def _requests(items: Sequence[Item], words: Sequence[str], scene: Scene, lex: Lexicon) -> bool:
    """ "next clutch F2" is no tag for the young one."""
    asks = is_question(items, "?" if items[-1].text == "?" else "")
    found = read_request(items, scene, asks, words, lex)
    return found is not None and found[0].ask in _ASKED and found[1] >= 1.2


def _logs(items: Sequence[Item], about: str, waiting: Record) -> bool:
    """ "gave the hatchlings 3 fruit flies each" is no number for the crickets of F1."""
    field = None if about in ("on", "at") else KINDS[waiting.kind].field(about)
    if field is None or field.type not in _NUMERIC:
        return False
    table = frames()
    deeds = [e for e in items if e.is_("act") and not e.is_("act", "egg", "weigh", "lay")]
    deeds = [e for e in deeds if table.kinds_of(e)]
    named = {v for e in items if e.what in ("tag", "place", "slot") for v in _values(e)}
    known = {str(v) for value in waiting.fields.values() for v in _values_of(value)}
    others = named - known
    groups = any(e.is_("everyone") for e in items)
    food = next((e.get("food") for e in items if e.is_("food")), None)
    other_food = food is not None and waiting.get("food") not in (None, food)
    return bool(deeds) and bool(others or groups or (food and not named) or other_food)


def _values(item: Item) -> tuple[str, ...]:
    return item.value if isinstance(item.value, tuple) else (str(item.value),)


def _values_of(value: object) -> tuple[object, ...]:
    return value if isinstance(value, tuple) else (value,)
