"""The clock: rings at short, even intervals and hands over; what is due is known by the book."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any


class Clock:
    """Calls `wake` every few seconds on a thread of its own, one call at a time.

    It keeps nothing and never sleeps longer than that, so that a machine that dozed or a wall clock
    that was put right, forward or back, costs a late ring at most.
    """

    def __init__(self, wake: Callable[[], None], seconds: float = 5) -> None:
        self._wake = wake
        self._seconds = seconds
        self._bell: Any = None

    def start(self) -> None:
        """Begin to ring; the first ring comes after one interval."""
        self._bell = _bell(self._seconds)
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


def _bell(seconds: float) -> Any:
    """A scheduler of jobs that come round every so many seconds, whatever the wall clock does.

    APScheduler keeps the wall time of the next ring. It would wait an hour for it after the clock
    was set back by one, and count through every ring missed after it went forward: so it looks at
    the clock after each interval (of real time), and a ring further off than that is now.
    """
    from apscheduler.schedulers.background import BackgroundScheduler

    class Bell(BackgroundScheduler):  # type: ignore[misc, unused-ignore]
        def _process_jobs(self) -> float:
            now, interval = datetime.now(UTC), timedelta(seconds=seconds)
            for job in self.get_jobs():
                if job.next_run_time and abs(job.next_run_time - now) > interval:
                    job.modify(next_run_time=now)
            wait: float | None = super()._process_jobs()
            return seconds if wait is None else min(wait, seconds)

    return Bell(timezone="UTC", daemon=True)
