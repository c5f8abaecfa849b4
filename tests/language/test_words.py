"""Words files: a keeper may add to them, and a mistake in one is named by file and line."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.language.asking import patterns
from bot.language.frames import frames
from bot.language.reader import read
from bot.language.view import View
from bot.language.wording import WordsError, expanded, lexicon, read_words
from tests.language.cases_of import HERE, MOMENT, ZONE
from tests.language.support import view_of


@pytest.fixture(scope="module")
def book() -> View:
    return view_of(HERE / "book", ZONE)


def test_a_keeper_s_own_word_is_read(tmp_path: Path, book: View) -> None:
    """A feeder and a verb added in a folder of one's own are understood."""
    (tmp_path / "mine.toml").write_text(
        '[food]\nblorbs = ["blorbs", "blorb"]\n[act.shed]\npast = ["did the wriggle"]\n'
    )
    reading = read("P1 ate 3 blorbs. P2 did the wriggle", MOMENT, book, words=tmp_path)
    assert [(r.kind, r.get("food")) for r in reading.records] == [("fed", "blorbs"), ("shed", None)]


def test_wordings_may_hold_choices() -> None:
    """(a|b) and [c] stand for each of their wordings."""
    assert set(expanded("dropped (her|his) tail[s]")) == {
        "dropped her tail",
        "dropped her tails",
        "dropped his tail",
        "dropped his tails",
    }


BAD = [
    ('[sign]\nfluffy = ["fluffy"]\n', "mine.toml, line 2", "can't be 'fluffy'"),
    ('[nonsense]\na = ["b"]\n', "mine.toml, line 1", "no class of words"),
    ('[food]\ncrickets = "crickets"\n', "mine.toml, line 2", "needs a list"),
    ('[food]\n\ncrickets = [""]\n', "mine.toml, line 3", "empty"),
    ('[act.shed]\nlater = ["sheds"]\n', "mine.toml, line 2", "no form"),
    ('[food]\ncrickets = [\n', "mine.toml", "line"),
]  # fmt: skip


@pytest.mark.parametrize(("source", "where", "why"), BAD)
def test_a_mistake_is_named_by_file_and_line(
    source: str, where: str, why: str, tmp_path: Path
) -> None:
    """What is wrong in a words file, and where, is said in its error."""
    file = tmp_path / "mine.toml"
    file.write_text(source)
    with pytest.raises(WordsError) as caught:
        list(read_words(file))
    assert where in str(caught.value) and why in str(caught.value)


def test_a_request_pattern_of_unknown_words_is_named(tmp_path: Path) -> None:
    """A pattern with a word that is no cue is refused with file and line."""
    file = tmp_path / "requests.toml"
    file.write_text('[tasks]\nwhen = ["what flurb"]\nexamples = []\n')
    with pytest.raises(WordsError, match=r"requests.toml, line 2: 'flurb'"):
        patterns(file)


def test_a_frame_of_an_unknown_kind_is_named(tmp_path: Path) -> None:
    """A frame that names no kind of record is refused with file and line."""
    file = tmp_path / "frames.toml"
    file.write_text('[heads]\n"act.lay" = ["layd"]\n[measures]\n[takes]\n')
    with pytest.raises(WordsError, match=r"frames.toml, line 2: no kind of record 'layd'"):
        frames(file)


def test_every_word_of_ours_is_lower_case_and_known() -> None:
    """Our own files load, and a plain word is never put right to another."""
    words = lexicon()
    assert words.speller.nearest("wegihed") == "weighed"
    assert "water" in words.known
