"""Intervals and hatch curves against published tables and kept libraries.

Sources: Newcombe 1998 (Stat Med 17:857-872, method 3) for Wilson limits, and statsmodels;
Freireich et al. 1963 (Blood 21:699-716, the 6-MP trial) for Kaplan & Meier's estimate, and
lifelines for it and for Aalen & Johansen's.
"""

from __future__ import annotations

import random

import pytest

from scheduler.intervals import TOO_FEW, Rate, hatch_curve, median_day, wilson

NEWCOMBE = [
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0000, 0.1611),
    (1, 29, 0.0061, 0.1718),
    (29, 29, 0.8830, 1.0000),
    (4, 20, 0.0807, 0.4160),
    (1, 2, 0.0945, 0.9055),
    (5, 10, 0.2366, 0.7634),
]


@pytest.mark.parametrize(("hits", "n", "low", "high"), NEWCOMBE)
def test_wilson_limits_as_published(hits: int, n: int, low: float, high: float) -> None:
    """The limits of Newcombe's table, to its four places."""
    assert wilson(hits, n) == pytest.approx((low, high), abs=5.1e-5)


def test_wilson_agrees_with_statsmodels() -> None:
    """Every share of up to forty, and some of many, gives the limits that statsmodels gives."""
    from statsmodels.stats.proportion import proportion_confint

    for n in (*range(1, 41), 148, 263, 5000):
        for hits in {*range(min(n, 12) + 1), n // 2, n}:
            theirs = proportion_confint(hits, n, method="wilson")
            assert wilson(hits, n) == pytest.approx(theirs, abs=1e-12)


def test_wilson_never_leaves_zero_to_one_and_mirrors() -> None:
    """n - x mirrors x, and no limit leaves 0 to 1."""
    for n in range(1, 60):
        for hits in range(n + 1):
            low, high = wilson(hits, n)
            assert 0 <= low <= hits / n <= high <= 1
            assert wilson(n - hits, n) == pytest.approx((1 - high, 1 - low))


def test_a_share_of_more_than_all_is_refused() -> None:
    """3 of 2 is a mistake, not a rate."""
    with pytest.raises(ValueError, match="3 of 2"):
        wilson(3, 2)


def test_too_few_to_say() -> None:
    """One below the threshold is too few to say; at the threshold the share is said."""
    assert Rate(TOO_FEW - 1, TOO_FEW - 1).said.endswith("too few to say")
    assert Rate(5, TOO_FEW).said == "5 of 10 (50%; 24 to 76%)"
    assert Rate(0, 0).said == "none yet"


SIX_MP = (
    [(t, "hatched") for t in (6, 6, 6, 7, 10, 13, 16, 22, 23)]
    + [(t, None) for t in (6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35)]
)  # fmt: skip
PLACEBO = [
    (t, "hatched") for t in (1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)
]


def test_kaplan_meier_as_published() -> None:
    """With nothing lost the curve is one minus Kaplan & Meier's: the 6-MP trial's own figures."""
    left = {step.day: 1 - step.hatched for step in hatch_curve(SIX_MP)}
    published = {
        6: 0.8571, 7: 0.8067, 10: 0.7529, 13: 0.6902, 16: 0.6275, 22: 0.5378, 23: 0.4482,
    }  # fmt: skip
    assert left == pytest.approx(published, abs=5e-5)
    placebo = {step.day: 1 - step.hatched for step in hatch_curve(PLACEBO)}
    assert (placebo[8], placebo[12]) == pytest.approx((0.3810, 0.1905), abs=5e-5)
    assert (median_day(hatch_curve(SIX_MP)), median_day(hatch_curve(PLACEBO))) == (23, 8)


def test_agrees_with_lifelines_on_waltons_flies() -> None:
    """163 flies, many tied and censored: lifelines' Kaplan-Meier curve, point for point."""
    from lifelines import KaplanMeierFitter
    from lifelines.datasets import load_waltons

    flies = load_waltons()
    rows = [(int(t), "hatched" if e else None) for t, e in zip(flies["T"], flies["E"], strict=True)]
    curve = hatch_curve(rows)
    fitted = KaplanMeierFitter().fit(flies["T"], flies["E"])
    for step in curve:
        assert 1 - step.hatched == pytest.approx(float(fitted.predict(step.day)), abs=1e-9)
    assert median_day(curve) == 56


@pytest.mark.parametrize("seed", range(4))
def test_lost_eggs_compete_as_in_lifelines(seed: int) -> None:
    """Some hatch, some are lost, some wait: lifelines' Aalen-Johansen, for both kinds of end."""
    from lifelines import AalenJohansenFitter

    rng = random.Random(seed)
    days = rng.sample(range(1, 120), 60)  # without ties, which lifelines would jitter
    ends = rng.choices(("hatched", "lost", None), (6, 3, 2), k=60)
    curve = hatch_curve(zip(days, ends, strict=True))
    codes = [{"hatched": 1, "lost": 2, None: 0}[end] for end in ends]
    for code, name in ((1, "hatched"), (2, "lost")):
        theirs = AalenJohansenFitter(calculate_variance=False)
        theirs.fit(days, codes, event_of_interest=code)
        incidence = theirs.cumulative_density_.iloc[:, 0]
        for step in curve:
            assert getattr(step, name) == pytest.approx(float(incidence.loc[step.day]), abs=1e-9)


def test_an_egg_in_the_box_is_not_a_failure() -> None:
    """Two hatched and eight waiting eggs say nothing of a loss; eight lost ones do."""
    waiting = hatch_curve([(60, "hatched")] * 2 + [(20, None)] * 8)
    lost = hatch_curve([(60, "hatched")] * 2 + [(20, "lost")] * 8)
    assert (waiting[-1].hatched, waiting[-1].lost) == (1.0, 0.0)
    assert (lost[-1].hatched, lost[-1].lost) == pytest.approx((0.2, 0.8))
