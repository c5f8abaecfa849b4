"""What falls due for a female: check that she is gravid, search for eggs, rest, a first pairing."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from operator import attrgetter

from scheduler.colony import Due, Pairing, Search
from scheduler.condition import rest_called_for
from scheduler.duties import Asked, item, latest
from scheduler.readiness import first_pairing
from scheduler.sessions import course_began
from scheduler.window import Window
from scheduler.windows import laying_window
from scheduler.words import day, its, sentence, span

SEARCH_AGAIN_DAYS = 2
"""After a search that found nothing she is searched again after this long (our convention)."""
SEARCH_PAST_DAYS = 7
"""Searching goes on for this long past the window, or past a sign (our convention)."""
MOOT_DAYS = 14
"""Past the longest usual time from mating to laying, one more fortnight (our convention)."""
DIGGING_DAYS = 1
"""A female seen digging is searched the next day (our convention)."""
_put_in, _laid = attrgetter("put_in"), attrgetter("laid")


def of_female(asked: Asked, tag: str) -> Iterator[Due]:
    """check-gravid, search-eggs, rest-female and first-pairing for one female."""
    animal = asked.facts.kept(tag)
    if animal is None or animal.sex != "female":
        return
    window = laying_window(asked.facts, tag, asked.today) if _may_lay(asked, tag) else None
    for due in (
        _check_gravid(asked, tag, window),
        _search(asked, tag, window),
        _rest(asked, tag),
        _first_pairing(asked, tag),
    ):
        if due is not None:
            yield due


def _may_lay(asked: Asked, tag: str) -> bool:
    facts = asked.facts
    return tag in facts.pairings_of or tag in facts.clutches_of or tag in facts.signs_of


def _place(asked: Asked, tag: str) -> str | None:
    animal = asked.facts.kept(tag)
    return animal.place if animal else None


def _last_pairing(asked: Asked, tag: str) -> Pairing | None:
    return latest(asked.facts.pairings_of.get(tag, ()), _put_in, asked.today)


def _check_gravid(asked: Asked, tag: str, window: Window | None) -> Due | None:
    """Three weeks after the first session, unless something has told already."""
    last = _last_pairing(asked, tag)
    if last is None or asked.today > _tells_by(asked, last):
        return None
    first = course_began(asked.facts, last.male, tag, asked.today)
    if first is None:
        return None
    visible = asked.facts.figure(asked.facts.species_of(tag), "gravid_visible_days")
    on = first.put_in + timedelta(round(visible.low or 21))
    told = any(
        sign.sign in ("gravid", "slim") and sign.on >= first.put_in
        for sign in asked.facts.signs_of.get(tag, ())
    ) or any(clutch.laid > first.put_in for clutch in asked.facts.clutches_of.get(tag, ()))
    searching = window is not None and window.start <= asked.today and on < asked.today
    if told or searching or asked.beyond(on):
        return None
    until = first.put_in + timedelta(math.ceil(visible.high)) if visible.high else None
    return item(
        asked, "check-gravid", f"female {tag}", f"pairing {first.key}", (tag,), on,
        f"Look whether {tag} is gravid.",
        f"First with {first.male} on {day(first.put_in, asked.today)}; eggs show "
        f"{span(visible, 'day')} after mating.",
        until=until, place=_place(asked, tag),
    )  # fmt: skip


@dataclass(frozen=True)
class _Opening:
    """What opens a search: from and to which day it makes sense, why, and a note for its key."""

    on: date
    end: date
    why: str
    note: str = ""


def _tells_by(asked: Asked, last: Pairing) -> date:
    """The day by which she would have laid if she took; after that the question is moot."""
    species = asked.facts.species_of(last.female)
    laying = asked.facts.figure(species, "mating_to_first_clutch_days").high or 60
    return last.put_in + timedelta(math.ceil(laying) + MOOT_DAYS)


def _search(asked: Asked, tag: str, window: Window | None) -> Due | None:
    """Her sand is searched from the start of her window, or at once when she shows she has laid."""
    clutch = latest(asked.facts.clutches_of.get(tag, ()), _laid, asked.today)
    pairing = _last_pairing(asked, tag)
    since = clutch.laid if clutch else pairing.put_in if pairing else date.min
    after = f"clutch {clutch.key}" if clutch else f"pairing {pairing.key if pairing else 0}"
    opening = _by_sign(asked, tag, since) or _by_window(asked, window)
    searches = [s for s in asked.facts.searches_of.get(tag, ()) if s.on >= since]
    if opening and searches:
        opening = _searched(asked, opening, searches[-1])
    if opening is None or asked.beyond(opening.on):
        return None
    return item(
        asked, "search-eggs", f"female {tag}", f"{tag} after {after}{opening.note}", (tag,),
        opening.on, f"Search {its(tag, 'sand')} for eggs.", opening.why,
        until=max(opening.end, opening.on), place=_place(asked, tag),
    )  # fmt: skip


def _searched(asked: Asked, opening: _Opening, last: Search) -> _Opening | None:
    """What an earlier search leaves of it: nothing, if eggs were found; else another in two days.

    A search well before the opening changes nothing but the key.
    """
    if last.found:
        return None
    again = last.on + timedelta(SEARCH_AGAIN_DAYS)
    if again > opening.end + timedelta(SEARCH_PAST_DAYS):
        return None
    why = f"Nothing found on {day(last.on, asked.today)}. {opening.why}"
    note = f"{opening.note}, searched {last.on.isoformat()}"
    return replace(opening, on=max(opening.on, again), why=why, note=note)


def _by_window(asked: Asked, window: Window | None) -> _Opening | None:
    if window is None or asked.beyond(window.start):
        return None
    share = round(100 * window.coverage)
    said = (
        f"Next clutch about {day(window.centre, asked.today)}, {share}% window "
        f"{day(window.start, asked.today)} to {day(window.end, asked.today)}. "
        f"{sentence(window.basis)}"
    )
    return _Opening(window.start, window.end, said)


def _by_sign(asked: Asked, tag: str, since: date) -> _Opening | None:
    """Slim after gravid with no eggs found, or digging: the search is on whatever the window."""
    seen = [s for s in asked.facts.signs_of.get(tag, ()) if since < s.on <= asked.today]
    if not seen:
        return None
    last = {sign.sign: sign.on for sign in seen}
    gravid, slim, digging = last.get("gravid"), last.get("slim"), last.get("digging")
    if gravid and slim and slim >= gravid:
        why = (
            f"Gravid on {day(gravid, asked.today)}, slim on {day(slim, asked.today)}, "
            f"and no eggs found since: she has probably laid."
        )
        return _Opening(slim, slim, why, f", slim {slim.isoformat()}")
    if digging and (asked.today - digging).days <= SEARCH_PAST_DAYS:
        on = digging + timedelta(DIGGING_DAYS)
        why = f"Seen digging on {day(digging, asked.today)}."
        return _Opening(on, on, why, f", digging {digging.isoformat()}")
    return None


def _rest(asked: Asked, tag: str) -> Due | None:
    rest = rest_called_for(asked.facts, tag, asked.today) if _bred_lately(asked, tag) else None
    if rest is None:
        return None
    until = f" until {day(rest.until, asked.today)}" if rest.until else ""
    return item(
        asked, "rest-female", f"female {tag}", f"{tag} {rest.after}", (tag,), rest.since,
        f"Rest {tag}{until}: feed her up, no male.", " ".join(rest.reasons),
        until=rest.until, place=_place(asked, tag),
    )  # fmt: skip


BREEDING_DAYS = 365


def _bred_lately(asked: Asked, tag: str) -> bool:
    """Paired or laying within the last year."""
    facts, today = asked.facts, asked.today
    since = today - timedelta(BREEDING_DAYS)
    laid, paired = facts.clutches_of.get(tag, ()), facts.pairings_of.get(tag, ())
    return any(since <= c.laid <= today for c in reversed(laid)) or any(
        since <= p.put_in <= today for p in reversed(paired)
    )


def _first_pairing(asked: Asked, tag: str) -> Due | None:
    ready = first_pairing(asked.facts, tag, asked.today)
    if ready is None or asked.beyond(ready.on):
        return None
    return item(
        asked, "first-pairing", f"female {tag}", f"{tag}", (tag,), ready.on,
        f"{tag} is old enough for a first pairing: check her weight and body, then choose a male.",
        ready.why, until=ready.until, place=_place(asked, tag),
    )  # fmt: skip
