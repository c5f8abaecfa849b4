"""A reply as plain lines of text, for the console and for conversation files."""

from __future__ import annotations

from bot.messages import Reply


def shown(reply: Reply) -> str:
    """The text, then what may be chosen, by number, then the files that came with it."""
    lines = [reply.text]
    lines += [f"  {number}  {each.label}" for number, each in enumerate(reply.choices, 1)]
    lines += [f"  file: {each}" for each in reply.files]
    return "\n".join(lines)
