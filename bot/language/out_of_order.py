"""What shows that words have changed places or were lost: a lone "oz", "P3 P2 to", "A rack 5"."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bot.language.items import BREAKS, ENTITIES, Item
from bot.records import Record

_LEADING = ("to", "with", "of", "for", "from")
_MASS = ("g", "oz", "kg", "lb", "mg")
_GAINS = frozenset({"gained", "lost", "losing", "gaining"})
_DEEDS = ("take", "took", "part", "put", "move")


@dataclass(frozen=True, slots=True)
class Here:
    """A word of a clause with its neighbours, and the record that the clause came to."""

    items: Sequence[Item]
    item: Item
    lead: Item | None
    follow: Item | None
    record: Record

    @property
    def ends(self) -> bool:
        """True where its fragment ends with it."""
        return self.follow is None or self.follow.what in BREAKS

    def of(self, *kinds: str) -> bool:
        """True for a record of those kinds."""
        return self.record.kind in kinds


def _lone_unit(here: Here) -> bool:
    unit = here.item.is_("unit", *_MASS) and len(here.item.text) > 1
    return unit and here.of("weighed", "reading")


def _leads_nowhere(here: Here) -> bool:
    lead = here.lead
    led = lead is not None and (lead.what in ENTITIES or lead.is_("food"))
    small = here.item.is_("prep", *_LEADING) or here.item.is_("mood", "except")
    return led and here.ends and small


def _part_of_a_day(here: Here) -> bool:
    follow = here.follow
    told = follow is not None and (follow.is_("act") or follow.what == "tag")
    return here.item.word == "last" and told


def _change_of_weight(here: Here) -> bool:
    figures = [e for e in here.items if e.what in ("grams", "num")]
    return here.item.word in _GAINS and here.of("weighed") and len(figures) < 2


def _stopped(here: Here) -> bool:
    return here.item.word == "stopped" and here.of("fed") and not _refused(here)


def _nose_up(here: Here) -> bool:
    return here.item.word in ("nose", "turned") and here.of("fed") and not _refused(here)


def _refused(here: Here) -> bool:
    return bool(here.record.get("refused"))


def _perhaps_fed(here: Here) -> bool:
    """ "foud zilch", "I mea F7": no more than a slip of "food" or "meal" tells of a meal."""
    told = ("food", "count", "refused", "dusted")
    bare = here.of("fed") and not any(here.record.get(name) for name in told)
    return bare and here.item.is_("act", "feed") and not here.item.sure


def _of_a_shed(here: Here) -> bool:
    return here.item.word == "skin" and here.of("parted")


def _no_sexing(here: Here) -> bool:
    return here.of("sexed") and here.item.is_("act", *_DEEDS)


def _place_unread(here: Here) -> bool:
    lead = here.lead
    after = lead is not None and (lead.word == "a" or (lead.what in ("place", "num") and here.ends))
    noun = here.item.is_("placenoun")
    return after and noun and here.of("fed", "placed", "watered", "animal")


def _letter_of_a_place(here: Here) -> bool:
    letter = len(here.item.text) == 1 and here.item.text.isalpha()
    opens = here.lead is None or here.lead.what in BREAKS
    place = here.follow is not None and here.follow.what == "place"
    return letter and opens and place and here.of("fed")


def _puts_right(here: Here) -> bool:
    named = here.lead is not None and here.lead.what in ENTITIES
    return named and here.ends and here.item.is_("mood", "fix")


_SIGNS: tuple[tuple[Callable[[Here], bool], str], ...] = (
    (_lone_unit, "is a unit with no figure"),
    (_leads_nowhere, "leads to nothing"),
    (_part_of_a_day, "is part of a day that is not read"),
    (_change_of_weight, "tells of a change"),
    (_stopped, "denies something"),
    (_nose_up, "tells of a refusal"),
    (_perhaps_fed, "may be another word"),
    (_of_a_shed, "tells of a shed"),
    (_no_sexing, "tells of something else"),
    (_place_unread, "is a place left unread"),
    (_letter_of_a_place, "is part of a place"),
    (_puts_right, "puts something right"),
)


def out_of_order(items: Sequence[Item], k: int, record: Record) -> str:
    """Why a word can't stand where it does beside that record, or ""."""
    if items[k].what != "word":
        return ""
    lead = items[k - 1] if k else None
    follow = items[k + 1] if k + 1 < len(items) else None
    here = Here(items, items[k], lead, follow, record)
    return next((why for holds, why in _SIGNS if holds(here)), "")
