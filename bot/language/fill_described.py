"""Reads what is told of an animal that the book has: its species, hatch day, parents and traits.

"M1 is a picta, hatched 1 Nov 2024", "F3's mother is F1". A sentence is taken only where every piece
of it fits the patterns in `described.toml`, so that nothing else a keeper says is read as this.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from bot.language.clauses import sentences
from bot.language.codes import near_tags
from bot.language.dates import resolve
from bot.language.drafts import Draft, Scene
from bot.language.items import Item
from bot.language.reading import NO_TALK, Ask, Outcome, Reading, Talk
from bot.language.spans import span_of
from bot.records import Record

_FILE = Path(__file__).with_name("described.toml")
DAYS_IN = {"day": 1.0, "week": 7.0, "month": 30.44, "year": 365.25}
"""Days in what an age is told in; the months and years of the mean Gregorian year."""
_UNIT = re.compile(r"(?P<count>[\d.]*)\s*(?P<unit>d|w|m|y)[a-z]*$")
OLDEST_YEARS = 60  # no gecko that is kept is older: an age beyond it is a slip (ours)
MOST_PIECES = 80  # a longer message is no description of a few animals (ours)
_OTHER_SEX = {"she": "male", "her": "male", "hers": "male", "he": "female", "his": "female"}
_SEXES = {"sire": "male", "dam": "female"}


@dataclass(frozen=True)
class _Patterns:
    """What may follow an animal's name, by subject, compiled once."""

    parts: tuple[re.Pattern[str], ...]
    turned: tuple[re.Pattern[str], ...]
    lead: re.Pattern[str]
    subject: re.Pattern[str]
    between: re.Pattern[str]


@cache
def _patterns() -> _Patterns:
    words = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    het = str(words["traits"]["het"])
    carried = str(words["traits"]["carried"])

    def made(said: str) -> re.Pattern[str]:
        said = said.replace("CARRIED", carried).replace("HET", het)
        said = said.replace("(?:is ", f"(?:{words['is']}").replace("(?:is)", f"(?:{words['is']})")
        said = said.replace("roughly )?", f"{words['roughly']})?", 1)
        for name in ("female_parent", "male_parent"):
            said = said.replace(name, str(words[name]))
        return re.compile(said + r"(?= |$)")

    parts = [made(s) for n in ("species", "hatched", "parents", "traits") for s in words[n]["said"]]
    turned = [made(said) for said in words["turned"]["said"]]
    between = "|".join(sorted(map(re.escape, words["between"]), key=len, reverse=True))
    subject = (
        r"(?P<tag>TAG(?:(?: ,| and| , and) TAG)*)(?: :)?(?= |$)|"
        rf"(?P<pronoun>{words['pronoun']})(?= |$)"
    )
    return _Patterns(
        tuple(parts), tuple(turned), re.compile(words["lead"]), re.compile(subject),
        re.compile(rf"(?:{between})(?= )"),
    )  # fmt: skip


@dataclass
class _Line:
    """One sentence as words for the patterns, with the item that each word came from."""

    text: str
    items: list[Item]

    def under(self, start: int, end: int) -> list[Item]:
        """The items under a stretch of the text, each once."""
        first = self.text[:start].count(" ")
        found = self.items[first : first + self.text[start:end].count(" ") + 1]
        return list({id(each): each for each in found}.values())


@dataclass
class _Told:
    """One animal, and what was told of it."""

    tag: str
    fields: dict[str, Any] = field(default_factory=dict)
    trouble: Ask | None = None

    def ask(self, about: str, why: str, said: str, choices: Sequence[str] = ()) -> None:
        self.trouble = self.trouble or Ask(about, tuple(choices), None, why, said)


def described(items: Sequence[Item], scene: Scene, talk: Talk = NO_TALK) -> Reading | None:
    """The reading of a message that only describes animals of the book; None for any other."""
    if len(items) > MOST_PIECES:
        return None
    told: list[_Told] = []
    before, bare = _spoken_of(scene, talk)
    for sentence, mark in sentences(items):
        if mark == "?":
            return None
        found = _sentence(_line(_joined(sentence)), scene, before, bare)
        if not found:
            return None
        told += found
        before, bare = (found[-1].tag,), True
    return _outcome(told, scene) if told else None


def _spoken_of(scene: Scene, talk: Talk) -> tuple[tuple[str, ...], bool]:
    """Whom "she" means, and whether a bare "picta" would be of that one.

    It is where the animal was written in just now, and nothing is asked.
    """
    if len(talk.last) == 1 and talk.last[0].kind in ("animal", "described"):
        return (talk.last[0].get("tag"),), talk.question is None
    return (scene.told_tags if len(scene.told_tags) == 1 else ()), False


def _outcome(told: Sequence[_Told], scene: Scene) -> Reading | None:
    merged: dict[str, _Told] = {}
    for each in told:
        known = merged.setdefault(each.tag, _Told(each.tag))
        known.fields |= each.fields
        known.trouble = known.trouble or each.trouble
    if any(_comes_out(each, scene) for each in merged.values()):
        return None
    for each in merged.values():
        _check(each, scene)
    today = scene.now.date()
    sure = [each for each in merged.values() if each.trouble is None]
    records = tuple(Record("described", today, None, {"tag": e.tag, **e.fields}) for e in sure)
    asks = tuple(_question(each, today) for each in merged.values() if each.trouble is not None)
    reasons = ("what is told of an animal that the book has",)
    if asks:
        return Reading(Outcome.ASK, records, ask=asks[0], later=asks[1:], reasons=reasons)
    return Reading(Outcome.RECORDS, records, reasons=reasons)


def _comes_out(told: _Told, scene: Scene) -> bool:
    """ "H20 hatched today" of a tag that is new is a hatching told, and no description."""
    return told.tag not in scene.view.animals and set(told.fields) <= {"hatched", "roughly"}


def _question(told: _Told, today: date) -> Ask:
    asked = told.trouble
    assert asked is not None
    fields = {"tag": told.tag, **told.fields}
    fields.pop(asked.about, None)
    if asked.about == "hatched":
        fields.pop("roughly", None)
    waiting = Record("described", today, None, fields)
    return Ask(asked.about, asked.choices, waiting, asked.why, asked.said)


# --- one sentence ---------------------------------------------------------------------------


_MONTHS_SHORT = ("mo", "mos", "mth", "mths")
_UNITS_SHORT = {"yr": "year", "yrs": "year", "yo": "year", "wk": "week", "wks": "week"}


def _joined(sentence: Sequence[Item]) -> list[Item]:
    """The pieces, with "18" and "mo", "a" and "year", "march" and "2024" made one."""
    out: list[Item] = []
    for item in sentence:
        last = out[-1] if out else None
        made = _made_of(last, item) if last is not None else None
        if made is not None:
            out[-1] = made
        else:
            out.append(item)
    return out


def _made_of(one: Item, two: Item) -> Item | None:
    said = two.text.casefold()
    unit = "month" if said in _MONTHS_SHORT else _UNITS_SHORT.get(said, "")
    if one.what == "num" and unit:
        return Item("other", one.value, one.i, two.j, f"{one.text} {unit}")
    if one.text.casefold() in ("a", "an", "one") and said in ("year", "month", "week"):
        return Item("other", 1.0, one.i, two.j, f"1 {said}")
    if one.is_("month") and two.what == "num" and 1950 <= two.value <= 2200:
        name = f"month:{one.get('month')}:{two.value:.0f}"
        return Item("span", name, one.i, two.j, f"{one.text} {two.text}")
    return None


def _line(sentence: Sequence[Item]) -> _Line:
    words: list[str] = []
    items: list[Item] = []
    for item in sentence:
        for word in _words(item):
            words.append(word)
            items.append(item)
    return _Line(" ".join(words), items)


def _words(item: Item) -> list[str]:
    """The piece as the patterns name it, or as typed."""
    named = {"tag": "TAG", "date": "DATE", "share": "SHARE"}.get(item.what)
    if named is not None:
        return [named]
    if item.what == "span" and str(item.value).startswith("month:"):
        return ["MONTH"]
    if item.what in ("other", "num") and _age(item) is not None:
        return ["AGE"]
    if item.what == "word" and item.get("species"):
        return ["SPECIES"]
    if item.what == "word" and item.get("trait") and not item.is_("act"):
        return ["TRAIT"]
    return item.text.casefold().split()


def _sentence(line: _Line, scene: Scene, before: tuple[str, ...], bare: bool) -> list[_Told]:
    """What one sentence tells, animal by animal; [] where a word of it fits no pattern."""
    rules, told = _patterns(), list[_Told]()
    lead = rules.lead.match(line.text)
    at = lead.end() if lead else 0
    tags = before
    while at < len(line.text):
        who = rules.subject.match(line.text, at)
        if who is not None and who["tag"]:
            tags = tuple(t for i in line.under(*who.span()) if i.what == "tag" for t in i.value)
        elif not (_may_mean(who["pronoun"], tags, scene) if who is not None else told or bare):
            return []
        start = at if who is None else min(who.end() + 1, len(line.text))
        found, end = _part(line, start, tags, scene)
        if not found:
            return []
        told += found
        joint = rules.between.match(line.text, end + 1)
        at = joint.end() + 1 if joint is not None else end + 1
        if joint is None and end < len(line.text):
            return []
    return told


def _may_mean(pronoun: str, tags: tuple[str, ...], scene: Scene) -> bool:
    """Whether "she" or "his" fits the sex of whom it would mean."""
    other = _OTHER_SEX.get(pronoun)
    return all(scene.sex(tag) != other for tag in tags)


def _part(line: _Line, start: int, tags: tuple[str, ...], scene: Scene) -> tuple[list[_Told], int]:
    """The longest thing told from `start` on, of these animals, and where it ends."""
    rules = _patterns()
    matches = [m for each in rules.parts if (m := each.match(line.text, start))]
    turned = [m for each in rules.turned if (m := each.match(line.text, start))]
    best = max((*turned, *matches), key=lambda m: m.end(), default=None)
    if best is None or not tags:
        return [], start
    if best in turned:
        child = line.under(*best.span("tag"))[0].value[0]
        name = "dam" if best["dam"] else "sire"
        return [_parented(_Told(child), [(name, tags[0])], scene)], best.end()
    return [_filled(best, line, tag, scene) for tag in tags], best.end()


# --- the fields -----------------------------------------------------------------------------


def _filled(found: re.Match[str], line: _Line, tag: str, scene: Scene) -> _Told:
    told, today = _Told(tag), scene.now.date()
    groups = {name: line.under(*found.span(name)) for name, v in found.groupdict().items() if v}
    if "species" in groups:
        told.fields["species"] = groups["species"][0].get("species")
    if "hatched" in groups:
        _hatched(told, groups["hatched"][0], today)
        if "roughly" in groups and "hatched" in told.fields:
            told.fields["roughly"] = True
    if "age" in groups:
        _aged(told, groups["age"][0], "roughly" in groups, today)
    if "traits" in groups:
        told.fields["traits"] = tuple(_traits(groups["traits"]))
    parents: list[tuple[str, str]] = [
        (name, groups[name][0].value[0]) for name in ("sire", "dam") if name in groups
    ]
    for name in ("one", "other"):
        if name in groups:
            parents += [("", each) for each in groups[name][0].value]
    return _parented(told, parents, scene) if parents else told


def _hatched(told: _Told, item: Item, today: date) -> None:
    if item.what == "span":
        first, last = span_of(str(item.value), today)
        told.fields |= {"hatched": min(first + (last - first) / 2, today), "roughly": True}
        return
    day = resolve(item.value, today, False)
    if day is None or day > today:
        told.ask("hatched", "impossible" if day is None else "in-future", item.text)
    else:
        told.fields["hatched"] = day


def _aged(told: _Told, item: Item, roughly: bool, today: date) -> None:
    """The hatch day counted back from an age; "about", unless the days were counted."""
    count, unit = _age(item) or (0.0, "day")
    days = count * DAYS_IN[unit]
    if days > OLDEST_YEARS * DAYS_IN["year"]:
        told.ask("hatched", "impossible", item.text)
        return
    told.fields["hatched"] = today - timedelta(days=round(days))
    if roughly or unit != "day":
        told.fields["roughly"] = True


def _age(item: Item) -> tuple[float, str] | None:
    """A count and its unit: (18.0, "month"); None for what is no age."""
    fits = _UNIT.search(item.text.casefold())
    if fits is None or not isinstance(item.value, int | float):
        return None
    unit = next(each for each in DAYS_IN if each[0] == fits["unit"])
    return float(item.value), unit


def _traits(items: Sequence[Item]) -> Iterator[str]:
    """Each trait as the book writes it: "stripe", "het stripe", "66% het stripe"."""
    lead: list[str] = []
    for item in items:
        trait = item.get("trait")
        if trait is not None and not item.is_("act"):
            yield " ".join([*lead, trait])
            lead = []
        elif item.what == "share":
            lead = [f"{item.value:g}%"]
        elif item.text.casefold().startswith("het"):
            lead.append("het")
        elif item.text.casefold() in ("poss", "possible", "double"):
            lead = [item.text.casefold()]


def _parented(told: _Told, parents: Sequence[tuple[str, str]], scene: Scene) -> _Told:
    """Sire and dam by what the words or the sexes say; ask where they can't be."""
    for number, (name, tag) in enumerate(parents):
        sex = scene.sex(tag)
        fitting = {"male": "sire", "female": "dam"}.get(sex)
        name = name or fitting or ("sire" if number == 0 and len(parents) > 1 else "dam")
        if name in told.fields:
            name = "dam" if name == "sire" else "sire"
        if tag not in scene.view.animals:
            told.ask(name, "unknown-tag", tag, near_tags(tag, scene.view))
        elif sex not in (_SEXES[name], "unknown"):
            told.ask(name, f"not-a-{_SEXES[name]}", tag)
        else:
            told.fields[name] = tag
    return told


def _check(told: _Told, scene: Scene) -> None:
    """A tag that the book lacks, or a parent that is no older than its young."""
    animals: Mapping[str, Any] = scene.view.animals
    if told.tag not in animals:
        told.trouble = None
        told.ask("tag", "unknown-tag", told.tag, near_tags(told.tag, scene.view))
        return
    born = told.fields.get("hatched") or animals[told.tag].hatched
    for name in ("sire", "dam"):
        parent = told.fields.get(name)
        if parent is None:
            continue
        older = animals[parent].hatched
        if parent == told.tag or (born and older and older >= born):
            told.ask(name, "impossible", parent)


def checked(draft: Draft, scene: Scene) -> Draft:
    """A described animal whose question was answered, held against the book once more."""
    told = _Told(draft.fields["tag"], dict(draft.fields))
    _check(told, scene)
    if told.trouble is not None:
        draft.ask(told.trouble.about, told.trouble.why, told.trouble.choices, told.trouble.said)
    return draft
