"""A small colony built in a few words, for tests of the thinking."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from scheduler.colony import (
    Animal,
    Box,
    ClimateReading,
    Clutch,
    Colony,
    Due,
    Egg,
    Pairing,
    Search,
    Sign,
    Stay,
    Weight,
)

LISBON = ZoneInfo("Europe/Lisbon")
DAY = date(2026, 3, 1)


def day(number: int) -> date:
    """The so-manieth day counted from 1 March 2026, which is day 0."""
    return DAY + timedelta(number)


class Story:
    """A colony as it grows: each method adds a fact and gives the story back."""

    def __init__(self, zone: ZoneInfo = LISBON) -> None:
        self.colony = Colony(zone)

    def _add(self, name: str, row: Any) -> Story:
        self.colony = replace(self.colony, **{name: (*getattr(self.colony, name), row)})
        return self

    def animal(self, tag: str, **facts: Any) -> Story:
        """A picta; F… is female, M… male, anything else unknown, unless told."""
        sex = {"F": "female", "M": "male"}.get(tag[0], "unknown")
        row = Animal(tag, **{"species": "picta", "sex": sex, **facts})
        self.colony = replace(self.colony, animals={**self.colony.animals, tag: row})
        return self

    def change(self, tag: str, **facts: Any) -> Story:
        """Something about an animal becomes different."""
        row = replace(self.colony.animals[tag], **facts)
        self.colony = replace(self.colony, animals={**self.colony.animals, tag: row})
        return self

    def paired(self, male: str, female: str, put_in: int, out: int | None = None) -> Story:
        key = str(len(self.colony.pairings) + 1)
        row = Pairing(key, male, female, day(put_in), None if out is None else day(out))
        return self._add("pairings", row)

    def pulled(self, male: str, out: int) -> Story:
        rows = tuple(
            replace(p, taken_out=day(out)) if p.male == male and p.taken_out is None else p
            for p in self.colony.pairings
        )
        self.colony = replace(self.colony, pairings=rows)
        return self

    def laid(self, dam: str, on: int, *slots: str, eggs: int = 2, **facts: Any) -> Story:
        clutch = Clutch(str(len(self.colony.clutches) + 1), dam, day(on), len(slots) or eggs)
        self._add("clutches", clutch)
        species = self.colony.animals[dam].species
        for slot in slots:
            key = str(len(self.colony.eggs) + 1)
            row = Egg(
                key, clutch.key, dam, day(on), slot, species, stays=(Stay(day(on), slot),), **facts
            )
            self._add("eggs", row)
        return self

    def egg(self, where: str, **facts: Any) -> Story:
        """Something about the egg in a slot becomes different."""
        rows = tuple(replace(e, **facts) if e.slot == where else e for e in self.colony.eggs)
        self.colony = replace(self.colony, eggs=rows)
        return self

    def box(self, name: str, incubator: str | None = "1") -> Story:
        boxes = {**self.colony.boxes, name: Box(name, 4, 5, incubator)}
        self.colony = replace(self.colony, boxes=boxes)
        return self

    def read(self, on: int, celsius: float = 27.2, place: str = "incubator 1") -> Story:
        at = datetime.combine(day(on), datetime.min.time(), self.colony.zone).replace(hour=18)
        return self._add("readings", ClimateReading(at, place, celsius, 75))

    def weighed(self, tag: str, on: int, grams: float) -> Story:
        return self._add("weights", Weight(tag, day(on), grams))

    def seen(self, tag: str, on: int, sign: str) -> Story:
        return self._add("signs", Sign(tag, day(on), sign))

    def searched(self, tag: str, on: int, found: int = 0) -> Story:
        return self._add("searches", Search(tag, day(on), found))


def of_kind(items: tuple[Due, ...], kind: str) -> list[Due]:
    """Those of one kind."""
    return [each for each in items if each.kind == kind]
