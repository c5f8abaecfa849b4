"""What falls due for places: moisture of an egg box, reading of an incubator, mixed young."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, timedelta

from scheduler.colony import Animal, ClimateReading, Due
from scheduler.duties import Asked, item, latest_doubling, latest_turn
from scheduler.facts import box_of, slot_order
from scheduler.words import counted, day, listed, span

WET_BOX_DAYS = 7
"""Moisture of an egg box is seen to weekly (common practice)."""
READ_INCUBATOR_DAYS = 1
"""An incubator with eggs in it is read every day (common practice)."""


def of_box(asked: Asked, box: str) -> Iterator[Due]:
    """wet-box, while eggs are in it."""
    facts = asked.facts
    eggs = facts.eggs_in_box.get(box)
    if not eggs:
        return
    name = box_of(eggs[0].slot or box)
    in_since = min(_there_since(egg.laid, egg.stays) for egg in eggs)
    watered = facts.last_watered.get(box)
    since = watered if watered and watered >= in_since else in_since
    told = (
        f"Last watered {day(since, asked.today)}"
        if since == watered
        else f"Eggs in it since {day(since, asked.today)}, no watering noted"
    )
    on = latest_turn(since, WET_BOX_DAYS, asked.today)
    shell = facts.figure(eggs[0].species, "egg_shell").text
    soft = " These eggs are soft-shelled and live on that moisture." if shell == "soft" else ""
    yield item(
        asked, "wet-box", f"box {box}", f"box {box} on {on.isoformat()}",
        sorted((egg.slot or egg.key for egg in eggs), key=slot_order), on,
        f"Check the moisture of box {name}.",
        f"{told}; a check every {counted(WET_BOX_DAYS, 'day')} is common practice.{soft}",
        place=f"box {name}",
    )  # fmt: skip


def of_incubator(asked: Asked, incubator: str) -> Iterator[Due]:
    """read-incubator, while eggs stand in it."""
    facts = asked.facts
    eggs = facts.eggs_in_incubator.get(incubator)
    if not eggs:
        return
    reading = facts.last_reading.get(incubator)
    if reading is None:
        since = min(_there_since(egg.laid, egg.stays) for egg in eggs)
        on = latest_doubling(since, asked.today, first=0)
        told = f"Eggs in it since {day(since, asked.today)}, no reading yet"
    else:
        since = reading.at.astimezone(facts.colony.zone).date()
        on = latest_doubling(since, asked.today, first=READ_INCUBATOR_DAYS)
        told = _reading_told(asked, reading, since)
    yield item(
        asked, "read-incubator", f"incubator {incubator}",
        f"incubator {incubator} on {on.isoformat()}",
        sorted((egg.slot or egg.key for egg in eggs), key=slot_order), on,
        f"Read incubator {incubator}.",
        f"{told}; a reading a day is common practice.", place=f"incubator {incubator}",
    )  # fmt: skip


def of_place(asked: Asked, place: str, species: str | None) -> Iterator[Due]:
    """separate-sexes, for young of one species that share a place and are not all female."""
    facts = asked.facts
    housed = facts.by_place.get((place, species), ())
    if len(housed) < 2:
        return
    age = facts.figure(species, "separate_sexes_age_days")
    young = [animal for animal in housed if animal.hatched and not _grown(asked, animal)]
    if age.typical is None or len(young) < 2 or all(a.sex == "female" for a in young):
        return
    eldest = min(a.hatched for a in young if a.hatched)
    on = eldest + timedelta(round(age.typical))
    if asked.beyond(on):
        return
    tags = [animal.tag for animal in young]
    named, where = listed(tags), young[0].place or place
    yield item(
        asked, "separate-sexes", f"place {place}", f"{place} since {eldest.isoformat()}",
        tags, on, f"Separate {named} in {where}, males from females.",
        f"{_sexes(young)}; the eldest hatched {day(eldest, asked.today)}. Apart from "
        f"{span(age, 'day')} of age, before they can breed or fight.",
        until=eldest + timedelta(math.ceil(age.high)) if age.high else None, place=where,
    )  # fmt: skip


def _reading_told(asked: Asked, reading: ClimateReading, on: date) -> str:
    said = [
        f"{reading.celsius:g} C" if reading.celsius is not None else "",
        f"{reading.humidity:g}%" if reading.humidity is not None else "",
    ]
    return f"Last read {day(on, asked.today)} ({', '.join(each for each in said if each)})"


def _there_since(laid: date, stays: tuple[object, ...]) -> date:
    since = getattr(stays[-1], "since", laid) if stays else laid
    return max(laid, since)


def _grown(asked: Asked, animal: Animal) -> bool:
    """Old enough that living together is the keeper's choice: past the age of first pairing."""
    assert animal.hatched is not None
    age = asked.facts.figure(animal.species, "first_pairing_age_days").typical
    return age is not None and (asked.today - animal.hatched).days > age


def _sexes(young: list[Animal]) -> str:
    counts = [
        f"{n} {'of unknown sex' if sex == 'unknown' else sex}"
        for sex in ("male", "female", "unknown")
        if (n := sum(a.sex == sex for a in young))
    ]
    return f"Housed together: {listed(counts)}"
