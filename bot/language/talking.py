"""What a message means in a conversation: an answer, a yes or no, a correction of the last record."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.drafts import Scene
from bot.language.items import Item
from bot.language.reading import Reading, Talk
from bot.language.wording import Lexicon


def answer(
    items: Sequence[Item], words: Sequence[str], scene: Scene, talk: Talk, lexicon: Lexicon
) -> Reading | None:
    """The reading of a message that answers the open question or offer; None where it does not."""
    return None


def correction(
    items: Sequence[Item], words: Sequence[str], scene: Scene, talk: Talk, lexicon: Lexicon
) -> Reading | None:
    """The reading of a message that puts the last record right; None where it does not."""
    return None
