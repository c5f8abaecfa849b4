"""What to type, as the README's two tables: made from the data that the reader itself uses.

`python -m bot.guide README.md` writes them between the marks in that file.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path

from bot.language.asking import request_examples
from bot.language.examples import record_rows
from bot.records import KINDS

BEGIN, END = "<!-- what to type: begin -->", "<!-- what to type: end -->"


def ways_to_log() -> dict[str, tuple[str, ...]]:
    """How each kind of record may be said, by kind."""
    return dict(record_rows())


def ways_to_ask() -> dict[str, tuple[str, ...]]:
    """How each request may be said, by request."""
    return {ask: tuple(texts) for ask, texts in request_examples().items() if texts}


def tables() -> str:
    """Both tables in Markdown."""
    fields = {kind.name: ", ".join(each.name for each in kind.fields) for kind in KINDS.values()}
    logs = [f"| {kind} | {_said(ways)} | {fields[kind]} |" for kind, ways in ways_to_log().items()]
    asks = [f"| {ask} | {_said(ways)} |" for ask, ways in ways_to_ask().items()]
    head = ["| what happened | type, for example | it keeps |", "|---|---|---|"]
    ask_head = ["", "| to ask or tell | type, for example |", "|---|---|"]
    return "\n".join([*head, *logs, *ask_head, *asks])


def with_tables(readme: str) -> str:
    """The README with its tables made anew. Raises ValueError where the marks are missing."""
    before, begin, rest = readme.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError("the README has lost the marks of its tables")
    return f"{before}{BEGIN}\n{tables()}\n{END}{after}"


def _said(ways: Iterable[str]) -> str:
    return "; ".join(f'"{way}"' for way in ways)


if __name__ == "__main__":
    file = Path(sys.argv[1])
    file.write_text(with_tables(file.read_text(encoding="utf-8")), encoding="utf-8")
