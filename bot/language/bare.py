"""The pieces of a short message without marks and words that mean nothing."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.items import Item

CLASS_OF = {
    "sex": "sex",
    "state": "state",
    "how": "how",
    "sign": "sign",
    "species": "species",
    "food": "food",
}
"""The class of words that tells a field."""


def bare_pieces(items: Sequence[Item]) -> list[Item]:
    """The pieces that tell something."""
    return [e for e in items if e.what not in ("stop", "comma") and not e.is_("mood", "neutral")]
