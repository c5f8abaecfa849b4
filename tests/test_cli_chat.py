"""A first evening at a real terminal: the questions, the demo colony, and the own book after it."""

from __future__ import annotations

import os
import select
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

pty = pytest.importorskip("pty")
pytestmark = pytest.mark.slow

PATIENCE = 30.0  # seconds for one answer on a busy machine


class Sitting:
    """`rackside chat` behind a terminal of its own."""

    def __init__(self, home: Path) -> None:
        home.mkdir()
        self.shown = b""
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            os.chdir(home)
            environ = {
                k: v for k, v in os.environ.items() if not k.startswith(("RACKSIDE_", "XDG_"))
            }
            environ |= {"HOME": str(home), "TERM": "xterm", "TZ": "Europe/Dublin"}
            os.execve(sys.executable, [sys.executable, "-m", "bot.cli", "chat"], environ)

    def see(self, wanted: str) -> None:
        """Wait until the terminal shows this, after what was seen before."""
        end = time.monotonic() + PATIENCE
        while wanted.encode() not in self.shown and time.monotonic() < end:
            if select.select([self.terminal], [], [], 0.2)[0]:
                try:
                    new = os.read(self.terminal, 65536)
                except OSError:  # the other end is closed
                    break
                if b"\x1b[6n" in new:  # asked where the cursor is
                    os.write(self.terminal, b"\x1b[1;1R")
                self.shown += new
        before, found, self.shown = self.shown.partition(wanted.encode())
        assert found, before.decode("utf-8", "replace")

    def type(self, line: str) -> None:
        os.write(self.terminal, line.encode() + b"\r")


@pytest.fixture
def sitting(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Sitting]:
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parents[1]))
    sitting = Sitting(tmp_path / "home")
    yield sitting
    os.close(sitting.terminal)


def test_a_first_evening(sitting: Sitting, tmp_path: Path) -> None:
    """Zone, units and the demo are asked; the demo is thrown away; the own book takes its place."""
    sitting.see("Time zone [Europe/Dublin]:")
    sitting.type("")
    sitting.see("C or F [C]:")
    sitting.type("F")
    sitting.see("g or oz [g]:")
    sitting.type("")
    sitting.see("yes or no [no]:")
    sitting.type("yes")
    sitting.see("This is the demo colony.")
    sitting.see("demo>")
    sitting.type("forget the demo")
    sitting.see("This is your own book.")
    sitting.see(">")
    sitting.type("new female F21 picta")
    sitting.see("New female F21")
    sitting.type("quit")
    _, status = os.waitpid(sitting.pid, 0)
    assert os.waitstatus_to_exitcode(status) == 0
    kept = {file.name for file in (tmp_path / "home").rglob("*") if file.is_file()}
    assert "book.sqlite" in kept and "demo.sqlite" not in kept
