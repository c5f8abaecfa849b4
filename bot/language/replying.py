"""What a message means as an answer to a reminder: "out", "none", "22.4", "both clear", "not yet".

A reminder names the animals, slots or place, so that its answer need not. Such an answer is taken
only where all of its words belong to what the reminder asks, and where one reminder alone fits; of
several the keeper is asked which. A message with a subject of its own is read as it stands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from bot.language.choosing import PICK, WHICH, asked_for, choose
from bot.language.dates import when_of
from bot.language.drafts import Scene
from bot.language.frames import frames
from bot.language.items import Item
from bot.language.reading import Ask, Outcome, Reading, Talk, Told
from bot.language.reminded import Fit, all_in_words, task_of
from bot.language.reminded_kinds import answered
from bot.language.shortly import Asked, Replies, Said, replies, taken_apart
from bot.language.tellings import is_question
from bot.language.wording import Lexicon
from bot.records import KINDS, FieldType, Record

SOON = timedelta(hours=2)  # "tonight", said in the evening
YOUNG = ("watch-hatch", "overdue-egg")  # what is answered with the tags of young
_SEVERAL = (FieldType.SLOTS, FieldType.WHO, FieldType.ABOUT)
_CLOSING = ("done", "snooze", "skip")  # what the buttons of a list say, with a number
_MOST = 8  # reminders tried with a longer answer

Again = Callable[[Scene], Reading]


@dataclass(frozen=True)
class Heard:
    """A message before it is read: its pieces and words, and the scene without the reminders."""

    items: Sequence[Item]
    words: Sequence[str]
    scene: Scene
    lexicon: Lexicon


def fresh_reply(heard: Heard, talk: Talk, again: Again) -> Reading | None:
    """The reading of a message that names nothing and answers what was told since the last one."""
    told = [each for each in talk.told if each.fresh or _asked_about(each, talk)]
    if not told or _names(heard):
        return None
    found = _reply(heard, told, talk, again)
    if found is None or not found.records or talk.question is None:
        return found
    waiting = talk.question.waiting
    asked = set(_subjects_of(waiting)) if waiting is not None else set()
    closes = any(asked & set(_subjects_of(record)) for record in found.records)
    return replace(found, answers=closes)


def reply(heard: Heard, talk: Talk, again: Again) -> Reading | None:
    """The reading of a message that answers any reminder told lately and still open."""
    told = [*talk.told, *_under_way(talk, heard.scene)]
    if talk.question is not None and _only_a_figure(heard):
        told = [each for each in told if _asked_about(each, talk)]
    if not told:
        return None
    return _reply(heard, told, talk, again) or _named(heard, talk.told, again)


def _only_a_figure(heard: Heard) -> bool:
    """True for a number alone, which an open question may want and no reminder told long ago."""
    return {e.what for e in heard.items} <= {"num", "grams", "stop"}


def doubted(heard: Heard, talk: Talk, reading: Reading) -> Reading:
    """A sure log that names nobody, unless it may as well answer what was told: then which it is.

    "clear, binned it" may be of the egg just spoken of, or of the one that is to be candled.
    """
    if not talk.told or reading.outcome is not Outcome.RECORDS:
        return reading
    if _says_whose(heard):
        parts = _in_parts(heard, talk.told, replies(heard.lexicon.wholes))
        whole = parts is not None and all(each in parts.records for each in reading.records)
        return parts if parts is not None and whole else reading
    said = taken_apart(heard.items, heard.words, heard.scene, heard.lexicon)
    table = replies(heard.lexicon.wholes)
    if said is None or _asks(heard.items):
        return reading
    fits = [f for each in talk.told for f in _in_few_words(said, each, table, heard.scene)]
    fits = [fit for fit in fits if fit.reading.outcome is not Outcome.REQUEST]
    if not fits or any(fit.reading.records == reading.records for fit in fits):
        return reading
    says = dict.fromkeys([*(fit.says for fit in fits), all_in_words(reading.records)])
    ask = Ask(PICK, tuple(says), None, "ambiguous")
    return Reading(Outcome.ASK, ask=ask, reasons=(*reading.reasons, "or it answers a reminder"))


def _says_whose(heard: Heard) -> bool:
    return any(e.what in ("tag", "slot", "box", "place") for e in heard.items)


def _under_way(talk: Talk, scene: Scene) -> list[Told]:
    """What the last message left to be told of: an egg that is pipping will be out."""
    return [
        Told("", "watch-hatch", record.get("slots"), None, "pipping", scene.now, fresh=False)
        for record in talk.last
        if record.kind == "pipped"
    ]


def outdoes(reading: Reading) -> bool:
    """True where an ordinary reading stands, whatever was told: a sure log or a real request."""
    return reading.outcome is Outcome.RECORDS or _requests(reading)


def _requests(reading: Reading) -> bool:
    return reading.request is not None and reading.request.ask not in ("done", "snooze")


def _reply(heard: Heard, told: list[Told], talk: Talk, again: Again) -> Reading | None:
    said = taken_apart(heard.items, heard.words, heard.scene, heard.lexicon)
    if said is None or _asks(heard.items):
        return None
    if _picks_a_task(heard.words, max(len(told), len(talk.tasks))):
        return None
    number = _bare_number(heard, said, told, talk)
    if number is not None:
        return number
    table = replies(heard.lexicon.wholes)
    fits = [fit for each in told for fit in _in_few_words(said, each, table, heard.scene)]
    if fits:
        return choose(fits, said)
    parts = _in_parts(heard, told, table)
    if parts is not None or _requests(again(heard.scene)):
        return parts
    fits = _in_a_sentence(heard, said, told, table, again)
    return choose(fits, said) if fits else None


def _asks(items: Sequence[Item]) -> bool:
    from bot.language.clauses import sentences

    return any(is_question(sentence, mark) for sentence, mark in sentences(items))


def _names(heard: Heard) -> bool:
    """Whether it names an animal, a place or an egg; free slots may be where the eggs went."""
    eggs = heard.scene.view.eggs
    return any(
        e.what in ("place", "box")
        or _known_tag(e)
        or (e.what == "slot" and any(slot in eggs for slot in e.value))
        for e in heard.items
    )


def _known_tag(item: Item) -> bool:
    return item.what == "tag" and (not item.codes or any(code.tag for code in item.codes))


def _asked_about(told: Told, talk: Talk) -> bool:
    """Whether the open question is about this reminder: its answers are still its own."""
    waiting = talk.question.waiting if talk.question else None
    if waiting is None or waiting.kind not in _MAKES.get(told.kind, (waiting.kind,)):
        return False
    return bool(set(_subjects_of(waiting)) & set(told.about))


# The records that an answer to a reminder becomes, where its words could be another question's.
_MAKES = {
    "search-eggs": ("searched", "laid"),
    "weigh": ("weighed",),
    "candle": ("checked", "discarded"),
    "wet-box": ("watered",),
    "read-incubator": ("reading",),
}


def _picks_a_task(words: Sequence[str], most: int) -> bool:
    """ "done 1" is the first of what was told or listed, never one gram or one egg."""
    closing, number = (words[0], words[1]) if len(words) == 2 else ("", "")
    return closing in _CLOSING and number.isdecimal() and 1 <= int(number[:6]) <= most


# -- a number alone ----------------------------------------------------------------------------


def _bare_number(heard: Heard, said: Said, told: Sequence[Told], talk: Talk) -> Reading | None:
    """ "1" is the first of what was listed, or the one reminder told; of several it asks which."""
    if talk.question is not None or len(heard.words) != 1 or not heard.words[0].isdigit():
        return None
    number = int(heard.words[0][:6])
    listed = {f"{each.text} [{', '.join(each.about)}]" for each in told} & set(talk.tasks)
    if listed and 1 <= number <= len(talk.tasks):
        return asked_for("done", number, "the number of a task listed")
    if len(told) == 1 and number == 1:
        if told[0].kind == "search-eggs":  # done, or one egg?
            waiting = Record("laid", heard.scene.now.date(), None, {"dam": told[0].about[0]})
            return Reading(Outcome.ASK, ask=Ask("eggs", waiting=waiting), reasons=("1 of what?",))
        return asked_for("done", task_of(told[0]), "the one reminder told")
    if len(told) > 1 and 1 <= number <= len(told):
        return asked_for("done", WHICH, "a number, but several reminders are open")
    return None


# -- a few words -------------------------------------------------------------------------------


def _in_few_words(said: Said, told: Told, table: Replies, scene: Scene) -> list[Fit]:
    """What the message says to one reminder, if every word of it belongs there."""
    asked = table.asks.get(told.kind)
    if asked is None or not _about(said, told):
        return []
    fit = answered(said, told, scene)
    if fit is None and told.key and _put_off(said, asked, scene):
        fit = _snoozed(told, asked, said, scene)
    return [fit] if fit is not None else []


def _in_parts(heard: Heard, told: Sequence[Told], table: Replies) -> Reading | None:
    """ "F3 none, F7 2 eggs": several answers, each with its own name, in one message."""
    parts = _parts(heard.items)
    if len(parts) < 2 or not all(any(_known_tag(e) for e in part) for part in parts):
        return None
    records: list[Record] = []
    for part in parts:
        said = taken_apart(part, heard.words, heard.scene, heard.lexicon)
        fits = [f for t in told for f in _in_few_words(said, t, table, heard.scene)] if said else []
        if len(fits) != 1 or fits[0].reading.outcome is not Outcome.RECORDS:
            return None
        records += fits[0].reading.records
    return Reading(Outcome.RECORDS, tuple(records), reasons=("each answers a reminder",))


def _parts(items: Sequence[Item]) -> list[list[Item]]:
    """The message cut where a name follows a comma, an "and" or a stop."""
    parts: list[list[Item]] = [[]]
    for n, item in enumerate(items):
        follows = items[n + 1] if n + 1 < len(items) else None
        if item.what in ("comma", "joint", "stop") and follows is not None and _known_tag(follows):
            parts.append([])
        else:
            parts[-1].append(item)
    return [part for part in parts if part]


def _about(said: Said, told: Told) -> bool:
    """Whether the animals and places that it names, if any, are the reminder's."""
    own = set(told.about)
    tags = set() if told.kind in YOUNG else set(said.tags)
    slots = set() if told.kind == "search-eggs" else set(said.slots)
    places = {place.casefold() for place in said.places}
    ours = {told.place.casefold()} if told.place else set()
    return tags | slots <= own and places <= ours


def _put_off(said: Said, asked: Asked, scene: Scene) -> bool:
    """ "not yet", "still in", "tomorrow", "haven't pulled him", "will do it tonight"."""
    if said.numbers or (said.slots and "laid" in asked.answers):
        return False
    cues = {*asked.later, "neg", "plan"}
    deed = asked.deed - {"found"}  # what is not found was looked for
    if not said.only(*cues, *deed, "no", "yes", "okay", "some", "all"):
        return False
    if not said.pieces:
        return _ahead(said.days, scene)
    if said.has(*asked.later) and not said.has("yes"):
        return True
    return said.has("neg", "plan") and (said.has(*deed) or _ahead(said.days, scene))


def _ahead(days: Sequence[Item], scene: Scene) -> bool:
    """Whether a day or hour still to come is told."""
    if not days:
        return False
    return _until(days, scene) > scene.now


def _until(days: Sequence[Item], scene: Scene) -> datetime:
    when = when_of(list(days), scene.now, ahead=True)
    evening = any(e.is_("daypart", "pm") or "night" in e.text.casefold() for e in days)
    at = when.at or scene.now.time().replace(hour=20 if evening else 9, minute=0)
    return datetime.combine(when.on, at, tzinfo=scene.now.tzinfo)


def _snoozed(told: Told, asked: Asked, said: Said, scene: Scene) -> Fit:
    """Told again at the moment said, or after the usual time for its kind."""
    hours = max(asked.again, 24) if said.has("not-today") else asked.again
    if said.has("soon") and not said.has("later", *asked.later - {"soon", "later"}):
        hours = min(hours, 3)
    until = scene.now + timedelta(hours=hours)
    if said.days:
        meant = _until(said.days, scene)
        today = meant.date() == scene.now.date()
        until = meant if meant > scene.now else scene.now + SOON if today else until
    return Fit(told, asked_for("snooze", task_of(told), f"{told.kind} is not done yet", until))


# -- a sentence that leaves out whom -----------------------------------------------------------


def _in_a_sentence(
    heard: Heard, said: Said, told: Sequence[Told], table: Replies, again: Again
) -> list[Fit]:
    """ "took him out an hour ago": read as if the talk had been of the reminder."""
    fits: list[Fit] = []
    for each in told[-_MOST:]:
        asked = table.asks.get(each.kind)
        if asked is None or not asked.answers or not _about(said, each):
            continue
        if not _may_tell(heard.items, asked):
            continue
        if len(each.about) > 1 and _of_one(said, each, heard.scene):
            continue
        reading = again(_primed(heard.scene, each))
        if _answers(reading, each, asked):
            why = (*reading.reasons, f"read as an answer to: {each.text}")
            fits.append(Fit(each, replace(reading, reasons=why)))
        elif each.key and _denied(heard.items, asked, heard.scene, reading):
            fits.append(_snoozed(each, asked, said, heard.scene))
    return fits


def _of_one(said: Said, told: Told, scene: Scene) -> bool:
    """Whether it tells of one of the reminder's eggs, and not of which."""
    eggs = any(each in scene.view.eggs for each in told.about)
    return said.has("some") or (eggs and said.single and not said.has("all"))


def _may_tell(items: Sequence[Item], asked: Asked) -> bool:
    """Whether some word of it, and no mere figure, tells what the reminder asks for."""
    table = frames()
    words = [e for e in items if e.what == "word" and not e.is_("act", "egg")]
    return any(table.kinds_of(e) & asked.answers for e in words)


def _primed(scene: Scene, told: Told) -> Scene:
    """The scene as if the talk had been of what the reminder is about."""
    tags = tuple(each for each in told.about if each in scene.view.animals)
    slots = tuple(each for each in told.about if each not in tags)
    primed = Scene(scene.view, scene.now, tags=tags if len(tags) == 1 else ())
    primed.told_tags, primed.told_slots = tags, slots
    primed.named = list(tags)
    if told.kind not in ("wet-box", "read-incubator"):
        primed.slots = slots
    if told.place:
        primed.places = (told.place,)
    return primed


def _answers(reading: Reading, told: Told, asked: Asked) -> bool:
    """Whether all that it would write is about the reminder, and answers it."""
    if reading.outcome is not Outcome.RECORDS or reading.offer is not None or reading.request:
        return False
    kinds = asked.answers | asked.also
    return all(
        record.kind in kinds and _within(record, told) for record in reading.records
    ) and any(record.kind in asked.answers for record in reading.records)


def _within(record: Record, told: Told) -> bool:
    if record.kind in ("reading", "watered"):
        return told.place is not None and str(record.get("place")) == told.place
    own = set(told.about)
    return bool(own & set(_subjects_of(record))) and set(_subjects_of(record)) <= own


def _subjects_of(record: Record) -> list[str]:
    """The animals and slots that a record is about; not where eggs were put, nor a young's tag."""
    found: list[str] = []
    for each in KINDS[record.kind].fields:
        value = record.get(each.name)
        if each.type is FieldType.TAG and isinstance(value, str):
            found.append(value)
        elif each.type in _SEVERAL and record.kind != "laid" and each.name != "to":
            found += value or ()
    return found


def _denied(items: Sequence[Item], asked: Asked, scene: Scene, reading: Reading) -> bool:
    """ "haven't pulled him out of there yet", "will weigh her tonight": told as still to do."""
    if reading.outcome is Outcome.RECORDS or len(items) > 10:
        return False
    moods = {each.get("mood") for each in items} - {None, "neutral"}
    if not moods or not moods <= {"neg", "plan"}:
        return False
    table = frames()
    verbs = [e for e in items if e.is_("act") and not e.is_("act", "egg", "find")]
    return bool(verbs) and all(asked.answers & table.kinds_of(e) for e in verbs)


def _named(heard: Heard, told: Sequence[Told], again: Again) -> Reading | None:
    """The ordinary question whom it is about, with those that the reminders named as choices."""
    reading = again(heard.scene)
    ask, table = reading.ask, replies(heard.lexicon.wholes)
    if ask is None or ask.waiting is None or ask.choices or ask.why != "missing":
        return None
    names: list[str] = []
    for each in told:
        asked = table.asks.get(each.kind)
        if asked is not None and ask.waiting.kind in asked.answers | asked.also:
            names += _fitting(ask.about, each, heard.scene)
    choices = tuple(dict.fromkeys(names))[:_MOST]
    return replace(reading, ask=replace(ask, choices=choices)) if choices else None


def _fitting(about: str, told: Told, scene: Scene) -> list[str]:
    """What a reminder names that could stand in a field."""
    if about == "place":
        return [told.place] if told.place and told.kind in ("read-incubator", "wet-box") else []
    if about == "slots":
        return [each for each in told.about if each in scene.view.eggs]
    sexes = {"dam": "female", "female": "female", "male": "male"}
    tags = [each for each in told.about if each in scene.view.animals]
    if about not in ("tag", *sexes):
        return []
    return [each for each in tags if scene.sex(each) == sexes.get(about, scene.sex(each))]
