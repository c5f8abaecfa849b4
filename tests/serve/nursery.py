"""Starts `rackside serve` quickly: a process that has read all the code forks one for each start.

Each is a process of its own, with its own settings, files and signals, as one started from the
shell; it only need not read the same code again. Run as a script it is that process: it takes a
line of JSON for each start (environment, folder) and answers with the number of the process; the
status with which one ended it writes into the folder.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path
from typing import Any

HASTY = """
from tenacity import wait_exponential_jitter
from bot.serve import delivery, run
run.RING = 0.25
delivery._PAUSE = wait_exponential_jitter(multiplier=0.3, max=60, jitter=0.2)
"""
"""Its looks at the clock and its pauses are shorter than in life, so that tests need not wait.

How long they are in life, `test_delivery.py` and `test_unit.py` hold.
"""
SERVE = f"{HASTY}\nfrom bot.cli import main; main(['serve'])"


class Nursery:
    """The process that forks; one for a run of the tests."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.serve.nursery"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip

    def start(self, folder: Path, env: dict[str, str]) -> Forked:
        """Start one; its output goes to `out` and `err` in the folder."""
        assert self._process.stdin is not None and self._process.stdout is not None
        print(json.dumps({"folder": str(folder), "env": env}), file=self._process.stdin, flush=True)
        return Forked(int(self._process.stdout.readline()), folder)

    def close(self) -> None:
        """End it."""
        self._process.kill()
        self._process.wait(10)


class Forked:
    """One of its children, as `subprocess.Popen` shows a process."""

    def __init__(self, pid: int, folder: Path) -> None:
        self.pid = pid
        self._ended = folder / f"ended.{pid}"

    def poll(self) -> int | None:
        """Its status, below 0 where a signal killed it; None while it runs."""
        return int(self._ended.read_text()) if self._ended.exists() else None

    def wait(self, timeout: float) -> int:
        """Its status, once it has ended. Raises TimeoutExpired."""
        end = time.monotonic() + timeout
        while (status := self.poll()) is None:
            if time.monotonic() > end:
                raise subprocess.TimeoutExpired("serve", timeout)
            time.sleep(0.02)
        return status

    def send_signal(self, how: int) -> None:
        """Send it a signal, if it still runs."""
        if self.poll() is None:
            os.kill(self.pid, how)

    def kill(self) -> None:
        """End it at once, with no word of its own."""
        self.send_signal(signal.SIGKILL)


# --- the process itself ---------------------------------------------------------------------


USED = (
    "bot.cli", "bot.commands.serving", "bot.serve.run", "bot.serve.phone", "bot.channels.telegram",
    "bot.channels.sms", "bot.channels.sms_sender", "bot.language.reader", "alembic.command",
    "twilio.request_validator", "icalendar",
)  # fmt: skip
"""What serving reads sooner or later."""


def _fork_on_demand() -> None:
    for name in USED:
        import_module(name)
    exec(HASTY, {})
    _read_words()
    children: dict[int, Path] = {}

    def note_ends(*_: object) -> None:
        for pid in list(children):
            ended, status = os.waitpid(pid, os.WNOHANG)
            if ended:
                file = children.pop(pid) / f"ended.{pid}"
                part = file.with_suffix(".part")
                part.write_text(str(os.waitstatus_to_exitcode(status)))
                part.rename(file)

    signal.signal(signal.SIGCHLD, note_ends)
    for line in sys.stdin:
        wanted = json.loads(line)
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGCHLD})
        pid = os.fork()
        if pid == 0:
            _serve(wanted)
        children[pid] = Path(wanted["folder"])
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGCHLD})
        print(pid, flush=True)


def _read_words() -> None:
    """Read besides what is read with the first message: the words of the language, the figures."""
    from bot.book import households
    from bot.book.store import Book
    from bot.messages import Message
    from bot.service import Rackside

    now, book = datetime.now(UTC), Book.open(":memory:")
    with book.writing() as conn:
        owner = households.begin(conn, zone="UTC", owner="Ines", now=now)
        households.add_address(conn, owner, "console", "1")
    rackside = Rackside(book, lambda: now)
    for number, text in enumerate(("new female F3 leopard", "F3 40g")):
        rackside.handle(Message("console", str(number), "1", text, now))
    book.close()


def _serve(wanted: dict[str, Any]) -> None:
    """In the child: be `rackside serve`, and end with its status."""
    from bot.cli import main

    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGCHLD})
    os.chdir(wanted["folder"])
    os.environ.clear()
    os.environ.update(wanted["env"])
    for number, name in ((1, "out"), (2, "err")):
        os.dup2(os.open(name, os.O_WRONLY | os.O_CREAT | os.O_APPEND), number)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    status = 1
    try:
        main(["serve"])
        status = 0
    except SystemExit as end:
        status = end.code if isinstance(end.code, int) else int(end.code is not None)
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


if __name__ == "__main__":
    _fork_on_demand()
