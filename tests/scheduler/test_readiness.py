"""May she be paired: yes, not yet or no, with the reason, on both sides of each border."""

from __future__ import annotations

import pytest
from colonies import Story, day

from scheduler.readiness import Verdict, match, may_pair, ready_females


def grown(tag: str = "F3") -> Story:
    """A grown female, well weighed, and a grown male."""
    story = Story().animal(tag, hatched=day(-700)).animal("M2", hatched=day(-700))
    return story.weighed(tag, -40, 14.0).weighed(tag, -5, 14.0)


def asked(story: Story, male: str | None = "M2", today: int = 0) -> Verdict:
    return may_pair(story.colony, "F3", male, day(today))


def test_a_grown_rested_female_may_be_paired() -> None:
    """Nothing in the book against it: yes, and it says so."""
    verdict = asked(grown())
    assert (verdict.answer, verdict.until) == ("yes", None)
    assert verdict.reasons == ("Nothing in the book speaks against it.",)
    assert verdict.inbreeding == 0


@pytest.mark.parametrize(("age", "answer"), [(269, "not yet"), (270, "yes")])
def test_too_young_until_the_age_of_first_pairing(age: int, answer: str) -> None:
    """The day before she is of age not yet, with the day; on it yes."""
    verdict = asked(grown().change("F3", hatched=day(-age)))
    assert verdict.answer == answer
    assert verdict.until == (day(1) if answer == "not yet" else None)


@pytest.mark.parametrize(("grams", "answer"), [(44.9, "not yet"), (45.0, "yes")])
def test_a_leopard_below_the_weight_waits(grams: float, answer: str) -> None:
    """Where the species has a weight for it, below it not yet; no day can be told."""
    story = Story().animal("F3", species="leopard", hatched=day(-700))
    story.animal("M2", species="leopard", hatched=day(-700)).weighed("F3", -1, grams)
    verdict = asked(story)
    assert (verdict.answer, verdict.until) == (answer, None)


@pytest.mark.parametrize(("grams", "answer"), [(13.0, "yes"), (12.5, "not yet")])
def test_weight_lost_since_her_peak(grams: float, answer: str) -> None:
    """7% off her peak is worth a remark, 11% is not yet."""
    verdict = asked(grown().weighed("F3", -1, grams))
    assert verdict.answer == answer
    assert any("below her recent peak" in r or "Down from 14 g" in r for r in verdict.reasons)


def test_after_three_clutches_in_a_row_she_rests() -> None:
    """Not yet, until two of the longest usual intervals after the third."""
    story = grown().laid("F3", -50).laid("F3", -30).laid("F3", -10)
    verdict = asked(story)
    assert (verdict.answer, verdict.until) == ("not yet", day(50))
    assert asked(story, today=51).answer == "yes"


def test_a_gravid_female_lays_first() -> None:
    """Seen gravid since her last clutch: not yet; once she has laid, yes."""
    story = grown().seen("F3", -3, "gravid")
    assert asked(story).answer == "not yet"
    assert asked(story.laid("F3", -1)).answer == "yes"


@pytest.mark.parametrize(("ago", "answer"), [(13, "not yet"), (14, "yes")])
def test_a_dropped_tail_bars_her_for_two_weeks(ago: int, answer: str) -> None:
    """Thirteen days after it not yet, fourteen days after it yes."""
    assert asked(grown().seen("F3", -ago, "tail-drop")).answer == answer


def test_straining_is_for_a_vet_and_no_day_is_promised() -> None:
    """Straining: not yet, with no date, and a reptile vet is named."""
    verdict = asked(grown().seen("F3", -1, "straining"))
    assert (verdict.answer, verdict.until) == ("not yet", None)
    assert "reptile vet" in verdict.reasons[0]


def test_an_animal_in_a_tub_now_is_not_free() -> None:
    """With another female until day 2: free from day 3."""
    verdict = asked(grown().animal("F5").paired("M2", "F5", 0))
    assert (verdict.answer, verdict.until) == ("not yet", day(3))
    assert verdict.reasons[0] == "M2 is in with F5 now."


def test_three_sessions_done_wait_for_what_comes_of_them() -> None:
    """Until eggs would show no other session is needed."""
    story = grown().paired("M2", "F3", -10, -8).paired("M2", "F3", -6, -4)
    assert asked(story).answer == "yes"
    verdict = asked(story.paired("M2", "F3", -2, 0))
    assert (verdict.answer, verdict.until) == ("not yet", day(11))
    assert verdict.reasons[0].startswith("3 sessions since 19 Feb are enough")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"status": "sold"}, "no longer here"),
        ({"species": "leopard"}, "two species"),
        ({"sex": "female"}, "is a female"),
    ],
)
def test_what_can_never_be(change: dict[str, str], said: str) -> None:
    """A male that is gone, of another species, or no male: no, with the reason."""
    verdict = asked(grown().change("M2", **change))
    assert verdict.answer == "no"
    assert any(said in reason for reason in verdict.reasons)


def test_half_siblings_get_a_caution_and_cousins_only_a_figure() -> None:
    """F 0.125 is said to be close; 0.0625 is given without that; both may be paired."""
    half = grown().change("F3", sire="A", dam="B").change("M2", sire="A", dam="C")
    verdict = asked(half)
    assert (verdict.answer, verdict.inbreeding) == ("yes", 0.125)
    assert "share A" in verdict.reasons[0] and "think twice" in verdict.reasons[0]
    cousins = grown().change("F3", sire="P").change("M2", dam="Q")
    cousins.animal("P", sex="male", sire="A", dam="B").animal("Q", sex="female", sire="A", dam="B")
    verdict = asked(cousins)
    assert verdict.inbreeding == 0.0625
    assert "think twice" not in verdict.reasons[0]


def test_a_circle_in_the_pedigree_is_said_not_raised() -> None:
    """The verdict tells of the circle and gives no figure."""
    verdict = asked(grown().change("M2", sire="M2"))
    assert verdict.inbreeding is None
    assert "circle" in verdict.reasons[0]


def test_an_unknown_animal_is_an_error() -> None:
    """A tag that the book does not know is refused."""
    with pytest.raises(KeyError):
        may_pair(grown().colony, "F99", None, day(0))


def test_mates_are_ranked_by_readiness_kin_and_traits() -> None:
    """Free before busy, strangers before kin, and among strangers those that share a trait."""
    story = grown().change("F3", traits=("stripe",), sire="A", dam="B")
    for tag, facts in {
        "M2": {"sire": "A", "dam": "B"},
        "M3": {},
        "M4": {"traits": ("stripe",)},
        "M5": {},
    }.items():
        story.animal(tag, hatched=day(-700), **facts)
    story.animal("M6", species="leopard").animal("F5").paired("M5", "F5", 0)
    mates = match(story.colony, "F3", day(0))
    assert [mate.tag for mate in mates] == ["M4", "M3", "M2", "M5"]
    assert mates[0].shared_traits == ("stripe",)


def test_who_is_ready_first() -> None:
    """Ready females first, then those by the day they may be."""
    story = grown().animal("F1", hatched=day(-200)).animal("F2", hatched=day(-250))
    order = [(v.female, v.answer) for v in ready_females(story.colony, day(0))]
    assert order == [("F3", "yes"), ("F2", "not yet"), ("F1", "not yet")]
