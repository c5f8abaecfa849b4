"""Odds for the young of a pair from the traits the keeper defined, and what hatched so far.

What an animal carries is read from its trait words ("stripe", "het stripe", "66% het stripe",
"poss het stripe"), else worked out from its parents; what it bred then moves that by Bayes' rule:
one visible young proves a het, each young that does not show makes it less likely.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from scheduler.colony import Animal, Colony, Trait
from scheduler.inheritance import (
    SEXES,
    Chances,
    TraitError,
    called,
    check,
    look,
    mixed,
    most_copies,
    scaled,
    shows,
    young_of,
)
from scheduler.kinship import PedigreeLoop, from_colony, parents_first
from scheduler.traits import POSSIBLE_HET, Carried, definitions, read_word
from scheduler.words import listed

_PROVEN = "is proven"


@dataclass(frozen=True)
class Outcome:
    """One kind of young: what it is called, how likely, and of which sex where that matters."""

    label: str
    chance: float
    sex: str | None = None


@dataclass(frozen=True)
class TraitOdds:
    """Odds for one trait; `sire` and `dam` are what the parents are taken to carry."""

    trait: Trait
    outcomes: tuple[Outcome, ...]
    sire: Chances
    dam: Chances


@dataclass(frozen=True)
class Odds:
    """The odds for a pair: by trait, all traits together as seen, and what must be said with it."""

    by_trait: tuple[TraitOdds, ...]
    together: tuple[Outcome, ...]
    notes: tuple[str, ...]


def odds(colony: Colony, male: str, female: str, traits: Iterable[Trait] | None = None) -> Odds:
    """What the young of a pair may be. `traits` are the definitions (default: the colony's).

    Raises KeyError for an unknown tag, TraitError for a definition that does not fit, and
    PedigreeLoop where the animals' pedigree runs in a circle.
    """
    defined = definitions(colony.traits if traits is None else traits)
    notes: list[str] = []
    found = []
    for trait in _traits_of(colony, (male, female), defined, notes):
        if trait.inheritance == "polygenic":
            notes.append(f"{trait.name} is polygenic: selected, not predicted.")
        else:
            found.append(_trait_odds(colony, trait, male, female, notes))
    if len(found) > 1:
        notes.append("Taken together as if no two of these genes were linked.")
    together = _together(found)
    return Odds(tuple(found), together, tuple(dict.fromkeys(notes)))


def proven(colony: Colony, young: str) -> tuple[str, ...]:
    """What an animal and its siblings prove of their parents: "M5 is proven het stripe by…"."""
    animal = colony.animals[young]
    sire, dam = animal.sire or "", animal.dam or ""
    if not {sire, dam} <= colony.animals.keys():
        return ()
    try:
        notes = odds(colony, sire, dam).notes
    except PedigreeLoop:  # whoever asks for the odds is told of it
        return ()
    return tuple(note for note in notes if _PROVEN in note)


def genotype(colony: Colony, tag: str, trait: Trait) -> dict[int, float]:
    """What an animal carries, in chances: its words or parents, moved by what it bred."""
    check(trait)
    prior = _priors(colony, trait, (tag,))
    return scaled(_bred(colony, trait, tag, prior, leave_out=None))


def _said(animal: Animal, trait: Trait) -> Carried | None:
    """What the animal's own trait words say of one trait."""
    for word in animal.traits:
        carried = read_word(word, _one_sex(animal), {trait.name.casefold(): trait})
        if isinstance(carried, Carried):
            return carried
    return None


def _one_sex(animal: Animal) -> str:
    return animal.sex if animal.sex in SEXES else "male"


def _traits_of(
    colony: Colony, pair: tuple[str, str], defined: Mapping[str, Trait], notes: list[str]
) -> Iterator[Trait]:
    """The defined traits that run in the pair's families or young, noting words not defined."""
    order = parents_first(from_colony(colony), pair)
    family = [colony.animals[tag] for tag in order if tag in colony.animals]
    family += [a for a in colony.animals.values() if a.sire == pair[0] or a.dam == pair[1]]
    concerned: dict[str, Trait] = {}
    for animal in family:
        for word in animal.traits:
            carried = read_word(word, _one_sex(animal), defined)
            if isinstance(carried, Carried):
                concerned[carried.trait.name] = carried.trait
            elif animal.tag in pair:
                notes.append(carried)
    yield from concerned.values()


def _priors(colony: Colony, trait: Trait, tags: Iterable[str]) -> dict[str, Chances]:
    """What each animal and its ancestors carry by their words, else by their parents.

    An animal without a word for the trait is taken not to show it.
    """
    order = parents_first(from_colony(colony), tags)
    found: dict[str, Chances] = {}
    for tag in order:
        animal = colony.animals.get(tag)
        said = _said(animal, trait) if animal else None
        if said and said.chances is not None:
            found[tag] = said.chances
        else:
            found[tag] = _from_parents(trait, animal, found) if animal else {0: 1.0}
            if said and said.possible and found[tag] == {0: 1.0}:
                found[tag] = {0: 1 - POSSIBLE_HET, 1: POSSIBLE_HET}
    return found


def _from_parents(trait: Trait, animal: Animal, found: Mapping[str, Chances]) -> dict[int, float]:
    none: Chances = {0: 1.0}
    sire = found.get(animal.sire, none) if animal.sire else none
    dam = found.get(animal.dam, none) if animal.dam else none
    sexes = (animal.sex,) if animal.sex in SEXES else SEXES
    hidden: dict[int, float] = {}
    for sex in sexes:
        for copies, chance in mixed(trait, sire, dam, sex).items():
            if not shows(trait, copies, sex):
                hidden[copies] = hidden.get(copies, 0.0) + chance
    return scaled(hidden) or {0: 1.0}


def _young(colony: Colony, tag: str) -> dict[str, list[Animal]]:
    """An animal's young by the other parent, those with both parents known."""
    litters: dict[str, list[Animal]] = {}
    for animal in colony.animals.values():
        if animal.sire and animal.dam and tag in (animal.sire, animal.dam):
            other = animal.dam if animal.sire == tag else animal.sire
            litters.setdefault(other, []).append(animal)
    return litters


def _bred(
    colony: Colony, trait: Trait, tag: str, prior: Mapping[str, Chances], leave_out: str | None
) -> dict[int, float]:
    """The animal's prior, weighed by what it bred with every mate but `leave_out`."""
    weights = dict(prior[tag])
    male = colony.animals[tag].sex == "male"
    for mate, young in _young(colony, tag).items():
        if mate == leave_out:
            continue
        other = _priors(colony, trait, (mate,))[mate]
        for copies in weights:
            weights[copies] *= sum(
                chance * _likelihood(trait, young, *((copies, c) if male else (c, copies)))
                for c, chance in other.items()
            )
    return weights if sum(weights.values()) else dict(prior[tag])


def _likelihood(trait: Trait, young: Iterable[Animal], sire: int, dam: int) -> float:
    """How likely parents with so many copies are to have had these young, by their words."""
    total = 1.0
    for animal in young:
        said = _said(animal, trait)
        sexes = (animal.sex,) if animal.sex in SEXES else SEXES
        fits = 0.0
        for sex in sexes:
            for copies, chance in young_of(trait, sire, dam, sex).items():
                fits += chance * _fits(trait, said, copies, sex)
        total *= fits / len(sexes)
    return total


def _fits(trait: Trait, said: Carried | None, copies: int, sex: str) -> float:
    """1 where the copies agree with what is noted of a young one, else 0.

    A word that gives a mere chance of a het says no more than that the trait does not show.
    """
    if said is None or said.chances is None or len(said.chances) > 1:
        return float(not shows(trait, copies, sex))
    (noted,) = said.chances
    if trait.inheritance == "dominant":
        return float(shows(trait, copies, sex) == (noted > 0))
    if most_copies(trait, sex) == 1:
        return float(copies == min(noted, 1))
    return float(copies == noted)


def _trait_odds(
    colony: Colony, trait: Trait, male: str, female: str, notes: list[str]
) -> TraitOdds:
    """The odds for one trait, over all that the two parents may jointly be."""
    prior = _priors(colony, trait, (male, female))
    sire = _bred(colony, trait, male, prior, leave_out=female)
    dam = _bred(colony, trait, female, prior, leave_out=male)
    common = _young(colony, male).get(female, [])
    joint = {
        (s, d): sw * dw * _likelihood(trait, common, s, d)
        for (s, sw), (d, dw) in product(sire.items(), dam.items())
    }
    total = sum(joint.values())
    if not total:
        notes.append(
            f"Some young of {male} x {female} can't be theirs by what is noted of {trait.name}: "
            f"check parents and traits. Their young are left out of the odds."
        )
        joint = {(s, d): sw * dw for (s, sw), (d, dw) in product(sire.items(), dam.items())}
        total = sum(joint.values())
    joint = {pair: weight / total for pair, weight in joint.items() if weight}
    notes += _proven(colony, trait, (male, female), prior, joint)
    return TraitOdds(
        trait,
        tuple(_outcomes(trait, joint)),
        scaled(_marginal(joint, 0)),
        scaled(_marginal(joint, 1)),
    )


def _marginal(joint: Mapping[tuple[int, int], float], place: int) -> dict[int, float]:
    chances: dict[int, float] = {}
    for pair, chance in joint.items():
        chances[pair[place]] = chances.get(pair[place], 0.0) + chance
    return chances


def _outcomes(trait: Trait, joint: Mapping[tuple[int, int], float]) -> Iterator[Outcome]:
    by_sex = {sex: scaled(_young_chances(trait, joint, sex)) for sex in SEXES}
    same = by_sex["female"] == by_sex["male"] and trait.inheritance != "sex-linked"
    for sex in SEXES[:1] if same else SEXES:
        for copies, chance in sorted(by_sex[sex].items(), reverse=True):
            yield Outcome(called(trait, copies, sex), chance, None if same else sex)


def _young_chances(
    trait: Trait, joint: Mapping[tuple[int, int], float], sex: str
) -> dict[int, float]:
    chances: dict[int, float] = {}
    for (sire, dam), weight in joint.items():
        for copies, chance in young_of(trait, sire, dam, sex).items():
            chances[copies] = chances.get(copies, 0.0) + weight * chance
    return chances


def _proven(
    colony: Colony,
    trait: Trait,
    pair: tuple[str, str],
    prior: Mapping[str, Chances],
    joint: Mapping[tuple[int, int], float],
) -> Iterator[str]:
    """What the young so far have said about each parent, and what is assumed of a dominant."""
    for place, tag in enumerate(pair):
        now = scaled(_marginal(joint, place))
        before = prior[tag]
        if len(before) > 1 and list(now) == [1]:
            yield f"{tag} {_PROVEN} het {trait.name} by its young."
        elif len(before) > 1 and now != before:
            yield (
                f"{tag} het {trait.name}: {before.get(1, 0):.0%} before its young, "
                f"{now.get(1, 0):.0%} after them."
            )
        said = _said(colony.animals[tag], trait)
        if trait.inheritance == "dominant" and said and said.chances == {1: 1.0}:
            yield f"{tag} is taken to carry one copy of {trait.name}."


def _together(found: list[TraitOdds]) -> tuple[Outcome, ...]:
    """All traits together, as seen; hets count as normal. By sex where any trait is sex-linked."""
    split = any(outcome.sex for each in found for outcome in each.outcomes)
    outcomes: list[Outcome] = []
    for sex in SEXES if split else (None,):
        seen: dict[tuple[str, ...], float] = {(): 1.0}
        for each in found:
            seen = _with_trait(seen, _seen(each, sex))
        outcomes += [Outcome(listed(names) or "normal", p, sex) for names, p in seen.items()]
    return tuple(sorted(outcomes, key=lambda o: (o.sex or "", -o.chance, o.label)))


def _seen(each: TraitOdds, sex: str | None) -> dict[str | None, float]:
    """Chances of each look of one trait in young of one sex."""
    looks: dict[str | None, float] = {}
    labels = {
        called(each.trait, copies, s): look(each.trait, copies, s)
        for s in SEXES
        for copies in range(most_copies(each.trait, s) + 1)
    }
    for outcome in each.outcomes:
        if outcome.sex in (None, sex):
            name = labels[outcome.label]
            looks[name] = looks.get(name, 0.0) + outcome.chance
    return looks


def _with_trait(
    seen: Mapping[tuple[str, ...], float], looks: Mapping[str | None, float]
) -> dict[tuple[str, ...], float]:
    return {
        (*names, name) if name else names: chance * share
        for names, chance in seen.items()
        for name, share in looks.items()
    }


__all__ = [
    "Carried", "Odds", "Outcome", "Trait", "TraitError", "TraitOdds", "definitions", "genotype",
    "odds", "read_word",
]  # fmt: skip
