"""The one place for all words that people read: sentences by key, dates, units, lists.

The words stand in `en.toml` (days, units, plurals) and `en/*.toml`, one file a subject, so that
they are consistent and can be translated. A key is dotted ("ask.missing.slots"); a table with
`one` and `many` is a plural, chosen by the value `n`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time
from functools import cache
from pathlib import Path
from typing import Any

_FILE = Path(__file__).with_name("en.toml")
GRAMS_PER_OUNCE = 28.349523125
"""The international avoirdupois ounce, exact by definition (1959 agreement)."""


@cache
def words() -> Mapping[str, Any]:
    """All words, read once. Raises ValueError where two files have the same table."""
    found: dict[str, Any] = {}
    for path in (_FILE, *sorted(_FILE.with_suffix("").glob("*.toml"))):
        with path.open("rb") as file:
            tables = tomllib.load(file)
        twice = found.keys() & tables.keys()
        if twice:
            raise ValueError(f"{path.name}: {', '.join(sorted(twice))} stands in another file, too")
        found |= tables
    return found


def lookup(key: str) -> Any:
    """What stands under a dotted key, or None."""
    found: Any = words()
    for part in key.split("."):
        if not isinstance(found, Mapping) or part not in found:
            return None
        found = found[part]
    return found


def known(*keys: str) -> str:
    """The first of these keys that the file has. Raises KeyError where it has none."""
    for key in keys:
        if lookup(key) is not None:
            return key
    raise KeyError(f"no words for {', '.join(keys)}")


def say(key: str, **values: object) -> str:
    """The sentence under `key`, filled with `values`. Raises KeyError for a key or value missing.

    >>> say("eggs", n=1), say("eggs", n=2)
    ('1 egg', '2 eggs')
    """
    return say_from(key, values)


def say_from(key: str, values: Mapping[str, object]) -> str:
    """As `say`, with the values in a mapping."""
    found = lookup(key)
    if isinstance(found, Mapping) and "many" in found:
        found = found["one" if values.get("n") == 1 and "one" in found else "many"]
    if not isinstance(found, str):
        raise KeyError(f"no words for {key}")
    return found.format_map(values)


class _Gaps(dict[str, object]):
    """Values of which some may not be known yet; a gap shows as dots."""

    def __missing__(self, name: str) -> str:
        return say("gap")


def fill(key: str, values: Mapping[str, object]) -> str:
    """As `say`, with dots where a value is not known yet."""
    return say_from(key, _Gaps(values))


def listed(items: Iterable[str], joint: str | None = None) -> str:
    """ "F1", "F1 and F2", "F1, F2 and F4"."""
    rows = list(items)
    if len(rows) < 2:
        return "".join(rows)
    word = say("list.and") if joint is None else joint
    return f"{', '.join(rows[:-1])} {word} {rows[-1]}"


def capped(lines: Sequence[str], most: int) -> list[str]:
    """The first `most` lines, then how many more there are; nothing is cut in the middle."""
    more = len(lines) - most
    return list(lines) if more <= 0 else [*lines[:most], say("list.more", n=more)]


def by_number(tag: str) -> tuple[str, int, str]:
    """Sorts F2 before F10."""
    letters = tag.rstrip("0123456789")
    digits = tag[len(letters) :]
    return letters, int(digits or 0), tag


def either(items: Iterable[str]) -> str:
    """ "F1, F2 or F4"."""
    return listed(items, say("list.or"))


def day(when: date, today: date) -> str:
    """ "14 May", with the year where it is another than today's."""
    said = f"{when.day} {words()['months'][when.month - 1]}"
    return said if when.year == today.year else f"{said} {when.year}"


def weekday(when: date, today: date) -> str:
    """ "Tue 10 Mar", with the year where it is another than today's."""
    return f"{words()['weekdays'][when.weekday()]} {day(when, today)}"


def near(when: date, today: date) -> str:
    """ "today", "tomorrow", "yesterday", or "Tue 10 Mar"."""
    close = {-1: "yesterday", 0: "today", 1: "tomorrow"}.get((when - today).days)
    return say(f"days.{close}") if close else weekday(when, today)


def span(first: date, last: date, today: date) -> str:
    """ "9 to 19 May", "28 May to 3 Jun"; one day alone where both are the same."""
    if first == last:
        return day(first, today)
    if (first.year, first.month) == (last.year, last.month):
        return say("days.span", first=first.day, last=day(last, today))
    return say("days.span", first=day(first, last), last=day(last, today))


def clock(when: time | datetime) -> str:
    """ "18:05"."""
    return when.strftime("%H:%M")


def number(value: float) -> str:
    """A figure with no needless zeros: 21.4, 27."""
    return f"{value:g}"


def weight(grams: float, unit: str = "g") -> str:
    """ "21.4 g" or "0.75 oz"; `unit` is the member's."""
    if unit == "oz":
        return say("units.oz", value=f"{grams / GRAMS_PER_OUNCE:.2f}")
    return say("units.g", value=number(round(grams, 1)))


def temperature(celsius: float, unit: str = "C") -> str:
    """ "27.2 °C" or "81 °F"; `unit` is the member's."""
    value = celsius * 9 / 5 + 32 if unit == "F" else celsius
    return say(f"units.{unit}", value=number(round(value, 1)))


def sentence(text: str) -> str:
    """The text with a capital first, unless it starts with a tag or slot, and a full stop."""
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?:" else ".")


def joined(parts: Sequence[str]) -> str:
    """Sentences in one line; empty ones left out."""
    return " ".join(part for part in parts if part)
