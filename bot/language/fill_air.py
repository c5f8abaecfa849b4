"""Fills readings of the air, watering, and new egg boxes."""

from __future__ import annotations

import re
from collections.abc import Sequence

from bot.language.codes import find_box
from bot.language.drafts import Draft, Span
from bot.language.items import Item
from bot.language.numbers import celsius_of

COLDEST, HOTTEST = -5.0, 50.0  # degrees Celsius that a gecko room or incubator could show


def fill_reading(span: Span) -> list[Draft]:
    """`reading`: a place with degrees, percent, or both."""
    places = span.place_names()
    temps = span.what("temp")
    percents = span.what("pct")
    numbers = span.numbers()
    humidity = float(percents[0].value) if percents else None
    degrees: Item | None = temps[0] if temps else None
    between = False
    for n in numbers:
        led = _climate_word(span, n)
        if led == "humidity" and humidity is None:
            humidity = float(n.value)
        elif degrees is None and led != "humidity":
            degrees = n
        elif humidity is None and degrees is not None and n is not degrees and 40 <= n.value <= 100:
            humidity = float(n.value)
        elif degrees is not None and n is not degrees and n.what == degrees.what:
            between = True
    homeless = not places and not percents and not span.has("placenoun") and not span.has("climate")
    if degrees is not None and homeless:
        return []
    if degrees is None and humidity is None:
        if not (span.has("climate") and places):
            return []
        if not span.has("climate", "temperature", "humidity"):
            return []
        about = (
            "humidity"
            if span.has("climate", "humidity") and not span.has("climate", "temperature")
            else "celsius"
        )
        return [Draft("reading", {"place": places[0][0]}, score=1.5).ask(about)]
    airy = (
        places
        or span.has("placenoun", "room", "cupboard", "hatchery")
        or percents
        or temps
        or span.has("climate")
        or span.has("placenoun", "incubator")
    )
    if not airy:
        return []
    drafts = [_reading(span, name, degrees, humidity) for name in _air_places(span, places)]
    for draft in drafts if between else []:
        draft.ask("celsius", "ambiguous", ())
    return drafts


def _climate_word(span: Span, number: Item) -> str | None:
    k = span.index(number)
    for each in reversed(span.items[max(0, k - 3) : k]):
        if each.what in ("num", "temp", "pct", "comma", "joint"):
            break
        if each.is_("climate", "humidity", "temperature"):
            return each.get("climate")
    for each in span.items[k + 1 : k + 2]:
        follow = span.items[k + 2] if k + 2 < len(span.items) else None
        if (
            each.is_("climate", "humidity")
            and number.what == "num"
            and (follow is None or follow.what not in ("num", "pct"))
        ):
            # "29.3 humidity 78": the word belongs to the number that follows it.
            after = span.items[k + 2 : k + 3]
            return None if after and after[0].what in ("num", "pct") else "humidity"
    return None


def _air_places(span: Span, places: Sequence[tuple[str, Item]]) -> list[str]:
    if places:
        return list(dict.fromkeys(name for name, _ in places))
    noun = span.first("placenoun", "incubator")
    incubators = sorted({b.incubator for b in span.view.boxes.values() if b.incubator})
    if noun is not None and len(incubators) == 1:
        return [f"incubator {incubators[0]}"]
    if noun is not None and span.has("pron", "both") and len(incubators) == 2:
        return [f"incubator {n}" for n in incubators]
    bare = next(
        (e for e in span.items if e.is_("placenoun", "room", "cupboard", "hatchery", "house")), None
    )
    if bare is not None:
        return [bare.get("placenoun") or "room"]
    if (
        noun is None
        and len(span.scene.places) == 1
        and span.scene.last_kind in ("reading", "watered")
    ):
        return list(span.scene.places)
    return [""]


def _reading(span: Span, place: str, degrees: Item | None, humidity: float | None) -> Draft:
    draft = Draft("reading", {}, score=3.0 if place else 1.5)
    if place:
        draft.fields["place"] = place
    else:
        incubators = sorted({b.incubator for b in span.view.boxes.values() if b.incubator})
        draft.ask("place", choices=tuple(f"incubator {n}" for n in incubators))
    if degrees is not None:
        celsius = (
            degrees.value if degrees.what == "temp" else celsius_of(float(degrees.value), None)
        )
        if celsius is None:
            number = float(degrees.value) if degrees.value is not None else _figure(degrees.text)
            as_f = celsius_of(number, "F")
            draft.ask("celsius", "ambiguous", (f"{number:g} °C", f"{number:g} °F"), degrees.text)
            if as_f is None or number > 120:
                draft.trouble = None
                draft.ask("celsius", "impossible", (), degrees.text)
        elif not COLDEST <= celsius <= HOTTEST:
            draft.ask("celsius", "impossible", (), degrees.text)
        else:
            draft.fields["celsius"] = celsius
    if humidity is not None:
        if 0 <= humidity <= 100:
            draft.fields["humidity"] = round(humidity)
        else:
            draft.ask("humidity", "impossible", (), f"{humidity:g}")
    return draft


def _figure(text: str) -> float:
    digits = "".join(c for c in text if c.isdigit() or c == ".")
    return float(digits) if digits.replace(".", "", 1).isdigit() else 0.0


def fill_watered(span: Span) -> list[Draft]:
    """`watered`: each box or place told, "all boxes" too, or an animal's own place."""
    places = [name for name, _ in span.place_names()]
    if span.has("act", "give", "put") and not span.has("act", "water") and not span.what("ml"):
        return []
    if not places and any(each.is_("boxnoun", "boxes") for each in span.items):
        places = [f"box {box}" for box in list(span.view.boxes)[:40]]
    if not places:
        for item in span.animals():
            for tag in span.tag_names(item):
                seen = span.view.animals.get(tag)
                if seen is not None and seen.place:
                    places.append(seen.place)
    if not places:
        places = list(span.scene.places)
    if not places:
        return [Draft("watered", {}, score=1).ask("place")]
    drafts = [Draft("watered", {"place": place}, score=3) for place in dict.fromkeys(places)]
    for draft in drafts:
        place = str(draft.fields["place"])
        if place.startswith("box ") and find_box(place[4:], span.view) is None:
            draft.ask(
                "place", "missing", tuple(f"box {b}" for b in list(span.view.boxes)[:6]), place
            )
    return drafts


def fill_box(span: Span) -> list[Draft]:
    """`box`: a new egg box, its letter, rows and columns, and the incubator it stands in."""
    draft = Draft("box", {}, score=6)
    act = span.first("act", "box")
    if act is None:
        return []
    place = next((name for name, _ in span.place_names() if name.startswith("incubator")), None)
    letter, sides = _box_words(span, act)
    if letter is None:
        draft.ask("box")
    elif find_box(letter, span.view) is not None:
        draft.ask("box", "duplicate", (), letter)
    else:
        draft.fields["box"] = letter
    for name, value in zip(("rows", "columns"), (*sides, None, None), strict=False):
        if value is None:
            draft.ask(name)
        elif 1 <= value <= 40:
            draft.fields[name] = value
        else:
            draft.ask(name, "impossible", (), str(value))
    if place:
        draft.fields["incubator"] = place.removeprefix("incubator ")
    return [draft]


def _box_words(span: Span, act: Item) -> tuple[str | None, list[int]]:
    """The letter or name after "new box" and the two numbers of its grid."""
    words: list[str] = []
    for item in span.items[span.index(act) + 1 :]:
        if item.what == "place":
            continue
        words += [str(int(item.value))] if item.what == "num" else item.text.split()
    letter = next((w for k, w in enumerate(words) if _names_a_box(w, words[k + 1 : k + 2])), None)
    whole = " ".join(words)
    if letter is not None and any(c.isdigit() for c in letter):
        whole, letter = (
            whole.replace(
                letter,
                letter.strip("0123456789")
                + " "
                + letter.lstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"),
                1,
            ),
            letter.rstrip("0123456789"),
        )
    sides = [int(n[:4]) for n in re.findall(r"\d+", whole)][:2]
    return (letter.upper() if letter and len(letter) <= 2 else letter), sides


_NO_BOX_NAME = frozenset(
    {
        "called",
        "with",
        "is",
        "of",
        "the",
        "please",
        "in",
        "for",
        "named",
        "rows",
        "by",
        "x",
        "new",
        "box",
        "another",
        "egg",
    }
)


def _names_a_box(word: str, after: Sequence[str]) -> bool:
    """A letter or name; "a" is a letter as a capital, or where it leads no word."""
    if word == "a":
        return not after or not after[0][:1].isalpha() or after[0] == "with"
    return word[:1].isalpha() and word.casefold() not in _NO_BOX_NAME
