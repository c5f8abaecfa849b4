"""What was made of the words files, kept in the user's cache folder, so that a start is quicker.

The file holds good for the very words and code that it was made from, and can be deleted any time.
"""

from __future__ import annotations

import io
import os
import pickle
import sys
import tempfile
from collections.abc import Callable, Iterable
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path
from typing import Any, TypeVar

T = TypeVar("T")
FILE = "words.bin"


def kept(made_from: Iterable[Path], classes: Iterable[type], make: Callable[[], T]) -> T:
    """What `make` gives, or gave an earlier process, where nothing in `made_from` differs.

    `classes` are those that it is made of: a file that holds anything else is not read. Where
    there is no folder to keep it in, it is made each time. Raises what `make` raises.
    """
    try:
        mark = _mark(made_from)
    except OSError:  # we came without our sources
        return make()
    file = folder() / FILE
    if not file.is_absolute():  # a user without a home
        return make()
    with suppress(Exception):  # whatever is wrong with it, it is made again
        whole = file.read_bytes()
        if whole.startswith(mark):
            found: T = _Reader(io.BytesIO(whole[len(mark) :]), classes).load()
            return found
    made = make()
    with suppress(OSError):
        _write(file, mark + pickle.dumps(made, 5))
    return made


def folder() -> Path:
    """Where the platform keeps what of ours can be made again; it need not exist yet."""
    import platformdirs

    return Path(platformdirs.user_cache_dir("rackside", appauthor=False))


def _mark(files: Iterable[Path]) -> bytes:
    """What the file begins with: other words, other code or another Python have another."""
    found = blake2b(sys.version.encode(), digest_size=32)
    for file in sorted(files):
        content = file.read_bytes()
        found.update(f"\n{file.name} {len(content)}\n".encode())
        found.update(content)
    return found.digest()


def _write(file: Path, content: bytes) -> None:
    """Put it there whole or not at all, also where two processes do at once."""
    file.parent.mkdir(parents=True, exist_ok=True)
    handle, draft = tempfile.mkstemp(dir=file.parent)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(content)
        Path(draft).replace(file)
    except OSError:
        Path(draft).unlink(missing_ok=True)
        raise


class _Reader(pickle.Unpickler):
    """Reads plain values and these classes; it runs no code that a file names."""

    def __init__(self, source: io.BytesIO, classes: Iterable[type]) -> None:
        super().__init__(source)
        self._classes = {(each.__module__, each.__qualname__): each for each in classes}

    def find_class(self, module: str, name: str) -> Any:
        """The class of that name. Raises UnpicklingError for any other."""
        if (module, name) not in self._classes:
            raise pickle.UnpicklingError(f"{module}.{name} has no place among the words")
        return self._classes[module, name]
