"""The keeper's trait words as genotypes: "stripe", "het stripe", "66% het stripe", "super snow"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from scheduler.colony import Trait
from scheduler.inheritance import Chances, check, most_copies, scaled

POSSIBLE_HET = 0.5
"""Chance taken for "poss het" where neither a percentage nor the parents tell (our convention)."""

_WORDS = re.compile(
    r"(?:(?P<percent>\d{1,3})\s*%\s*)?"
    r"(?:(?P<possible>poss(?:ible)?\.?|maybe)\s+)?"
    r"(?:(?P<grade>het(?:erozygous)?|super|homo(?:zygous)?)\.?\s+(?:for\s+)?)?"
    r"(?P<name>.+)",
    re.IGNORECASE,
)
_THIRDS = {33: 1 / 3, 66: 2 / 3, 67: 2 / 3}


@dataclass(frozen=True)
class Carried:
    """One trait word as read: the trait, and the chances of its copies (None: parents tell)."""

    trait: Trait
    chances: Chances | None
    possible: bool = False


def definitions(traits: Iterable[Trait]) -> dict[str, Trait]:
    """The traits by case-folded name, checked. Raises TraitError."""
    return {trait.name.casefold(): check(trait) for trait in traits}


def read_word(word: str, sex: str, defined: Mapping[str, Trait]) -> Carried | str:
    """A trait word as read, or a sentence that says why it can't be used.

    | word            | recessive "stripe"                 |
    |-----------------|------------------------------------|
    | stripe          | two copies                         |
    | het stripe      | one copy                           |
    | 66% het stripe  | one copy with a chance of 2 in 3   |
    | poss het stripe | the parents tell, else 1 in 2      |
    | super snow      | two copies (incomplete dominant)   |
    """
    words = " ".join(word.split())
    for trait in defined.values():
        if trait.double and words.casefold() == trait.double.casefold():
            return Carried(trait, {2: 1.0})
    match = _WORDS.fullmatch(words)
    name = match["name"].casefold() if match else ""
    if words.casefold() in defined:
        return Carried(defined[words.casefold()], _visible(defined[words.casefold()], sex))
    if match is None or name not in defined:
        return f"{word} is not defined: say how it is inherited."
    return _graded(match, defined[name], sex)


def _graded(match: re.Match[str], trait: Trait, sex: str) -> Carried | str:
    """A word with a grade ("het", "super") or a percentage."""
    grade = (match["grade"] or "").casefold()
    if grade.startswith("het"):
        if most_copies(trait, sex) == 1:
            return f"A {sex} can't be het for {trait.name}: it shows, or is not there."
        if match["percent"]:
            percent = min(int(match["percent"]), 100)
            chance = _THIRDS.get(percent, percent / 100)
            return Carried(trait, scaled({0: 1 - chance, 1: chance}))
        possible = bool(match["possible"])
        return Carried(trait, None if possible else {1: 1.0}, possible)
    if grade:
        return Carried(trait, {most_copies(trait, sex): 1.0})
    if match["possible"] or match["percent"]:
        return f"{match.group(0)}: say whether that is het or shown."
    return Carried(trait, _visible(trait, sex))


def _visible(trait: Trait, sex: str) -> Chances:
    """What an animal that shows the trait carries; one copy is enough for a dominant."""
    if trait.inheritance in ("recessive", "sex-linked"):
        return {most_copies(trait, sex): 1.0}
    return {1: 1.0}
