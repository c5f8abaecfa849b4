"""One household at a time: whose turn it is to be written, and whose rows a transaction sees.

A book in a file has one writer, and `Pages` alone keeps households apart there. PostgreSQL does
both besides: a lock on the household's row, and row-level security on every table that belongs to
households. A connection begins with all of them in sight, for the steps that need it: who is
writing, what is due, what is to be sent.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, func, select

from bot.book.tables import households

SETTING = "rackside.household"
EVERYONE = "*"
_DOOR = 20_260  # the advisory lock of those who belong to no household yet


def take_turn(conn: Connection, household: int | None) -> bool:
    """Wait until nobody else writes for this household (None: at the door) until the commit.

    True where others may have written while we waited: what was read before is to be read anew.
    """
    if not _shared(conn) or conn.get_execution_options().get("postgresql_readonly"):
        return False
    if household is None:
        conn.execute(select(func.pg_advisory_xact_lock(_DOOR)))
    else:
        # Key share: rows elsewhere that name this household may be written meanwhile.
        mine = select(households.c.id).where(households.c.id == household)
        conn.execute(mine.with_for_update(key_share=True))
    return True


def keep_to(conn: Connection, household: int) -> None:
    """From here to the end of the transaction, see this household's rows and no others."""
    if _shared(conn):
        _see(conn, str(household))


@contextmanager
def looking_beyond(conn: Connection) -> Iterator[None]:
    """See every household's rows for one step, also in a transaction that is kept to one."""
    if not _shared(conn):
        yield
        return
    before = conn.execute(select(func.current_setting(SETTING))).scalar_one()
    _see(conn, EVERYONE)
    try:
        yield
    finally:
        if conn.in_transaction() and not conn.invalidated:
            _see(conn, before)


def _see(conn: Connection, whom: str) -> None:
    conn.execute(select(func.set_config(SETTING, whom, True)))


def _shared(conn: Connection) -> bool:
    return conn.dialect.name == "postgresql"
