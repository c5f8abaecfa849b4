"""Inbreeding coefficients of textbook and published pedigrees.

Sources: Wright 1922 (Am Nat 56:330-338) and course pages for the table of matings; Falconer &
Mackay, Introduction to Quantitative Genetics, for the regular systems (values from memory, rerun
by the tabular method); the example pedigrees of the R packages pedigreemm (after Sargolzaei &
Iwaisaki 2005, Anim Sci J 76:401-406) and pedigree.
"""

from __future__ import annotations

import random

import pytest

from scheduler.kinship import (
    Pedigree,
    PedigreeLoop,
    find_loop,
    inbreeding,
    inbreeding_of,
    shared_ancestors,
)


def family(text: str) -> dict[str, tuple[str | None, str | None]]:
    """A pedigree written as "child=sire+dam", "?" for an unknown parent."""
    rows = {}
    for each in text.split():
        child, parents = each.split("=")
        sire, dam = (None if p == "?" else p for p in parents.split("+"))
        rows[child] = (sire, dam)
    return rows


SIBS = "s=A+B d=A+B"
COUSINS = "p=A+B q=A+B s=p+X d=Y+q"
TABLE = [
    ("parent and offspring", "d=A+B", "A", "d", 0.25),
    ("full sibs", SIBS, "s", "d", 0.25),
    ("half sibs", "s=A+B d=A+C", "s", "d", 0.125),
    ("uncle and niece", "s=A+B q=A+B d=X+q", "s", "d", 0.125),
    ("double first cousins", "p=A+B q=A+B v=C+D w=C+D s=p+v d=q+w", "s", "d", 0.125),
    ("grandparent and grandchild", "q=A+B d=X+q", "A", "d", 0.125),
    ("first cousins", COUSINS, "s", "d", 0.0625),
    ("half uncle and niece", "s=A+B q=A+C d=X+q", "s", "d", 0.0625),
    ("first cousins once removed", COUSINS + " e=Z+d", "s", "e", 0.03125),
    ("second cousins", COUSINS + " t=s+V e=W+d", "t", "e", 0.015625),
    ("half sibs whose shared parent has F 0.25", SIBS + " K=s+d x=K+P y=K+Q", "x", "y", 0.15625),
    ("strangers", "s=A+B d=C+D", "s", "d", 0.0),
    ("both parents unknown", "s=?+? d=?+?", "s", "d", 0.0),
    ("half sibs through the one known parent", "s=A+? d=A+?", "s", "d", 0.125),
]


@pytest.mark.parametrize(("name", "text", "sire", "dam", "expected"), TABLE)
def test_young_of_a_textbook_mating(
    name: str, text: str, sire: str, dam: str, expected: float
) -> None:
    """Each classic mating gives the published coefficient, whichever parent is named first."""
    assert inbreeding(family(text), sire, dam) == expected, name
    assert inbreeding(family(text), dam, sire) == expected, name


FULL_SIB = [0, 0.25, 0.375, 0.5, 0.59375, 0.671875, 0.734375, 0.78515625, 0.826171875, 0.859375]
BACKCROSS = [0, 0.25, 0.375, 0.4375, 0.46875, 0.484375, 0.4921875]
HALF_SISTERS = [0, 0.125, 0.21875, 0.3046875, 0.380859, 0.448730, 0.509155]


def sib_line(generations: int) -> Pedigree:
    """Brother to sister for so many generations."""
    rows: dict[str, tuple[str | None, str | None]] = {}
    for t in range(1, generations + 1):
        rows[f"m{t}"] = rows[f"f{t}"] = (f"m{t - 1}", f"f{t - 1}")
    return rows


def test_brother_and_sister_generation_after_generation() -> None:
    """Full sibs mated for nine generations follow the published series."""
    line = sib_line(9)
    assert [inbreeding(line, f"m{t}", f"f{t}") for t in range(10)] == FULL_SIB


def test_backcross_to_one_sire() -> None:
    """Daughters mated back to one sire that is not inbred approach one half as published."""
    rows = {f"f{t}": ("M", f"f{t - 1}") for t in range(1, 7)}
    assert [inbreeding(rows, "M", f"f{t}") for t in range(7)] == BACKCROSS


def test_one_sire_on_half_sisters() -> None:
    """One sire a generation on half sisters follows F' = (1 + 6F + F before) / 8."""
    rows: dict[str, tuple[str | None, str | None]] = {}
    for t in range(1, 7):  # every young of a generation has the same sire and a dam of its own
        rows[f"m{t}"] = (f"m{t - 1}", f"f{t - 1}.0")
        for i in range(7 - t):
            rows[f"f{t}.{i}"] = (f"m{t - 1}", f"f{t - 1}.{i + 1}")
    got = [inbreeding(rows, f"m{t}", f"f{t}.0") for t in range(7)]
    assert got == pytest.approx(HALF_SISTERS, abs=1e-6)


PEDIGREE_A = family("1=?+? 2=?+? 3=1+2 4=1+? 5=4+3 6=5+2")
PEDIGREE_B = family("1=?+? 2=?+? 3=2+1 4=2+1 5=3+4 6=5+4")


@pytest.mark.parametrize(
    ("rows", "expected"),
    [(PEDIGREE_A, [0, 0, 0, 0, 0.125, 0.125]), (PEDIGREE_B, [0, 0, 0, 0, 0.25, 0.375])],
)
def test_published_example_pedigrees(rows: Pedigree, expected: list[float]) -> None:
    """Every animal of the two published example pedigrees gets its published F."""
    assert [inbreeding_of(rows, str(tag)) for tag in range(1, 7)] == expected


def test_order_of_rows_does_not_matter() -> None:
    """Shuffled rows give the same coefficient."""
    rows = list(sib_line(9).items())
    for seed in range(5):
        random.Random(seed).shuffle(rows)
        assert inbreeding(dict(rows), "m9", "f9") == FULL_SIB[9]


def tabular(rows: Pedigree, size: int) -> list[list[float]]:
    """Kinship by the tabular method (Emik & Terrill 1949) for animals "0".."n" born in order."""
    phi = [[0.0] * size for _ in range(size)]
    for i in range(size):
        parents = [int(p) for p in rows.get(str(i), (None, None)) if p]
        for j in range(i):
            phi[i][j] = phi[j][i] = sum(phi[p][j] for p in parents) / 2
        phi[i][i] = 0.5 + (phi[parents[0]][parents[1]] / 2 if len(parents) == 2 else 0.0)
    return phi


@pytest.mark.parametrize("seed", range(4))
def test_agrees_with_the_tabular_method(seed: int) -> None:
    """In random tangled pedigrees every pair agrees with the independent tabular method."""
    rng = random.Random(seed)
    rows: dict[str, tuple[str | None, str | None]] = {}
    for i in range(4, 40):
        sire, dam = rng.sample(range(i), 2)
        rows[str(i)] = (str(sire) if rng.random() < 0.9 else None, str(dam))
    phi = tabular(rows, 40)
    for _ in range(60):
        a, b = rng.sample(range(40), 2)
        assert inbreeding(rows, str(a), str(b)) == pytest.approx(phi[a][b], abs=1e-12)


def test_a_pedigree_of_five_thousand_generations() -> None:
    """Depth is no limit: brother to sister for 5,000 generations is as good as wholly inbred."""
    assert inbreeding(sib_line(5000), "m5000", "f5000") == pytest.approx(1.0)


def test_an_animal_that_is_its_own_ancestor_is_refused() -> None:
    """A circle is refused, and the animals in it are named."""
    rows = family("a=b+X b=c+Y c=a+Z d=X+Y")
    with pytest.raises(PedigreeLoop) as caught:
        inbreeding(rows, "a", "d")
    assert set(caught.value.animals) == {"a", "b", "c"}
    assert set(find_loop(rows) or ()) == {"a", "b", "c"}
    assert inbreeding(rows, "X", "d") == 0.25  # the circle does not concern this pair


def test_an_animal_that_is_its_own_parent_is_refused() -> None:
    """The shortest circle, an animal given as its own sire, is refused too."""
    with pytest.raises(PedigreeLoop):
        inbreeding(family("a=a+B"), "a", "C")


def test_an_ancestor_met_twice_is_no_loop() -> None:
    """Inbreeding itself, one ancestor by many ways, is not mistaken for a circle."""
    assert find_loop(sib_line(30)) is None


def test_shared_ancestors_are_the_nearest_ones() -> None:
    """Cousins share their grandparents, and what stands behind those is not named."""
    rows = family(COUSINS + " A=G+H")
    assert shared_ancestors(rows, "s", "d") == ("A", "B")
    assert shared_ancestors(family("d=A+B"), "A", "d") == ("A",)
