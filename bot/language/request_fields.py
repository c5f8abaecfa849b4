"""Fills the fields of a request: which animal, which days, which box, how long, by what."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta
from typing import Any

from bot.language.asked import SMALL, Asked
from bot.language.dates import HourHint, clock_time, when_of
from bot.language.items import Item
from bot.language.request_people import ROLES, household, role, standin
from bot.language.spans import stretch_of

Fields = dict[str, Any] | None


def no_fields(asked: Asked) -> Fields:
    """Nothing besides the request itself."""
    return {}


def _dates(asked: Asked) -> dict[str, Any]:
    """`from` and `to`, where the sentence names a stretch or a day."""
    today = asked.scene.now.date()
    told = stretch_of(asked.items, today)
    return {"from": told[0], "to": told[1]} if told else _next_days(asked, today)


def _tasks(asked: Asked) -> Fields:
    """The days asked about; "what reminders do I have" looks a month ahead."""
    told = _dates(asked)
    if not told and any("reminder" in e.text.casefold() for e in asked.items):
        today = asked.scene.now.date()
        return {"from": today, "to": today + timedelta(days=30)}
    return told


def _hatching(asked: Asked) -> Fields:
    """The days asked about; of "when does B1 hatch" the slot."""
    slots = [s for e in asked.items if e.what == "slot" for s in asked.span.slot_names(e)]
    return {**_dates(asked), **({"slot": slots[0]} if slots else {})}


def _next_days(asked: Asked, today: date) -> dict[str, Any]:
    """ "the next 10 days", "in the next three weeks"."""
    for k, item in enumerate(asked.items[:-1]):
        follow = asked.items[k + 1]
        number, period = None, None
        if item.what == "num" and follow.is_("period"):
            number, period = int(item.value), follow.get("period")
        elif item.what == "other" and item.unit == "other":
            words = item.text.casefold()
            number = int(item.value)
            period = "10080" if "week" in words else "1440" if "day" in words else None
        if number and period in ("1440", "10080", "43200"):
            days = number * int(period) // 1440
            return {"from": today, "to": today + timedelta(days=days - 1)}
    return {}


def _tag(asked: Asked) -> str | None:
    tags = [tag for item in asked.span.animals() for tag in asked.span.tag_names(item)]
    if not tags:
        tags = list(asked.span.pronoun_tags()) if asked.span.has("pron") else []
    return tags[0] if tags else None


def _with_tag(asked: Asked) -> Fields:
    tag = _tag(asked)
    return {"tag": tag} if tag else None


def _history(asked: Asked) -> Fields:
    tag = _tag(asked)
    if tag:
        return {"tag": tag}
    places = asked.span.place_names()
    if places:
        return {"tag": places[0][0]}
    slots = [slot for e in asked.span.what("slot") for slot in asked.span.slot_names(e)]
    return {"tag": slots[0]} if slots else {}


def _box(asked: Asked) -> Fields:
    slots = [
        slot
        for item in asked.span.slot_items()
        if item.what == "slot"
        for slot in asked.span.slot_names(item)
    ]
    if slots:
        return {"slot": slots[0]}
    boxes = [box for item in asked.span.what("box") for box in item.value]
    return {"box": boxes[0]} if boxes else None


def _free(asked: Asked) -> Fields:
    boxes = [box for item in asked.span.what("box") for box in item.value]
    if not boxes:
        boxes = [
            box
            for item in asked.items
            if item.what == "word"
            and (box := asked.scene.view.box_names.get(item.text.casefold()))
            and (len(item.text) > 1 or item.text.isupper() or item.text.casefold() not in "ai")
        ]
    return {"box": boxes[0]} if boxes else {}


def _mate(asked: Asked, tag: str | None) -> dict[str, Any]:
    """A second animal that is named beside the first: "should I pair F3 with M2"."""
    named = [each for item in asked.span.animals() for each in asked.span.tag_names(item)]
    mate = next((each for each in named if each != tag), None)
    return {"mate": mate} if tag and mate else {}


def _match(asked: Asked) -> Fields:
    fields = _with_tag(asked)
    return None if fields is None else {**fields, **_mate(asked, fields.get("tag"))}


def _ready(asked: Asked) -> Fields:
    tag = _tag(asked)
    sex = asked.span.first("sex")
    fields: dict[str, Any] = {"tag": tag} if tag else {}
    fields |= _mate(asked, tag)
    if sex is not None and sex.get("sex") in ("female", "male"):
        fields["sex"] = sex.get("sex")
    elif asked.span.has("pron", "shefemale", "hemale"):  # "any of the girls ready?"
        fields["sex"] = "female" if asked.span.has("pron", "shefemale") else "male"
    return fields


def _rates(asked: Asked) -> Fields:
    if asked.has("tempcue") or asked.has("<temp>"):
        return {"by": "temperature"}
    if asked.has("pair"):
        return {"by": "pair"}
    tag = _tag(asked)
    if tag is not None and asked.scene.sex(tag) in ("female", "male"):
        return {"by": asked.scene.sex(tag)}  # "what's the hatch rate for M1"
    sex = next(
        (
            e
            for e in asked.items
            if (e.is_("sex") and asked.span.prep(e) in ("from", "of", "for"))
            or (e.is_("sex") and _per(asked, e))
        ),
        None,
    )
    if sex is not None:
        return {"by": sex.get("sex")}
    return {"by": "season"}


def _per(asked: Asked, item: Item) -> bool:
    k = asked.span.index(item)
    return k > 0 and asked.items[k - 1].text.casefold() in (
        "per",
        "each",
        "by",
        "every",
        "which",
        "for each",
    )


def _odds(asked: Asked) -> Fields:
    tags = [tag for item in asked.span.animals() for tag in asked.span.tag_names(item)]
    fields: dict[str, Any] = {}
    for tag in tags:
        sex = asked.scene.sex(tag)
        name = sex if sex in ("male", "female") else ("male" if "male" not in fields else "female")
        fields.setdefault(name, tag)
    return fields or None


def _chart(asked: Asked) -> Fields:
    tag = _tag(asked)
    places = [name for name, _ in asked.span.place_names()]
    fields: dict[str, Any] = {}
    of = next(
        (
            of
            for cue, of in (
                ("weightcue", "weight"),
                ("tempcue", "temperature"),
                ("hatchingcue", "hatching"),
                ("layingcue", "laying"),
            )
            if asked.has(cue)
        ),
        None,
    )
    if of is None and asked.has("climate"):
        of = "temperature"
    if of is None and asked.has("act.weigh"):
        of = "weight"
    if of is None and asked.has("act.hatch"):
        of = "hatching"
    if of is None and (asked.has("act.lay") or asked.has("act.egg")):
        of = "laying"
    fields["of"] = of or ("weight" if tag else "temperature" if places else "hatching")
    if tag:
        fields["tag"] = tag
    elif places:
        fields["place"] = places[0]
    return fields


def _label(asked: Asked) -> Fields:
    for item in asked.items:
        if item.what == "tag":
            return {"of": asked.span.tag_names(item)[0]}
        if item.what == "slot":
            return {"of": asked.span.slot_names(item)[0]}
        if item.what == "box":
            return {"of": item.value[0]}
        if item.what == "place":
            return {"of": item.value}
    return {}


def _task(asked: Asked) -> dict[str, Any]:
    """Which task: its number, or the words that are left."""
    for item in asked.items:
        if item.is_("ordinal"):
            return {"task": int(item.get("ordinal") or 0)}
        if item.what == "num" and "whole" in item.senses and item.text.casefold() != "one":
            return {"task": int(item.value)}
    words = [
        item.text
        for item in asked.items
        if item.i not in asked.cued
        and not item.is_("chat")
        and not item.is_("answer")
        and item.what not in ("comma", "joint", "date", "time", "stop", "span")
        and item.text.casefold() not in SMALL
        and not item.is_("mood")
    ]
    return {"task": " ".join(words)} if words else {}


def _snooze(asked: Asked) -> Fields:
    until = _until(asked)
    if until is not None:
        return {"until": until, **_snooze_task(asked)}
    return _task(asked)


def _snooze_task(asked: Asked) -> dict[str, Any]:
    for k, item in enumerate(asked.items):
        if (
            item.what == "num"
            and k > 0
            and (asked.items[k - 1].i in asked.cued or asked.items[k - 1].is_("slotnoun"))
        ):
            follow = asked.items[k + 1] if k + 1 < len(asked.items) else None
            lasts = follow is not None and (
                follow.is_("period")
                or follow.is_("unit")
                or _BRIEF.match(f"{int(item.value)} {follow.text.casefold()}") is not None
            )
            if not lasts:
                return {"task": int(item.value)}
    return {}


_BRIEF = re.compile(r"(\d+)\s*(h|hr|hrs|hour|hours|m|min|mins|minutes|d|day|days|w|week|weeks)\b")
_MINUTES = {"h": 60, "m": 1, "d": 1440, "w": 10080}


def _until(asked: Asked) -> datetime | None:
    now = asked.scene.now
    words = " ".join(e.text for e in asked.items).casefold()
    brief = _BRIEF.search(words)
    if brief:
        return now + timedelta(minutes=int(brief.group(1)[:5]) * _MINUTES[brief.group(2)[0]])
    if "half an hour" in words:
        return now + timedelta(minutes=30)
    if any(w in words for w in ("an hour", "another hour", "one hour")):
        return now + timedelta(hours=1)
    hour = re.search(r"\b(?:till|until|til) (\d{1,2})$", words)
    if hour and int(hour.group(1)) < 25:
        hint = HourHint(int(hour.group(1)) % 24, 0, None)
        told = clock_time(hint, None, now, None, True)
        until = datetime.combine(now.date(), told, tzinfo=now.tzinfo)
        return until if until > now else until + timedelta(days=1)
    if not any(e.what in ("date", "time", "span") for e in asked.items):
        return None
    if any(e.what == "span" and e.value == "next-week" for e in asked.items):
        return now + timedelta(days=7)
    when = when_of(asked.items, now, ahead=True)
    at = when.at
    if at is None:
        evening = any(e.is_("daypart", "pm") for e in asked.items)
        at = now.time().replace(hour=20 if evening else 9, minute=0, second=0, microsecond=0)
    return datetime.combine(when.on, at, tzinfo=now.tzinfo)


def _share(asked: Asked) -> Fields:
    for cue, given in ROLES:
        if asked.has(cue):
            return {"role": given}
    return {}


def _settings(asked: Asked) -> Fields:
    for cue, what, to in (
        ("celsius", "temperature", "C"),
        ("fahrenheit", "temperature", "F"),
        ("gramscue", "weight", "g"),
        ("ouncescue", "weight", "oz"),
    ):
        if asked.has(cue) and not asked.has("quiet"):
            return {"set": what, "to": to}
    if asked.has("quiet"):
        return {"set": "quiet", "to": _hours(asked)}
    if asked.has("passon"):
        return {"set": "pass_on", "to": _minutes(asked)}
    for cue, channel in (("telegramcue", "telegram"), ("smscue", "sms")):
        if asked.has(cue) and (asked.has("remindcue") or asked.has("act.remind")):
            return {"set": "channel", "to": channel}
    if asked.has("zone"):
        return {"set": "zone", "to": _zone(asked)}
    times = _hours(asked)
    return {"set": "digest", "to": "off" if asked.has("off") else times or "on"}


def _minutes(asked: Asked) -> str:
    """ "120" for "in 2 hours", "off", or "" where no length is told."""
    words = " ".join(e.text for e in asked.items).casefold()
    brief = _BRIEF.search(words)
    if brief:
        return str(int(brief.group(1)[:5]) * _MINUTES[brief.group(2)[0]])
    if "half an hour" in words:
        return "30"
    if any(w in words for w in ("an hour", "one hour")):
        return "60"
    for k, item in enumerate(asked.items[:-1]):
        if item.what == "num" and asked.items[k + 1].is_("period"):
            return str(int(item.value * int(asked.items[k + 1].get("period") or 0)))
    ago = next((e.value.ago for e in asked.items if e.what == "time" and e.value.ago), None)
    if ago:
        return str(abs(ago))
    return "off" if asked.has("off") or asked.has("mood.neg") else ""


def _hours(asked: Asked) -> str:
    """ "22:00-07:00" for quiet hours, "08:00" for one, "off" or "" for none."""
    out: list[str] = []
    for item in asked.items:
        hint = item.value if item.what == "time" else None
        if item.what == "num" and "whole" in item.senses and 0 <= item.value <= 24:
            hint = HourHint(int(item.value) % 24, 0, None)
        if hint is None or hint.ago is not None:
            continue
        if hint.half is None and asked.has("quiet") and 1 <= hint.hour <= 11:
            half = "pm" if not out and hint.hour >= 6 else "am"
            hint = HourHint(hint.hour, hint.minute, half)
        part = next((e.get("daypart") for e in asked.items if e.is_("daypart")), None)
        out.append(
            clock_time(hint, part if len(out) == 0 else None, asked.scene.now, None, True).strftime(
                "%H:%M"
            )
        )
    if not out and asked.has("off"):
        return "off"
    return "-".join(out[:2])


def _zone(asked: Asked) -> str:
    text = " ".join(item.text for item in asked.items)
    named = re.search(r"\b([A-Za-z]+)\s*/\s*([A-Za-z_]+)", text)
    if named:
        return f"{named.group(1).title()}/{named.group(2).title()}"
    last = [
        i.text
        for i in asked.items
        if i.what == "word"
        and i.i not in asked.cued
        and not i.is_("prep")
        and i.text.casefold() not in SMALL
    ]
    return last[-1] if last else ""


def _help(asked: Asked) -> Fields:
    about = [
        item.text.casefold()
        for item in asked.items
        if item.what == "word"
        and item.i not in asked.cued
        and not item.is_("chat")
        and item.text.casefold() not in SMALL
        and not item.is_("prep")
    ]
    return {"about": " ".join(about)} if about else {}


FIELDS: Mapping[str, Callable[[Asked], Fields]] = {
    "hatching": _hatching,
    "tasks": _tasks,
    "feeders": _dates,
    "animal": _with_tag,
    "where": _with_tag,
    "next_clutch": _with_tag,
    "match": _match,
    "history": _history,
    "box": _box,
    "free": _free,
    "ready": _ready,
    "rates": _rates,
    "odds": _odds,
    "chart": _chart,
    "label": _label,
    "done": _task,
    "skip": _task,
    "snooze": _snooze,
    "share": _share,
    "settings": _settings,
    "help": _help,
    "standin": standin,
    "role": role,
    "household": household,
}
