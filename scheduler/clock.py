"""The clock: rings at short, even intervals and hands over; what is due is known by the book."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


class Clock:
    """Calls `wake` every few seconds on a thread of its own, one call at a time.

    It keeps nothing and never sleeps long, so that a machine that dozed or a wall clock that was
    corrected costs a late ring at most: `wake` looks at the wall clock anew each time.
    """

    def __init__(self, wake: Callable[[], None], seconds: float = 5) -> None:
        self._wake = wake
        self._seconds = seconds
        self._bell: Any = None

    def start(self) -> None:
        """Begin to ring; the first ring comes after one interval."""
        from apscheduler.schedulers.background import BackgroundScheduler

        self._bell = BackgroundScheduler(timezone="UTC", daemon=True)
        self._bell.add_job(
            self._wake, "interval", seconds=self._seconds, max_instances=1, coalesce=True,
            misfire_grace_time=None,
        )  # fmt: skip
        self._bell.start()

    def stop(self) -> None:
        """End after the ring in hand; a clock that was not started stops too."""
        if self._bell is not None:
            self._bell.shutdown(wait=True)
            self._bell = None

    def __enter__(self) -> Clock:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()
