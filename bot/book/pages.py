"""One household's pages of the book inside one transaction: the only door to its rows.

Every query of a household's ledger and state goes through here, bound to that household.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from sqlalchemy import BindParameter, Connection, bindparam, delete, func, insert, select

from bot.book import bound, facts, households, ledger, views, wakes
from bot.book.households import Household
from bot.book.ledger import Said
from bot.book.rows import NAMES, PARTS, Happening, from_row, to_row
from bot.book.state import Entry, State, differences, fold
from bot.book.tables import households as households_table
from bot.book.tables import ledger as ledger_table
from bot.book.tables import standins
from bot.language.view import View
from bot.records import Record
from scheduler.colony import Colony


class Kept(NamedTuple):
    """What is kept of a household between messages; it holds while the ledger ends at `head`."""

    head: int
    state: State
    view: View | None


Cache = dict[int, Kept]
KEPT = 100  # households at most, of which something is kept


def remember(cache: Cache, kept: Cache) -> None:
    """Keep what a committed transaction leaves for the next; the longest unused makes room."""
    cache.update(kept)
    while len(cache) > KEPT:
        del cache[next(iter(cache))]


# What every message asks is built once: building it again takes longer than the book's answer.
_MINE: BindParameter[int] = bindparam("mine")
_HOUSE = households_table.c
_FIRST_LOOK = select(
    *(_HOUSE.id, _HOUSE.name, _HOUSE.zone, _HOUSE.wakes, _HOUSE.fresh),
    select(func.max(ledger_table.c.id)).where(ledger_table.c.household == _MINE).scalar_subquery(),
    select(standins.c.id)
    .where(standins.c.household == _MINE, standins.c.reported.is_(None))
    .exists(),
).where(_HOUSE.id == _MINE)
_ALL = {
    part: select(*(table.c[name] for name in NAMES[part])).where(table.c.household == _MINE)
    for part, (table, _, _) in PARTS.items()
}
_KEEP = {part: insert(table) for part, (table, _, _) in PARTS.items()}
_FORGET = {
    part: delete(table).where(
        table.c.household == _MINE, *(table.c[name] == bindparam(f"the_{name}") for name in names)
    )
    for part, (table, _, names) in PARTS.items()
}


class Pages:
    """Reads and writes of one household. Use it for one transaction, then drop it.

    `standing_in` says whether anybody stands in for a member, or will, as the transaction began;
    `fresh` for which local day the reminders were worked out then (None: they have to be).

    Raises LookupError where there is no household of that number.
    """

    def __init__(self, conn: Connection, household: int, cache: Cache | None = None) -> None:
        bound.keep_to(conn, household)
        bound.take_turn(conn, household)
        self.conn = conn
        found = conn.execute(_FIRST_LOOK, {"mine": household}).first()
        if found is None:
            raise LookupError(f"no household {household}")
        number, name, zone, sleeps, self.fresh, head, self.standing_in = found
        self.household = Household(number, name, zone)
        self._sleeps: bool = sleeps is not None
        self._head = int(head or 0)  # the end of the ledger, also after what is written here
        self.zone = ZoneInfo(self.household.zone)
        self._cache = cache if cache is not None else {}
        self._state: State | None = None
        self._view: View | None = None
        self._moved = False

    @property
    def state(self) -> State:
        """The state of the book, read once a transaction, or kept from the last one."""
        if self._state is None:
            # Taken out of the cache: if this transaction fails, the state is read anew.
            kept = self._cache.pop(self.household.id, None)
            if kept is not None and kept.head == self._head:
                self._state, self._view = kept.state, kept.view
            else:
                self._state = self._load()
        return self._state

    def keeps(self) -> Cache:
        """What the next transaction may start from; to be kept only once this one is committed."""
        if self._state is None:
            return {}
        return {self.household.id: Kept(self._head, self._state, self._view)}

    def view(self) -> View:
        """The small view of the book that reading needs."""
        state = self.state
        if self._view is None or self._view.zone != self.zone:
            self._view = views.view(state, self.zone)
        return self._view

    def colony(self) -> Colony:
        """The facts that thinking rests on."""
        return facts.colony(self.state, self.zone)

    # --- writing ----------------------------------------------------------------------------

    def write(
        self, records: Sequence[Record], *, member: households.Member | None, channel: str,
        arrived: datetime, text: str, message: int | None = None,
    ) -> tuple[int, ...]:  # fmt: skip
        """Put records in the ledger and the state; gives the ids of their ledger rows."""
        said = Said(member.id if member else None, channel, arrived, text, message)
        state, made = self.state, []
        for record in records:
            number = ledger.append(self.conn, self.household.id, record, said)
            state.apply(Entry(number, record))
            made.append(number)
            self._head = number
        self._save(state)
        return tuple(made)

    def undo_last(
        self, member: households.Member, *, channel: str, arrived: datetime, text: str,
        message: int | None = None,
    ) -> tuple[Record, ...]:  # fmt: skip
        """Take back what this member's last message wrote; () where nothing is left to."""
        group = self._last_group(member)
        if not group:
            return ()
        said = Said(member.id, channel, arrived, text, message)
        self._take_back([row["id"] for row in group], said)
        self._fold_anew()
        return tuple(ledger.to_record(row) for row in group)

    def correct(
        self, entry: int, record: Record, *, member: households.Member, channel: str,
        arrived: datetime, text: str, message: int | None = None,
    ) -> int:  # fmt: skip
        """Put a record right: the new one stands where the entry stood."""
        said = Said(member.id, channel, arrived, text, message)
        number = ledger.append(self.conn, self.household.id, record, said, stands_for=entry)
        self._head = number
        self._fold_anew()
        return number

    def undo_message(self, message: int, *, member: households.Member, said: Said) -> None:
        """Take back everything that one message wrote (it was edited)."""
        all_rows = ledger.rows(self.conn, self.household.id)
        gone = ledger.taken_back(all_rows)
        mine = [
            row["id"]
            for row in all_rows
            if row["message"] == message and row["kind"] != ledger.UNDO and row["id"] not in gone
        ]
        if mine:
            self._take_back(mine, said)
            self._fold_anew()

    def move(self, zone: str) -> None:
        """Move the household to another time zone, from the next transaction on."""
        households.set_zone(self.conn, self.household.id, zone)
        self._moved = True

    def wake(self, today: date) -> None:
        """Have the household looked at in the next tick; its reminders are worked out for today."""
        if self._moved:
            return
        if self._sleeps or self.fresh != today:
            wakes.wake(self.conn, self.household.id, today)

    # --- reading ----------------------------------------------------------------------------

    def last_written(self, member: households.Member) -> tuple[tuple[int, Record], ...]:
        """The ids and records of this member's last message that wrote and still stands."""
        return tuple((row["id"], ledger.to_record(row)) for row in self._last_group(member))

    def last_said(self, member: households.Member) -> tuple[int | None, datetime] | None:
        """The message and moment of what `undo_last` would take back; None for nothing."""
        group = self._last_group(member)
        return (group[-1]["message"], group[-1]["arrived"]) if group else None

    def history(self, about: str, limit: int | None = None) -> list[Happening]:
        """What happened to an animal, slot or place, newest first."""
        found = self.state.told_of(about)
        found.sort(key=lambda h: (h.on, h.at or "", h.entry), reverse=True)
        return found[:limit]

    def check(self) -> list[str]:
        """What differs between the ledger replayed and the state tables; [] where they agree."""
        replayed = fold(ledger.effective(ledger.rows(self.conn, self.household.id)))
        return differences(replayed, self._load())

    # --- inside -----------------------------------------------------------------------------

    def _take_back(self, entries: Sequence[int], said: Said) -> None:
        self._head = ledger.append_undo(self.conn, self.household.id, entries, said)

    def _load(self) -> State:
        state = State()
        for part, query in _ALL.items():
            for row in self.conn.execute(query, {"mine": self.household.id}).all():
                state.put(part, from_row(part, row))
        state.touched.clear()
        return state

    def _last_group(self, member: households.Member) -> list[Any]:
        """The standing rows of the last message (or of one moment, where there was no message)."""
        all_rows = ledger.rows(self.conn, self.household.id)
        gone = ledger.taken_back(all_rows)
        mine = [
            row
            for row in all_rows
            if row["member"] == member.id and row["kind"] != ledger.UNDO and row["id"] not in gone
        ]
        if not mine:
            return []
        last = mine[-1]
        return [
            r for r in mine if (r["message"], r["arrived"]) == (last["message"], last["arrived"])
        ]

    def _fold_anew(self) -> None:
        """After an undo or correction: replay, and write only the rows that came out otherwise."""
        old = self.state
        new = fold(ledger.effective(ledger.rows(self.conn, self.household.id)))
        new.touched = {
            (part, key): key in old.things(part)
            for part in PARTS
            for key in old.things(part).keys() | new.things(part).keys()
            if old.things(part).get(key) != new.things(part).get(key)
        }
        new.worked_out = old.worked_out
        self._state = new
        self._save(new)

    def _save(self, state: State) -> None:
        """Write the rows of the things that changed: old rows out, new rows in."""
        self._see(state)
        for part, (_, _, names) in PARTS.items():
            keys = [key for each, key in state.touched if each == part]
            if not keys:
                continue
            the = [f"the_{name}" for name in names]
            old = [
                {"mine": self.household.id, **dict(zip(the, _parts(key), strict=True))}
                for key in keys
                if state.touched[part, key]
            ]
            if old:
                self.conn.execute(_FORGET[part], old)
            things = state.things(part)
            new = [to_row(part, self.household.id, things[k]) for k in keys if k in things]
            if new:
                self.conn.execute(_KEEP[part], new)
        state.touched.clear()

    def _see(self, state: State) -> None:
        """Keep the view where it can follow what changed: it is asked for again by each message."""
        only_more = all(
            part == "happenings" and not old for (part, _), old in state.touched.items()
        )
        if self._view is not None and only_more:
            views.follow(self._view, state, (state.happenings[key] for _, key in state.touched))
        else:
            self._view = None


def _parts(key: Any) -> tuple[Any, ...]:
    return key if isinstance(key, tuple) else (key,)
