"""Reminders as rows with a key that says what they are: in line with the facts, told once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, bindparam, insert, or_, select, update

from bot.book.duework import work_out
from bot.book.households import Member
from bot.book.pages import Pages
from bot.book.tables import households, reminders
from scheduler.colony import Due

AHEAD = timedelta(days=2)  # rows are made this long before they fall due
ROUTINE = ("weigh", "wet-box", "read-incubator", "candle", "sex-young")
"""Jobs of a round that a message can bring up after their hour: they wait for the next day's."""
TIME_CRITICAL = ("pull-male", "search-eggs", "watch-hatch")
"""What does not wait for the next day: unanswered, it is passed on."""
USUAL_WAIT = timedelta(hours=2)
"""After this long it is passed on, where the household set nothing (our convention)."""
_BY_FACTS = ("answered", "withdrawn")  # closings that the facts may take back


@dataclass(frozen=True)
class ReminderRow:
    """One reminder. Moments are UTC; `about` lists tags or slots.

    `told_to` says when it was told to which member; empty where it was not told, or where an older
    book did not keep that.
    """

    key: str
    kind: str
    about: tuple[str, ...]
    due: datetime
    until: datetime | None
    text: str
    why: str
    place: str | None
    told: datetime | None
    snoozed: datetime | None
    told_to: Mapping[int, datetime] = field(default_factory=dict)
    passed_on: datetime | None = None


class Why(StrEnum):
    """What set off a working out of reminders."""

    START = "start"  # what fell due meanwhile is told now
    MESSAGE = "message"  # routine work for an hour already past waits for the next day's
    NEW_DAY = "new day"  # what the night brought up waits for its hour of the day


# What every message asks is built once: building it again takes longer than the book's answer.
_IN_HOUSE = reminders.c.household == bindparam("mine")
_ONE_OF = reminders.c.key.in_(bindparam("keys", expanding=True))
_ADD = insert(reminders)
_AMONG = select(reminders).where(_IN_HOUSE, _ONE_OF)
_AMONG_OR_OPEN = select(reminders).where(_IN_HOUSE, or_(_ONE_OF, reminders.c.closed.is_(None)))
_OPEN = (
    select(reminders)
    .where(_IN_HOUSE, reminders.c.closed.is_(None), reminders.c.due <= bindparam("until"))
    .order_by(reminders.c.due, reminders.c.key)
)
_TOLD_AND_OPEN = (
    select(reminders)
    .where(_IN_HOUSE, reminders.c.closed.is_(None), reminders.c.told.is_not(None))
    .order_by(reminders.c.due, reminders.c.key)
)


def refresh(pages: Pages, now: datetime, why: Why = Why.START) -> None:
    """Make the rows say what the facts say: new ones, changed ones, ones that no longer hold.

    Nobody wants "weigh F21" in the middle of writing her in, or at five past midnight: see `Why`.
    A key that was done or skipped stays closed. One that a record answered opens again if that
    record is undone, but is not told a second time. After a message only what its records can
    change is worked out again.
    """
    wanted, before = work_out(pages, now, AHEAD, anew=why is not Why.MESSAGE)
    query, keys = _AMONG_OR_OPEN, [*wanted]
    if before is not None:
        gone = [key for key in before if key not in wanted]
        # What is as it was has its row.
        wanted = {key: each for key, each in wanted.items() if before.get(key) != each}
        query, keys = _AMONG, [*wanted, *gone]
        if not keys:
            return
    found = pages.conn.execute(query, {"mine": pages.household.id, "keys": keys}).mappings()
    known = {row["key"]: row for row in found}
    new = []
    for key, each in wanted.items():
        row = known.get(key)
        if row is None:
            made = {"household": pages.household.id, "key": key, **_values(each)}
            new.append({**made, "snoozed": _when_told(each, now, why, pages.zone)})
        elif row["closed"] is None or row["closed_as"] in _BY_FACTS:
            _follow(pages, each, row, now, why)
    if new:
        pages.conn.execute(_ADD, new)
    for key, row in known.items():
        if row["closed"] is None and key not in wanted:
            how = "answered" if row["told"] else "withdrawn"
            _change(pages.conn, pages.household.id, key, closed=now, closed_as=how)


def _values(found: Due) -> dict[str, Any]:
    """What a row says of what is due."""
    return {
        "kind": found.kind, "about": list(found.about), "due": found.due, "until": found.until,
        "text": found.text, "why": found.why, "place": found.place,
    }  # fmt: skip


def _follow(pages: Pages, found: Due, row: Mapping[Any, Any], now: datetime, why: Why) -> None:
    """Make the row that there is say what is due, where it says something else."""
    values = _values(found)
    if row["closed"] is not None:
        values |= {"closed": None, "closed_as": None, "closed_by": None}
    if found.due <= now < row["due"] and why is Why.MESSAGE:
        values["snoozed"] = now  # brought forward by what was just said: it is not late
    if any(row[name] != value for name, value in values.items()):
        _change(pages.conn, pages.household.id, found.key, **values)


def _when_told(found: Due, now: datetime, why: Why, zone: ZoneInfo) -> datetime | None:
    """When a new reminder is told, where that is not when it is due."""
    if found.due > now or why is Why.START:
        return None
    if why is Why.NEW_DAY or found.kind in ROUTINE:
        return _same_hour(found.due, now, zone)
    later = _second_time(found.due, now, zone) if found.kind == "plan" else None
    return later or now  # the message brought it up just now: it is not late


def _same_hour(due: datetime, now: datetime, zone: ZoneInfo) -> datetime:
    """The next time that it is the hour of the day at which it was due."""
    today = now.astimezone(zone).date()
    hour = due.astimezone(zone).time()
    found = datetime.combine(today, hour, zone)
    return found if found > now else datetime.combine(today + timedelta(days=1), hour, zone)


def _second_time(due: datetime, now: datetime, zone: ZoneInfo) -> datetime | None:
    """In the hour that clocks go over twice, "in 30 minutes" said in the second means the second.

    None where its time comes once, is still to come the first time, or has come twice.
    """
    second = due.astimezone(zone).replace(fold=1).astimezone(UTC)
    return second if due <= now < second else None


def open_reminders(conn: Connection, household: int, until: datetime) -> list[ReminderRow]:
    """What is due up to a moment and not closed, oldest first."""
    rows = conn.execute(_OPEN, {"mine": household, "until": until}).mappings()
    return [_row(dict(row)) for row in rows]


def to_see_to(conn: Connection, household: int, now: datetime) -> list[ReminderRow]:
    """What is due and open now, told or not, oldest first; what is snoozed till later is not."""
    rows = open_reminders(conn, household, now)
    return [row for row in rows if row.snoozed is None or row.snoozed <= now]


def told(conn: Connection, household: int, key: str, now: datetime, to: Iterable[int] = ()) -> None:
    """It is in the outbox for these members: it is not told to them again."""
    whom = {str(member): now.isoformat() for member in to}
    _change(conn, household, key, told=now, snoozed=None, told_to=whom)


def told_too(
    conn: Connection, household: int, row: ReminderRow, now: datetime, to: Iterable[int],
    passed_on: bool = False,
) -> None:  # fmt: skip
    """Others have it in the outbox, too: later than the first, or because it was passed on."""
    whom = {**row.told_to, **dict.fromkeys(to, now)}
    values: dict[str, Any] = {"told_to": {str(m): at.isoformat() for m, at in whom.items()}}
    if passed_on:
        values["passed_on"] = now
    if row.told is None:
        values |= {"told": now, "snoozed": None}
    _change(conn, household, row.key, **values)


def close(
    conn: Connection, household: int, key: str, as_: str, member: Member | None, now: datetime
) -> None:
    """A member said that it is done, or skipped it."""
    by = member.id if member else None
    _change(conn, household, key, closed=now, closed_as=as_, closed_by=by, snoozed=None)


def snooze(conn: Connection, household: int, key: str, until: datetime) -> None:
    """Tell it again at a later moment."""
    _change(conn, household, key, snoozed=until)


def take_back(
    conn: Connection, household: int, key: str, how: str, member: Member,
    snoozed: datetime | None,
) -> ReminderRow | None:  # fmt: skip
    """Open as before what a member said was done, skipped or put off; `snoozed` as it was.

    It gives the row; None where that no longer stands. What was told is not told again.
    """
    mine = (reminders.c.household == household) & (reminders.c.key == key)
    row = conn.execute(select(reminders).where(mine)).mappings().first()
    if row is None:
        return None
    if how == "snoozed":
        stands = row["closed"] is None and row["snoozed"] is not None
    else:
        stands = row["closed_as"] == how and row["closed_by"] == member.id
    if not stands:
        return None
    values = {"closed": None, "closed_as": None, "closed_by": None, "snoozed": snoozed}
    _change(conn, household, key, **values)
    return _row({**row, **values})


def next_due(conn: Connection, household: int, after: datetime) -> datetime | None:
    """The next moment at which something is to be told."""
    rows = conn.execute(
        select(reminders.c.due, reminders.c.snoozed, reminders.c.told).where(
            reminders.c.household == household,
            reminders.c.closed.is_(None),
            or_(reminders.c.told.is_(None), reminders.c.snoozed.is_not(None)),
        )
    )
    moments = [snoozed or due for due, snoozed, _ in rows]
    return min((each for each in moments if each > after), default=None)


def told_and_open(conn: Connection, household: int) -> list[ReminderRow]:
    """Those told and not closed, oldest first."""
    rows = conn.execute(_TOLD_AND_OPEN, {"mine": household}).mappings()
    return [_row(dict(row)) for row in rows]


def closed_of(
    conn: Connection, household: int, keys: Iterable[str]
) -> list[tuple[ReminderRow, str]]:
    """Those of these keys that are closed, oldest first, each with how it was closed."""
    rows = conn.execute(
        select(reminders)
        .where(
            reminders.c.household == household,
            reminders.c.key.in_(list(keys)),
            reminders.c.closed.is_not(None),
        )
        .order_by(reminders.c.due, reminders.c.key)
    ).mappings()
    return [(_row(dict(row)), str(row["closed_as"])) for row in rows]


def credit(conn: Connection, household: int, key: str, member: Member) -> None:
    """A member's record answered it."""
    _change(conn, household, key, closed_by=member.id)


def once(conn: Connection, household: int, kind: str, key: str, now: datetime) -> bool:
    """True the first time that it is asked of a key: what goes out once is noted as a closed row.

    So neither a restart nor a second process nor a clock set back sends it again.
    """
    mine = (reminders.c.household == household) & (reminders.c.key == key)
    if conn.execute(select(reminders.c.key).where(mine)).first() is not None:
        return False
    conn.execute(
        insert(reminders).values(
            household=household, key=key, kind=kind, about=[], due=now, text="", why="",
            told=now, closed=now, closed_as="done",
        )
    )  # fmt: skip
    return True


def pass_on_after(conn: Connection, household: int) -> timedelta | None:
    """How long an answer is waited for before the next person is told; None: for ever."""
    mine = households.c.id == household
    minutes = conn.execute(select(households.c.pass_on).where(mine)).scalar()
    return USUAL_WAIT if minutes is None else timedelta(minutes=minutes) if minutes else None


def set_pass_on(conn: Connection, household: int, minutes: int | None) -> None:
    """Wait so many minutes; 0: pass nothing on; None: the usual time."""
    mine = households.c.id == household
    conn.execute(update(households).where(mine).values(pass_on=minutes))


def next_pass(conn: Connection, household: int, after: datetime) -> datetime | None:
    """The next moment at which one is to be passed on, if nobody answers."""
    wait = pass_on_after(conn, household)
    if wait is None:
        return None
    moments = [passes(row, wait) for row in open_reminders(conn, household, after)]
    return min((each for each in moments if each and each > after), default=None)


def passes(row: ReminderRow, wait: timedelta) -> datetime | None:
    """When a reminder is passed on unanswered: the wait begins with the last that was told."""
    if row.kind not in TIME_CRITICAL or row.passed_on or row.snoozed or not row.told_to:
        return None
    return max(row.told_to.values()) + wait


def _change(conn: Connection, household: int, key: str, **values: Any) -> None:
    conn.execute(
        update(reminders)
        .where(reminders.c.household == household, reminders.c.key == key)
        .values(**values)
    )


def _row(row: dict[str, Any]) -> ReminderRow:
    known = {name: row[name] for name in ReminderRow.__dataclass_fields__}
    whom = row["told_to"] or {}
    known["told_to"] = {int(each): datetime.fromisoformat(at) for each, at in whom.items()}
    return ReminderRow(**{**known, "about": tuple(row["about"])})
