"""Help: what can be typed, by topic, from the same table of kinds that the reader uses."""

from __future__ import annotations

from bot.desk.context import Context
from bot.language.reading import Request
from bot.messages import Choice, Reply
from bot.records import KINDS
from bot.wording import lookup, say, words

TOPICS = ("animals", "pairings", "eggs", "feeding", "climate", "reminders", "questions", "safety")


def help_about(request: Request, ctx: Context) -> Reply:
    """One topic with its examples, or the topics there are."""
    topic = _meant(f"{request.get('about') or ''} {ctx.message.text}")
    if topic == "safety":
        return Reply(_safety())
    if topic is None:
        choices = tuple(Choice(each, f"help {each}") for each in TOPICS)
        return Reply(say("help.topics", topics=", ".join(TOPICS)), choices)
    return Reply("\n".join([say(f"help.head_{topic}"), *examples(topic)]))


def _meant(said: str) -> str | None:
    """The topic that some word of a message means."""
    found = (_topic(word.strip(",.!?;:'\"").casefold()) for word in said.split())
    return next((topic for topic in found if topic), None)


def _topic(about: str) -> str | None:
    """The topic meant by its name, by a kind of record, or by another word for it."""
    if about in TOPICS:
        return about
    for topic in TOPICS:
        if about and about in (words()["help"].get(f"also_{topic}", "").split()):
            return topic
        if about in _kinds(topic):
            return topic
    return None


def topic_of(kind: str) -> str | None:
    """The topic under which a kind of record is shown; None for no kind."""
    return next((topic for topic in TOPICS if kind in _kinds(topic)), None)


def _kinds(topic: str) -> list[str]:
    return list(lookup(f"help.kinds.{topic}") or ())


def examples(topic: str) -> list[str]:
    """What can be typed: one way of saying each kind of record, or questions to ask."""
    asked = lookup(f"help.say.{topic}") or ()
    return [way for kind in _kinds(topic) for way in KINDS[kind].said_as] + list(asked)


def _safety() -> str:
    from scheduler.cautions import caution, keys

    rows = [
        say("help.caution", text=each.text, source=each.source) for each in map(caution, keys())
    ]
    return "\n".join([say("help.head_safety"), *rows])
