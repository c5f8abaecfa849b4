"""Which part of the desk answers which request; and help."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from bot.desk import (
    amend,
    animals,
    charts,
    eggs,
    family,
    feeding,
    history,
    pairings,
    reminders,
    results,
    settings,
    sharing,
    standing,
)
from bot.desk.context import Context
from bot.desk.help import help_about
from bot.language.reading import Request
from bot.messages import Reply

ANSWERS: Mapping[str, Callable[[Request, Context], Reply]] = {
    "hatching": eggs.hatching,
    "tasks": reminders.tasks,
    "animal": animals.animal,
    "history": history.history,
    "where": animals.where,
    "box": eggs.box,
    "free": eggs.free,
    "pairs": pairings.pairs,
    "next_clutch": pairings.next_clutch,
    "ready": pairings.ready,
    "rates": results.rates,
    "match": pairings.match,
    "odds": results.odds,
    "feeders": feeding.feeders,
    "chart": charts.chart,
    "label": charts.label,
    "undo": amend.undo,
    "correct": amend.correct,
    "done": reminders.done,
    "snooze": reminders.snooze,
    "skip": reminders.skip,
    "share": sharing.share,
    "standin": standing.standin,
    "role": family.role,
    "members": family.members,
    "household": family.household,
    "export": sharing.export,
    "calendar": sharing.calendar,
    "settings": settings.settings,
    "help": help_about,
}
