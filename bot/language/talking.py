"""What a message means in a conversation: an answer, a yes or no, a correction."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bot.language.afterthoughts import counted_too, day_alone, spoiled_too, turned
from bot.language.answer_parts import besides as besides_told
from bot.language.answer_parts import in_parts
from bot.language.codes import near_tags
from bot.language.completing import completed
from bot.language.dates import when_of
from bot.language.drafts import Scene, Span
from bot.language.frames import frames
from bot.language.items import Item
from bot.language.reading import Ask, Outcome, Reading, Request, Talk
from bot.language.wording import Lexicon
from bot.records import KINDS, FieldType, Record

_NUMERIC = frozenset({FieldType.COUNT, FieldType.GRAMS, FieldType.CELSIUS, FieldType.PERCENT})
_ORDINALS = {
    "first": 1,
    "1st": 1,
    "second": 2,
    "2nd": 2,
    "third": 3,
    "3rd": 3,
    "fourth": 4,
    "4th": 4,
    "former": 1,
    "latter": 2,
    "fifth": 5,
    "5th": 5,
    "sixth": 6,
}
_POINTING = frozenset({"the", "one", "#", "option", "choice", "please", "it", "'s", "was", "that"})
_CLASS_OF = {
    "sex": "sex",
    "state": "state",
    "how": "how",
    "sign": "sign",
    "species": "species",
    "food": "food",
}
_OWN_ACTS = frozenset(
    {
        "put",
        "move",
        "at",
        "give",
        "take",
        "took",
        "lay",
        "egg",
        "feed",
        "weigh",
        "find",
        "new",
        "candle",
        "check",
        "hatch",
        "pair",
        "part",
        "sex",
        "out",
        "name",
    }
)


def _bare(items: Sequence[Item]) -> list[Item]:
    return [e for e in items if e.what not in ("stop", "comma") and not e.is_("mood", "neutral")]


def _said(words: Sequence[str]) -> str:
    return " ".join(w for w in words if w.isalnum() or "'" in w)


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


# -- answers ------------------------------------------------------------------------------


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
    rest = [e for e in _bare(items) if e not in told]
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
    value = _value(items, words, scene, question, waiting, word)
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


def _value(
    items: Sequence[Item],
    words: Sequence[str],
    scene: Scene,
    question: Ask,
    waiting: Record,
    word: str | None,
) -> Any:
    """What the message says for the field asked about; None where it says nothing of it."""
    about, choices = question.about, question.choices
    field = None if about in ("on", "at") else KINDS[waiting.kind].field(about)
    said = _said(words)
    numeric = field is not None and field.type in _NUMERIC
    chosen = _chosen(items, said, choices, numeric)
    if chosen is None and word == "yes" and len(choices) == 1:
        chosen = choices[0]
    if chosen is not None:
        return _as_field(chosen, waiting, about, scene)
    if numeric and word in ("no", "neither") and about in ("found", "spoiled"):
        return 0
    boxes = [b for e in items if e.what == "box" for b in e.value]
    boxed = [c for c in choices if len(boxes) == 1 and c.rstrip("0123456789") == boxes[0]]
    if about in ("slots", "to") and len(boxed) == 1:
        return (boxed[0],)
    if word is not None or not _only_answers(items, about, waiting):
        return None
    if about == "on":
        days = [e for e in items if e.what in ("date", "time")]
        return when_of(days, scene.now, ahead=waiting.kind == "plan").on if days else None
    return _from_pieces(items, words, scene, about, waiting)


def _chosen(items: Sequence[Item], said: str, choices: Sequence[str], numeric: bool) -> str | None:
    """A choice by number (from 1), by word, or by a part that only one of them holds."""
    folded = [c.casefold() for c in choices]
    if said in folded:
        return choices[folded.index(said)]
    bare = _bare(items)
    lone = [e for e in bare if not e.is_("slotnoun") and e.text.casefold() not in _POINTING]
    if not numeric and len(lone) == 1 and lone[0].what == "num" and "whole" in lone[0].senses:
        at = int(lone[0].value)
        return choices[at - 1] if 1 <= at <= len(choices) else None
    for word in said.split():
        if word in _ORDINALS and len(said.split()) <= 4 and _ORDINALS[word] <= len(choices):
            return choices[_ORDINALS[word] - 1]
    if len(said.split()) <= 3 and said in ("the last", "last one", "the last one") and choices:
        return choices[-1]
    squeezed = said.replace(" ", "")
    if len(squeezed) > 0 and len(said.split()) <= 3:
        near = [
            c
            for c in choices
            if squeezed == c.casefold().replace(" ", "").replace("°", "")
            or (len(squeezed) > 2 and squeezed in c.casefold().replace(" ", ""))
            or (len(squeezed) == 1 and c.casefold().split()[-1].strip("°") == squeezed)
        ]
        if len(near) == 1:
            return near[0]
    return None


def _as_field(text: str, waiting: Record, about: str, scene: Scene) -> Any:
    """A choice's label as the field's value."""
    if about == "on":
        from datetime import timedelta

        today = scene.now.date()
        return {"today": today, "tomorrow": today + timedelta(days=1)}.get(text.casefold())
    kind = KINDS[waiting.kind].field(about).type
    if kind in (FieldType.SLOTS, FieldType.TAGS, FieldType.WHO, FieldType.ABOUT):
        given = waiting.get(about)
        return given if isinstance(given, tuple) and text in given else (text,)
    if kind is FieldType.CELSIUS:
        from bot.language.numbers import celsius_of

        number, _, unit = text.partition(" ")
        return celsius_of(float(number), "F" if "F" in unit else "C")
    if kind in _NUMERIC:
        return int(text) if text.isdigit() else None
    return text


def _only_answers(items: Sequence[Item], about: str, waiting: Record) -> bool:
    """True where the message holds no telling of its own beside the answer."""
    table = frames()
    hearts = [e for e in items if table.kinds_of(e)]
    for each in hearts:
        if each.what in ("grams", "temp", "pct", "num"):
            continue
        if about in ("tag", "tags") and waiting.kind in ("animal", "hatched") and each.is_("sex"):
            continue
        if each.is_(_CLASS_OF.get(about, "-")) or waiting.kind in table.kinds_of(each):
            continue
        if each.is_("act", *_OWN_ACTS) and about in ("slots", "to", "place"):
            continue
        return False
    tags = sum(e.what == "tag" for e in items)
    return not (
        tags and hearts and about not in ("tag", "dam", "who", "male", "female", "tags", "sire")
    )


def _from_pieces(
    items: Sequence[Item], words: Sequence[str], scene: Scene, about: str, waiting: Record
) -> Any:
    field = KINDS[waiting.kind].field(about)
    span = Span(items, scene)
    kind = field.type
    if kind is FieldType.TAG:
        tags = [t for e in span.animals() for t in span.tag_names(e)]
        return tags[0] if len(tags) == 1 else None
    if kind in (FieldType.TAGS, FieldType.ABOUT):
        return tuple(t for e in span.animals() for t in span.tag_names(e)) or None
    if kind is FieldType.WHO:
        tags = [t for e in span.animals() for t in span.tag_names(e)]
        tags += [name for name, _ in span.place_names()]
        return tuple(tags) or (("everyone",) if span.has("everyone") else None)
    if kind is FieldType.SLOTS:
        return _slots(span, waiting, about)
    if kind is FieldType.PLACE:
        places = [name for name, _ in span.place_names()]
        return places[-1] if places else None
    if kind in _NUMERIC:
        return _number(span, kind)
    if kind in (FieldType.CHOICE, FieldType.SPECIES):
        item = span.first(_CLASS_OF.get(about, about))
        return item.get(_CLASS_OF.get(about, about)) if item else None
    if kind is FieldType.TEXT:
        return " ".join(e.text for e in items if e.what != "stop") or None
    if kind is FieldType.WORD:
        food = span.first("food")
        if about == "food":
            return food.get("food") if food else None
        boxes = [b for e in span.what("box") for b in e.value]
        if about == "box":
            return boxes[0] if boxes else (words[0].upper() if len(words) == 1 else None)
        return " ".join(e.text for e in _bare(items)) if len(_bare(items)) <= 3 else None
    return None


def _slots(span: Span, waiting: Record, about: str) -> tuple[str, ...] | None:
    """Slots said in full, or numbers alone, which take the box in question."""
    slots: list[str] = []
    for item in span.slot_items():
        slots += span.slot_names(item)
    if not slots:
        slots = [f"?{int(n.value)}" for n in span.numbers(whole=True)]
    known = [
        s for s in (*(waiting.get("slots") or ()), *span.scene.told_slots) if not s.startswith("?")
    ]
    boxes = span.view.boxes
    sole = next(iter(boxes)) if len(boxes) == 1 else ""
    box = known[0].rstrip("0123456789") if known else sole
    return tuple(f"{box}{s[1:]}" if s.startswith("?") and box else s for s in slots) or None


def _number(span: Span, kind: FieldType) -> Any:
    wanted = {
        FieldType.GRAMS: ("grams", "num"),
        FieldType.CELSIUS: ("temp", "num"),
        FieldType.PERCENT: ("pct", "num"),
        FieldType.COUNT: ("num",),
    }[kind]
    found = [e for e in span.items if e.what in wanted]
    if len(found) != 1:
        if kind is FieldType.COUNT and not found and span.has("mood", "neg"):
            return 0
        return None
    item = found[0]
    if kind is FieldType.CELSIUS and item.what == "num":
        from bot.language.numbers import celsius_of

        return celsius_of(float(item.value), None)
    if kind in (FieldType.GRAMS, FieldType.CELSIUS):
        return round(float(item.value), 1) if item.value is not None else None
    return int(item.value)


# -- corrections and repeats --------------------------------------------------------------


def correction(
    items: Sequence[Item], words: Sequence[str], scene: Scene, talk: Talk, lexicon: Lexicon
) -> Reading | None:
    """The reading of a message that puts the last record right, or says the same of another
    animal; None where it does neither."""
    bare = [e for e in _bare(items) if not (e.what == "num" and e.text.casefold() == "one")]
    if not bare or len(bare) > 14:
        return None
    again = _again(bare, scene, talk)
    if again is not None:
        return again
    if talk.question is None:
        more = counted_too(bare, scene, talk)
        if more is not None:
            return more
    later = day_alone(bare, scene, talk) or spoiled_too(bare, scene, talk)
    new = turned(bare, talk)
    if not later and not new and not (_opens_fix(bare) and _no_stands_apart(items)):
        return None
    fields = later or _put_right(new or bare, scene, talk)
    if not fields:
        return None
    return Reading(
        Outcome.REQUEST,
        request=Request("correct", fields),
        reasons=(f"puts right what was said before: {', '.join(fields)}",),
    )


_OPENERS = frozenset(
    {
        "no",
        "nope",
        "not",
        "sorry",
        "actually",
        "that",
        "it",
        "make",
        "change",
        "wrong",
        "oops",
        "should",
        "this",
        "those",
        "they",
        "nah",
        "date",
        "on",
    }
)


def _opens_fix(bare: Sequence[Item]) -> bool:
    first = bare[0]
    if first.is_("mood", "fix"):
        return True
    if first.text.casefold() in ("no", "nope", "nah", "actually"):
        return len(bare) > 1
    said = " ".join(e.text.casefold() for e in bare[:4])
    return said.startswith(
        (
            "that was",
            "that 's",
            "it was",
            "this was",
            "that is",
            "they were",
            "those were",
            "it 's",
            "make it",
            "make that",
            "make him",
            "make her",
            "should be",
            "should have been",
            "change it",
            "change that",
            "change the",
            "not that",
            "that should",
            "it should",
            "wrong",
            "correct that",
            "correct the",
            "that happened",
            "it happened",
            "that one was",
            "fix that",
            "fix the",
            "put that",
        )
    )


def _no_stands_apart(items: Sequence[Item]) -> bool:
    """ "no, it was F6" and "no F6" put right; "no eggs in F6" tells."""
    if items[0].text.casefold() not in ("no", "nope", "nah"):
        return True
    return len(items) > 1 and (
        items[1].what != "word"
        or items[1].is_("mood", "fix")
        or items[1].is_("pron")
        or (items[1].is_("prep", "with") and len(items) > 2 and items[2].what == "tag")
        or items[1].text.casefold()
        in ("not", "that", "make", "sorry", "box", "slot", "should", "'s", "no")
        or (len(items) <= 3 and any(items[1].is_(cls) for cls in ("state", "sex", "sign", "how")))
    )


def _put_right(bare: Sequence[Item], scene: Scene, talk: Talk) -> dict[str, Any]:
    """The fields put right, by their names in the record that was written last."""
    kept: list[Item] = []
    skip = False
    for n, item in enumerate(bare):
        if skip and item.what in ("tag", "slot", "num", "grams", "place", "date"):
            skip = False
            continue
        denies = item.text.casefold() == "not" and n > 0
        skip = denies
        if not denies:
            kept.append(item)
    table = frames()
    last_kinds = {r.kind for r in talk.last}
    hearts = [e for e in kept if table.kinds_of(e) and e.what == "word"]
    for each in hearts:
        if any(each.is_(cls) for cls in _CLASS_OF.values()) or each.is_("fed", "dusted", "refused"):
            continue
        if not (table.kinds_of(each) & last_kinds) and not each.is_(
            "act", "egg", "put", "at", "leave"
        ):
            return {}
        if not last_kinds and not each.is_("act", "egg", "put", "at"):
            return {}
    span = Span(kept, scene)
    fields: dict[str, Any] = {}
    _right_when(fields, kept, scene, talk)
    _right_names(fields, span, talk)
    _right_words(fields, span)
    _right_numbers(fields, span, talk)
    return fields


def _right_when(fields: dict[str, Any], kept: Sequence[Item], scene: Scene, talk: Talk) -> None:
    told = [e for e in kept if e.what in ("date", "time")]
    if not told:
        return
    plan = bool(talk.last) and talk.last[-1].kind == "plan"
    when = when_of(told, scene.now, ahead=plan)
    if any(e.what == "date" for e in told) or not plan:
        fields["on"] = when.on
    if when.at is not None:
        fields["at"] = when.at
        if not any(e.what == "date" for e in told):
            fields.pop("on", None)


def _last_with(talk: Talk, *names: str) -> tuple[Record, str] | None:
    for record in reversed(talk.last):
        for name in names:
            if any(f.name == name for f in KINDS[record.kind].fields):
                return record, name
    return None


def _right_names(fields: dict[str, Any], span: Span, talk: Talk) -> None:
    for item in span.items:
        if item.what == "tag":
            for tag in span.tag_names(item):
                fields[_tag_field(tag, span, talk)] = tag
        elif item.what == "place":
            name = item.value if isinstance(item.value, str) else item.value[-1]
            found = _last_with(talk, "place", "who")
            fields[found[1] if found else "place"] = (
                (name,) if found and found[1] == "who" else name
            )
        elif item.what == "box" and not span.what("slot"):
            found = _last_with(talk, "place")
            if found or not talk.last:
                fields["place"] = f"box {item.value[0]}"
            else:
                slots = [s for r in talk.last for s in r.get("slots") or ()]
                if slots:
                    fields["slots"] = tuple(
                        item.value[0] + s[len(s.rstrip("0123456789")) :] for s in slots
                    )
    slots = [s for e in span.items if e.what == "slot" for s in span.slot_names(e)]
    if slots:
        found = _last_with(talk, "to", "slots")
        known = [s for r in talk.last for s in (*(r.get("to") or ()), *(r.get("slots") or ()))]
        box = known[0].rstrip("0123456789") if known else ""
        fields[found[1] if found else "slots"] = tuple(
            (box or "") + s[1:] if s.startswith("?") else s for s in slots
        )
    for name in ("who", "tags"):
        if name in fields and isinstance(fields[name], str):
            fields[name] = (fields[name],)


def _tag_field(tag: str, span: Span, talk: Talk) -> str:
    sex = span.scene.sex(tag)
    names = (
        ("dam", "female", "tag", "who", "tags")
        if sex == "female"
        else (("male", "tag", "who", "tags") if sex == "male" else ("tag", "tags", "dam", "who"))
    )
    found = _last_with(talk, *names)
    if found is None:
        return "tag"
    record, name = found
    if record.kind in ("paired", "parted"):
        return "male" if sex == "male" else "female"
    if record.kind == "hatched" and span.view.animals.get(tag) is None:
        return "tags"
    return name


def _right_words(fields: dict[str, Any], span: Span) -> None:
    for name, cls in _CLASS_OF.items():
        item = span.first(cls)
        if item is not None and item.get(cls) not in ("unsure", "unclear"):
            fields[name] = item.get(cls)
    for flag in ("dusted", "refused"):
        if span.has("fed", flag):
            fields[flag] = not span.has("mood", "neg") or flag == "refused"


def _right_numbers(fields: dict[str, Any], span: Span, talk: Talk) -> None:
    for item in span.items:
        if item.what == "grams":
            fields["grams"] = item.value
        elif item.what == "temp" and item.value is not None:
            fields["celsius"] = item.value
        elif item.what == "pct":
            fields["humidity"] = round(item.value)
        elif item.what == "num":
            _right_number(fields, item, span, talk)


def _right_number(fields: dict[str, Any], item: Item, span: Span, talk: Talk) -> None:
    whole = "whole" in item.senses
    if not whole:
        found = _last_with(talk, "grams", "celsius")
        name = found[1] if found else "grams"
        fields[name] = round(float(item.value), 1)
        return
    if span.items and any(e.is_("spoil", "bad") or e.is_("state", "infertile") for e in span.items):
        fields.pop("state", None)
        fields["spoiled"] = int(item.value)
        return
    slotted = _last_with(talk, "eggs", "count", "found", "grams", "celsius", "slots")
    name = slotted[1] if slotted else "eggs"
    if name == "slots":
        box = next((s.rstrip("0123456789") for r in talk.last for s in r.get("slots") or ()), "")
        fields["slots"] = (f"{box}{int(item.value)}",)
    else:
        fields[name] = float(item.value) if name in ("grams", "celsius") else int(item.value)


def _again(bare: Sequence[Item], scene: Scene, talk: Talk) -> Reading | None:
    """ "and F7 too", "same for F7": the last records, said of another animal, slot or place."""
    if not talk.last or not any(e.is_("answer", "same") for e in bare):
        return None
    table = frames()
    if any(table.kinds_of(e) and e.what != "num" for e in bare):
        return None
    span = Span(bare, scene)
    tags = [t for e in span.animals() for t in span.tag_names(e)]
    slots = [s for e in span.items if e.what == "slot" for s in span.slot_names(e)]
    places = [name for name, _ in span.place_names()]
    if not (tags or slots or places):
        return None
    return repeated(list(talk.last), tags, slots, places, scene)


def repeated(
    last: Sequence[Record],
    tags: Sequence[str],
    slots: Sequence[str],
    places: Sequence[str],
    scene: Scene,
) -> Reading | None:
    """The last record that fits, once for each animal, slot or place named."""
    for record in reversed(last):
        made = [each for each in _copies(record, tags, slots, places, scene) if each is not None]
        if not made:
            continue
        done: list[Record] = []
        for each in made:
            whole, ask = completed(each, scene)
            if ask is not None:
                return Reading(Outcome.ASK, tuple(done), ask=ask, reasons=("the same of another",))
            done.append(whole)
        return Reading(Outcome.RECORDS, tuple(done), reasons=("the same of another",))
    return None


def _copies(
    record: Record, tags: Sequence[str], slots: Sequence[str], places: Sequence[str], scene: Scene
) -> list[Record | None]:
    names = {f.name for f in KINDS[record.kind].fields}
    out: list[Record | None] = []
    for tag in tags:
        if record.kind == "paired":
            side = "male" if scene.sex(tag) == "male" else "female"
            out.append(record.with_fields(**{side: tag}))
        elif record.kind == "parted":
            side, other = ("male", "female") if scene.sex(tag) == "male" else ("female", "male")
            out.append(record.with_fields(**{side: tag, other: None}))
        elif "who" in names:
            out.append(record.with_fields(who=(tag,)))
        elif "dam" in names and record.kind == "laid":
            out.append(record.with_fields(dam=tag, slots=None, spoiled=None))
        elif "tag" in names and record.kind != "animal":
            out.append(record.with_fields(tag=tag, grams=None))
    if slots and "slots" in names and record.kind not in ("laid", "shifted"):
        out.append(record.with_fields(slots=tuple(slots), tags=None, young=None))
    for place in places:
        if "who" in names:
            out.append(record.with_fields(who=(place,)))
        elif record.kind == "watered":
            out.append(record.with_fields(place=place))
    return out
