"""Joins a sentence to the one before where it only brings what that one lacks."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.frames import frames
from bot.language.items import Item


def joined(parts: list[tuple[list[Item], str]]) -> list[tuple[list[Item], str]]:
    """Sentences with a bare list after one that lacks it made one: "hatched!! H5 and H6!!"."""
    table = frames()
    out: list[tuple[list[Item], str]] = []
    for items, mark in parts:
        heads = any(table.kinds_of(each) for each in items)
        named = any(e.what in ("tag", "slot", "place", "num") for e in items)
        spoken = sum(e.what == "word" and not e.is_("prep") for e in items)
        put = (
            bool(out)
            and any(e.is_("act", "lay", "egg", "find") for e in out[-1][0])
            and not any(e.what == "slot" for e in out[-1][0])
            and any(e.what in ("slot", "box") for e in items)
            and any(e.is_("act", "put", "at", "move") for e in items)
            and not any(e.what in ("tag", "place") for e in items)
            and any(e.is_("pron", "it", "they", "both") or e.is_("act", "egg") for e in items)
        )
        counted = (
            bool(out)
            and any(e.is_("act", "lay") for e in out[-1][0])
            and not any(e.what == "num" for e in out[-1][0])
            and all(e.is_("act", "egg") for e in items if table.kinds_of(e))
            and not any(e.what == "tag" for e in items)
        )
        if (out and _names_the_young(out[-1][0], items)) or (
            out and _found_nothing(out[-1][0], items)
        ):
            out[-1] = ([*out[-1][0], *items], mark)
        elif (
            out
            and (not heads or counted or put)
            and named
            and (spoken <= 3 or put)
            and mark != "?"
            and out[-1][1] not in ("?", "\n")
            and (put or _wants(out[-1][0], items, table))
        ):
            out[-1] = ([*out[-1][0], Item("comma", ",", items[0].i, items[0].i, ","), *items], mark)
        else:
            out.append((items, mark))
    return out


def _names_the_young(before: Sequence[Item], items: Sequence[Item]) -> bool:
    """ "J1's hatched! calling it N6": the name in a sentence of its own."""
    return (
        any(e.is_("act", "hatch") for e in before)
        and not any(e.what == "tag" for e in before)
        and any(e.is_("act", "name") for e in items)
        and any(e.what == "tag" for e in items)
        and not any(e.what in ("slot", "place", "num") for e in items)
    )


def _found_nothing(before: Sequence[Item], items: Sequence[Item]) -> bool:
    """ "dug around in P4's sand. zip": the outcome in a sentence of its own."""
    return (
        len(items) <= 3
        and any(e.is_("act", "search") for e in before)
        and any(e.is_("mood", "neg") for e in items)
        and not any(e.is_("mood", "neg") for e in before)
    )


def _wants(before: Sequence[Item], items: Sequence[Item], table: object) -> bool:
    hatch = any(e.is_("act", "hatch", "out") for e in before)
    lay = any(e.is_("act", "lay", "egg") for e in before)
    new = any(e.is_("act", "new") for e in before)
    whats = {e.what for e in items}
    had = {e.what for e in before}
    if lay and not ("tag" in had and "tag" in whats):
        return "slot" in whats or ("num" in whats and "num" not in had) or "tag" in whats
    return (hatch and bool(whats & {"tag", "slot"} - (had - {"slot"}))) or (
        new and bool(whats & {"tag", "place"})
    )
