"""The few sentences that the channels say themselves: the `serve` part of `bot/wording/`."""

from __future__ import annotations

from typing import Any

from bot.wording import lookup, say


def words() -> dict[str, Any]:
    """All of them, and the menu of commands."""
    found: dict[str, Any] = lookup("serve")
    return found


def said(key: str, **values: object) -> str:
    """The sentence under a dotted key. Raises KeyError where there is none."""
    return say(f"serve.{key}", **values)
