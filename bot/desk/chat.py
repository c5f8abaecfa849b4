"""What is no log and no request: small talk, offers of a reminder, and what was not understood."""

from __future__ import annotations

from dataclasses import replace

from bot.desk import care
from bot.desk.context import Context
from bot.desk.restate import plan_when
from bot.language.reading import Reading
from bot.messages import Choice, Reply
from bot.wording import joined, known, say


def small_talk(reading: Reading, ctx: Context) -> Reply:
    """Kind and short; a plan told in passing is offered as a reminder."""
    if reading.answers:
        return Reply(say("talk.nothing_written"))
    if reading.offer is not None:
        ctx.talk = replace(ctx.talk, offer=reading.offer)
        when = plan_when(reading.offer, ctx.today)
        text = say("talk.offer", when=when, text=reading.offer.get("text"))
        return Reply(text, choices=yes_or_no())
    warned = care.asked_about(ctx)
    if warned:
        return Reply(warned)
    return Reply(say(f"chat.{_tone(reading, ctx.message.text)}"))


def _tone(reading: Reading, text: str) -> str:
    """Which of the few answers to small talk fits."""
    said = [word.strip(",.!?").casefold() for word in text.split()]
    for tone in ("thanks", "hello"):
        if set(said) & set(say(f"chat.when_{tone}").split()):
            return tone
    begins = bool(said) and said[0] in say("chat.when_question").split()
    return "question" if begins or text.rstrip().endswith("?") else "nothing"


def yes_or_no() -> tuple[Choice, ...]:
    """The two answers to an offer."""
    return tuple(Choice(say(f"talk.{each}"), each) for each in ("yes", "no"))


def unclear(reading: Reading, ctx: Context) -> Reply:
    """Nothing was written; how to say what was probably meant."""
    key = known(f"unclear.{reading.hint}", "unclear.any")
    warned = care.asked_about(ctx)
    return Reply(joined([say("unclear.nothing"), warned]) if warned else say(key))
