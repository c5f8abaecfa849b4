"""The words are made once and then read from the cache folder, while they are the same words."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.language import kept_words
from bot.language.spelling import Speller
from bot.language.wording import Lexicon, Sense, lexicon

CLASSES = (Lexicon, Sense, Speller)


class Kitchen:
    """Makes something of a words file, and counts how often."""

    def __init__(self, folder: Path) -> None:
        self.file = folder / "acts.toml"
        self.file.write_text("pip = 1")
        self.made = 0

    def make(self) -> list[Sense]:
        """Another sense each time."""
        self.made += 1
        return [Sense("act", f"pip {self.made}")]

    def kept(self) -> list[Sense]:
        """What a start gets."""
        return kept_words.kept([self.file], CLASSES, self.make)


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    """With a cache folder that is not there yet."""
    monkeypatch.setattr(kept_words, "folder", lambda: tmp_path / "cache")
    return Kitchen(tmp_path)


def test_the_same_words_are_made_once(kitchen: Kitchen) -> None:
    """The second start reads what the first one made, and leaves no draft behind."""
    assert kitchen.kept() == kitchen.kept() == [Sense("act", "pip 1")]
    assert [each.name for each in kept_words.folder().iterdir()] == [kept_words.FILE]


def test_other_words_are_made_anew(kitchen: Kitchen) -> None:
    """A word more, and what was kept does not count."""
    kitchen.kept()
    kitchen.file.write_text("pip = 2")
    assert kitchen.kept() == kitchen.kept() == [Sense("act", "pip 2")]


@pytest.mark.parametrize("harm", [lambda whole: whole[:-3], lambda whole: whole[:40] + b"\0" * 9])
def test_a_damaged_file_is_made_anew(kitchen: Kitchen, harm: object) -> None:
    """A file that can't be read is no error."""
    kitchen.kept()
    file = kept_words.folder() / kept_words.FILE
    file.write_bytes(harm(file.read_bytes()))  # type: ignore[operator]
    assert kitchen.kept() == [Sense("act", "pip 2")]


def test_nothing_else_is_read(kitchen: Kitchen) -> None:
    """What names anything but the words' own classes is not so much as looked up."""
    kept_words.kept([kitchen.file], (), lambda: Path("/"))
    assert kitchen.kept() == [Sense("act", "pip 1")]


def test_no_folder_is_no_error(kitchen: Kitchen) -> None:
    """Where nothing can be kept the words are made at each start."""
    kept_words.folder().write_text("in the way")
    kitchen.kept()
    assert kitchen.kept() == [Sense("act", "pip 2")]


def test_what_is_kept_is_what_is_made(kitchen: Kitchen) -> None:
    """The whole lexicon comes back as it was."""
    one, other = lexicon.__wrapped__(), lexicon.__wrapped__()
    assert one is not other
    assert (one.phrases, one.known, one.cues, one.singles, one.counts, one.everyday) == (
        other.phrases, other.known, other.cues, other.singles, other.counts, other.everyday
    )  # fmt: skip
    assert (one.speller.words, one.speller.risky) == (other.speller.words, other.speller.risky)
