"""Looks for what a record leaves unread: a name, a number or a word that nothing accounts for.

A record is only written where the whole of its clause is read. What is left over may be the very
word that turns the meaning ("K3 to helf 2 tub 6"), so that clause is asked about instead.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from typing import Any

from bot.language.clauses import Clause
from bot.language.gaps import BLOCKING
from bot.language.items import BREAKS, ENTITIES, Item
from bot.language.out_of_order import out_of_order
from bot.language.spelling import near_keys, plain_slip, slip_cost
from bot.language.view import View
from bot.language.wording import Lexicon
from bot.records import Record

_ONE_OF_IT = frozenset({"one", "ones", "single", "both", "half"})
_STAYING = frozenset({"staying", "stays", "living", "lives", "waiting", "resting"})
_CHANGES = frozenset({"gained", "lost", "up", "down", "by", "dropped", "plus", "minus", "put on"})
_TWO_SIDED = frozenset({"mating", "biting", "receptive", "unreceptive"})
_PRECISE = ENTITIES | {"num", "grams", "temp", "pct"}
_RANGES = frozenset({"so", "two", "three", "more", "thereabouts", "2", "3"})


class Accounts:
    """What the records of a message account for: tags, slots, places and figures."""

    def __init__(self, records: Iterable[Record], view: View) -> None:
        self.view = view
        self.words: set[str] = set()
        self.figures: set[float] = set()
        moved = 0
        for record in records:
            moved += record.kind == "shifted"
            for value in record.fields.values():
                self._take(value)
        self.figures.add(float(moved))  # "moved two eggs, C5 to C7 and C6 to C8"

    def _take(self, value: Any) -> None:
        if isinstance(value, tuple):
            self.figures.add(float(len(value)))
            for each in value:
                self._take(each)
        elif isinstance(value, bool):
            return
        elif isinstance(value, int | float):
            self.figures.add(float(value))
        elif isinstance(value, str):
            self.words.add(value.casefold())
            egg = self.view.eggs.get(value)
            if egg is not None and egg.dam:
                self.words.add(egg.dam.casefold())
            seen = self.view.animals.get(value)
            if seen is not None and seen.place:
                self.words.add(seen.place.casefold())

    def hold(self, item: Item) -> bool:
        """True where the records account for a piece."""
        if item.what in ("tag", "slot"):
            if all(self._names(str(v)) for v in item.value):
                return True
            if all(self._home_told(str(v)) for v in item.value):
                return True
            names = {n.casefold() for c in item.codes for n in (c.tag, c.slot, c.wrote) if n}
            return len(item.value) == 1 and bool(names & self.words)
        if item.what == "box":
            return any(self._boxed(str(v).casefold()) for v in item.value)
        if item.what == "place":
            values = item.value if isinstance(item.value, tuple) else (item.value,)
            return all(v.casefold() in self.words for v in values)
        return item.value is None or self._figure(float(item.value))

    def _home_told(self, tag: str) -> bool:
        """True where the place of an animal is told of: "sprayed F3's tub"."""
        seen = self.view.animals.get(tag)
        return seen is not None and bool(seen.place) and str(seen.place).casefold() in self.words

    def _names(self, value: str) -> bool:
        if value.startswith("?"):
            return any(word.endswith(value[1:]) for word in self.words)
        return value.casefold() in self.words

    def _boxed(self, box: str) -> bool:
        return f"box {box}" in self.words or any(
            word.rstrip("0123456789") == box and word[-1:].isdigit() for word in self.words
        )

    def _figure(self, value: float) -> bool:
        as_celsius = (value - 32) * 5 / 9
        return any(abs(each - f) < 0.06 for each in (value, as_celsius) for f in self.figures)


def unread(
    items: Sequence[Item], record: Record, accounts: Accounts, lex: Lexicon, open_end: bool = False
) -> str:
    """Why a clause is not wholly read, or "" where it is; `items` are the clause's pieces."""
    if record.kind == "box":
        return ""
    if open_end:
        return "what follows may belong to it"
    for k, item in enumerate(items):
        if _aside(items, k):
            continue
        reason = _unread_piece(items, k, record, accounts, lex)
        if reason:
            return f"{item.text!r} {reason}"
    return ""


def _unread_piece(
    items: Sequence[Item], k: int, record: Record, accounts: Accounts, lex: Lexicon
) -> str:
    item = items[k]
    if item.what == "place" and record.kind == "fed" and _elsewhere(item, accounts.view):
        return "is no place of the book"
    if item.what in ENTITIES:
        return "" if _has_part(items, k, record, accounts) else "has no part in it"
    if item.what in ("num", "grams", "temp", "pct"):
        return "" if _used(items, k, record, accounts, lex) else "is a figure that is not used"
    if _day_left_over(items, k, lex):
        return "is part of a day that is not read"
    if item.is_("joint", "or"):
        follow = items[k + 1].text.casefold() if k + 1 < len(items) else ""
        return "" if follow in _RANGES else "leaves it open"
    if item.is_("mood", "neg") and k == len(items) - 1 and k > 0 and not _says_no(record):
        return "denies something"
    if _misheard(items, k, record):
        return "may be a figure or a code as it sounds"
    if item.is_("placenoun") and _lettered(items, k):
        return "is a place left unread"
    if _doubtfully_put_right(item, lex):
        return "may be another word"
    if item.what == "word" and not item.sure and _like_a_turn(item.text.casefold(), lex):
        return "is like a word that turns the meaning"
    turned = out_of_order(items, k, record)
    if turned:
        return turned
    if item.text.casefold() == "point" and (record.get("grams") or record.get("celsius")):
        return "belongs to a figure that is not read"
    if item.what == "word" and not item.senses:
        if _tells_unread(items, k, record, lex):
            return "tells something that is not read"
        if _like_a_turn(item.text.casefold(), lex):
            return "is like a word that turns the meaning"
        if _like_a_name(items, k, accounts.view, lex):
            return "is like a name in the book"
        return "is like a word of the trade" if _like_trade(items, k, lex) else ""
    return ""


def _aside(items: Sequence[Item], k: int) -> bool:
    """True within "..., he's staying with C3 for now": more of the same animal, no deed in it."""
    start = next((n + 1 for n in range(k, -1, -1) if items[n].what in BREAKS), 0)
    if start == 0:
        return False
    fragment = items[
        start : next((n for n in range(k + 1, len(items)) if items[n].what in BREAKS), len(items))
    ]
    return (
        fragment[:1] != []
        and fragment[0].is_("pron", "he", "she")
        and any(e.text.casefold() in _STAYING for e in fragment)
    )


def _day_left_over(items: Sequence[Item], k: int, lex: Lexicon) -> bool:
    """ "days 3 ago", "last nigyh": a day that a slip has taken apart."""
    word = items[k].text.casefold()
    if items[k].what != "word":
        return False
    if word == "ago":
        return True
    follow = items[k + 1].text.casefold() if k + 1 < len(items) else ""
    return word == "last" and k > 0 and (not follow or follow not in lex.known)


_CODE_LETTERS = frozenset("bdefghjklmpqtvyz")


def _misheard(items: Sequence[Item], k: int, record: Record) -> bool:
    """ "a clutch of too one slug", "f to ten crickets", "rack for shelf 2"."""
    item = items[k]
    follow = items[k + 1] if k + 1 < len(items) else None
    if item.what != "word" or follow is None:
        return False
    word = item.text.casefold()
    if record.kind in ("laid", "fed") and word in ("to", "too", "won") and follow.what == "num":
        return True
    sounds = follow.is_("soundnumber") or follow.what == "num"
    if len(word) == 1 and word in _CODE_LETTERS and sounds:
        return True
    after = items[k + 2] if k + 2 < len(items) else None
    return (
        item.is_("placenoun")
        and follow.is_("soundnumber")
        and after is not None
        and after.what == "place"
    )


def _lettered(items: Sequence[Item], k: int) -> bool:
    """ "rack a": a place's noun and a letter that were not taken together."""
    follow = items[k + 1] if k + 1 < len(items) else None
    last = k + 2 >= len(items) or items[k + 2].what in BREAKS
    return follow is not None and follow.what == "word" and len(follow.text) == 1 and last


def _says_no(record: Record) -> bool:
    """True for a record that itself tells of nothing: nothing found, not eaten, not fertile."""
    return (
        record.get("found") == 0
        or bool(record.get("refused"))
        or record.get("state") in ("infertile", "too-early")
    )


def _has_part(items: Sequence[Item], k: int, record: Record, accounts: Accounts) -> bool:
    item = items[k]
    if accounts.hold(item) or _led_from(items, k):
        return True
    if record.kind == "seen" and item.what == "tag" and record.get("sign") in _TWO_SIDED:
        return True
    return _put_right(items, k)


def _led_from(items: Sequence[Item], k: int) -> bool:
    """ "from tub 2", "was 19.4g": where a thing came from is no part of the record."""
    lead = items[k - 1] if k else None
    return lead is not None and (
        lead.is_("prep", "from", "of") or lead.text.casefold() in ("was", "were", "than", "since")
    )


def _put_right(items: Sequence[Item], k: int) -> bool:
    """True for a piece that one of its sort takes the place of: "shelf 2... no, shelf 4"."""
    later = [e for e in items[k + 1 :] if e.what == items[k].what]
    return bool(later) and any(e.is_("mood", "neg", "fix") for e in items[k + 1 :])


def _used(items: Sequence[Item], k: int, record: Record, accounts: Accounts, lex: Lexicon) -> bool:
    item = items[k]
    if accounts.hold(item) or _led_from(items, k) or _put_right(items, k):
        return True
    if record.kind == "left":  # the price
        return True
    if record.kind == "fed" and any(
        e.is_("prep", "of") or e.text.casefold() == "out of" for e in items[max(0, k - 2) : k]
    ):
        return True  # "2 of her 5"
    if item.what == "num" and (
        item.text.casefold().split()[-1] in _ONE_OF_IT or _guessed(item, lex)
    ):
        return True
    lead = items[k - 1] if k else None
    if record.kind == "weighed" and lead is not None and lead.text.casefold() in _CHANGES:
        return True
    if lead is not None and lead.is_("prep", "at"):  # an hour that no day is told for
        return True
    return item.what == "num" and "whole" in item.senses and _counts_aside(items, k, record)


def _guessed(item: Item, lex: Lexicon) -> bool:
    """True for a figure that was itself made out of a slip ("nothing tehre")."""
    word = item.text.casefold()
    return word.isalpha() and word not in lex.known


def _counts_aside(items: Sequence[Item], k: int, record: Record) -> bool:
    """ "two big lumps in her belly", "3 weeks": the number counts what no record is about."""
    if record.kind == "seen" and any(
        e.is_("act", "egg") or e.is_("sign") for e in items[k + 1 : k + 4]
    ):
        return True
    for item in items[k + 1 : k + 4]:
        if item.what in BREAKS or item.what != "word" or item.is_("prep"):
            return item is not items[k + 1]
        if item.is_("plain") or item.is_("trait") or not item.senses:
            continue
        return item.is_("period") or item.is_("unit")
    return k + 1 < len(items) and items[k + 1].what == "word"


_HEARTS = ("act", "sign", "state", "how", "fed", "sex", "spoil", "better", "food")


def _doubtfully_put_right(item: Item, lex: Lexicon) -> bool:
    """ "thid morning", "foud zilch": taken for a word of the trade, but as near to a plain one."""
    if item.sure or item.what != "word" or not any(item.is_(cls) for cls in _HEARTS):
        return False
    typed = item.text.casefold().split()
    meant = item.meant.split()
    if len(typed) != len(meant):
        return False
    for one, two in zip(typed, meant, strict=True):
        if one == two or one in lex.known or (len(typed) > 1 and two in lex.everyday):
            continue
        rival = plain_slip(one, lex.everyday)
        easily = len(one) <= 5 and (item.is_("sign", "thin") or item.is_("act", "feed"))
        if rival is not None and rival + (-0.1 if easily else 0.3) < slip_cost(one, two):
            return True
    return False


def _elsewhere(item: Item, view: View) -> bool:
    """ "fed rack six 2 crickets": the book has racks, and no rack 6."""
    names = item.value if isinstance(item.value, tuple) else (item.value,)
    leads = view.place_leads
    return any(n.casefold() not in leads and n.casefold().split()[0] in leads for n in names)


def _strange(item: Item, lex: Lexicon) -> bool:
    """True for a word in lower case that neither the trade nor English has."""
    word = item.text
    return len(word) > 2 and word.isalpha() and word.islower() and word not in lex.known


def _tells_unread(items: Sequence[Item], k: int, record: Record, lex: Lexicon) -> bool:
    """A strange word where something is told: "E4 bunned", "at nion", "fruit fies", "both uds"."""
    if not _strange(items[k], lex):
        return False
    lead = items[k - 1] if k else None
    follow = items[k + 1] if k + 1 < len(items) else None
    ends = follow is None or follow.what in BREAKS
    if lead is not None and ends and lead.what in ENTITIES:
        return True
    if lead is not None and (lead.is_("prep", "at") or lead.is_("pron", "both")):
        return True
    if record.kind == "fed" and not record.get("food") and lead is not None:
        return lead.is_("act", "feed", "give") or lead.is_("plain") or lead.what == "num"
    if record.kind == "animal":
        return (follow is not None and follow.what == "date") or (
            lex.speller.slip_of(items[k].text) is not None
        )
    return False


def _like_a_turn(word: str, lex: Lexicon) -> bool:
    """ "lmost sold", "eeds water": one slip from a word that denies, plans or doubts."""
    if len(word) < 3 or not word.isalpha() or word in lex.known:
        return False
    return bool(near_keys(word, lex.turning))


def _like_a_name(items: Sequence[Item], k: int, view: View, lex: Lexicon) -> bool:
    """ "caramel and oliv": a slip of an animal's name, too short to be put right."""
    word = items[k].text.casefold()
    if not 4 <= len(word) <= 14 or not word.isalpha() or word in lex.known or not view.names:
        return False
    return bool(near_keys(word, view.names))


def _like_trade(items: Sequence[Item], k: int, lex: Lexicon) -> bool:
    """True for an unknown word that may be a slip for a word of the trade, or for a denial.

    One that is as near to an everyday word is let pass, but not ahead of a figure or a name.
    """
    word = items[k].text.casefold()
    if len(word) < 3 or not word.isalpha() or word in lex.known:
        return False
    if items[k].text[:1].isupper() and not items[k].text.isupper():
        return False
    trade = lex.speller.slip_of(word)
    if trade is None:
        return False
    plain = plain_slip(word, lex.everyday)
    follow = items[k + 1] if k + 1 < len(items) else None
    precise = follow is not None and (follow.what in _PRECISE or follow.is_("daypart"))
    return plain is None or trade < plain + (0.7 if precise else 0.0)


def passed_over(clause: Clause, accounts: Accounts, lex: Lexicon) -> str:
    """What a clause that came to nothing leaves unread, of the sort that a record would take.

    "C6 laid one, put it in Wilow 3": the 3 belongs to the laying, and the slip hides how.
    """
    if clause.moods & BLOCKING:
        return ""
    for k, item in enumerate(clause.items):
        if item.what not in ("num", "slot", "tag", "place") or item.word in _ONE_OF_IT:
            continue
        near = clause.items[max(0, k - 2) : k + 3]
        slips = any(e.what == "word" and (_strange(e, lex) or not e.sure) for e in near)
        lead = clause.items[k - 1].text if k else ""
        unknown = lead.isalpha() and len(lead) > 2 and lead.casefold() not in lex.known
        figure = any(e.what in ("num", "grams") and not accounts.hold(e) for e in clause.items)
        lost = item.what == "slot" or (item.what == "tag" and figure and _plain_tag(item))
        lost = lost or (_new_tag(item) and any(e.is_("act", "name") for e in near))
        if (slips or unknown or lost) and not accounts.hold(item):
            return item.text
    return ""


def _plain_tag(item: Item) -> bool:
    return bool(item.codes) and all(code.tag for code in item.codes)


def mark_open_ends(clauses: Sequence[Clause]) -> None:
    """Marks a clause whose last slot is followed by another with no mark between them.

    In "in K5 and K6 nothing in P2's", told without commas, K6 may belong to either side.
    """
    for one, two in itertools.pairwise(clauses):
        last = next((e for e in reversed(one.items) if e.what not in BREAKS), None)
        marks = [e for e in one.items[-2:] if e.what == "comma"]
        first = two.items[0]
        if last is None or marks or two.joined not in ("", "and"):
            continue
        kin = last.what == first.what and (
            last.what == "slot" or (_new_tag(last) and _new_tag(first))
        )
        one.open_end = one.open_end or (kin and not _same_turn(one, two))


def _same_turn(one: Clause, two: Clause) -> bool:
    """ "C5 to C7 and C6 to C8": each side has its own "to", so that no slot is left between."""
    lead = one.items[:-1] and one.items[-2]
    ahead = two.items[1:3]
    return bool(
        lead and lead.is_("prep", "to") and ahead and ahead[0].is_("prep", "to")
        and len(ahead) == 2 and ahead[1].what == "slot"
    )  # fmt: skip


def _new_tag(item: Item) -> bool:
    return item.what == "tag" and not any(code.tag for code in item.codes)
