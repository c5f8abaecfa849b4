"""What is due: the numbered list, done, snooze and skip, and the wording of what falls due."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from bot import wording
from bot.desk import acts
from bot.desk.context import Context
from bot.desk.instructions import in_short, instructions
from bot.language.reading import Request
from bot.language.repeating import how_often
from bot.messages import Choice, Reply
from bot.records import Record
from bot.wording import capped, joined, lookup, near, say

if TYPE_CHECKING:
    from bot.book.households import Household, Member
    from bot.book.reminders import ReminderRow
    from scheduler.colony import Due

MOST_TOLD_APART = 3
"""More than this many at once fold into one message."""
MOST_LISTED = 20
MOST_EACH = 4
"""So many animals or eggs of one reminder get a button each."""
SNOOZE = timedelta(hours=1)


# --- the list -------------------------------------------------------------------------------


def tasks(request: Request, ctx: Context) -> Reply:
    """What is due in the days asked about, numbered; the talk remembers the numbers."""
    start = request.get("from", ctx.today)
    end = request.get("to", start)
    due = wanted(ctx, start, end)
    ctx.talk = replace(ctx.talk, tasks=tuple(task_words(each) for each in due[:MOST_LISTED]))
    when = near(start, ctx.today) if start == end else wording.span(start, end, ctx.today)
    if not due:
        return Reply(say("tasks.none", when=when))
    rows = [_numbered(number, each, ctx) for number, each in enumerate(due, 1)]
    lines = capped(rows, MOST_LISTED)
    return Reply("\n".join([say("tasks.head", when=when), *lines, say("tasks.foot")]))


def wanted(ctx: Context, start: date, end: date) -> list[Due]:
    """What is due in those days and not closed; today's list holds what is late, too."""
    from bot.book import reminders
    from scheduler.reminders import due

    reminders.refresh(ctx.pages, ctx.now)
    ahead = ctx.now + reminders.AHEAD
    rows = reminders.open_reminders(ctx.pages.conn, ctx.pages.household.id, ahead)
    still_open = {row.key for row in rows}
    found = due(ctx.colony, start, end, ctx.now)
    return [each for each in found if each.key in still_open or each.due > ahead]


def task_words(each: Due | ReminderRow) -> str:
    """How a task is remembered in the talk: what to do, and whom it is about."""
    return f"{each.text} [{', '.join(each.about)}]"


def _numbered(number: int, each: Due, ctx: Context) -> str:
    on = each.due.astimezone(ctx.zone).date()
    if on < ctx.today:
        when = say("tasks.late", day=wording.weekday(on, ctx.today))
    else:
        when = "" if on == ctx.today else say("tasks.on", day=near(on, ctx.today))
    place = say("tasks.place", place=each.place) if _needs_place(each) else ""
    return say("tasks.row", number=number, text=each.text.rstrip(".") + place, when=when)


def _needs_place(each: Due | ReminderRow) -> bool:
    """Whether its words do not say where to go."""
    return bool(each.place and each.kind in IN_A_PLACE)


# --- done, snooze, skip ---------------------------------------------------------------------


def done(request: Request, ctx: Context) -> Reply:
    """Close a reminder as done; where a record tells more than "done", offer it."""
    return _close(request, ctx, "done")


def after_plan(record: Record, ctx: Context) -> str:
    """Asked for every week, it is told once all the same: that is said."""
    return say("next.once") if how_often(record.get("text"))[1] else ""


def skip(request: Request, ctx: Context) -> Reply:
    """Close a reminder without its being done."""
    return _close(request, ctx, "skipped")


def _close(request: Request, ctx: Context, as_: str) -> Reply:
    from bot.book import reminders

    row = _meant(request.get("task"), ctx)
    if row is None:
        return _which(request.ask, ctx)
    reminders.close(ctx.pages.conn, ctx.pages.household.id, row.key, as_, ctx.member, ctx.now)
    acts.note(row, as_, ctx)
    text = say(f"tasks.{as_}", text=row.text.rstrip("."))
    taps = _records(row) if as_ == "done" and not request.get("fine") else ()
    if taps:
        text = joined([text, say("tasks.tell", says=taps[0].says)])
    return Reply(text, choices=taps)


def snooze(request: Request, ctx: Context) -> Reply:
    """Tell a reminder again later: at the moment asked, or in an hour."""
    from bot.book import reminders

    row = _meant(request.get("task"), ctx)
    if row is None:
        return _which("snooze", ctx)
    until = request.get("until") or ctx.now + SNOOZE
    until = until if until.tzinfo else until.replace(tzinfo=ctx.zone)
    reminders.snooze(ctx.pages.conn, ctx.pages.household.id, row.key, until)
    acts.note(row, acts.SNOOZED, ctx)
    return Reply(say("tasks.snoozed", text=row.text.rstrip("."), when=_moment(until, ctx)))


def _moment(when: datetime, ctx: Context) -> str:
    local = when.astimezone(ctx.zone)
    return near(local.date(), ctx.today) + say("days.at", time=wording.clock(local))


def _meant(task: int | str | None, ctx: Context) -> ReminderRow | None:
    """The open reminder meant by a number, by words, or by nothing (the last one told)."""
    rows = _open(ctx)
    told = last_told(rows, ctx.member.id)
    if isinstance(task, str) and task.isdigit():
        task = int(task)
    if isinstance(task, int):
        known = ctx.talk.tasks or tuple(task_words(row) for row in told)
        if not 1 <= task <= len(known):
            return None
        return next((row for row in rows if task_words(row) == known[task - 1]), None)
    if task:
        wanted = {word.strip(".,").casefold() for word in task.split()}
        fits = [row for row in rows if wanted <= _words_of(row)]
        return fits[0] if len(fits) == 1 else None
    candidates = told or rows
    return candidates[0] if len(candidates) == 1 else None


def _open(ctx: Context) -> list[ReminderRow]:
    from bot.book import reminders

    ahead = ctx.now + reminders.AHEAD
    return reminders.open_reminders(ctx.pages.conn, ctx.pages.household.id, ahead)


def last_told(rows: Sequence[ReminderRow], member: int) -> list[ReminderRow]:
    """Those told to a member at the latest moment at which any was, in the order of telling."""
    moments = {row.key: at for row in rows if (at := told_at(row, member)) is not None}
    latest = max(moments.values(), default=None)
    return [row for row in rows if row.key in moments and moments[row.key] == latest]


def told_at(row: ReminderRow, member: int) -> datetime | None:
    """When it was told to a member; where the book does not say to whom, to everybody."""
    return row.told_to.get(member) if row.told_to else row.told


def _words_of(row: ReminderRow) -> set[str]:
    said = f"{row.text} {' '.join(row.about)} {row.kind} {row.kind.replace('-', ' ')}"
    return {word.strip(".,:").casefold() for word in said.split()}


def _which(ask: str, ctx: Context) -> Reply:
    """Which one? The open ones, numbered; the talk remembers the numbers."""
    rows = [row for row in _open(ctx) if row.due <= ctx.now] or _open(ctx)
    ctx.talk = replace(ctx.talk, tasks=tuple(task_words(row) for row in rows))
    if not rows:
        return Reply(say("tasks.nothing_open"))
    choices = tuple(
        Choice(row.text.rstrip("."), f"{say(f'tasks.say_{ask}')} {number}")
        for number, row in enumerate(rows, 1)
    )
    lines = [f"{number} {each.label}" for number, each in enumerate(choices, 1)]
    return Reply("\n".join([say("tasks.which", says=choices[0].says), *lines]), choices)


# --- telling --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Manner:
    """How one member is told: `keeper` is whom they ring, and asks for what to do step by step;
    `before` goes ahead of it (from whom it was passed on), `after` behind it (a caution)."""

    keeper: str = ""
    before: str = ""
    after: str = ""


PLAIN = Manner()


def tell(
    due: Sequence[ReminderRow],
    member: Member,
    household: Household,
    now: datetime,
    late: set[str],
    manner: Manner = PLAIN,
) -> list[Reply]:
    """The messages for what falls due now; more than three fold into one, the oldest first."""
    rows = in_order(due)
    zone = ZoneInfo(household.zone)
    if len(rows) > MOST_TOLD_APART:
        return [_folded(rows, zone, now, late, manner)]
    last = len(rows) - 1
    return [
        _told(row, zone, now, late, _for_one(manner, number, last))
        for number, row in enumerate(rows)
    ]


def in_order(due: Sequence[ReminderRow]) -> list[ReminderRow]:
    """As they are told and numbered: the oldest first."""
    return sorted(due, key=lambda row: (row.due, row.key))


def _for_one(manner: Manner, number: int, last: int) -> Manner:
    """What goes ahead of several goes ahead of each; what goes behind, behind the last."""
    return manner if number == last else replace(manner, after="")


def _folded(
    rows: Sequence[ReminderRow], zone: ZoneInfo, now: datetime, late: set[str], manner: Manner
) -> Reply:
    lines = [
        f"{number} {row.text.rstrip('.')}{_place_of(row, manner)}{_late(row, zone, now, late)}"
        for number, row in enumerate(rows, 1)
    ]
    head = joined([manner.before, say("tell.head", n=len(rows))])
    steps = in_short(rows, manner.keeper) if manner.keeper else []
    told = [head, *capped(lines, MOST_LISTED), *steps, say("tell.foot"), manner.after]
    return Reply("\n".join(each for each in told if each))


def _place_of(row: ReminderRow, manner: Manner) -> str:
    """Who helps is told where each is."""
    return say("tasks.place", place=row.place) if manner.keeper and _needs_place(row) else ""


def _told(row: ReminderRow, zone: ZoneInfo, now: datetime, late: set[str], manner: Manner) -> Reply:
    head = joined([manner.before, f"{row.text.rstrip('.')}{_late(row, zone, now, late)}."])
    if manner.keeper:
        lines = [head, *instructions(row, manner.keeper), manner.after]
        text = "\n".join(each for each in lines if each)
    else:
        place = say("tell.place", place=row.place) if _needs_place(row) else ""
        text = joined([head, place, row.why, manner.after])
    return Reply(text, choices=taps(row), reminder=row.key)


IN_A_PLACE = frozenset({"pull-male", "put-male-in", "search-eggs", "check-gravid", "weigh"})
"""Reminders whose place is not already in their words."""


def _late(row: ReminderRow, zone: ZoneInfo, now: datetime, late: set[str]) -> str:
    if row.key not in late:
        return ""
    was, today = row.due.astimezone(zone), now.astimezone(zone).date()
    when = near(was.date(), today) + say("days.at", time=wording.clock(was))
    return say("tell.late", when=when)


def taps(row: ReminderRow) -> tuple[Choice, ...]:
    """The answers offered with a reminder: the record itself where it helps, done, snooze."""
    rest = tuple(
        Choice(say(f"tell.{each}"), say(f"tell.says_{each}")) for each in ("done", "snooze")
    )
    return (*_records(row), *_later(row), *_again(row), *rest)


def _again(row: ReminderRow) -> tuple[Choice, ...]:
    """A reminder asked for "every friday" is told once: one tap sets the next."""
    what, often = how_often(row.text) if row.kind == "plan" else (row.text, "")
    if not often:
        return ()
    what = what if what[:2].isupper() else what[:1].lower() + what[1:]
    return (Choice(say("tell.again"), say("tell.says_again", often=often, what=what)),)


def _records(row: ReminderRow) -> tuple[Choice, ...]:
    """The records that answer it: of each animal or egg by itself, or of all that it is about."""
    found = []
    for label, says in lookup(f"taps.{row.kind}") or ():
        for each in row.about[:MOST_EACH] if "{each}" in says else ("",):
            names = {"each": each, "all": wording.listed(row.about), "place": row.place or ""}
            found.append(Choice(label.format(**names), says.format(*row.about, **names)))
    return tuple(found)


def _later(row: ReminderRow) -> tuple[Choice, ...]:
    """What says that it is not yet so, and when to ask again."""
    return tuple(Choice(label, says) for label, says in lookup(f"taps_later.{row.kind}") or ())
