"""How a trait passes from parents to young: copies of a gene, what they show, what they are called.

A genotype is the number of copies of the trait's gene: 0, 1 or 2, and 0 or 1 for a sex-linked
gene in the sex that has only one such chromosome. Mendel's rules (Mendel 1866); genes of different
traits are taken to be unlinked.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from scheduler.colony import Trait

INHERITANCES = ("recessive", "dominant", "incomplete dominant", "sex-linked", "polygenic")
SEXES = ("female", "male")

Chances = Mapping[int, float]
"""Copies of the gene -> probability; sums to 1."""


class TraitError(ValueError):
    """A trait definition that does not fit; says what would."""


def check(trait: Trait) -> Trait:
    """The trait itself. Raises TraitError where its inheritance or system is not one we know."""
    if trait.inheritance not in INHERITANCES:
        known = ", ".join(INHERITANCES)
        raise TraitError(f"{trait.name}: inherited {trait.inheritance!r}? Say one of {known}.")
    if trait.system not in ("ZW", "XY"):
        raise TraitError(f"{trait.name}: sex chromosomes {trait.system!r}? Say ZW or XY.")
    return trait


def most_copies(trait: Trait, sex: str) -> int:
    """2, or 1 for a sex-linked gene in the sex with one such chromosome."""
    return 1 if trait.inheritance == "sex-linked" and sex == single_sex(trait) else 2


def single_sex(trait: Trait) -> str:
    """The sex that has one copy of the chromosome of a sex-linked gene: ZW females, XY males."""
    return "female" if trait.system == "ZW" else "male"


def young_of(trait: Trait, sire: int, dam: int, sex: str) -> Chances:
    """Chances of each number of copies in one young of that sex, from the parents' copies."""
    from_sire, from_dam = sire / 2, dam / 2
    if trait.inheritance == "sex-linked":
        if trait.system == "ZW":  # the dam gives her Z to sons, her W to daughters
            from_dam = float(dam) if sex == "male" else 0.0
        else:  # the sire gives his X to daughters, his Y to sons
            from_sire = float(sire) if sex == "female" else 0.0
    none = (1 - from_sire) * (1 - from_dam)
    both = from_sire * from_dam
    chances = {0: none, 1: 1 - none - both, 2: both}
    return {copies: chance for copies, chance in chances.items() if chance > 0}


def shows(trait: Trait, copies: int, sex: str) -> bool:
    """Whether an animal with so many copies shows the trait (one copy, or two, of incomplete)."""
    if trait.inheritance in ("recessive", "sex-linked"):
        return copies == most_copies(trait, sex)
    return copies > 0


def look(trait: Trait, copies: int, sex: str) -> str | None:
    """What is seen: the trait's name, the name of its double form, or None where it does not show.

    >>> look(Trait("snow", "incomplete dominant"), 2, "male")
    'super snow'
    """
    if not shows(trait, copies, sex):
        return None
    if trait.inheritance == "incomplete dominant" and copies == 2:
        return trait.double or f"super {trait.name}"
    return trait.name


def called(trait: Trait, copies: int, sex: str) -> str:
    """What a keeper calls the genotype: "stripe", "het stripe", "super snow", "normal"."""
    seen = look(trait, copies, sex)
    if seen is None:
        return f"het {trait.name}" if copies else "normal"
    if trait.inheritance == "dominant" and copies == 2:
        return f"{seen} (two copies)"
    return seen


def mixed(trait: Trait, sire: Chances, dam: Chances, sex: str) -> dict[int, float]:
    """`young_of` averaged over what the parents may be."""
    total: dict[int, float] = defaultdict(float)
    for s, sire_chance in sire.items():
        for d, dam_chance in dam.items():
            for copies, chance in young_of(trait, s, d, sex).items():
                total[copies] += sire_chance * dam_chance * chance
    return dict(total)


def scaled(weights: Mapping[int, float]) -> dict[int, float]:
    """Weights as chances that sum to 1; empty where all are zero."""
    total = sum(weights.values())
    return {c: w / total for c, w in sorted(weights.items()) if w > 0} if total else {}
