"""No day is found where none was said; a misspelt day is that day or none, never another."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.language.dates import when_of
from bot.language.daytables import day_tables
from bot.language.reader import read
from bot.language.scan import scan
from bot.language.tokens import tokens_of
from bot.language.view import AnimalSeen, BoxSeen, EggSeen, View
from bot.language.wording import WordsError, lexicon

ZONE = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 3, 10, 19, 30, tzinfo=ZONE)


def book() -> View:
    """Forty animals, three boxes full of eggs, a rack and an incubator."""
    view = View(ZONE)
    for n in range(1, 21):
        view.animals[f"F{n}"] = AnimalSeen(f"F{n}", "female", "picta", None, f"tub {n}")
        view.animals[f"M{n}"] = AnimalSeen(f"M{n}", "male", "picta", None, f"tub {n + 20}")
        view.places |= {f"tub {m}": f"tub {m}" for m in (n, n + 20)}
    view.places |= {"rack a": "rack A", "incubator 1": "incubator 1"}
    view.boxes = {name: BoxSeen(name, 4, 10, "1") for name in "ABC"}
    view.eggs = {f"{box}{n}": EggSeen(f"{box}{n}") for box in "ABC" for n in range(1, 41)}
    return view


BOOK = book()
SMALL = st.integers(1, 40)
GRAMS = st.decimals(1, 99, places=1).map(str)
TAGS = st.builds(lambda letter, n: f"{letter}{n}", st.sampled_from("FM"), st.integers(1, 20))
SLOTS = st.one_of(
    st.builds(lambda box, n: f"{box}{n}", st.sampled_from("ABC"), SMALL),
    st.builds(lambda box, n, m: f"{box}{n}/{m}", st.sampled_from("ABC"), SMALL, SMALL),
    st.builds(lambda box, n, m: f"{box}{n}-{m}", st.sampled_from("ABC"), SMALL, SMALL),
    st.builds(lambda box, n: f"box {box} slot {n}", st.sampled_from("abc"), SMALL),
    st.builds(lambda n, m: f"slots {n}/{m}", SMALL, SMALL),
    st.builds(lambda n: f"slot {n}", SMALL),
    st.builds(lambda n: f"tub {n}", SMALL),
)
COUNTS = st.one_of(
    st.builds(lambda n, what: f"{n} {what}", SMALL, st.sampled_from([
        "eggs", "crickets", "dubia", "mealworms each", "babies", "good", "duds", "fertile",
    ])),
    st.builds(lambda n, m, what: f"{n}/{m} {what}", SMALL, SMALL, st.sampled_from([
        "fertile", "eggs", "crickets", "mouldy",
    ])),
    st.builds(lambda n, what: f"her {n}{what}", st.integers(1, 12), st.sampled_from([
        "th clutch", "rd shed", "nd egg", "th pairing",
    ])),
    st.builds(lambda n: f"{n} of {n + 3} hatched", SMALL),
    st.sampled_from(["two", "twenty two", "a dozen", "half of them", "a couple", "the first one"]),
)  # fmt: skip
MEASURES = st.one_of(
    st.builds(lambda g, unit: f"{g}{unit}", GRAMS, st.sampled_from(["g", " g", " grams", "oz"])),
    st.builds(lambda g: f"weighs {g}", GRAMS),
    st.builds(lambda n: f"{n}%", st.integers(30, 99)),
    st.builds(lambda n, unit: f"{n}{unit}", st.integers(20, 31), st.sampled_from(["C", "°C"])),
    st.builds(lambda n: f"{n} degrees", st.integers(70, 90)),
)
WORDS = st.sampled_from([
    "laid", "fed", "shed", "moved", "in with", "and", ",", "candled", "to", "from", "for", "about",
    "is", "ate", "found", "took", "put", "dusted", "veins", "good", "looks gravid", "by", "with",
    "the", "of", "in", "may", "may", "pulled", "tossed", "then", "no",
    "box B", "rack A", "incubator 1",
])  # fmt: skip


@given(st.lists(st.one_of(TAGS, SLOTS, COUNTS, MEASURES, WORDS), min_size=1, max_size=9))
@settings(max_examples=500, deadline=None)
def test_slots_tags_weights_and_counts_tell_no_day(pieces: list[str]) -> None:
    """However tags, slots, counts, weights and verbs are strung together, no day is heard."""
    words = lexicon()
    items, _ = scan(tokens_of(" ".join(pieces), words.wholes), BOOK, words)
    assert not [item.text for item in items if item.what in ("date", "time", "span")]


@given(TAGS, SLOTS, st.sampled_from(["yesterday", "last night"]))
@settings(max_examples=100, deadline=None)
def test_a_slot_before_a_day_is_no_part_of_it(tag: str, slot: str, day: str) -> None:
    """ "slot 4 yesterday" is yesterday, not the 4th."""
    words = lexicon()
    items, _ = scan(tokens_of(f"{tag} {slot} {day}", words.wholes), BOOK, words)
    assert [item.text for item in items if item.what in ("date", "time", "span")] == [day]
    assert when_of(items, NOW).on.isoformat() == "2026-03-09"


NAMES = {
    "yesterday": "2026-03-09", "monday": "2026-03-09", "tuesday": "2026-03-03",
    "wednesday": "2026-03-04", "thursday": "2026-03-05", "friday": "2026-03-06",
    "saturday": "2026-03-07", "sunday": "2026-03-08",
}  # fmt: skip


def slips(word: str) -> list[str]:
    """A letter left out, doubled or swapped with the next, anywhere but the first."""
    spots = range(1, len(word))
    return sorted(
        {word[:k] + word[k + 1 :] for k in spots}
        | {word[:k] + word[k] + word[k:] for k in spots}
        | {word[:k] + word[k + 1] + word[k] + word[k + 2 :] for k in spots if k + 1 < len(word)}
        - {word}
    )


@pytest.mark.parametrize("name", NAMES)
def test_a_misspelt_day_is_that_day(name: str) -> None:
    """One slip in a day's name: nine in ten are that day, and none is taken for another."""
    told = [read(f"F3 shed on {slip}", NOW, BOOK) for slip in slips(name)]
    days = [[r.on.isoformat() for r in reading.records if r.kind == "shed"] for reading in told]
    assert all(day in ([], [NAMES[name]]) for day in days), dict(
        zip(slips(name), days, strict=True)
    )
    assert sum(day == [NAMES[name]] for day in days) >= 0.9 * len(days)


def test_every_small_word_is_known_to_the_speller() -> None:
    """No small word of a day is put right to some other word before the day is looked for."""
    known = lexicon().known
    words = {word for wording in day_tables().wordings() for word in wording}
    assert not {word for word in words if word.isalpha() and len(word) > 1} - known


@pytest.mark.parametrize(("source", "why"), [
    ("[halves]\nam = 'am'\n", "line 1"),
    ("[halfs]\nam = ['am']\n", "[halfs] is no table"),
    ("[halves\n", "line 1"),
])  # fmt: skip
def test_a_broken_table_names_its_line(tmp_path, source: str, why: str) -> None:  # type: ignore[no-untyped-def]
    """A table that can't be used is refused with its file, line and what to do."""
    file = tmp_path / "days.toml"
    file.write_text(source, encoding="utf-8")
    with pytest.raises(WordsError, match=r"days\.toml, line") as told:
        day_tables(file)
    assert why in str(told.value)
