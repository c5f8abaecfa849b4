"""Fills requests about people: who stands in and how long, whose role changes, which book."""

from __future__ import annotations

import itertools
from datetime import date
from typing import Any

from bot.language.asked import Asked
from bot.language.dates import HourHint, clock_time, resolve
from bot.language.items import Item
from bot.language.spans import stretch_of

_OWN = frozenset({"my", "our", "the", "with"})
_NOT_A_NAME = frozenset({"i", "ok", "okay", "hi", "hey", "please", "so", "and", "book", "geckos"})
_NO_NAMES = ("act", "pron", "prep", "chat", "fed", "food", "weekday", "mood", "period")
_PART_ENDS = {"morning": 12, "afternoon": 18, "evening": 20}


def standin(asked: Asked) -> dict[str, Any] | None:
    """`who` in their own words, `from` and `until` as local days or moments; "now" for "I'm back".

    A day with no hour stands for the whole of it.
    """
    if asked.has("imback"):
        return {"until": "now"}
    fields: dict[str, Any] = {}
    who = person(asked)
    if who:
        fields["who"] = who
    first, last = _ends(asked)
    if first is not None:
        fields["from"] = first
    if last is not None:
        fields["until"] = last
    return fields


def role(asked: Asked) -> dict[str, Any] | None:
    """`who` and the `role` they get; "none" takes it back. None where nobody is named."""
    who = person(asked)
    given = "none"
    if not asked.has("revoke"):
        given = next(
            (to for cue, to in ROLES if asked.has(cue)),
            "",
        )
    return {"who": who, "role": given} if who and given else None


ROLES = (("watcher", "watcher"), ("helper", "helper"), ("keepercue", "keeper"))


def household(asked: Asked) -> dict[str, Any]:
    """`which` book in the words used, without "book"; empty where it is asked which one."""
    if not asked.has("bookswitch"):
        return {"which": ""}
    words = [
        e.text
        for e in asked.items
        if e.i not in asked.cued
        and e.what != "comma"
        and e.text.casefold() not in ("the", "my", "book", "please", "pls", "to", "of", "other")
        and not e.is_("chat")
    ]
    return {"which": " ".join(words).replace(" 's", "'s").strip()}


def person(asked: Asked) -> str:
    """Whom a sentence names that is no animal: "my sister" is "sister"; "" where nobody is."""
    items = [e for e in asked.items if e.what in ("word", "tag")]
    for one, two in itertools.pairwise(items):
        if one.text.casefold() in _OWN and _nameable(two, asked) and not two.is_("prep"):
            return two.text.removesuffix("'s")
    owned = [e for e in items if _owned_kin(e)]
    if owned:
        return owned[0].text.split()[-1].removesuffix("'s")
    able = [e for e in items if _nameable(e, asked)]
    named = [e for e in able if e.text[:1].isupper() and not (_first(e, asked) and e.sure)]
    named += [e for e in able if _strange(e)]
    if named:
        return named[0].text.removesuffix("'s")
    called = [e for e in items if e.what == "tag" and e.text.isalpha()]
    return called[0].text if called else ""


def _owned_kin(item: Item) -> bool:
    """ "my friend", which the words files hold as one piece."""
    words = item.text.casefold().split()
    return item.what == "word" and len(words) == 2 and words[0] in ("my", "our", "the")


def _nameable(item: Item, asked: Asked) -> bool:
    word = item.text.casefold()
    return (
        item.what == "word"
        and item.i not in asked.cued
        and word.isalpha()
        and word not in _NOT_A_NAME
        and (not any(item.is_(c) for c in _NO_NAMES) or (not item.sure and item.text[:1].isupper()))
    )


def _first(item: Item, asked: Asked) -> bool:
    return item.i == asked.items[0].i


def _strange(item: Item) -> bool:
    """True for a word with no sense of its own, as most names are."""
    return not set(item.senses) - {"plain", "soundletter", "soundnumber"} and (
        not item.senses or item.text.casefold() in _KIN
    )


_KIN = frozenset(
    {
        *("mum", "mom", "dad", "grandma", "grandad", "granny", "gran", "nana", "sister", "brother"),
        *("wife", "husband", "daughter", "son", "niece", "nephew", "aunt", "uncle", "neighbour"),
        *("partner", "girlfriend", "boyfriend", "friend", "flatmate", "cousin", "mother", "father"),
    }
)


def _ends(asked: Asked) -> tuple[str | None, str | None]:
    """The first and the last moment told, as ISO local days or date-times."""
    now = asked.scene.now
    today = now.date()
    told = [e for e in asked.items if e.what in ("date", "time", "span")]
    stretch = stretch_of(asked.items, today)
    if stretch is None:
        return None, None
    days = [e for e in told if e.what == "date"]
    until_only = len(days) == 1 and _led(asked, days[0], "until")
    from_only = len(days) == 1 and _led(asked, days[0], "from")
    first: date | None = stretch[0]
    last: date | None = stretch[1]
    if len(days) == 2:
        first = resolve(days[0].value, today, True) or first
        last = resolve(days[1].value, first or today, True) or last
    if until_only:
        first = None
    if from_only:
        last = None
    return _moment(asked, days[:1], first, False), _moment(asked, days[-1:], last, True)


def _moment(asked: Asked, days: list[Item], day: date | None, ends: bool) -> str | None:
    if day is None:
        return None
    if not days:
        return day.isoformat() if ends else f"{day.isoformat()}T00:00"
    at = _hour(asked, days[0], day)
    if at:
        return f"{day.isoformat()}T{at}"
    k = asked.span.index(days[0])
    words = " ".join(e.text for e in asked.items[k : k + 2]).casefold()
    part = next((hour for name, hour in _PART_ENDS.items() if name in words), None)
    if ends and part:
        return f"{day.isoformat()}T{part:02d}:00"
    return day.isoformat() if ends else f"{day.isoformat()}T00:00"


def _hour(asked: Asked, told: Item, day: date) -> str:
    """The hour told with a day: after it, or else right ahead of it."""
    k = asked.span.index(told)
    after: list[Item] = []
    for each in asked.items[k + 1 : k + 4]:
        if each.what in ("date", "span"):
            break
        after.append(each)
    for each in (*after, *asked.items[max(0, k - 2) : k]):
        if each.what == "time" and isinstance(each.value, HourHint) and each.value.ago is None:
            at = clock_time(each.value, each.get("daypart"), asked.scene.now, day, True)
            return f"{at:%H:%M}"
    return ""


def _led(asked: Asked, item: Item, by: str) -> bool:
    k = asked.span.index(item)
    lead = asked.items[k - 1].text.casefold() if k else ""
    words = {"until": ("until", "till", "til", "by", "to"), "from": ("from", "starting", "since")}
    return lead in words[by]
