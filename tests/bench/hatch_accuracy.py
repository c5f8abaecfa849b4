"""Measures the hatch forecast on left-out temperatures: simulated series and published geckos.

Run `python -m tests.bench.hatch_accuracy` (about 15 s). Prints for each set the median and 90th
percentile of the error, how often the stated 80% window held the left-out mean, inside and outside
the range of the temperatures given, and the straight rate line on the same cases; then the same
for all simulated sets together by how many temperatures were given (one: at most 4 C away).
Wanted: median at most 5%, 90th percentile at most 14%, windows holding 75 to 88%.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scheduler.curve import fitted
from scheduler.figures import incubation_points
from scheduler.species import Duration, Species, load
from tests.bench.simulated_series import KINDS, OTHERS, series

ALL_KINDS = (*KINDS, *OTHERS)
GECKOS = Path(__file__).parents[1] / "outside" / "species"


@dataclass(frozen=True)
class Case:
    """One left-out temperature: relative errors of ours and of the line, and whether it held."""

    error: float
    line: float
    held: bool
    inside: bool
    width: float
    given: int


def by_paper(species: Species) -> Iterator[list[Duration]]:
    """A species' rows of one paper, the groups of one temperature combined."""
    papers: dict[str, dict[float, list[Duration]]] = {}
    for row in species.durations:
        if row.celsius is not None and row.status == "published":
            papers.setdefault(row.source, {}).setdefault(row.celsius, []).append(row)
    for source, at in papers.items():
        rows = []
        for celsius, same in sorted(at.items()):
            count = sum(row.n or 5 for row in same)
            days = sum(row.days * (row.n or 5) for row in same) / count
            rows.append(Duration(celsius, days, count, source=source, status="published"))
        if len(rows) > 1:
            yield rows


def left_out(rows: list[Duration]) -> Iterator[Case]:
    """Every temperature predicted from the others."""
    for row in rows:
        yield judged([each for each in rows if each is not row], row)


def from_few(rows: list[Duration]) -> Iterator[Case]:
    """Every temperature predicted from each other one within 4 C, and from the two nearest."""
    for row in rows:
        others = [each for each in rows if each is not row]
        for each in others:
            if abs(each.celsius - row.celsius) <= 4:
                yield judged([each], row)
        if len(others) > 2:
            yield judged(sorted(others, key=lambda each: abs(each.celsius - row.celsius))[:2], row)


def judged(known: list[Duration], row: Duration) -> Case:
    """One forecast against the days that were left out."""
    species = Species("measured", "measured", tuple(known))
    spread = fitted(incubation_points(species)).spread(row.celsius)
    given = [each.celsius for each in known]
    return Case(
        error=abs(math.exp(spread.middle) / row.days - 1),
        line=abs(straight_line(known, row.celsius) / row.days - 1),
        held=spread.low <= math.log(row.days) <= spread.high,
        inside=min(given) < row.celsius < max(given),
        width=(spread.high - spread.low) / 2,
        given=len(known),
    )


def straight_line(known: list[Duration], celsius: float) -> float:
    """Days by 1/days = a (T - T0), least squares; T0 of 15.1 C where one temperature is known."""
    given = np.array([each.celsius for each in known])
    rate = 1 / np.array([each.days for each in known])
    if len(known) == 1:
        slope, zero = rate[0] / (given[0] - 15.1), 15.1
    else:
        slope, start = np.polyfit(given, rate, 1)
        zero = -start / slope
    return float(1 / max(slope * (celsius - zero), 1e-3))


def summary(cases: Iterable[Case]) -> str:
    """The figures of one set on one line."""
    cases = list(cases)
    if not cases:
        return "none"
    error, line = ([getattr(case, name) for case in cases] for name in ("error", "line"))
    return (
        f"{len(cases):4} cases, median {np.median(error):5.1%}, "
        f"90th {np.quantile(error, 0.9):5.1%}, "
        f"held {np.mean([case.held for case in cases]):4.0%}, half width "
        f"{np.median([case.width for case in cases]):5.1%} (line {np.median(line):5.1%}, "
        f"{np.quantile(line, 0.9):5.1%})"
    )


def simulated(number: int, count: int) -> list[list[Duration]]:
    """`count` simulated papers of one kind."""
    rng = np.random.default_rng(number)
    papers = (series(rng, ALL_KINDS[number]) for _ in range(count))
    return [
        [
            Duration(*each, source="simulated", status="published")
            for each in zip(paper.celsius, paper.days, paper.eggs, strict=True)
        ]
        for paper in papers
    ]


def geckos() -> list[list[Duration]]:
    """The published gecko series with two temperatures or more."""
    files = [load(str(path)) for path in sorted(GECKOS.glob("*.toml"))]
    return [paper for species in (*files, load("picta")) for paper in by_paper(species)]


def main() -> None:
    """Measure and print."""
    sets = {f"simulated, kind {i + 1}": simulated(i, 40) for i in range(len(ALL_KINDS))}
    every: list[Case] = []
    for name, papers in {**sets, "published geckos": geckos()}.items():
        cases = [case for paper in papers for case in left_out(paper)]
        few = [case for paper in papers for case in from_few(paper)]
        report(name, {"all": cases, **by_side(cases), "from one": few_of(few, 1)})
        every += cases + few if name in sets else []
    for given in (1, 2, 3):
        cases = few_of(every, given)
        report(f"simulated, {given}{' or more' * (given == 3)} given", by_side(cases))


def few_of(cases: list[Case], given: int) -> list[Case]:
    """Those with so many temperatures given (3: or more)."""
    return [case for case in cases if min(case.given, 3) == given]


def by_side(cases: list[Case]) -> dict[str, list[Case]]:
    """Those inside, and those outside, the range of the temperatures given."""
    return {
        "inside": [case for case in cases if case.inside],
        "outside": [case for case in cases if not case.inside],
    }


def report(name: str, rows: dict[str, list[Case]]) -> None:
    """A block of lines."""
    print(name)
    for each, cases in rows.items():
        if cases:
            print(f"  {each:8} {summary(cases)}")


if __name__ == "__main__":
    main()
