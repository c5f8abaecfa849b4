"""The typed pieces that a message is read as: tags, slots, places, measures, days, words."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from bot.language.wording import Sense

ENTITIES = frozenset({"tag", "slot", "box", "place"})
BREAKS = frozenset({"stop", "comma", "joint"})


@dataclass(slots=True)
class Code:
    """Letters and a number, "F3" or "B4": what it is depends on what the book knows.

    `tag` and `slot` are the book's spelling, or None where the book has no such animal or box;
    `wrote` is how it would be spelt if it were new.
    """

    wrote: str
    tag: str | None = None
    slot: str | None = None
    heard: bool = False  # made of sounds ("em to"), so taken only where the book knows it


@dataclass(slots=True)
class Item:
    """A typed piece: tokens `i` up to `j`.

    `what` is tag, slot, box, place, num, grams, temp, pct, ml, date, time, span, stop, comma,
    joint or word. `value` by kind: a tuple of tags, slots or boxes, a place's name, a number, a
    hint of a day or hour. `senses` by class of word.
    """

    what: str
    value: Any
    i: int
    j: int
    text: str
    senses: dict[str, Sense] = field(default_factory=dict)
    codes: tuple[Code, ...] = ()
    unit: str | None = None
    via: str | None = None  # "tub", where the animal stands for its place or sand ("F2's tub")
    either: bool = False  # "F3 or F7"
    sure: bool = True  # False where it was guessed from a misspelling
    meant: str = ""  # the words as put right, where it was

    def is_(self, cls: str, *values: str) -> bool:
        """True where a sense of that class (and one of the values) is among its senses."""
        sense = self.senses.get(cls)
        return sense is not None and (not values or sense.value in values)

    @property
    def word(self) -> str:
        """Its words, folded, with misspellings put right."""
        return self.meant or self.text.casefold()

    def get(self, cls: str) -> str | None:
        """The value of its sense of that class."""
        sense = self.senses.get(cls)
        return sense.value if sense else None

    @property
    def form(self) -> str | None:
        """The verb form, for a verb."""
        sense = self.senses.get("act")
        return sense.form if sense else None


def shown(item: Item) -> str:
    """How `read --explain` names the item."""
    senses = ", ".join(f"{s.cls} {s.value}" for s in item.senses.values())
    value = "" if item.what == "word" else f" {item.value!r}"
    return f"{item.text!r}: {item.what}{value}" + (f" ({senses})" if senses else "")
