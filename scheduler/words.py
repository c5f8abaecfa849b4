"""The few phrases that reasons and reminders are made of: days, lists, spans, what a figure is."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from scheduler.species import Figure

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(when: date, today: date) -> str:
    """A date as one says it: "8 Mar", with the year where it is another than today's."""
    said = f"{when.day} {MONTHS[when.month - 1]}"
    return said if when.year == today.year else f"{said} {when.year}"


def tag_order(tag: str) -> tuple[str, int, str]:
    """Sorts F3 before F10."""
    letters = tag.rstrip("0123456789")
    return letters, int(tag[len(letters) :] or 0), tag


def listed(items: Sequence[str], joint: str = "and") -> str:
    """ "B4", "B4 and B5", "B4, B5 and B6"."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {joint} {items[-1]}"


def counted(number: float, unit: str) -> str:
    """ "1 day", "3 days", "2.5 days"; `unit` is the singular."""
    plural = {"clutch": "clutches"}.get(unit, f"{unit}s")
    return f"{number:g} {unit if number == 1 else plural}"


def span(figure: Figure, unit: str) -> str:
    """A figure as a range: "2 to 3 days (common practice)", with where it comes from."""
    low, high = figure.low, figure.high
    if low is not None and high is not None and low != high:
        return f"{low:g} to {counted(high, unit)} ({origin(figure)})"
    value = figure.typical if figure.typical is not None else (low if low is not None else high)
    return f"{counted(value, unit)} ({origin(figure)})" if value is not None else "not known"


def origin(figure: Figure) -> str:
    """Where a figure comes from, short: its source if published, else its status."""
    said = f"published, {figure.source}" if figure.status == "published" else figure.status
    return f"{said}; general gecko value" if figure.note.startswith("general gecko") else said


def its(tag: str, thing: str) -> str:
    """ "F3's sand"."""
    return f"{tag}'s {thing}"


def sentence(said: str) -> str:
    """A phrase as a sentence: a capital first, one full stop last."""
    said = said.strip().rstrip(".")
    return f"{said[:1].upper()}{said[1:]}."
