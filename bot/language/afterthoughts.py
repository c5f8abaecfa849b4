"""What is said on its own after a log and belongs to it: "yesterday", "22.4 sorry", "P2 6"."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bot.language.completing import completed
from bot.language.dates import when_of
from bot.language.drafts import Scene, Span
from bot.language.frames import frames
from bot.language.items import Item
from bot.language.reading import Outcome, Reading, Talk
from bot.records import Record

_BAD_STATES = ("infertile", "dented", "collapsed", "mould")
_SMALL = frozenset({"and", "then", "it", "was", "that", "at", "on", "the", "also", "too", "about"})


def counted_too(bare: Sequence[Item], scene: Scene, talk: Talk) -> Reading | None:
    """ "and P2 6" after a feeding: as many of the same for another."""
    last = talk.last[-1] if talk.last else None
    numbers = [e for e in bare if e.what == "num" and "whole" in e.senses]
    tags = [t for e in bare if e.what == "tag" for t in e.value]
    rest = [e for e in bare if e.what not in ("num", "tag") and e.text.casefold() not in _SMALL]
    if last is None or last.kind != "fed" or len(numbers) != 1 or not tags or rest:
        return None
    record = last.with_fields(who=tuple(tags), count=int(numbers[0].value), refused=None)
    whole, ask = completed(record, scene)
    if ask is not None:
        return Reading(Outcome.ASK, ask=ask, reasons=("the same of another",))
    return Reading(Outcome.RECORDS, (whole,), reasons=("the same of another",))


def day_alone(bare: Sequence[Item], scene: Scene, talk: Talk) -> dict[str, Any]:
    """ "yesterday" or "at 7pm" alone puts right when the last thing was; {} for any other."""
    told = [e for e in bare if e.what in ("date", "time")]
    rest = [e for e in bare if e not in told and e.text.casefold() not in _SMALL]
    if not told or rest or not talk.last or talk.last[-1].kind == "plan":
        return {}
    when = when_of(told, scene.now)
    if when.future or when.wrong:
        return {}
    fields: dict[str, Any] = {"on": when.on} if any(e.what == "date" for e in told) else {}
    return fields | ({"at": when.at} if when.at is not None else {})


def turned(bare: Sequence[Item], talk: Talk) -> list[Item]:
    """The new words of "crickets not dubia", "not P1, P2" and "22.4 sorry"; [] for any other."""
    if not talk.last:
        return []
    if bare[-1].is_("mood", "fix") and len(bare) <= 3 and _values(bare[:-1]) == 1:
        return list(bare[:-1])
    if len(bare) != 3:
        return []
    k = next((n for n, e in enumerate(bare) if e.text.casefold() == "not"), None)
    if k is None or k == 2:
        return []
    new, old = (bare[0], bare[2]) if k == 1 else (bare[2], bare[1])
    same = new.what == old.what and (new.what != "word" or bool(set(new.senses) & set(old.senses)))
    return [new] if same and _said(old, talk.last) else []


def _values(items: Sequence[Item]) -> int:
    return sum(e.what in ("num", "grams", "temp", "pct", "tag", "slot", "place") for e in items)


def _said(item: Item, last: Sequence[Record]) -> bool:
    """True where the last records hold what a piece names."""
    told = {str(v).casefold() for r in last for value in r.fields.values() for v in _each(value)}
    names = item.value if isinstance(item.value, tuple) else (item.value,)
    words = {str(n).casefold() for n in names} | {s.value.casefold() for s in item.senses.values()}
    return bool(words & told)


def _each(value: Any) -> tuple[Any, ...]:
    return value if isinstance(value, tuple) else (value,)


def spoiled_too(bare: Sequence[Item], scene: Scene, talk: Talk) -> dict[str, Any]:
    """ "1 bad", "one of them is bad" after a laying."""
    last = talk.last[-1] if talk.last else None
    if last is None or last.kind != "laid" or not any(_bad(e) for e in bare):
        return {}
    named = any(e.what in ("tag", "slot", "box", "place") for e in bare)
    deeds = any(e.is_("act") and not e.is_("act", "egg") for e in bare if frames().kinds_of(e))
    counts = [int(e.value) for e in bare if e.what == "num" and "whole" in e.senses]
    if named or deeds or len(bare) > 7 or any(e.is_("mood", "neg") for e in bare):
        return {}
    if Span(bare, scene).has("pron", "both"):
        return {"spoiled": last.get("eggs")}
    count = counts[0] if counts else 1 if any(e.text.casefold() == "one" for e in bare) else 0
    return {"spoiled": count} if 0 < count <= (last.get("eggs") or 0) else {}


def _bad(item: Item) -> bool:
    return item.is_("spoil", "bad") or item.is_(
        "state", "infertile", "dented", "collapsed", "mould"
    )
