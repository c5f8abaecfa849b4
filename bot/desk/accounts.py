"""What was done while somebody was away, by whom and when; and what was left."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import select

from bot.book import ledger, reminders
from bot.book.tables import ledger as ledger_table
from bot.book.tables import reminders as reminders_table
from bot.desk.restate import Manner, restate
from bot.wording import near, say

if TYPE_CHECKING:
    from bot.book.pages import Pages
    from bot.book.standins import StandIn
    from bot.people import People

Line = tuple[datetime, str]


def done_since(pages: Pages, each: StandIn, people: People) -> list[str]:
    """A line for each record of the others and each task they closed by word, oldest first."""
    lines = [*_logged(pages, each, people), *_closed(pages, each, people)]
    return [text for _, text in sorted(lines, key=lambda line: line[0])]


def left_open(pages: Pages, people: People) -> list[str]:
    """What fell due and waits still."""
    rows = reminders.open_reminders(pages.conn, pages.household.id, people.now)
    return [row.text for row in rows]


def hand_back(pages: Pages, each: StandIn, people: People) -> None:
    """What is left open is with the keeper again, who hears of it in the account."""
    rows = reminders.to_see_to(pages.conn, pages.household.id, people.now)
    for row in rows:
        if row.told is not None and row.snoozed is None and each.for_member not in row.told_to:
            number = pages.household.id
            reminders.told_too(pages.conn, number, row, people.now, [each.for_member])


def _logged(pages: Pages, each: StandIn, people: People) -> list[Line]:
    """What the others wrote and did not take back; corrections as they stand now."""
    t = ledger_table
    mine = (t.c.household == pages.household.id) & (t.c.arrived >= each.starts)
    query = select(t).where(mine, t.c.arrived < each.ends).order_by(t.c.id)
    rows = {row["id"]: dict(row) for row in pages.conn.execute(query).mappings()}
    away = people.members[each.for_member]
    manner = Manner(people.today, away.temperature, away.weight)
    found = []
    for entry in ledger.effective(rows.values()):
        row = rows.get(entry.id)
        if row is not None and row["member"] != away.id:
            # The day is said ahead of each line, and so not in it.
            what = restate(entry.record, Manner(entry.record.on, manner.temperature, manner.weight))
            found.append((row["arrived"], _line(row["arrived"], row["member"], what, people)))
    return found


def _closed(pages: Pages, each: StandIn, people: People) -> list[Line]:
    """Tasks said to be done or skipped."""
    t = reminders_table
    query = select(t).where(
        t.c.household == pages.household.id,
        t.c.closed >= each.starts,
        t.c.closed < each.ends,
        t.c.closed_as.in_(("done", "skipped")),
        t.c.closed_by.is_not(None),
        t.c.closed_by != each.for_member,
    )
    found = []
    for row in pages.conn.execute(query).mappings():
        what = say(f"standin.report_{row['closed_as']}", what=row["text"].rstrip("."))
        found.append((row["closed"], _line(row["closed"], row["closed_by"], what, people)))
    return found


def _line(at: datetime, member: int | None, what: str, people: People) -> str:
    day = near(at.astimezone(people.zone).date(), people.today)
    name = people.name_of(member)
    return say("standin.report_row", day=day[:1].upper() + day[1:], name=name, what=what)
