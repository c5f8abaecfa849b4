"""Mendelian ratios, Mendel's own counts, and Bayes' rule on hets.

Ratios: any textbook of genetics; counts: Mendel 1866, Versuche ueber Pflanzen-Hybriden (three sets
read in teaching pages, the rest from memory); chi-square values and p as recomputed with SciPy,
no continuity correction.
"""

from __future__ import annotations

from datetime import date

import pytest

from scheduler.colony import Animal, Colony, Trait
from scheduler.genetics import Odds, genotype, odds
from scheduler.inheritance import TraitError, young_of
from scheduler.kinship import PedigreeLoop
from scheduler.traits import Carried, definitions, read_word

STRIPE = Trait("stripe", "recessive")
PALE = Trait("pale", "recessive")
BOLD = Trait("bold", "dominant")
SNOW = Trait("snow", "incomplete dominant")
FLAME = Trait("flame", "sex-linked", system="ZW")
FROST = Trait("frost", "sex-linked", system="XY")
BRIGHT = Trait("bright", "polygenic")
ALL = (STRIPE, PALE, BOLD, SNOW, FLAME, FROST, BRIGHT)


def family(**animals: tuple[str, str | None, str | None, str]) -> Colony:
    """Animals as tag=(sex, sire, dam, "trait, trait")."""
    from zoneinfo import ZoneInfo

    rows = {
        tag: Animal(
            tag, "picta", sex, hatched=date(2025, 1, 1), sire=sire, dam=dam,
            traits=tuple(t.strip() for t in words.split(",") if t.strip()),
        )
        for tag, (sex, sire, dam, words) in animals.items()
    }  # fmt: skip
    return Colony(ZoneInfo("Europe/Lisbon"), rows, traits=ALL)


def pair(male: str, female: str) -> Odds:
    """The odds of a pair with these trait words."""
    return odds(family(M=("male", None, None, male), F=("female", None, None, female)), "M", "F")


def chances(found: Odds) -> dict[str, float]:
    """The first trait's outcomes as label (with the sex, where it matters) -> chance."""
    return {
        f"{o.label} {o.sex}" if o.sex else o.label: round(o.chance, 12)
        for o in found.by_trait[0].outcomes
    }


RATIOS = [
    ("het stripe", "het stripe", {"stripe": 0.25, "het stripe": 0.5, "normal": 0.25}),
    ("het stripe", "stripe", {"stripe": 0.5, "het stripe": 0.5}),
    ("", "stripe", {"het stripe": 1.0}),
    ("stripe", "stripe", {"stripe": 1.0}),
    ("het stripe", "", {"het stripe": 0.5, "normal": 0.5}),
    ("snow", "snow", {"super snow": 0.25, "snow": 0.5, "normal": 0.25}),
    ("super snow", "", {"snow": 1.0}),
    ("bold", "bold", {"bold (two copies)": 0.25, "bold": 0.5, "normal": 0.25}),
    ("66% het stripe", "stripe", {"stripe": 1 / 3, "het stripe": 2 / 3}),
    ("50% het stripe", "het stripe", {"stripe": 0.125, "het stripe": 0.5, "normal": 0.375}),
    ("poss het stripe", "stripe", {"stripe": 0.25, "het stripe": 0.75}),
]


@pytest.mark.parametrize(("male", "female", "expected"), RATIOS)
def test_mendels_ratios(male: str, female: str, expected: dict[str, float]) -> None:
    """Each cross gives its textbook ratio, whichever parent carries what."""
    assert chances(pair(male, female)) == pytest.approx(expected)
    assert chances(pair(female, male)) == pytest.approx(expected)


def test_two_traits_give_nine_three_three_one() -> None:
    """Double het to double het: 9:3:3:1 as seen, and 1/16 shows both."""
    both = "het stripe, het pale"
    seen = {o.label: o.chance for o in pair(both, both).together}
    assert seen == pytest.approx(
        {"normal": 9 / 16, "stripe": 3 / 16, "pale": 3 / 16, "stripe and pale": 1 / 16}
    )


@pytest.mark.parametrize(
    ("counts", "ratio", "statistic", "p"),
    [
        ((5474, 1850), (3, 1), 0.2629, 0.608),
        ((6022, 2001), (3, 1), 0.0150, 0.903),
        ((428, 152), (3, 1), 0.4506, 0.502),
        ((787, 277), (3, 1), 0.6065, 0.436),
        ((315, 101, 108, 32), (9, 3, 3, 1), 0.4700, 0.925),
    ],
)
def test_mendels_peas(
    counts: tuple[int, ...], ratio: tuple[int, ...], statistic: float, p: float
) -> None:
    """Mendel's counts fit the odds that we give for his crosses, as closely as published."""
    from scipy.stats import chisquare

    words = "het stripe, het pale" if len(counts) == 4 else "het stripe"
    ours = sorted((o.chance for o in pair(words, words).together), reverse=True)
    assert ours == pytest.approx([each / sum(ratio) for each in ratio])
    test = chisquare(counts, [chance * sum(counts) for chance in ours])
    assert (test.statistic, test.pvalue) == pytest.approx((statistic, p), abs=6e-4)


def test_a_z_linked_recessive_mother_has_no_affected_young() -> None:
    """ZW: a mother that shows it and a father without it have het sons and normal daughters."""
    assert chances(pair("", "flame")) == {"het flame male": 1.0, "normal female": 1.0}


def test_a_z_linked_het_father_has_affected_daughters_only() -> None:
    """ZW: half the daughters of a het father show it; no son of a normal mother does."""
    assert chances(pair("het flame", "")) == {
        "flame female": 0.5,
        "normal female": 0.5,
        "het flame male": 0.5,
        "normal male": 0.5,
    }


def test_an_x_linked_recessive_is_the_mirror_image() -> None:
    """XY: a father that shows it has het daughters and normal sons."""
    assert chances(pair("frost", "")) == {"het frost female": 1.0, "normal male": 1.0}


@pytest.mark.parametrize("trait", ALL[:6], ids=lambda t: t.name)
def test_chances_of_a_young_one_sum_to_one(trait: Trait) -> None:
    """Whatever the parents carry, the chances of each sex sum to one."""
    from scheduler.inheritance import most_copies

    for sire in range(most_copies(trait, "male") + 1):
        for dam in range(most_copies(trait, "female") + 1):
            for sex in ("female", "male"):
                assert sum(young_of(trait, sire, dam, sex).values()) == pytest.approx(1)


def test_two_thirds_of_normal_looking_young_of_hets_are_het() -> None:
    """Het x het: an animal that shows nothing carries it with a chance of 2 in 3."""
    colony = family(
        M=("male", None, None, "het stripe"),
        F=("female", None, None, "het stripe"),
        H=("male", "M", "F", ""),
    )
    assert genotype(colony, "H", STRIPE) == pytest.approx({0: 1 / 3, 1: 2 / 3})


def test_a_young_one_of_a_visible_parent_is_het_without_being_told() -> None:
    """Stripe x normal: the young carry it, though nothing is written beside their names."""
    colony = family(M=("male", None, None, "stripe"), H=("female", "M", None, ""))
    assert genotype(colony, "H", STRIPE) == {1: 1.0}


def bred(young: int, showing: int = 0) -> Colony:
    """A 66% het male with a stripe female and so many young, some of which show stripe."""
    rows = {
        f"H{n}": ("unknown", "M", "F", "stripe" if n < showing else "het stripe")
        for n in range(young)
    }
    return family(
        M=("male", None, None, "66% het stripe"), F=("female", None, None, "stripe"), **rows
    )


@pytest.mark.parametrize("young", [1, 2, 4, 8])
def test_each_young_that_does_not_show_makes_a_het_less_likely(young: int) -> None:
    """Test cross by Bayes' rule: after n normal young, (2/3)(1/2)^n to 1/3."""
    expected = (2 / 3 * 0.5**young) / (2 / 3 * 0.5**young + 1 / 3)
    found = odds(bred(young), "M", "F").by_trait[0]
    assert found.sire.get(1, 0.0) == pytest.approx(expected)
    assert genotype(bred(young), "M", STRIPE)[1] == pytest.approx(expected)


def test_one_visible_young_proves_both_hets() -> None:
    """A stripe young of two possible hets proves them, and the odds are a quarter from then on."""
    colony = family(
        M=("male", None, None, "50% het stripe"),
        F=("female", None, None, "66% het stripe"),
        H=("unknown", "M", "F", "stripe"),
    )
    found = odds(colony, "M", "F")
    assert chances(found)["stripe"] == pytest.approx(0.25)
    assert "M is proven het stripe by its young." in found.notes
    assert "F is proven het stripe by its young." in found.notes


def test_what_it_bred_with_another_counts_too() -> None:
    """A het proven with one female is proven for the next."""
    colony = family(
        M=("male", None, None, "50% het stripe"),
        F1=("female", None, None, "stripe"),
        F2=("female", None, None, "stripe"),
        H=("unknown", "M", "F1", "stripe"),
    )
    assert chances(odds(colony, "M", "F2")) == {"stripe": 0.5, "het stripe": 0.5}


@pytest.mark.parametrize(("n", "chance"), [(2, 0.4375), (4, 0.68359), (8, 0.89989)])
def test_at_least_one_in_n_young_of_hets(n: int, chance: float) -> None:
    """1 - (3/4)^n, from the chance that we give for one."""
    one = chances(pair("het stripe", "het stripe"))["stripe"]
    assert 1 - (1 - one) ** n == pytest.approx(chance, abs=1e-5)


def test_a_polygenic_trait_is_not_predicted() -> None:
    """It is said to be selected, not predicted, and no odds are given."""
    found = pair("bright", "bright")
    assert found.by_trait == ()
    assert found.notes == ("bright is polygenic: selected, not predicted.",)


def test_a_trait_that_is_not_defined_is_said_to_be() -> None:
    """No odds are made up for a word that the keeper never defined."""
    found = pair("het melon", "")
    assert found.by_trait == ()
    assert found.notes == ("het melon is not defined: say how it is inherited.",)


def test_young_that_cannot_be_theirs_are_pointed_out() -> None:
    """A normal young noted for two stripe parents is impossible, and the keeper is told."""
    colony = family(
        M=("male", None, None, "stripe"),
        F=("female", None, None, "stripe"),
        H=("unknown", "M", "F", "het stripe"),
    )
    found = odds(colony, "M", "F")
    assert chances(found) == {"stripe": 1.0}
    assert "can't be theirs" in found.notes[0]


def test_a_female_cannot_be_het_for_a_z_linked_trait() -> None:
    """Such a word is refused in words instead of being guessed at."""
    assert "can't be het" in str(read_word("het flame", "female", definitions(ALL)))


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("Stripe", {2: 1.0}),
        ("HET stripe", {1: 1.0}),
        ("het for stripe", {1: 1.0}),
        ("100% het stripe", {1: 1.0}),
        ("50 % het stripe", {0: 0.5, 1: 0.5}),
        ("possible het stripe", None),
        ("homozygous bold", {2: 1.0}),
    ],
)
def test_trait_words_as_keepers_write_them(word: str, expected: object) -> None:
    """Case, spaces and the usual abbreviations don't matter."""
    carried = read_word(word, "male", definitions(ALL))
    assert isinstance(carried, Carried) and carried.chances == expected


def test_an_inheritance_we_do_not_know_is_refused() -> None:
    """A definition that does not fit says what would."""
    with pytest.raises(TraitError, match="recessive, dominant"):
        definitions([Trait("stripe", "magic")])


def test_a_circle_in_the_pedigree_is_refused() -> None:
    """An animal among its own ancestors has no odds."""
    colony = family(M=("male", "M", None, "stripe"), F=("female", None, None, ""))
    with pytest.raises(PedigreeLoop):
        odds(colony, "M", "F")
