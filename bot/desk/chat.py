"""What is no log and no request: small talk, offers of a reminder, and what was not understood."""

from __future__ import annotations

from dataclasses import replace

from bot.desk import care
from bot.desk.context import Context
from bot.desk.restate import plan_when
from bot.desk.roles import may_write
from bot.language.reading import Reading
from bot.messages import Choice, Reply
from bot.records import Record
from bot.wording import joined, known, listed, say


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


def _offer_note(reading: Reading, ctx: Context) -> Reply:
    """Offer to keep it as it was typed; with the vet's line, where it tells of an illness."""
    text = " ".join(ctx.message.text.split())
    fields = {"about": reading.about, "text": text} if reading.about else {"text": text}
    offer = Record("note", ctx.today, None, fields)
    ctx.talk = replace(ctx.talk, offer=offer)
    about = say("part.about", about=listed(reading.about)) if reading.about else ""
    asked = say("talk.keep", about=about)
    of_animal = any(each in ctx.pages.state.animals for each in reading.about)
    return Reply(joined([care.asked_about(ctx, of_animal), asked]), choices=yes_or_no())


def yes_or_no() -> tuple[Choice, ...]:
    """The two answers to an offer."""
    return tuple(Choice(say(f"talk.{each}"), each) for each in ("yes", "no"))


def unclear(reading: Reading, ctx: Context) -> Reply:
    """Nothing was written; a statement may be kept as a note; else how it was probably meant."""
    if reading.statement and may_write(ctx.member.role):
        return _offer_note(reading, ctx)
    key = known(f"unclear.{reading.hint}", "unclear.any")
    warned = care.asked_about(ctx)
    return Reply(joined([say("unclear.nothing"), warned]) if warned else say(key))
