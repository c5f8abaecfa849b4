"""A colony of one year, to draw: weights, readings, clutches and hatches that vary."""

from __future__ import annotations

from datetime import date

from scheduler.colony import Clutch, Colony
from tests.scheduler.colonies import Story, day

TODAY = day(130)


def year() -> Colony:
    """F3 lays eight clutches; two incubators are read; some eggs of box B have hatched."""
    story = Story().animal("F3").animal("F7").animal("M2").box("B").box("C", None)
    story.paired("M2", "F3", -30, 10)
    for number, grams in enumerate((20.1, 21.4, 22.0, 19.6, 21.0, 22.3, 19.9, 20.8)):
        story.weighed("F3", number * 14, grams)
    for number in range(40):
        story.read(number * 3, 27.0 + (number % 5) * 0.2)
        story.read(number * 3, 25.5 + (number % 7) * 0.1, "incubator 2")
    for number in range(8):
        slots = (f"B{2 * number + 1}", f"B{2 * number + 2}")
        story.laid("F3", number * 16, *slots, sires=("M2",))
    for slot in ("B1", "B2", "B4"):
        story.egg(slot, end="hatched", ended=day(62))
    story.egg("B3", state="fertile").egg("B5", state="infertile").egg("B6", state="mould")
    story.egg("B7", state="fertile", pipped=TODAY).egg("B9", state="dented")
    return story.colony


def spoiled() -> Colony:
    """One clutch of two, one of them spoiled."""
    colony = Story().animal("F3").colony
    return Colony(
        colony.zone, colony.animals, clutches=(Clutch("1", "F3", date(2026, 3, 1), 2, 1),)
    )
