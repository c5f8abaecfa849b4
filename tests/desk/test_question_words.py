"""Every question that may be asked has a sentence of its own."""

from __future__ import annotations

from datetime import date

import pytest

from bot.desk.questions import question_key, sentence
from bot.language.reading import Ask
from bot.records import KINDS, FieldType, Kind
from bot.wording import lookup
from tests.desk.conftest import rec

T = FieldType
NAMES = {T.TAG, T.TAGS, T.WHO, T.ABOUT}
FIGURES = {T.COUNT, T.GRAMS, T.CELSIUS, T.PERCENT, T.DATE}
FILLED: dict[FieldType, object] = {
    T.TAG: "F3", T.TAGS: ("H1",), T.WHO: ("F3",), T.SLOTS: ("B4",), T.SPECIES: "picta",
    T.PLACE: "tub 3", T.COUNT: 2, T.GRAMS: 21.4, T.CELSIUS: 27.2, T.PERCENT: 75,
    T.DATE: date(2025, 2, 3), T.FLAG: True, T.WORD: "dubia", T.WORDS: ("stripe",),
    T.TEXT: "order roaches", T.ABOUT: ("F3",),
}  # fmt: skip


def _whys(kind: Kind, name: str, type_: FieldType) -> list[str]:
    """Why one may be asked about a field of that type."""
    whys = ["missing", "ambiguous"]
    whys += ["unknown-tag", "gone"] if type_ in NAMES else []
    whys += ["impossible"] if type_ in FIGURES or name in ("sire", "dam") else []
    whys += ["in-future"] if type_ is T.DATE else []
    whys += ["not-a-male"] if name in ("male", "sire") else []
    whys += ["not-a-female"] if name in ("female", "dam") else []
    whys += ["no-open-pairing"] if kind.name == "parted" and name in ("male", "female") else []
    if type_ is T.SLOTS:
        whys += ["unknown-slot", "slot-taken" if name == "to" else "slot-empty"]
    whys += ["slot-taken"] if (kind.name, name) == ("laid", "slots") else []
    whys += ["unlikely"] if name == "grams" else []
    new = (kind.name, name) in (("animal", "tag"), ("hatched", "tags"), ("box", "box"))
    return whys + (["duplicate"] if new else [])


TABLE = [
    (kind, name, why)
    for kind in KINDS.values()
    for name, type_ in [
        *((each.name, each.type) for each in kind.fields), ("on", T.DATE), ("at", T.DATE)
    ]
    for why in _whys(kind, name, type_)
]  # fmt: skip
GENERIC = ("ask.missing.any", "ask.ambiguous.any", "ask.impossible.any", "ask.unlikely.any")


def _ask(kind: Kind, name: str, why: str, *, full: bool) -> Ask:
    fields = {
        each.name: each.choices[0] if each.choices else FILLED[each.type]
        for each in kind.fields
        if full and each.name != name
    }
    said = "" if why in ("missing", "ambiguous") and name != "celsius" else "38"
    return Ask(name, (), rec(kind.name, **fields), why, said)


@pytest.mark.parametrize(("kind", "name", "why"), TABLE)
def test_each_question_has_words_of_its_own(kind: Kind, name: str, why: str) -> None:
    """Nothing falls back on "which one", and every name in the sentence is known."""
    ask = _ask(kind, name, why, full=True)
    assert question_key(ask) not in GENERIC
    asked = sentence(ask)
    assert "…" not in asked and "{" not in asked and asked[-1] in "?."


@pytest.mark.parametrize(("kind", "name", "why"), TABLE)
def test_each_question_reads_well_where_nothing_else_is_known(
    kind: Kind, name: str, why: str
) -> None:
    """No dots stand where a name would."""
    assert "…" not in sentence(_ask(kind, name, why, full=False))


@pytest.mark.parametrize(
    ("kind", "name", "why", "asked"),
    [
        ("fed", "count", "ambiguous", "How many dubia each?"),
        ("laid", "eggs", "missing", "How many eggs did F3 lay?"),
        ("weighed", "grams", "missing", "What did F3 weigh?"),
        ("weighed", "grams", "impossible", "38 can't be right as a weight. What did F3 weigh?"),
        ("parted", "female", "ambiguous", "Which female did F3 come out from?"),
        ("sexed", "tag", "ambiguous", "Which animal is a female?"),
        ("checked", "state", "missing", "How did B4 look?"),
        ("plan", "on", "impossible", "38 is no day that I know. When shall I remind you?"),
    ],
)
def test_questions_are_asked_as_one_would(kind: str, name: str, why: str, asked: str) -> None:
    """A few of them, word for word."""
    assert sentence(_ask(KINDS[kind], name, why, full=True)) == asked


def test_no_question_stands_in_the_words_that_none_may_ask() -> None:
    """Each key names a field of some kind, or what is chosen among."""
    fields = {each.name for kind in KINDS.values() for each in kind.fields} | {"on", "at", "pick"}
    for why, table in lookup("ask").items():
        if isinstance(table, dict):
            asked = {key.rsplit("-", 1)[-1] for key in table} - {"any", "near", "help"}
            assert asked <= fields, why
