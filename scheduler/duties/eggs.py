"""What falls due for eggs: candle, watch for the hatch, look at those past their window."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from scheduler.colony import Due, Egg
from scheduler.duties import Asked, item
from scheduler.facts import HOPELESS, box_of
from scheduler.windows import can_begin_by, hatch_window, waited_for
from scheduler.words import day, listed, sentence, span

CANDLE_AGAIN_DAYS = 4
"""An egg found too early to say is candled again after this long (our convention)."""
TOLD_BY_CANDLE = HOPELESS | {"fertile"}


def of_clutch(asked: Asked, clutch: str) -> Iterator[Due]:
    """candle, watch-hatch and overdue-egg for the eggs of one clutch still in the box."""
    eggs = asked.facts.incubating.get(clutch, [])
    waiting = waited_for(eggs)
    hatching = list(_hatching(asked, clutch, waiting)) if waiting else []
    begun = any(due.due.date() <= asked.today for due in hatching)
    if not begun and (candle := _candle(asked, clutch, waiting)):
        yield candle
    yield from hatching


def _slots(eggs: list[Egg]) -> list[str]:
    return [egg.slot or egg.key for egg in eggs]


def _named(eggs: list[Egg]) -> str:
    """ "B4 and B5", or whose eggs they are where no slot is known."""
    slots = [egg.slot for egg in eggs if egg.slot]
    if len(slots) == len(eggs):
        return listed(slots)
    egg = "egg" if len(eggs) == 1 else "eggs"
    return f"{eggs[0].dam}'s {egg}" if eggs[0].dam else f"the {egg} laid {eggs[0].laid}"


def _box_place(eggs: list[Egg]) -> str | None:
    slot = eggs[0].slot
    return f"box {box_of(slot)}" if slot else None


def _candle(asked: Asked, clutch: str, eggs: list[Egg]) -> Due | None:
    unseen = [egg for egg in eggs if not _candled(asked, egg)]
    if not unseen:
        return None
    age = asked.facts.figure(unseen[0].species, "candle_age_days")
    if age.typical is None:
        return None
    on = min(_candle_day(egg, age.typical) for egg in unseen)
    if asked.beyond(on):
        return None
    again = any(egg.state == "too-early" for egg in unseen)
    laid = f"Laid {day(unseen[0].laid, asked.today)}; veins usually show at {span(age, 'day')}."
    return item(
        asked, "candle", f"clutch {clutch}", f"clutch {clutch}{', again' if again else ''}",
        _slots(unseen), on, f"Candle {_named(unseen)}.", laid, place=_box_place(unseen),
    )  # fmt: skip


def _candled(asked: Asked, egg: Egg) -> bool:
    """A state that veins tell, or any other look at it once veins would show."""
    if egg.state in TOLD_BY_CANDLE:
        return True
    if egg.state in (None, "too-early") or egg.checked is None:
        return False
    low = asked.facts.figure(egg.species, "candle_age_days").low
    return low is not None and (egg.checked - egg.laid).days >= low


def _candle_day(egg: Egg, age: float) -> date:
    usual = egg.laid + timedelta(round(age))
    if egg.state == "too-early" and egg.checked is not None:
        return max(usual, egg.checked + timedelta(CANDLE_AGAIN_DAYS))
    return usual


def _way(egg: Egg) -> tuple[tuple[date, str], ...]:
    """The boxes an egg lay in: eggs of a clutch that share them share their window."""
    if not egg.stays:
        return ((egg.laid, box_of(egg.slot or "")),)
    return tuple((stay.since, box_of(stay.slot)) for stay in egg.stays)


def _hatching(asked: Asked, clutch: str, eggs: list[Egg]) -> Iterator[Due]:
    """watch-hatch from the start of the window, overdue-egg from the day after its end.

    Eggs of one clutch that lie in different places may have different windows: the earliest
    start and the latest end are the clutch's.
    """
    if not can_begin_by(asked.facts, eggs[0], asked.end):
        return
    alike = {_way(egg): egg for egg in reversed(eggs)}
    windows = [hatch_window(asked.facts, egg, asked.today) for egg in alike.values()]
    start, end = min(w.start for w in windows), max(w.end for w in windows)
    if asked.beyond(start):
        return
    centre = day(windows[-1].centre, asked.today)
    laid = f"Laid {day(eggs[0].laid, asked.today)}"
    share = f"{round(100 * windows[-1].coverage)}% window"
    basis = sentence(windows[-1].basis)
    part, fact, named = f"clutch {clutch}", f"clutch {clutch}", _named(eggs)
    if asked.today <= end:
        yield item(
            asked, "watch-hatch", part, fact, _slots(eggs), start,
            f"Watch {named} for hatching: about {centre}, to {day(end, asked.today)}.",
            f"{laid}; {share} {day(start, asked.today)} to {day(end, asked.today)}. {basis}",
            until=end, place=_box_place(eggs),
        )  # fmt: skip
    if asked.beyond(end + timedelta(1)):
        return
    are, them = ("is", "it") if len(eggs) == 1 else ("are", "them")
    yield item(
        asked, "overdue-egg", part, fact, _slots(eggs), end + timedelta(1),
        sentence(f"{named} {are} past the hatch window: look at {them}"),
        f"{laid}; the {share} ended {day(end, asked.today)}. Late eggs may still hatch; leave "
        f"{them} unless mouldy, smelling or collapsed. {basis}",
        place=_box_place(eggs),
    )  # fmt: skip
