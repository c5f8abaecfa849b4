"""Labels to print: a few lines and a QR code, on a sticker of 62 by 29 mm."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bot.pictures.look import INK, PAPER, save

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.text import Text

WIDTH, HEIGHT = 62 / 25.4, 29 / 25.4  # inches; a common size of sticker rolls (memory)
MARGIN = 0.08  # inches
DPI = 300  # of common label printers (memory)
MOST_LINES = 5
LONGEST = 40  # characters; smaller letters than these need could not be read
FIRST, OTHERS = 17.0, 8.5  # points: the tag is read from a distance, the rest from near
SPACING = 1.35  # line height over letter size
QUIET = 4
"""Modules left white around the code (ISO/IEC 18004 asks for four)."""


def draw_label(lines: Sequence[str], code: str, file: Path) -> Path:
    """Draw a label into a file named .png or .svg: `lines`, the first one large, and `code`.

    `code` is what a phone's camera reads: a link, or the tag or slot itself. Lines that do not
    fit are made smaller, those over 40 characters cut, and from the sixth on left out. Raises
    ValueError where `code` is too long for a code of this size (over 150 characters).
    """
    from matplotlib.figure import Figure

    if len(code) > 150:
        raise ValueError("a code on a label holds at most 150 characters")
    figure = Figure(figsize=(WIDTH, HEIGHT), dpi=DPI, facecolor=PAPER)
    left = _draw_code(figure, code)
    _draw_lines(figure, [_short(line) for line in lines if line][:MOST_LINES], left)
    return save(figure, file)


def matrix(code: str) -> list[list[int]]:
    """The QR code as rows of modules, 1 is dark, without the quiet zone; error correction M."""
    import segno

    return [[int(each) for each in row] for row in segno.make_qr(code, error="m").matrix]


def _draw_code(figure: Figure, code: str) -> float:
    """Draw the code at the left, each module whole pixels wide; gives where text may start."""
    from matplotlib.patches import Rectangle

    rows = matrix(code)
    across = len(rows) + 2 * QUIET
    module = int(HEIGHT * DPI / across) / DPI  # inches, so that no module is a blurred edge
    top = (int(HEIGHT * DPI) - int((HEIGHT * DPI - across * module * DPI) / 2)) / DPI
    for down, row in enumerate(rows):
        for right, dark in enumerate(row):
            if dark:
                corner = (
                    (QUIET + right) * module / WIDTH,
                    (top - (QUIET + down + 1) * module) / HEIGHT,
                )
                figure.add_artist(
                    Rectangle(
                        corner, module / WIDTH, module / HEIGHT, color="black",
                        linewidth=0, antialiased=False, transform=figure.transFigure,
                    )
                )  # fmt: skip
    return across * module / WIDTH


def _short(line: str) -> str:
    return line if len(line) <= LONGEST else f"{line[: LONGEST - 1].rstrip()}…"


def _draw_lines(figure: Figure, lines: Sequence[str], left: float) -> None:
    """Draw the lines in the middle of the height; all but the first in one size."""
    texts = [
        figure.text(
            left, 0, line, fontsize=OTHERS if number else FIRST, color=INK, va="bottom",
            fontweight="normal" if number else "bold", parse_math=False,
        )
        for number, line in enumerate(lines)
    ]  # fmt: skip
    room = ((1 - left) * WIDTH - MARGIN) * DPI * 0.96  # small letters run a little wider
    _shrink(texts[:1], room)
    _shrink(texts[1:], room)
    tall = [float(text.get_fontsize()) * SPACING / 72 for text in texts]
    down = (HEIGHT + sum(tall)) / 2
    for text, height in zip(texts, tall, strict=True):
        down -= height
        text.set_y(down / HEIGHT)


def _shrink(texts: Sequence[Text], room: float) -> None:
    """Make some lines smaller, all alike, until the widest is at most `room` pixels wide."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    for text in texts[:1]:
        figure = text.get_figure(root=True)
        assert figure is not None
        renderer = FigureCanvasAgg(figure).get_renderer()  # type: ignore[no-untyped-call]
        widest = max(each.get_window_extent(renderer).width for each in texts)
        for each in texts:
            each.set_fontsize(float(each.get_fontsize()) * min(1.0, room / max(widest, 1.0)))
