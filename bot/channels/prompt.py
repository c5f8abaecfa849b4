"""The console's input line: editing, history and completion, all prompt_toolkit's."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any

from prompt_toolkit import PromptSession
from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document
from prompt_toolkit.history import FileHistory

from bot.language.view import View
from bot.records import KINDS

_WORD = re.compile(r"[\w'-]+$")
_ASKED = (
    "what's due today?", "what's hatching this week?", "who's in with who?", "free slots",
    "when will", "history of", "chart", "undo", "help", "remind me", "quiet from", "use fahrenheit",
)  # fmt: skip


def openings() -> tuple[str, ...]:
    """Ways to begin a line: as each kind of record may be said, and some questions."""
    return (*(said for kind in KINDS.values() for said in kind.said_as), *_ASKED)


def suggestions(text: str, view: View) -> list[tuple[str, str]]:
    """What the last word of `text` may become, each with what it is.

    Tags, names, slots and places of this book; on a line's first word also ways to begin.
    """
    found = _WORD.search(text)
    if not found:
        return []
    start, word = found.start(), found[0].casefold()
    known = [(tag, animal.name or animal.sex) for tag, animal in view.animals.items()]
    known += [(a.name, tag) for tag, a in view.animals.items() if a.name]
    known += [(slot, f"egg of {egg.dam or 'unknown'}") for slot, egg in view.eggs.items()]
    known += [(place, "place") for place in view.places.values()]
    known += [(f"box {box}", "box") for box in view.boxes]
    if not text[:start].strip():
        known += [(opening, "for example") for opening in openings()]
    return [each for each in known if each[0].casefold().startswith(word)]


class BookCompleter(Completer):
    """Completes from the book as it stands at that moment."""

    def __init__(self, view: Callable[[], View]) -> None:
        self._view = view

    def get_completions(
        self, document: Document, complete_event: CompleteEvent
    ) -> Iterable[Completion]:
        """What the word before the cursor may become."""
        text = document.text_before_cursor
        found = _WORD.search(text)
        for said, meaning in suggestions(text, self._view()):
            yield Completion(
                said, start_position=-len(found[0]) if found else 0, display_meta=meaning
            )


def session(history: Path, view: Callable[[], View]) -> PromptSession[str]:
    """An input line that remembers what was typed, from one sitting to the next."""
    options: dict[str, Any] = {}
    with suppress(OSError):  # a sitting without history is better than none
        history.parent.mkdir(parents=True, exist_ok=True)
        options["history"] = FileHistory(str(history))
    return PromptSession(completer=BookCompleter(view), complete_while_typing=False, **options)


def converse(
    session: PromptSession[str], mark: str, say: Callable[[str], None], ends: Iterable[str]
) -> str:
    """Take lines until the end of input ("") or a line that ends it, which comes back.

    Ctrl-C clears the line.
    """
    from prompt_toolkit.patch_stdout import patch_stdout

    with patch_stdout():
        while True:
            try:
                line = session.prompt(mark)
            except KeyboardInterrupt:
                continue
            except EOFError:
                return ""
            if (word := line.strip().casefold()) in ends:
                return word
            say(line)
