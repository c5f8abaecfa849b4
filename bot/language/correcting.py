"""What a message puts right of the record written last."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bot.language.afterthoughts import counted_too, day_alone, spoiled_too, turned
from bot.language.bare import CLASS_OF, bare_pieces
from bot.language.dates import when_of
from bot.language.drafts import Scene, Span
from bot.language.frames import frames
from bot.language.items import Item
from bot.language.reading import Outcome, Reading, Request, Talk
from bot.language.repeating_last import again
from bot.language.wording import Lexicon
from bot.records import KINDS, Record


def correction(
    items: Sequence[Item], words: Sequence[str], scene: Scene, talk: Talk, lexicon: Lexicon
) -> Reading | None:
    """The reading of a message that puts the last record right, or says the same of another
    animal; None where it does neither."""
    bare = [e for e in bare_pieces(items) if not (e.what == "num" and e.text.casefold() == "one")]
    if len(bare) > 2 and bare[0].word == "oh" and bare[1].is_("mood", "fix"):  # "oh no, it was F6"
        bare = bare[1:]
    if not bare or len(bare) > 14:
        return None
    repeated = again(bare, scene, talk)
    if repeated is not None:
        return repeated
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
    """ "no, it was F6" and "no F6" put right; "no eggs in F6" and "no mould on B1" tell."""
    if items[0].text.casefold() not in ("no", "nope", "nah"):
        return True
    return len(items) > 1 and (
        items[1].what != "word"
        or items[1].is_("mood", "fix")
        or items[1].is_("pron")
        or (items[1].is_("prep", "with") and len(items) > 2 and items[2].what == "tag")
        or items[1].text.casefold()
        in ("not", "that", "make", "sorry", "box", "slot", "should", "'s", "no")
        or (
            len(items) <= 3
            and any(items[1].is_(cls) for cls in ("state", "sex", "sign", "how"))
            and not any(each.what in ("tag", "slot", "box", "place") for each in items)
        )
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
        if any(each.is_(cls) for cls in CLASS_OF.values()) or each.is_("fed", "dusted", "refused"):
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
    for name, cls in CLASS_OF.items():
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
