"""Charts: something to see where there are facts, nothing where there are none."""

from __future__ import annotations

from pathlib import Path

import pytest
from matplotlib.figure import Figure
from matplotlib.image import imread

from bot.pictures.charts import DRAW, draw_chart
from scheduler.colony import Colony
from tests.pictures.colony import TODAY, spoiled, year
from tests.scheduler.colonies import LISBON, Story


def drawn(of: str, colony: Colony, about: str | None, unit: str = "") -> Figure:
    """The chart as a figure, to look at what it shows."""
    figure = Figure()
    assert DRAW[of](figure, of, colony, about, TODAY, unit)
    return figure


@pytest.mark.parametrize(
    ("of", "about"),
    [
        ("weight", "F3"), ("temperature", None), ("temperature", "incubator 1"),
        ("hatching", None), ("hatching", "M2"), ("laying", "F3"),
    ],
)  # fmt: skip
def test_a_chart_is_a_picture(of: str, about: str | None, tmp_path: Path) -> None:
    """Each chart is a PNG of a size that a phone shows well, and is not blank."""
    file = draw_chart(of, year(), about, TODAY, tmp_path / "new" / "chart.png")
    assert file is not None
    pixels = imread(file)
    assert pixels.shape[:2] == (675, 1080)
    assert 0.005 < (pixels[:, :, :3].min(axis=2) < 0.9).mean() < 0.6


@pytest.mark.parametrize("of", list(DRAW))
def test_nothing_to_show_draws_nothing(of: str, tmp_path: Path) -> None:
    """Without facts there is no picture, and no file."""
    file = tmp_path / "chart.png"
    assert draw_chart(of, Colony(LISBON), "F9", TODAY, file) is None
    assert not file.exists()


def test_the_same_facts_give_the_same_file(tmp_path: Path) -> None:
    """No date or chance gets into a picture."""
    first, again = (
        draw_chart("weight", year(), "F3", TODAY, tmp_path / name) for name in ("1.png", "2.png")
    )
    assert first and again
    assert first.read_bytes() == again.read_bytes()


def test_weights_are_those_of_the_book() -> None:
    """The line has each weighing of the animal, in grams, and a mark at each clutch between."""
    lines = drawn("weight", year(), "F3").axes[0].lines
    assert list(lines[0].get_ydata()) == [20.1, 21.4, 22.0, 19.6, 21.0, 22.3, 19.9, 20.8]
    assert len(lines[1].get_xdata()) == 7  # the eighth clutch is after the last weighing


def test_units_are_the_readers() -> None:
    """Ounces and Fahrenheit, for who reads in them."""
    ounces = drawn("weight", year(), "F3", "oz").axes[0].lines[0].get_ydata()
    assert ounces[0] == pytest.approx(20.1 / 28.349523125)
    warm = drawn("temperature", year(), "incubator 1", "F").axes[0].lines[0].get_ydata()
    assert warm[0] == pytest.approx(80.6)


def test_temperatures_are_of_the_last_weeks() -> None:
    """Of a year of readings the last 120 days are drawn, place by place."""
    story = Story()
    for number in range(365):
        story.read(number)
    (line,) = drawn("temperature", story.colony, None).axes[0].lines
    assert len(line.get_xdata()) == 121


def test_bars_count_eggs_by_month() -> None:
    """March has the young of two clutches, and a month without any stays in its place."""
    bars = drawn("laying", year(), "F3").axes[0].patches
    assert [bar.get_height() for bar in bars] == [4, 4, 4, 4]
    assert [bar.get_height() for bar in drawn("laying", spoiled(), None).axes[0].patches] == [1, 1]


def test_a_sign_of_mathematics_is_a_sign(tmp_path: Path) -> None:
    """A name with dollar signs is shown as typed, and breaks nothing."""
    story = year()
    marked = [r.__class__(r.at, "rack $\\frac$", r.celsius) for r in story.readings]
    colony = Colony(LISBON, readings=tuple(marked))
    assert draw_chart("temperature", colony, "rack $\\frac$", TODAY, tmp_path / "chart.png")
