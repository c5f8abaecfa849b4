"""The few sentences that the channels say themselves, from `words.toml`."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any


@cache
def words() -> dict[str, Any]:
    """The whole file, read once."""
    return tomllib.loads(Path(__file__).with_name("words.toml").read_text(encoding="utf-8"))


def said(key: str, **values: object) -> str:
    """The sentence under a dotted key. Raises KeyError where there is none."""
    found: Any = words()
    for part in key.split("."):
        found = found[part]
    return str(found).format_map(values)
