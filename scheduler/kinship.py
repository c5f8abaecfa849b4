"""How related a pair is: the coefficient of inbreeding their young would have.

F of the young equals the kinship of the parents (Wright 1922, American Naturalist 56:330-338;
computed by Malecot's kinship recursion: phi(a, b) is the mean of phi(sire of a, b) and
phi(dam of a, b) where a is not an ancestor of b; phi(a, a) = (1 + F of a) / 2). Unknown parents
count as unrelated and not inbred.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping

from scheduler.colony import Colony

Pedigree = Mapping[str, tuple[str | None, str | None]]
"""Tag -> (sire, dam); None, or a tag that has no row of its own, is the end of what is known."""

CLOSE = 0.125
"""F from which a pairing gets a caution: a convention (status: memory), that of half siblings."""


class PedigreeLoop(ValueError):
    """An animal stands among its own ancestors; `animals` names them in order, child to parent."""

    def __init__(self, animals: tuple[str, ...]) -> None:
        self.animals = animals
        chain = " from ".join((*animals, animals[0]))
        super().__init__(f"The pedigree runs in a circle: {chain}. Correct one of these parents.")


def from_colony(colony: Colony) -> dict[str, tuple[str | None, str | None]]:
    """The household's pedigree, sold and dead animals included."""
    return {tag: (animal.sire, animal.dam) for tag, animal in colony.animals.items()}


def inbreeding(pedigree: Pedigree, sire: str, dam: str) -> float:
    """Coefficient of inbreeding (0 to 1) of the young of `sire` and `dam`.

    Any depth of pedigree, in any order of rows. Raises PedigreeLoop where an ancestor of the pair
    is its own ancestor.

    >>> inbreeding({"C": ("A", "B"), "D": ("A", "B")}, "C", "D")
    0.25
    """
    order = parents_first(pedigree, (sire, dam))
    rank = {tag: place for place, tag in enumerate(order)}
    weights: list[dict[int, float]] = [{} for _ in order]  # the younger's rank -> {older's: weight}
    _put(weights, rank[sire], rank[dam], 1.0)
    total = 0.0
    for young in range(len(order) - 1, -1, -1):
        parents = [rank[each] for each in pedigree.get(order[young], (None, None)) if each]
        for old, weight in weights[young].items():
            if old == young:
                total += weight / 2
                if len(parents) == 2:
                    _put(weights, parents[0], parents[1], weight / 2)
            else:
                for parent in parents:
                    _put(weights, parent, old, weight / 2)
        weights[young] = {}
    return total


def inbreeding_of(pedigree: Pedigree, tag: str) -> float:
    """Coefficient of inbreeding of an animal that is in the pedigree; 0 with a parent unknown."""
    sire, dam = pedigree.get(tag, (None, None))
    return inbreeding(pedigree, sire, dam) if sire and dam else 0.0


def shared_ancestors(pedigree: Pedigree, one: str, other: str) -> tuple[str, ...]:
    """The nearest animals that both descend from (themselves counted), sorted by tag.

    An ancestor that is shared only because a nearer one is shared is left out.
    """
    near_one, near_other = _lineage(pedigree, one), _lineage(pedigree, other)
    shared = near_one & near_other
    behind = {
        each
        for tag in shared
        for parent in pedigree.get(tag, (None, None))
        if parent
        for each in _lineage(pedigree, parent)
    }
    return tuple(sorted(shared - behind))


def find_loop(pedigree: Pedigree) -> tuple[str, ...] | None:
    """The animals of a circle anywhere in the pedigree, or None where there is none."""
    try:
        parents_first(pedigree, pedigree)
    except PedigreeLoop as loop:
        return loop.animals
    return None


def _put(weights: list[dict[int, float]], one: int, other: int, weight: float) -> None:
    young, old = (one, other) if one > other else (other, one)
    row = weights[young]
    row[old] = row.get(old, 0.0) + weight


def _lineage(pedigree: Pedigree, tag: str) -> set[str]:
    """The animal and all its known ancestors."""
    found, queue = {tag}, deque([tag])
    while queue:
        for parent in pedigree.get(queue.popleft(), (None, None)):
            if parent and parent not in found:
                found.add(parent)
                queue.append(parent)
    return found


def parents_first(pedigree: Pedigree, tags: Iterable[str]) -> list[str]:
    """The tags and all their ancestors, each after its parents. Raises PedigreeLoop."""
    order: list[str] = []
    done: dict[str, bool] = defaultdict(bool)
    for tag in tags:
        path: dict[str, None] = {}  # the animals being followed upwards now, in order
        stack = [(tag, False)]
        while stack:
            each, parents_done = stack.pop()
            if parents_done:
                path.pop(each)
                done[each] = True
                order.append(each)
                continue
            if done[each]:
                continue
            if each in path:
                trail = list(path)
                raise PedigreeLoop(tuple(trail[trail.index(each) :]))
            path[each] = None
            stack.append((each, True))
            stack.extend((p, False) for p in pedigree.get(each, (None, None)) if p)
    return order
