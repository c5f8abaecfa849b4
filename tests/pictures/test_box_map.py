"""Box maps: each egg in its slot, as words and as a picture."""

from __future__ import annotations

from pathlib import Path

from matplotlib.image import imread

from bot.pictures.box_map import box_text, draw_box, expected, lying_in, state_of
from bot.wording import say, words
from scheduler.colony import Box, Colony
from tests.pictures.colony import TODAY, year
from tests.scheduler.colonies import LISBON


def test_the_box_as_text() -> None:
    """A row of slots a line: what has hatched is gone, what lies there has its dam."""
    colony = year()
    assert box_text(colony, colony.boxes["B"]).split("\n") == [
        "Box B, incubator 1",
        "1 -    2 -    3 F3   4 -    5 F3",
        "6 F3   7 F3   8 F3   9 F3   10 F3",
        "11 F3  12 F3  13 F3  14 F3  15 F3",
        "16 F3  17 -   18 -   19 -   20 -",
    ]
    assert box_text(colony, colony.boxes["C"]).startswith("Box C\n1 -")


def test_two_eggs_in_one_slot() -> None:
    """Both dams are named where two eggs share a slot."""
    colony = year()
    eggs = (*colony.eggs, colony.eggs[2].__class__("99", None, "F7", TODAY, "B3"))
    shared = Colony(LISBON, eggs=eggs, boxes=colony.boxes)
    assert "3 F3+F7" in box_text(shared, colony.boxes["B"])


def test_windows_only_where_a_hatch_is_waited_for() -> None:
    """Eggs that are infertile, mouldy or pipping have no window; the others have."""
    colony = year()
    box = colony.boxes["B"]
    windows = expected(colony, box, TODAY)
    without = [s for s, eggs in lying_in(colony, box) for e in eggs if e.key not in windows]
    assert without == ["B5", "B6", "B7"]


def test_every_state_has_its_words() -> None:
    """Whatever state an egg is in, the picture has words for it."""
    states = {state_of(egg) for egg in year().eggs}
    assert states - {"pipping"} <= set(words()["state"])
    assert say("picture.pipping")


def test_the_box_as_a_picture(tmp_path: Path) -> None:
    """The picture is wide enough to read, shows more with eggs than without, and fits a phone."""
    colony = year()
    box = colony.boxes["B"]
    windows = expected(colony, box, TODAY)
    full = imread(draw_box(colony, box, TODAY, tmp_path / "full.png", windows))
    bare = imread(draw_box(Colony(LISBON), box, TODAY, tmp_path / "bare.png"))
    assert full.shape == bare.shape
    assert full.shape[1] >= 1000
    assert (full[:, :, :3] < 0.95).mean() > 3 * (bare[:, :, :3] < 0.95).mean()


def test_a_very_large_box_stays_sendable(tmp_path: Path) -> None:
    """Even a box of 400 slots is at most 2,500 pixels across."""
    pixels = imread(draw_box(Colony(LISBON), Box("Z", 20, 20), TODAY, tmp_path / "large.png"))
    assert max(pixels.shape[:2]) <= 2500
