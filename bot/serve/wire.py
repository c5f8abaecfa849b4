"""What a process knew of its sends when it was killed, for the next to read.

A kill leaves rows of the outbox in hand, and the book alone can't tell whether their requests had
left, or whether their answers had come. So a line is written as each leaves and as it is answered.
Nobody waits for the disk: lines outlive the process, though not the machine, and are believed only
where the machine has not started anew since and the process that wrote them is gone.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
import tempfile
from collections.abc import Collection
from contextlib import suppress
from pathlib import Path

from bot.book.claims import Attempt, Fate, Known
from bot.book.store import Book

_BOOT = Path("/proc/sys/kernel/random/boot_id")  # of this start of the machine; Linux has it
SUFFIX = ".sends"
_MOST = 256 * 1024  # bytes, after which what is settled is left out


class Wire:
    """The lines of one process, in a folder that all who serve the book on this machine share.

    Written from one thread; what others wrote may be read from any.
    """

    def __init__(self, folder: Path | None, worker: str) -> None:
        self._folder, self._worker = folder, worker
        self._file: int | None = None
        self._open: dict[Attempt, Known] = {}
        self._size = 0

    def begin(self) -> None:
        """To be called before any row is taken in hand: an attempt without a line never left.

        Where lines can't be kept there are none, and what a kill interrupts stays in doubt.
        """
        if self._file is None:
            self._begin_anew()

    def leaves(self, attempt: Attempt) -> None:
        """The request is about to be made."""
        self.note(attempt, True)

    def note(self, attempt: Attempt, left: bool) -> None:
        """Whether the request has left by now."""
        self._note(attempt, (Fate.LEFT if left else Fate.NOT_SENT, None))

    def answered(self, attempt: Attempt, known: Known) -> None:
        """What came of it."""
        self._note(attempt, known)

    def settled(self, attempt: Attempt) -> None:
        """It is in the book, so its lines are of no use any more."""
        self._open.pop(attempt, None)
        if self._file is not None and self._size > _MOST:
            self._begin_anew()

    def end(self) -> None:
        """Nothing more is sent. The lines stay only where something is not in the book."""
        if self._file is not None and not self._open:
            self._path(self._worker).unlink(missing_ok=True)
        self._let_go()
        if self._folder is not None:
            with suppress(OSError):  # there are others' lines in it, or it never was made
                self._folder.rmdir()

    def of(self, worker: str) -> dict[Attempt, Known] | None:
        """What another process knew of its sends; None where that can't be told, or it lives."""
        if self._folder is None:
            return None
        try:
            with self._path(worker).open() as file:
                fcntl.flock(file, fcntl.LOCK_SH | fcntl.LOCK_NB)
                boot, *lines = file.read().splitlines()
            return dict(map(_read, lines)) if boot == _boot() else None
        except (OSError, ValueError):
            return None

    def sweep(self, busy: Collection[str] = ()) -> None:
        """Take away the lines of all who are gone: what they had in hand has been seen to.

        But not of `busy`, who may be gone without its having been noticed.
        """
        if self._folder is None:
            return
        for path in self._folder.glob(f"[!.]*{SUFFIX}"):
            if path.stem in (*busy, self._worker):
                continue
            with suppress(OSError), path.open("r+") as file:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
                path.unlink()

    # --- inside -----------------------------------------------------------------------------

    def _path(self, worker: str) -> Path:
        assert self._folder is not None
        return self._folder / f"{worker}{SUFFIX}"

    def _note(self, attempt: Attempt, known: Known) -> None:
        self._open[attempt] = known
        if self._file is not None:
            self._write(_line(attempt, known))

    def _begin_anew(self) -> None:
        """A file with what is not settled, in the place of the last at once."""
        boot = _boot()
        if boot is None or self._folder is None:
            return
        draft = self._path(f".{self._worker}")
        before, self._file, self._size = self._file, None, 0
        try:
            _own(self._folder)
            self._file = os.open(draft, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600)
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            self._write(f"{boot}\n" + "".join(_line(*each) for each in self._open.items()))
            if self._file is not None:
                draft.rename(self._path(self._worker))
        except OSError:
            self._give_up()
        if before is not None:
            os.close(before)

    def _write(self, text: str) -> None:
        line = text.encode()
        assert self._file is not None
        try:
            whole = os.write(self._file, line) == len(line)
        except OSError:
            whole = False
        self._size += len(line)
        if not whole:
            self._give_up()

    def _give_up(self) -> None:
        """Lines with one missing would tell an untruth: there are none from now on."""
        self._path(self._worker).unlink(missing_ok=True)
        self._let_go()

    def _let_go(self) -> None:
        if self._file is not None:
            os.close(self._file)
            self._file = None


def folder_of(book: Book) -> Path | None:
    """Where the lines of a book's processes are: beside a file, else among temporary files."""
    if book.path is None and book.engine.dialect.name == "sqlite":
        return None  # a book in memory ends with its process
    if book.path is not None:
        return book.path.with_name(f".{book.path.name}.sends")
    name = hashlib.sha256(str(book.engine.url).encode()).hexdigest()[:16]
    return Path(tempfile.gettempdir()) / f"rackside-{os.getuid()}-{name}"


def _own(folder: Path) -> None:
    """Make the folder. Raises OSError where it is somebody else's, who could write lines there."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if folder.is_symlink() or folder.stat().st_uid != os.getuid():
        raise PermissionError(str(folder))


def _boot() -> str | None:
    try:
        return _BOOT.read_text().strip() or None
    except OSError:
        return None


def _line(attempt: Attempt, known: Known) -> str:
    row, again = attempt
    fate, sent_as = known
    shown = sent_as if sent_as and sent_as.isprintable() else ""
    return f"{row}\t{again:d}\t{fate}\t{shown}\n"


def _read(line: str) -> tuple[Attempt, Known]:
    """Raises ValueError where it is no whole line."""
    row, again, fate, sent_as = line.split("\t")
    return (int(row), again == "1"), (Fate(fate), sent_as or None)
