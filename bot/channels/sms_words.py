"""A reply as words for SMS: in the GSM alphabet, with its choices as words, a page at a time."""

from __future__ import annotations

from bot.channels.segments import page, plain
from bot.messages import Reply
from bot.wording import either, say


def whole(reply: Reply) -> str:
    """All that a reply says by SMS. Pictures stay behind: a text can't carry them."""
    text = plain("\n".join(each for each in (reply.text, _choices(reply)) if each))
    # Columns don't line up on a phone anyway, and every space is paid for.
    return "\n".join(" ".join(line.split()) for line in text.strip().split("\n"))


def _choices(reply: Reply) -> str:
    """What may be answered, unless the text lists it; undo in words of its own."""
    open_ = [each for each in reply.choices if each.label not in reply.text]
    if not open_:
        return ""
    if [each.says for each in open_] == ["undo"]:
        return say("sms.undo")
    return say("sms.answers", says=either(f'"{each.says}"' for each in open_))


def first_page(reply: Reply) -> tuple[str, str]:
    """What is sent of a reply, and what is left for MORE."""
    return page(whole(reply), say("sms.more"))
