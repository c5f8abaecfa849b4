"""A question back: the sentence for what is missing or wrong, and the numbered answers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from string import Formatter

from bot.desk import records
from bot.desk.context import Context
from bot.desk.restate import restate_with_gaps, who
from bot.language.reading import Ask, Reading
from bot.messages import Choice, Reply
from bot.records import Record
from bot.wording import fill, known, listed, lookup, say

AS_IF_MISSING = ("missing", "ambiguous")
"""Why a question is asked that needs no words of its own: the choices say the rest."""


def question(reading: Reading, ctx: Context) -> Reply:
    """Write the sure records, if any, say what waits, and ask for the first of it."""
    asked = reading.ask
    assert asked is not None
    sure = records.written(reading.records, ctx) if reading.records else None
    more = reading.later or (ctx.talk.more if reading.answers else ())
    waits = said_of((asked, *more), ctx) if sure or more else ""
    reply = put(asked, more, ctx)
    head = [sure.text if sure else "", say("talk.waits", waiting=waits) if waits else ""]
    text = "\n".join(each for each in (*head, reply.text) if each)
    return replace(reply, text=text, wrote=sure is not None)


def put(asked: Ask, more: tuple[Ask, ...], ctx: Context) -> Reply:
    """Ask one thing; what is to be asked after it is kept in the talk."""
    if asked.about == "slots" and asked.waiting is not None and asked.waiting.kind == "laid":
        # An answer before this one may have filled a slot that was offered.
        free = tuple(each for each in asked.choices if not ctx.pages.state.eggs_in(each))
        asked = replace(asked, choices=free)
    ctx.talk = replace(ctx.talk, question=asked, more=more, offer=None)
    choices = tuple(Choice(_label(each, asked.about, ctx), each) for each in asked.choices)
    return Reply("\n".join(filter(None, (sentence(asked), numbered(choices)))), choices)


def sentence(ask: Ask) -> str:
    """The question itself, by why it is asked and about which field."""
    values = restate_values(ask.waiting) | {"said": ask.said or say("ask.that")}
    asked = _first_known(question_key(ask), values)
    helped = f"ask.{ask.why}.{'near' if ask.choices else 'help'}"
    more = fill(helped, {"said": ask.said}) if lookup(helped) else ""
    return f"{asked} {more}".strip()


def question_key(ask: Ask) -> str:
    """Where its words stand: under its own why, else as if it were missing."""
    kind = ask.waiting.kind if ask.waiting else "any"
    own = (f"ask.{ask.why}.{kind}-{ask.about}", f"ask.{ask.why}.{ask.about}")
    missing = (f"ask.missing.{kind}-{ask.about}", f"ask.missing.{ask.about}")
    alike = missing if ask.why in AS_IF_MISSING else ()
    return known(*own, *alike, f"ask.{ask.why}.any", "ask.missing.any")


def _first_known(key: str, values: Mapping[str, str]) -> str:
    """The first way to say it whose names are all known; gaps show as dots in the last."""
    ways = lookup(key)
    ways = [ways] if isinstance(ways, str) else list(ways)
    for way in ways:
        if all(name in values for _, name, _, _ in Formatter().parse(way) if name):
            return str(way.format_map(values))
    return str(ways[-1].format_map(defaultdict(lambda: say("gap"), values)))


def restate_values(waiting: Record | None) -> dict[str, str]:
    """The waiting record's fields as words."""
    if waiting is None:
        return {}
    return {name: _in_words(name, value) for name, value in waiting.fields.items()}


def _in_words(name: str, value: object) -> str:
    if isinstance(value, tuple):
        return who(value) if name == "who" else listed(map(str, value))
    worded = f"{WORDED[name]}.{value}" if name in WORDED else ""
    return say(worded) if worded and lookup(worded) else str(value)


WORDED = {"sex": "sexed", "how": "how", "state": "state"}
"""Fields whose values have words of their own, and the table that they stand in."""


def said_of(asked: tuple[Ask, ...], ctx: Context) -> str:
    """What is not written, in words: what was said in place of a gap, else dots."""
    return " ".join(_described(each, ctx) for each in asked if each.waiting)


def _described(asked: Ask, ctx: Context) -> str:
    assert asked.waiting is not None
    told = restate_with_gaps(asked.waiting, records.manner(ctx), {asked.about: asked.said})
    return told if told.endswith(".") else f"{told}."


def numbered(choices: tuple[Choice, ...]) -> str:
    """ "1 F3, 2 F7"; nothing for nothing."""
    return ", ".join(
        say("talk.choice", number=number, label=each.label)
        for number, each in enumerate(choices, 1)
    )


def _label(choice: str, about: str, ctx: Context) -> str:
    worded = f"{WORDED[about]}.{choice}" if about in WORDED else ""
    if worded and lookup(worded):
        return say(worded)
    animal = ctx.pages.state.animals.get(choice)
    return f"{choice} {animal.name}" if animal and animal.name else choice
