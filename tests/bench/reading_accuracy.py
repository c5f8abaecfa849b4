"""How many messages are read exactly right, and how many would write what nobody told.

    python -m tests.bench.reading_accuracy

Prints a table for each set of messages and one for each kind of damage. It measures; it passes or
fails nothing. Sets of our own are always there; a folder named by RACKSIDE_CASES (messages.jsonl
and book/) is measured beside them, and it is said where there is none.
"""

from __future__ import annotations

import json
import os
import random
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from bot.language.reader import read
from bot.language.reading import reading_to_json
from bot.language.view import View
from tests.bench.damage import KINDS
from tests.language.comparing import matches, wrong_records
from tests.language.support import view_of

CASES = Path(__file__).parent.parent / "language" / "cases"
Case = dict[str, Any]


def sets() -> Iterator[tuple[str, Path]]:
    """Each set of messages by name and folder."""
    yield from ((folder.name, folder) for folder in sorted(CASES.iterdir()) if folder.is_dir())
    named = os.environ.get("RACKSIDE_CASES")
    if named and Path(named).is_dir():
        yield "named by RACKSIDE_CASES", Path(named)
    else:
        print("No further set: RACKSIDE_CASES names no folder. Only our own are measured.\n")


def cases_of(folder: Path) -> list[Case]:
    """The messages of a set."""
    lines = (folder / "messages.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines if line.strip()]


def score(cases: list[Case], view: View, damage: str) -> tuple[int, int]:
    """How many are exact, and how many hold a wrong record."""
    exact = wrong = 0
    for case in cases:
        chance = random.Random(f"{damage} {case['id']}")
        text = KINDS[damage](case["text"], chance)
        got = json.loads(reading_to_json(read(text, datetime.fromisoformat(case["at"]), view)))
        accepted = case.get("accept") or [case["expect"]]
        right = any(matches(each, got) for each in accepted)
        exact += right
        wrong += not right and bool(wrong_records(accepted, got))
    return exact, wrong


def main() -> None:
    """Print the tables."""
    for name, folder in sets():
        cases, view = cases_of(folder), view_of(folder / "book")
        print(f"Set {name}: {len(cases)} messages")
        print(f"  {'damage':<24}{'exact':>8}{'wrong record':>14}")
        for damage in KINDS:
            exact, wrong = score(cases, view, damage)
            print(f"  {damage:<24}{exact / len(cases):>8.1%}{wrong / len(cases):>14.1%}")
        print()


if __name__ == "__main__":
    main()
