"""Tells a statement that fits no record ("F1 has mites"), and what of the book it is about."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

from bot.language.clauses import sentences
from bot.language.codes import slot_exists
from bot.language.drafts import Scene
from bot.language.items import Item
from bot.language.reading import Outcome, Reading
from bot.language.tellings import is_question

_FILE = Path(__file__).with_name("stating.toml")
MOST_ABOUT = 4
"""A message that names more than this is a list of something, and no note on each."""
MOST_PIECES = 80
"""What is longer is pasted, and no statement of one thing."""
_SEX_OF = {"she": "female", "he": "male"}


@cache
def _words() -> Mapping[str, tuple[str, ...]]:
    tables = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    return {name: tuple(words) for name, words in tables.items()}


def stated(reading: Reading, items: Sequence[Item], scene: Scene) -> Reading:
    """The reading; where nothing was understood of a statement, marked as one, with whom or what
    it is about. Questions, orders and what is denied, planned, wished or hearsay are none."""
    if reading.outcome is not Outcome.UNCLEAR or len(items) > MOST_PIECES or not _tells(items):
        return reading
    about = _known(items, scene)
    if len(about) > MOST_ABOUT or not (about or _of_the_house(items)):
        return reading
    return replace(reading, about=about, statement=True)


def _tells(items: Sequence[Item]) -> bool:
    words = _words()
    said = [e.text.casefold() for e in items if e.what not in ("stop", "comma")]
    # A name alone, or a name and a figure, tells nothing that a note could keep.
    spoken = [e for e in items if e.what == "word" and len(e.text) > 2 and e.text[0].isalpha()]
    if not spoken or len(said) < 2 or said[0].split()[0] in words["orders"]:
        return False
    if any(e.is_("mood", *words["moods"]) for e in items):
        return False
    if set(words["others"]) & {" ".join(said[k : k + n]) for n in (1, 2) for k in range(len(said))}:
        return False
    return not any(is_question(part, mark) for part, mark in sentences(items))


def _known(items: Sequence[Item], scene: Scene) -> tuple[str, ...]:
    """The animals, slots, boxes and places of the book that are named; else whom "she" means."""
    view, found = scene.view, list[str]()
    places = set(view.places.values())
    for item in items:
        if item.what == "tag":
            found += [tag for tag in item.value if tag in view.animals]
        elif item.what == "slot":
            found += [slot for slot in item.value if slot_exists(slot, view)]
        elif item.what == "box":
            found += [f"box {box}" for box in item.value if box in view.boxes]
        elif item.what == "place" and item.value in places:
            found.append(item.value)
    return tuple(dict.fromkeys(found)) or _meant(items, scene)


def _meant(items: Sequence[Item], scene: Scene) -> tuple[str, ...]:
    said = next((e.get("pron") for e in items if e.is_("pron", "she", "he", "it")), None)
    if said is None or len(scene.told_tags) != 1:
        return ()
    sex = scene.sex(scene.told_tags[0])
    return scene.told_tags if sex in (_SEX_OF.get(said, sex), "unknown") else ()


def _of_the_house(items: Sequence[Item]) -> bool:
    said = " ".join(e.text.casefold() for e in items)
    return len(said.split()) > 2 and any(f" {word} " in f" {said} " for word in _words()["house"])
