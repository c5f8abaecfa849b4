"""A reply as words for SMS: in the GSM alphabet, with its choices as words, a page at a time."""

from __future__ import annotations

from bot.channels.segments import page, plain
from bot.channels.sms_numbers import numbered, unsaid
from bot.messages import Reply
from bot.wording import either, say


def whole(reply: Reply) -> str:
    """All that a reply says by SMS. Pictures stay behind: a text can't carry them."""
    text = plain("\n".join(each for each in (reply.text, _choices(reply)) if each))
    # Columns don't line up on a phone anyway, and every space is paid for.
    return "\n".join(" ".join(line.split()) for line in text.strip().split("\n"))


def _choices(reply: Reply) -> str:
    """What may be answered, by number, unless the text says it already; undo in words."""
    picks = numbered(reply)
    rest = [each for each in reply.choices if each not in picks]
    if unsaid(reply):
        says = either(f"{number} {each.says}" for number, each in enumerate(picks, 1))
        if reply.reminder and rest:
            return say("sms.happened", says=says, such=rest[0].says)
        return say("sms.answers", says=says)
    if rest and not reply.reminder:
        return say("sms.undo")
    return ""


def first_page(reply: Reply) -> tuple[str, str]:
    """What is sent of a reply, and what is left for MORE."""
    return page(whole(reply), say("sms.more"))
