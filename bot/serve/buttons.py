"""What stands below a reply on a phone: its choices, the ways back, and "more" of a long one."""

from __future__ import annotations

from bot.messages import Choice, Reply
from bot.wording import say

UNDO = "undo"
MORE = "more"
CLOSING = ("done", "snooze")
"""What is said to a reminder alone, and so needs to name it."""
LONG_LINES, LONG_TEXT = 20, 1400
"""An answer with more lines or characters than these is long: about two screens of a phone."""
SHOWN_LINES, SHOWN_TEXT = 12, 800
"""What is shown of a long answer at first, in lines and characters."""


def buttons(reply: Reply) -> tuple[Choice, ...]:
    """The buttons below a reply: its choices, and Undo, Done, Snooze or More where they belong."""
    offered = list(reply.choices)
    known = {each.says for each in offered}
    extra = [Choice(say("talk.undo"), UNDO)] if reply.wrote else []
    if reply.reminder:
        extra += [Choice(say(f"tell.{each}"), say(f"tell.says_{each}")) for each in CLOSING]
    if first_part(reply.text)[1]:
        extra.append(Choice(say("serve.more"), MORE))
    return (*offered, *(each for each in extra if each.says not in known))


def first_part(text: str) -> tuple[str, str]:
    """What is shown of an answer at first, and the rest: "" of one that is short enough.

    It is parted between lines; a line that is too long by itself, between sentences or words.
    """
    lines = text.splitlines()
    if len(lines) <= LONG_LINES and len(text) <= LONG_TEXT:
        return text, ""
    shown = 0
    for number, line in enumerate(lines[:SHOWN_LINES]):
        if number and shown + len(line) > SHOWN_TEXT:
            break
        shown += len(line) + 1
    if shown > LONG_TEXT:
        shown = _between_words(text, SHOWN_TEXT)
    return text[:shown].rstrip(), text[shown:].strip("\n ")


def _between_words(text: str, most: int) -> int:
    """Where to part a text that has no line end before `most`."""
    sentence = text.rfind(". ", 0, most)
    word = text.rfind(" ", 0, most)
    return sentence + 1 if sentence > 0 else word if word > 0 else most
