"""Who may do what: owners and keepers everything, helpers log, watchers read."""

from __future__ import annotations

from bot.language.reading import Outcome, Reading
from bot.wording import say

WRITING_REQUESTS = frozenset({"undo", "correct", "done", "snooze", "skip"})
KEEPERS_REQUESTS = frozenset({"share", "export", "calendar"})
KEEPERS = frozenset({"owner", "keeper"})


def may_write(role: str) -> bool:
    """Whether this role may write in the book at all."""
    return role != "watcher"


def refusal(reading: Reading, role: str) -> str | None:
    """The sentence for what this role may not do, or None where it may."""
    asked = reading.request.ask if reading.request else ""
    writes = reading.outcome in (Outcome.RECORDS, Outcome.ASK) or asked in WRITING_REQUESTS
    if writes and not may_write(role):
        return say("role.watcher")
    if role not in KEEPERS and asked in KEEPERS_REQUESTS:
        return say("role.helper")
    return None
