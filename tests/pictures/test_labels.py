"""Labels: the code that a camera reads, and lines that fit."""

from __future__ import annotations

from pathlib import Path

import pytest
import segno
from matplotlib.image import imread

from bot.pictures.labels import DPI, HEIGHT, QUIET, WIDTH, draw_label, matrix

LINK = "https://example.org/start?a=F3"


@pytest.mark.parametrize("code", ["F3", "box B", LINK, LINK + "x" * 100])
def test_the_code_is_on_the_label(code: str, tmp_path: Path) -> None:
    """Each module of the QR code is dark or light on the label as the code has it."""
    pixels = imread(draw_label(["F3 Amber", "female"], code, tmp_path / "label.png"))[:, :, 0]
    assert pixels.shape == (int(HEIGHT * DPI), int(WIDTH * DPI))
    wanted = [[bool(each) for each in row] for row in segno.make_qr(code, error="m").matrix]
    across = len(wanted) + 2 * QUIET
    module = int(HEIGHT * DPI / across)
    top = int((HEIGHT * DPI - across * module) / 2)
    places = [QUIET * module + module // 2 + n * module for n in range(len(wanted))]
    read = [[bool(pixels[top + y, x] < 0.5) for x in places] for y in places]
    assert read == wanted
    assert module >= 4  # 0.34 mm: what a phone's camera still tells apart


def test_long_lines_stay_on_the_label(tmp_path: Path) -> None:
    """However long a name is, the last pixels at the edges stay white."""
    lines = ["F3 " + "Amber" * 20, "W" * 80, *"abcdefg"]
    pixels = imread(draw_label(lines, "F3", tmp_path / "label.png"))[:, :, 0]
    assert pixels[:, -15:].min() > 0.9
    assert pixels[:8].min() > 0.9
    assert pixels[-8:].min() > 0.9


def test_a_label_as_svg(tmp_path: Path) -> None:
    """A label for a printer of any fineness, the same each time."""
    first, again = (draw_label(["F3"], "F3", tmp_path / f"{n}.svg") for n in (1, 2))
    assert "<svg" in first.read_text()
    assert "<dc:date>" not in first.read_text()
    assert again.exists()


def test_too_much_for_a_code(tmp_path: Path) -> None:
    """A code that would be too fine to read is refused in words."""
    with pytest.raises(ValueError, match="150"):
        draw_label(["F3"], "x" * 151, tmp_path / "label.png")
    assert len(matrix("x" * 150)) + 2 * QUIET <= HEIGHT * DPI / 4
