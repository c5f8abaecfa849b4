"""How many sentences are read exactly, and how many write a wrong record, for each kind of damage.

Prints a table for the project's own cases and, where a folder of shared cases is at hand
(RACKSIDE_CASES, or ../shared/contract), one for those. It measures; it neither passes nor fails.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from bot.language.reader import read
from bot.language.reading import reading_to_json
from bot.language.view import View
from tests.bench.reading_damage import DAMAGES, damaged
from tests.language.cases_of import HERE, MOMENT, ZONE, own_cases
from tests.language.comparing import matches, wrong_records
from tests.language.support import view_of

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Sentence:
    """One sentence to measure by: its text, when it came, and the readings that are right."""

    text: str
    at: datetime
    accept: Sequence[Mapping[str, Any]]


def shared_folder() -> Path | None:
    """The folder with messages.jsonl and book/, or None where there is none."""
    named = os.environ.get("RACKSIDE_CASES")
    folder = Path(named) if named else ROOT.parent / "shared" / "contract"
    return folder if (folder / "messages.jsonl").exists() else None


def shared_sentences(folder: Path) -> list[Sentence]:
    """The sentences of a shared folder."""
    lines = (folder / "messages.jsonl").read_text(encoding="utf-8").splitlines()
    cases = [json.loads(line) for line in lines if line.strip()]
    return [
        Sentence(c["text"], datetime.fromisoformat(c["at"]), c.get("accept") or [c["expect"]])
        for c in cases
    ]


def kept_as_typed(accept: Sequence[Mapping[str, Any]], text: str) -> list[dict[str, Any]]:
    """The readings that are right for a damaged text.

    A reminder's and a note's words and a name are kept as they were typed, slips and all: where
    the damage has changed them they are not compared.
    """
    typed = set(text.casefold().split())

    def told(record: Mapping[str, Any]) -> dict[str, Any]:
        words = str(record.get("text", "")).casefold().split()
        kept = dict(record) if set(words) <= typed else {**record, "text": None}
        if "name" in kept and kept["name"] not in text:
            kept["name"] = _near(kept["name"], text)
        return kept

    return [
        {**reading, "records": [told(record) for record in reading["records"]]}
        if "records" in reading
        else dict(reading)
        for reading in accept
    ]


def _near(name: str, text: str) -> str:
    """The word of a text that a name has become."""
    from rapidfuzz.distance import OSA

    return min(text.split(), key=lambda each: OSA.distance(name, each), default=name)


def measured(sentences: Iterable[Sentence], book: View, damage: str) -> tuple[int, int, int]:
    """Sentences, exact readings, and readings with a wrong record, under one kind of damage."""
    count = exact = wrong = 0
    for each in sentences:
        text = damaged(each.text, damage)
        accept = kept_as_typed(each.accept, text)
        got = json.loads(reading_to_json(read(text, each.at, book)))
        right = any(matches(wanted, got) for wanted in accept)
        count += 1
        exact += right
        wrong += not right and bool(wrong_records(accept, got))
    return count, exact, wrong


def table(title: str, sentences: Sequence[Sentence], book: View) -> None:
    """Prints one row for each kind of damage."""
    print(f"{title} ({len(sentences)} sentences)")
    print(f"  {'damage':<16}{'exact':>8}{'wrong record':>14}")
    for name in DAMAGES:
        count, exact, wrong = measured(sentences, book, name)
        print(f"  {name:<16}{exact / count:>8.1%}{wrong / count:>14.1%}")


def main() -> None:
    """A table for each set, or a line that says which set is missing."""
    own = [Sentence(case.text, MOMENT, case.accept) for case in own_cases()]
    table("our own cases", own, view_of(HERE / "book", ZONE))
    for each in sorted((HERE / "cases").iterdir()):
        table(f"colony {each.name}", shared_sentences(each), view_of(each / "book"))
    folder = shared_folder()
    if folder is None:
        print(
            "no shared cases at hand: set RACKSIDE_CASES to a folder with messages.jsonl and book/"
        )
        return
    table("shared cases", shared_sentences(folder), view_of(folder / "book"))


if __name__ == "__main__":
    main()
