"""Hatch forecasts against published incubation durations and other outside figures.

Days by temperature: Reptile Development Database (Noble et al. 2018, Scientific Data), the paper of
each row in its species file (`tests/outside/species/`, and picta's own).
"""

import math
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from statistics import median, quantiles

import pytest

from scheduler.curve import PRIOR, fitted
from scheduler.development import hatch_window
from scheduler.figures import incubation_points
from scheduler.species import Duration, Species, load

LAID = date(2026, 3, 10)
NOON = datetime(2026, 3, 10, 12, tzinfo=UTC)
HERE = Path(__file__).parent / "species"
BLUMBERG = "Blumberg et al. 2002, J Exp Biol 205:2777-2784"


def papers():
    """Each paper's durations, the groups at one temperature combined by their eggs."""
    species = [load(str(path)) for path in sorted(HERE.glob("*.toml"))]
    for each in (*species, load("picta")):
        rows = [row for row in each.durations if row.celsius and row.status == "published"]
        for source in dict.fromkeys(row.source for row in rows):
            at = {}
            for row in rows:
                if row.source == source:
                    at.setdefault(row.celsius, []).append(row)
            combined = [combine(celsius, same, source) for celsius, same in sorted(at.items())]
            if len(combined) > 1:
                yield each.name, combined


def combine(celsius, rows, source):
    eggs = sum(row.n for row in rows)
    days = sum(row.days * row.n for row in rows) / eggs
    return Duration(celsius, days, eggs, source=source, status="published")


def left_out():
    """Every published treatment, with its species as known without it."""
    for name, rows in papers():
        for row in rows:
            others = tuple(each for each in rows if each is not row)
            yield Species(name, name, others), row


def test_left_out_temperatures_are_predicted():
    """Leaving out one published gecko temperature at a time: median error within 5%."""
    errors, held = [], []
    for species, row in left_out():
        window = hatch_window(species, LAID, row.celsius)
        errors.append(abs(window.days / row.days - 1))
        held.append(window.low <= row.days <= window.high)
    assert len(errors) == 23
    assert median(errors) <= 0.05
    assert quantiles(errors, n=10)[-1] <= 0.14
    assert 0.75 <= sum(held) / len(held) <= 0.92  # 0.8 stated; 23 cases are few


def test_left_out_temperatures_beat_a_fixed_number_of_days():
    """The published summary has a fixed number of days 26% off (median): ours is far nearer."""
    ours, fixed = [], []
    for species, row in left_out():
        mean = sum(each.days for each in species.durations) / len(species.durations)
        fixed.append(abs(mean / row.days - 1))
        ours.append(abs(hatch_window(species, LAID, row.celsius).days / row.days - 1))
    assert median(ours) < median(fixed) / 3


def test_outside_the_fitted_range_windows_are_wider():
    """Published errors outside the range are about twice those inside; the windows follow."""
    inside, outside = [], []
    for species, row in left_out():
        known = [each.celsius for each in species.durations]
        window = hatch_window(species, LAID, row.celsius)
        group = inside if min(known) < row.celsius < max(known) else outside
        group.append(math.log(window.high / window.low))
    assert median(outside) > 1.3 * median(inside)


@pytest.mark.parametrize("line", [70.3, 65.6, 61.6], ids=["80F", "81F", "82F"])
def test_picta_windows_hold_the_published_line(line):
    """At 80, 81 and 82 F the straight line through Blumberg's three points lies in the window.

    Source: reference fit on Blumberg et al. 2002 (T0 18.8 C, 554 degree-days).
    """
    fahrenheit = {70.3: 80, 65.6: 81, 61.6: 82}[line]
    window = hatch_window(load("picta"), LAID, (fahrenheit - 32) / 1.8)
    assert window.low <= line <= window.high


def test_picta_windows_hold_what_keepers_say():
    """Common practice, no published source: near 60 days at 80 to 82 F."""
    windows = [hatch_window(load("picta"), LAID, (f - 32) / 1.8) for f in (81, 82)]
    assert all(window.low <= 60 <= window.high for window in windows)


def test_q10_falls_with_warmth():
    """Published Q10 of picta: 4.87 from 23 to 26 C, 3.33 from 26 to 30 C (Blumberg et al. 2002)."""
    curve = fitted(incubation_points(load("picta")))

    def q10(cool, warm):
        return (curve.days(cool) / curve.days(warm)) ** (10 / (warm - cool))

    assert q10(23, 26) > q10(26, 30)
    assert q10(23, 26) == pytest.approx(4.87, rel=0.15)
    assert q10(26, 30) == pytest.approx(3.33, rel=0.15)


def test_days_fall_by_about_eight_percent_a_degree_for_reptiles_at_large():
    """With one known duration the slope at 28 C is the published mean: log days -0.081 per C."""
    one = Species("one", "one", (Duration(28.0, 60.0, 20, source="x", status="published"),))
    assert fitted(incubation_points(one)).slope(28.0) == pytest.approx(0.081, abs=0.015)


def test_a_straight_rate_line_gives_back_its_zero():
    """Degree-days: durations made with T0 15.1 C and 750 degree-days are met within 2%.

    Source: T0 median of 100 series (Noble et al. 2018, computed from the data set).
    """
    made = tuple(
        Duration(t, 750 / (t - PRIOR.zero), 50, source="made", status="published")
        for t in (22.0, 24.0, 28.0)
    )
    window = hatch_window(Species("made", "made", made), LAID, 26.0)
    assert window.days == pytest.approx(750 / (26.0 - 15.1), rel=0.02)


def test_half_done_then_moved():
    """10 days at 26 C, the rest at 30 C: 42.78 days more by Blumberg's own two durations.

    Source: reference check, 10/79.2506 + d/48.9594 = 1.
    """
    rows = tuple(row for row in load("picta").durations if row.source == BLUMBERG)
    species = Species("picta alone", "Paroedura picta", rows)
    curve = fitted(incubation_points(species))
    window = hatch_window(species, LAID, [(NOON, 26.0), (NOON + timedelta(days=10), 30.0)])
    more = window.days - 10
    assert 10 / curve.days(26.0) + more / curve.days(30.0) == pytest.approx(1, abs=1e-6)
    assert more == pytest.approx(42.78, rel=0.05)


def test_development_slows_against_the_line_in_heat():
    """Gekko japonicus at 32 C took 41.6 days where the line through 24 and 28 C gives 37.2.

    Source: Ding et al. 2012, Naturwissenschaften 99:999-1006 (82.45, 51.30, 41.62 days).
    """
    known = (
        Duration(24.0, 82.45, 30, source="Ding et al. 2012", status="published"),
        Duration(28.0, 51.30, 49, source="Ding et al. 2012", status="published"),
    )
    window = hatch_window(Species("gj", "Gekko japonicus", known), LAID, 32.0)
    assert window.days > 37.2
    assert window.low <= 41.62 <= window.high
