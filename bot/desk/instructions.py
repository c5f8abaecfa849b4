"""What to do, step by step, for who helps: where, how, what to look for, when to ring a keeper."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bot.wording import joined, lookup, say

if TYPE_CHECKING:
    from bot.book.reminders import ReminderRow


def instructions(row: ReminderRow, keeper: str) -> list[str]:
    """The lines that go with one reminder; `keeper` is the name of whom to ring."""
    steps = lookup(f"instruct.{row.kind}") or {}
    where = say("instruct.where", place=row.place) if row.place else ""
    return [each for each in (where, *_steps(steps, keeper), _how_to_tell(row, steps)) if each]


def in_short(rows: Sequence[ReminderRow], keeper: str) -> list[str]:
    """For several at once: the steps of each kind of work, said once."""
    found = {row.kind: lookup(f"instruct.{row.kind}") or {} for row in rows}
    return [
        say("instruct.each", kind=steps["named"], do=joined(_steps(steps, keeper)))
        for steps in found.values()
        if steps
    ]


def _steps(steps: dict[str, str], keeper: str) -> list[str]:
    lines = [steps["do"].format(keeper=keeper)] if "do" in steps else []
    lines += [say("instruct.look", look=steps["look"])] if "look" in steps else []
    ring = steps.get("ring")
    return lines + ([say("instruct.ring", keeper=keeper, ring=ring)] if ring else [])


def _how_to_tell(row: ReminderRow, steps: dict[str, str]) -> str:
    """The words that keep what was seen, where no button below says them."""
    for says in steps.get("say", ()):
        return say("instruct.say", says=says.format(*row.about, place=row.place or ""))
    return ""
