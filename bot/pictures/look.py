"""How all pictures look: colours, sizes, and an empty sheet to draw on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK = "#26303a"
FAINT = "#d5d9dc"
PAPER = "#ffffff"
LINE = "#1b6e8c"
ACCENT = "#c4671b"
SERIES = (LINE, ACCENT, "#5b7f2b", "#7a4a8c", "#8a7a3d", "#4a5568")
"""Told apart also by people who see few colours: they differ in lightness, and dashes help."""
DASHES = ("-", "--", "-.", ":", (0, (5, 1)), (0, (1, 1)))

DPI = 150


def sheet(width: float, height: float, dpi: int = DPI) -> Figure:
    """An empty figure of a size in inches. Nothing global is touched, so threads may draw."""
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    layout = ConstrainedLayoutEngine(w_pad=0.1, h_pad=0.1)
    return Figure(figsize=(width, height), dpi=dpi, facecolor=PAPER, layout=layout)


def chart_axes(figure: Figure, title: str, unit: str) -> Axes:
    """Axes with a title at the left, a quiet grid, and what the figures are."""
    axes = figure.add_subplot()
    axes.set_title(title, loc="left", color=INK, fontsize=15, pad=12, parse_math=False)
    axes.set_ylabel(unit, color=INK, fontsize=11)
    axes.tick_params(colors=INK, labelsize=11, length=0)
    axes.grid(axis="y", color=FAINT, linewidth=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(FAINT)
    return axes


def save(figure: Figure, file: Path) -> Path:
    """Write the figure as its name ends (.png, .svg, .pdf); gives the file back.

    The same facts give the same file: no date is put in.
    """
    known = {".svg": {"Date": None}, ".pdf": {"CreationDate": None}}
    file.parent.mkdir(parents=True, exist_ok=True)
    figure.savefig(file, metadata=known.get(file.suffix.lower()))
    return file
