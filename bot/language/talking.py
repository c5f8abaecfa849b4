"""What a message means in a conversation: an answer to the open question or offer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bot.language.answer_parts import besides as besides_told
from bot.language.answer_parts import in_parts
from bot.language.answer_values import value_of
from bot.language.bare import bare_pieces
from bot.language.codes import near_tags
from bot.language.completing import completed
from bot.language.dates import when_of
from bot.language.drafts import Scene
from bot.language.items import Item
from bot.language.reading import Ask, Outcome, Reading, Talk
from bot.language.wording import Lexicon
from bot.records import KINDS, FieldType, Record


def _answer_word(words: Sequence[str], lexicon: Lexicon) -> str | None:
    """yes, no, neither or forget, where the message is little else."""
    said = tuple(w for w in words if w.isalnum() or "'" in w)
    if not said or len(said) > 6:
        return None
    for phrase, senses in lexicon.phrases.get(said[0], ()):
        if said[: len(phrase)] != phrase:
            continue
        rest = said[len(phrase) :]
        for sense in senses:
            if (
                sense.cls == "answer"
                and sense.value != "same"
                and all(_filler(w, lexicon) for w in rest)
            ):
                return sense.value
    return None


def _filler(word: str, lexicon: Lexicon) -> bool:
    return (
        bool(lexicon.single(word))
        and all(s.cls in ("chat", "answer", "plain", "pron", "mood") for s in lexicon.single(word))
        and (word not in ("wait", "sorry"))
    )


def answer(
    items: Sequence[Item], words: Sequence[str], scene: Scene, talk: Talk, lexicon: Lexicon
) -> Reading | None:
    """The reading of a message that answers the open question or offer; None where it does not."""
    word = _answer_word(words, lexicon)
    if talk.question is not None:
        written = talk.question.waiting in talk.last
        found = _to_question(items, words, scene, talk.question, word, written)
        if found is not None:
            return found
    if talk.offer is not None:
        return _to_offer(items, scene, talk.offer, word)
    return None


def _to_offer(
    items: Sequence[Item], scene: Scene, offer: Record, word: str | None
) -> Reading | None:
    told = [e for e in items if e.what in ("date", "time")]
    rest = [e for e in bare_pieces(items) if e not in told]
    agreed = word == "yes" or bool(
        told and rest and rest[0].is_("answer", "yes") and len(rest) <= 4
    )
    if agreed:
        if told:
            when = when_of(told, scene.now, ahead=offer.kind == "plan")
            days = any(e.what == "date" for e in told)
            offer = offer.with_fields(on=when.on if days else offer.on, at=when.at or offer.at)
        return Reading(
            Outcome.RECORDS, (offer,), answers=True, reasons=("yes to the reminder offered",)
        )
    if word in ("no", "neither", "forget"):
        return Reading(Outcome.CHAT, answers=True, reasons=("no to the reminder offered",))
    return None


def _to_question(
    items: Sequence[Item],
    words: Sequence[str],
    scene: Scene,
    question: Ask,
    word: str | None,
    written: bool,
) -> Reading | None:
    """`written` is true where the record is in the book, but for what the question is about."""
    waiting = question.waiting
    if waiting is None:
        return None
    if _tells_otherwise(items, question, waiting):
        return None
    told = in_parts(items, scene, question) if word is None else None
    if told is not None:
        return told
    value = value_of(items, words, scene, question, waiting, word)
    if value is None:
        if word in ("neither", "forget") or (word == "no"):
            return Reading(Outcome.CHAT, answers=True, reasons=("the question is dropped",))
        return None
    changes = {question.about: value}
    if question.about == "who":
        changes = {"who": (value,) if isinstance(value, str) else value}
        strange = _stranger(items, changes["who"], scene)
        if strange:
            again = Ask("who", near_tags(strange, scene.view), waiting, "unknown-tag", strange)
            return Reading(Outcome.ASK, ask=again, answers=True, reasons=("an unknown tag",))
    record = waiting.with_fields(**changes)
    record = record.with_fields(**besides_told(items, question, record, scene))
    besides = _besides(items, question, record)
    record, ask = completed(record, scene)
    if ask is not None and not (written and ask.about != question.about):
        return Reading(
            Outcome.ASK, ask=ask, answers=True, reasons=(f"{question.about} told, more wanted",)
        )
    why = (f"answers {question.about}",)
    if besides is not None and record.kind == "animal":
        record = record.with_fields(**besides)
    elif besides is not None and besides.get("sex"):
        sexes = [e.get("sex") for e in items if e.is_("sex")]
        tags = tuple(record.get("tags") or ())
        each = sexes if len(sexes) == len(tags) else [besides["sex"]] * len(tags)
        sexed = (
            Record("sexed", record.on, None, {"tag": tag, "sex": sex})
            for tag, sex in zip(tags, each, strict=True)
        )
        return Reading(Outcome.RECORDS, (record, *sexed), answers=True, reasons=why)
    return Reading(Outcome.RECORDS, (record,), answers=True, reasons=why)


def _tells_otherwise(items: Sequence[Item], question: Ask, waiting: Record) -> bool:
    """True for a log of its own: a measure beside a name, other than the one that waits.

    "F3 22.8g" is no answer to "There is no H1 in the book" about "H1 1.1g".
    """
    about = question.about
    field = None if about in ("on", "at") else KINDS[waiting.kind].field(about)
    if field is None or field.type not in (FieldType.TAG, FieldType.WHO, FieldType.TAGS):
        return False
    known = {float(v) for v in waiting.fields.values() if isinstance(v, int | float)}
    told = [e for e in items if e.what in ("grams", "temp", "pct", "num")]
    if not told or not any(e.what in ("tag", "slot", "place") for e in items):
        return False
    return any(e.value is not None and float(e.value) not in known for e in told) or any(
        e.what == "grams" for e in told
    )


def _stranger(items: Sequence[Item], who: Sequence[str], scene: Scene) -> str:
    """The first tag among those fed that the book does not know."""
    told = {tag for e in items if e.what == "tag" for tag in e.value}
    return next((each for each in who if each in told and each not in scene.view.animals), "")


def _besides(items: Sequence[Item], question: Ask, record: Record) -> dict[str, Any] | None:
    """The sex told along with a newcomer's tag: "H40 and it's a male"."""
    tagged = (record.kind, question.about) in (("animal", "tag"), ("hatched", "tags"))
    sex = next((e.get("sex") for e in items if e.is_("sex")), None)
    if not tagged or sex is None or (record.kind == "animal" and record.get("sex")):
        return None
    return {"sex": sex}
