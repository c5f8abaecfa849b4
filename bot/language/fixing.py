"""Applies what a keeper puts right in the same breath: "sorry tub 16", "I mean F7"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bot.language.items import Item

_SWAPPED = ("sign", "state", "sex", "how", "food", "species")
_WEAK = frozenset({"actually", "no", "nope", "not", "wait", "or rather", "rather", "edit"})
_SAME = {
    "grams": ("grams", "num"),
    "num": ("num", "grams", "temp", "pct"),
    "temp": ("temp", "num"),
    "pct": ("pct", "num"),
    "slot": ("slot",),
    "tag": ("tag",),
    "place": ("place",),
    "box": ("box", "slot"),
    "date": ("date",),
    "time": ("time",),
}


def fixed(items: Sequence[Item], sex_of: dict[str, str]) -> tuple[list[Item], bool]:
    """The pieces with each correction put in place of what it corrects.

    The second value is true where the message begins with a correction of something said before.
    """
    out = list(items)
    k = 0
    opens = False
    while k < len(out):
        if not _is_fix(out, k):
            k += 1
            continue
        if not any(e.what not in ("stop", "comma", "joint") and not e.is_("chat") for e in out[:k]):
            opens = opens or out[k].is_("mood", "fix")
            k += 1
            continue
        found = _replacement(out, k, sex_of)
        if found is None:
            k += 1
            continue
        out, k = found
    return out, opens


def _is_fix(items: Sequence[Item], k: int) -> bool:
    item = items[k]
    if item.is_("mood", "fix"):
        return True
    if item.text.casefold() not in _WEAK:
        return False
    after = items[k + 1] if k + 1 < len(items) else None
    if after is None or after.what not in _SAME:
        return False
    if item.text.casefold() in ("not",):
        return False
    before = [e for e in items[:k] if e.what not in ("comma", "stop", "date", "time")]
    return (
        bool(before)
        and before[-1].what in _SAME[after.what]
        and (
            k + 2 >= len(items)
            or items[k + 2].what in ("stop", "comma", "joint", "date")
            or items[k + 2].text.casefold() in ("not", "sorry", "actually", "eggs", "g")
        )
    )


def _replacement(
    items: list[Item], k: int, sex_of: dict[str, str]
) -> tuple[list[Item], int] | None:
    """Finds the piece that the words after the correction at `k` stand for, and replaces it."""
    at = k + 1
    while at < len(items) and (
        items[at].what in ("comma", "stop")
        or (
            items[at].what == "word"
            and not any(items[at].is_(c) for c in _SWAPPED)
            and not items[at].is_("act")
            and at - k < 6
            and items[at].value is None
        )
    ):
        at += 1
    if at >= len(items):
        return None
    new = items[at]
    if new.is_("act") and new.what == "word":
        return _whole_clause(items, k, at)
    old = _corrected(items, k, new, sex_of)
    if old is None:
        return None
    end = at + 1
    if _retold(items, k, end):
        rest = items[end:]
        if any(e.what in ("num", "slot", "grams", "place") for e in rest) or new.what != "tag":
            return _whole_clause(items, k, at)
        end = next((n for n in range(end, len(items)) if items[n].what == "stop"), len(items))
    put = _merged(items[old], new)
    if end < len(items) and items[end].text.casefold() == "not":  # "sorry F7 not F3"
        end += 2
    start = k
    while (start > 0 and items[start - 1].what in ("comma", "stop")) or (
        start > 0
        and items[start - 1].text.casefold()
        in ("no", "oh", "oops", "ah", "er", "erm", "um", "argh")
    ):
        start -= 1
    return [*items[:old], put, *items[old + 1 : start], *items[end:]], start


def _merged(old: Item, new: Item) -> Item:
    """The new piece in the old one's sort: 20.4 after 21.4g is grams."""
    if new.what == "num" and old.what in ("grams", "pct"):
        return replace(new, what=old.what, unit=old.unit, senses={})
    if new.what == "num" and old.what == "temp":
        from bot.language.numbers import celsius_of

        return replace(
            new,
            what="temp",
            value=celsius_of(float(new.value), old.unit or None),
            unit=old.unit,
            senses={},
        )
    return new


def _corrected(items: Sequence[Item], k: int, new: Item, sex_of: dict[str, str]) -> int | None:
    """Where the piece corrected stands: the nearest before of the same sort (and, for an animal,
    of the same sex)."""
    fallback = None
    for at in range(k - 1, max(-1, k - 16), -1):
        old = items[at]
        if new.what == "word":
            if any(new.is_(c) and old.is_(c) for c in _SWAPPED):
                return at
            continue
        if old.what not in _SAME.get(new.what, ()):
            continue
        if new.what != "tag":
            if (
                new.what == "num"
                and old.what == "num"
                and ("whole" in new.senses) != ("whole" in old.senses)
                and fallback is None
            ):
                fallback = at
                continue
            return at
        if sex_of.get(old.value[0]) == sex_of.get(new.value[0]):
            return at
        fallback = at if fallback is None else fallback
    return fallback


def _retold(items: Sequence[Item], k: int, end: int) -> bool:
    """True where the same verb is said again after the correction."""
    said = {e.get("act") for e in items[:k] if e.is_("act")}
    for item in items[end:]:
        if item.what in ("stop", "comma"):
            break
        if item.is_("act") and item.get("act") in said and item.get("act") != "egg":
            return True
    return False


def _whole_clause(items: list[Item], k: int, at: int) -> tuple[list[Item], int] | None:
    """Drops the clause before a correction that tells the whole thing anew."""
    said = {e.get("act") for e in items[:k] if e.is_("act")}
    after = {e.get("act") for e in items[k + 1 :] if e.is_("act")}
    if not said & after:
        return None
    last = max(n for n in range(k) if items[n].is_("act") and items[n].get("act") in after)
    start = last
    while start > 0 and items[start - 1].what not in ("stop", "comma", "joint"):
        start -= 1
    return [*items[:start], *items[k + 1 :]], start
