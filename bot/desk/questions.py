"""A question back: the sentence for what is missing or wrong, and the numbered answers."""

from __future__ import annotations

from dataclasses import replace

from bot.desk import records
from bot.desk.context import Context
from bot.desk.restate import restate_with_gaps
from bot.language.reading import Ask, Reading
from bot.messages import Choice, Reply
from bot.records import Record
from bot.wording import fill, known, say


def question(reading: Reading, ctx: Context) -> Reply:
    """Write the sure records, if any, and ask for what waits."""
    ask = reading.ask
    assert ask is not None
    sure = records.written(reading.records, ctx) if reading.records else None
    ctx.talk = replace(ctx.talk, question=ask, offer=None)
    choices = tuple(Choice(_label(each, ctx), each) for each in ask.choices)
    lines = [sentence(ask), numbered(choices)]
    if sure:
        lines = [sure.text, _waits(ask.waiting, ctx), *lines]
    return Reply("\n".join(each for each in lines if each), choices, wrote=sure is not None)


def sentence(ask: Ask) -> str:
    """The question itself, by why it is asked and about which field."""
    kind = ask.waiting.kind if ask.waiting else "any"
    about = known(f"field.{ask.about}", "field.any")
    key = known(
        f"ask.{ask.why}.{kind}-{ask.about}",
        f"ask.{ask.why}.{ask.about}",
        f"ask.{ask.why}.any",
        "ask.missing.any",
    )
    fields = restate_values(ask.waiting)
    said = fill(key, fields | {"said": ask.said or say("ask.that"), "field": say(about)})
    helped = f"ask.{ask.why}.{'near' if ask.choices else 'help'}"
    more = fill(helped, {"said": ask.said}) if _has(helped) else ""
    return f"{said} {more}".strip()


def _has(key: str) -> bool:
    try:
        return bool(known(key))
    except KeyError:
        return False


def restate_values(waiting: Record | None) -> dict[str, str]:
    """The waiting record's fields as words."""
    if waiting is None:
        return {}
    return {
        name: ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)
        for name, value in waiting.fields.items()
    }


def described(waiting: Record, ctx: Context) -> str:
    """What is not written, in words; a gap shows as dots."""
    return restate_with_gaps(waiting, records.manner(ctx))


def numbered(choices: tuple[Choice, ...]) -> str:
    """ "1 F3, 2 F7"; nothing for nothing."""
    return ", ".join(
        say("talk.choice", number=number, label=each.label)
        for number, each in enumerate(choices, 1)
    )


def _label(choice: str, ctx: Context) -> str:
    animal = ctx.pages.state.animals.get(choice)
    return f"{choice} {animal.name}" if animal and animal.name else choice


def _waits(waiting: Record | None, ctx: Context) -> str:
    return say("talk.waits", waiting=described(waiting, ctx)) if waiting else ""
