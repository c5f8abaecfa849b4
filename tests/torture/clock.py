"""The wall clock that the processes under test see: shifted as we like; monotonic time stays."""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from bisect import bisect
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests.serve.nursery import Nursery

SOURCE = Path(__file__).parents[1] / "serve" / "shifted_clock.c"


class Clock:
    """Real time and a shift in whole seconds, kept in a file for the processes to read."""

    def __init__(self, file: Path, shift: int = 0) -> None:
        self.file = file
        self._since: list[float] = []
        self._shifts: list[int] = []
        self.set(shift)

    @property
    def shift(self) -> int:
        return self._shifts[-1]

    def set(self, shift: int) -> None:
        """Set the clock: so many seconds from real time."""
        part = self.file.with_suffix(".part")
        part.write_text(str(shift))
        part.rename(self.file)  # at once, so that nobody reads half of it
        self._since.append(time.monotonic())
        self._shifts.append(shift)

    def step(self, by: timedelta) -> None:
        """Set it on, or back."""
        self.set(self.shift + int(by.total_seconds()))

    def now(self) -> datetime:
        return datetime.now(UTC) + timedelta(seconds=self.shift)

    def at(self, monotonic: float) -> datetime:
        """What it showed at a moment of monotonic time."""
        shift = self._shifts[max(0, bisect(self._since, monotonic) - 1)]
        ago = timedelta(seconds=time.monotonic() - monotonic)
        return datetime.now(UTC) - ago + timedelta(seconds=shift)


def shifted_nursery(folder: Path) -> Nursery | None:
    """What forks processes that read the clock by the file SHIFT names; None without a compiler."""
    compiler = shutil.which("cc")
    if compiler is None:
        return None
    library = folder / "clock.so"
    build = [compiler, "-shared", "-fPIC", "-o", str(library), str(SOURCE), "-ldl"]
    subprocess.run(build, check=True)
    os.environ["LD_PRELOAD"] = str(library)
    try:
        return Nursery()
    finally:
        del os.environ["LD_PRELOAD"]
