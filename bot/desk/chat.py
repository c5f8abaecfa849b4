"""What is no log and no request: small talk, offers of a reminder, and what was not understood."""

from __future__ import annotations

from dataclasses import replace

from bot.desk import care
from bot.desk.context import Context
from bot.desk.help import topic_of
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


def unclear(reading: Reading, ctx: Context) -> Reply:
    """Nothing was written; a statement may be kept as a note; else how it was probably meant."""
    warned = care.asked_about(ctx, _of_animal(reading, ctx))
    if reading.statement and may_write(ctx.member.role):
        return _offer_note(reading, warned, ctx)
    if warned:
        return Reply(joined([say("unclear.nothing"), warned]))
    return Reply(say(_how_to_say(reading)))


def _how_to_say(reading: Reading) -> str:
    topic = topic_of(reading.hint or "") or reading.hint
    return known(f"unclear.{topic}", "unclear.any")


def _of_animal(reading: Reading, ctx: Context) -> bool:
    return any(each in ctx.pages.state.animals for each in reading.about)


def _offer_note(reading: Reading, warned: str, ctx: Context) -> Reply:
    """Offer to keep it as it was typed, after the vet's line or how a record of it is said."""
    text = " ".join(ctx.message.text.split())
    fields = {"about": reading.about, "text": text} if reading.about else {"text": text}
    ctx.talk = replace(ctx.talk, offer=Record("note", ctx.today, None, fields))
    about = say("part.about", about=listed(reading.about)) if reading.about else ""
    how = _how_to_say(reading) if reading.about and not warned else "unclear.any"
    if how == "unclear.any":
        return Reply(joined([warned, say("talk.keep", about=about)]), choices=yes_or_no())
    return Reply(joined([say(how), say("talk.or_keep", about=about)]), choices=yes_or_no())


def yes_or_no() -> tuple[Choice, ...]:
    """The two answers to an offer."""
    return tuple(Choice(say(f"talk.{each}"), each) for each in ("yes", "no"))
