"""A word with its neighbours, as the rules of what it can't mean beside them look at it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bot.language.items import Item
from bot.language.wording import Sense


@dataclass(slots=True)
class Near:
    """A word with what stands before and after it in its fragment, and the whole message."""

    item: Item
    before: Sequence[Item]
    after: Sequence[Item]
    items: Sequence[Item]
    k: int

    @property
    def word(self) -> str:
        """The word itself, folded."""
        return self.item.word

    @property
    def around(self) -> tuple[Item, ...]:
        """The rest of its fragment."""
        return (*self.before, *self.after)

    def told(self, cls: str, *values: str) -> bool:
        """True where the message has such a sense anywhere."""
        return any(each.is_(cls, *values) for each in self.items)

    def holds(self, *whats: str) -> bool:
        """True where the message has a piece of those sorts."""
        return any(each.what in whats for each in self.items)

    def drop(self, *classes: str) -> None:
        """Takes those senses from the word."""
        for cls in classes:
            self.item.senses.pop(cls, None)

    def mean(self, cls: str, value: str) -> None:
        """Leaves the word that one sense."""
        self.item.senses = {cls: Sense(cls, value)}


Rule = Callable[[Near], None]
