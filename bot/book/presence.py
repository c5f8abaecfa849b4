"""That a process is alive, for the others that serve the same book: a lock that ends with it.

On PostgreSQL it is an advisory lock of a connection kept for that alone: when the process ends,
however it ends, the server lets go of it, and the others see so at once. A book in a file is served
by one process (`bot/serve/hold.py`), so nobody else is alive there.
"""

from __future__ import annotations

from sqlalchemy import Connection, func, select, text
from sqlalchemy.exc import OperationalError

from bot.book.store import Book

_WORKERS = 20_262  # the family of advisory locks
_LIVING = text(
    "SELECT objid::bigint FROM pg_locks WHERE locktype = 'advisory' AND granted AND objsubid = 2 "
    "AND classid = :family AND database = (SELECT oid FROM pg_database "
    "WHERE datname = current_database())"
)


class Presence:
    """One process's. `number` (31 bits) is its own; `name` is what it writes on its rows."""

    def __init__(self, book: Book, number: int) -> None:
        self.name = str(number)
        self._number = number
        self._book = book
        self._line: Connection | None = None

    def living(self) -> frozenset[str]:
        """The names of those alive, ourselves among them. Raises OperationalError if cut off."""
        if self._book.engine.dialect.name != "postgresql":
            return frozenset({self.name})
        try:
            line = self._show()
            found = line.execute(_LIVING, {"family": _WORKERS}).scalars()
            return frozenset(map(str, found)) | {self.name}
        except OperationalError:
            self.end()
            raise

    def end(self) -> None:
        """Be seen no more."""
        if self._line is not None:
            self._line.invalidate()
            self._line.close()
            self._line = None

    def _show(self) -> Connection:
        if self._line is None:
            self._line = self._book.engine.connect().execution_options(isolation_level="AUTOCOMMIT")
            self._line.execute(select(func.pg_advisory_lock(_WORKERS, self._number)))
        return self._line
