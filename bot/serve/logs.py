"""Logs: one JSON object a line on stderr, with no secret ever, and nobody's words or names.

Our own lines carry only what is named in the call: counts, kinds, row numbers. Of a library's line
or a traceback only where it comes from is kept, because what else is in it nobody can know.
"""

from __future__ import annotations

import logging
import sys
import traceback
import warnings
from collections.abc import Iterable, MutableMapping
from contextlib import suppress
from types import TracebackType
from typing import Any
from urllib.parse import quote

import structlog

LEVELS = {
    "debug": logging.DEBUG,
    "info": logging.INFO,
    "warning": logging.WARNING,
    "error": logging.ERROR,
}
HIDDEN = "[secret]"
log = structlog.get_logger("rackside")


def set_up(level: str, secrets: Iterable[str | None]) -> None:
    """Send every line of this process to stderr in our form, at `level` and above."""
    hide = _hider(secrets)
    structlog.configure(
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True, key="time"),
            hide,
            structlog.processors.JSONRenderer(default=lambda value: type(value).__name__),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(LEVELS[level]),
        logger_factory=structlog.PrintLoggerFactory(_Stderr()),  # type: ignore[arg-type]
        cache_logger_on_first_use=False,
    )
    root = logging.getLogger()
    root.handlers[:] = [_Libraries()]
    root.setLevel(logging.DEBUG if level == "debug" else max(logging.WARNING, LEVELS[level]))
    logging.captureWarnings(True)
    warnings.simplefilter("ignore")
    sys.excepthook = _unhandled


def blame(error: BaseException) -> dict[str, Any]:
    """What may be told of an error: its kind and where it came from, not what it says."""
    frames = traceback.extract_tb(error.__traceback__)[-6:]
    where = [f"{frame.filename.rpartition('/')[2]}:{frame.lineno} {frame.name}" for frame in frames]
    return {"error": type(error).__name__, "where": where}


class _Stderr:
    """stderr; where it can't be written (to a full disk, say), the service goes on without."""

    def write(self, text: str) -> None:
        with suppress(OSError):
            sys.stderr.write(text)

    def flush(self) -> None:
        with suppress(OSError):
            sys.stderr.flush()


class _Libraries(logging.Handler):
    """Lines of libraries: from info on only which library, where, and what kind of error."""

    def emit(self, record: logging.LogRecord) -> None:
        told: dict[str, Any] = {"library": record.name, "at": f"{record.module}:{record.lineno}"}
        if record.exc_info and record.exc_info[1] is not None:
            told |= blame(record.exc_info[1])
        if record.levelno < logging.INFO:
            log.debug("a library says", says=record.getMessage(), **told)
        else:
            level = min(record.levelno, logging.ERROR)
            log.log(level, "a library says", **told)


def _unhandled(
    kind: type[BaseException], error: BaseException, trace: TracebackType | None
) -> None:
    log.error("ended by an error", **blame(error))


def _hider(secrets: Iterable[str | None]) -> Any:
    words = sorted({w for s in secrets if s for w in (s, quote(s), quote(s, safe=""))}, key=len)
    words.reverse()

    def clean(value: Any) -> Any:
        if isinstance(value, str):
            for word in words:
                value = value.replace(word, HIDDEN)
            return value
        if isinstance(value, list | tuple):
            return [clean(each) for each in value]
        if isinstance(value, dict):
            return {clean(k): clean(v) for k, v in value.items()}
        return value

    def hide(_: Any, __: str, event: MutableMapping[str, Any]) -> MutableMapping[str, Any]:
        return {key: clean(value) for key, value in event.items()}

    return hide
