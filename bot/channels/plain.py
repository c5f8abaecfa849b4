"""A reply as plain lines of text, for the console and for conversation files."""

from __future__ import annotations

from bot.messages import Reply

UNDO = "undo"  # what the Undo button says; at the console it goes without saying


def shown(reply: Reply) -> str:
    """The text, then what may be said to it, then the files that came with it.

    Other channels show choices as buttons. Here they are the words to type, and only those that
    the text does not have already.
    """
    lines = [reply.text]
    words = [
        each.says
        for each in reply.choices
        if each.says != UNDO and (reply.reminder or each.label not in reply.text)
    ]
    if words:
        lines.append(f"[{' | '.join(words)}]")
    lines += [f"File: {each}" for each in reply.files]
    return "\n".join(lines)
