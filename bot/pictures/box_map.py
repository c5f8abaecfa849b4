"""An egg box seen from above: which egg lies where, as text and as a picture."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from bot.pictures.look import FAINT, INK, PAPER, save, sheet
from bot.wording import day, say, span
from scheduler.colony import Box, Colony, Egg
from scheduler.facts import HOPELESS
from scheduler.window import Window

if TYPE_CHECKING:
    from matplotlib.axes import Axes

CELL = 1.75, 1.0  # inches
SHADES = {
    "unchecked": "#f3f1e7", "too-early": "#f3f1e7", "fertile": "#d3e8c8", "pipping": "#ffe08a",
    "dented": "#f6cfa0", "sweating": "#cfe3f1",
    "infertile": "#dcd6d2", "mould": "#dcd6d2", "collapsed": "#dcd6d2",
}  # fmt: skip
"""Only a help for the eye: each egg's state is also written."""


def lying_in(colony: Colony, box: Box) -> list[tuple[str, tuple[Egg, ...]]]:
    """Each slot of a box, in order, with the eggs that lie in it now."""
    slots = [f"{box.box}{number}" for number in range(1, box.rows * box.columns + 1)]
    lying: dict[str, list[Egg]] = {}
    for egg in colony.eggs:
        if egg.slot and egg.end is None:
            lying.setdefault(egg.slot, []).append(egg)
    return [(slot, tuple(lying.get(slot, ()))) for slot in slots]


def expected(colony: Colony, box: Box, today: date) -> dict[str, Window]:
    """The hatch window of each egg of a box that one is waited for, by the egg's key."""
    from scheduler.development import egg_window

    return {
        egg.key: egg_window(colony, egg, today)
        for _, eggs in lying_in(colony, box)
        for egg in eggs
        if egg.state not in HOPELESS and egg.pipped is None
    }


def box_text(colony: Colony, box: Box) -> str:
    """The box as lines of text, a row of slots each: "1 F3  2 -  3 F7". Aligned in fixed width."""
    cells = [f"{slot.removeprefix(box.box)} {_dams(eggs)}" for slot, eggs in lying_in(colony, box)]
    wide = max(map(len, cells), default=0)
    rows = [cells[n : n + box.columns] for n in range(0, len(cells), box.columns)]
    lines = ["  ".join(cell.ljust(wide) for cell in row).rstrip() for row in rows]
    return "\n".join([title(box), *lines])


def _dams(eggs: tuple[Egg, ...]) -> str:
    return "+".join(egg.dam or "?" for egg in eggs) or "-"


def title(box: Box) -> str:
    """ "Box B, incubator 1"."""
    name = say("picture.box", box=box.box)
    if box.incubator is None:
        return name
    return f"{name}, {say('picture.incubator', incubator=box.incubator)}"


def draw_box(
    colony: Colony, box: Box, today: date, file: Path, windows: Mapping[str, Window] | None = None
) -> Path:
    """Draw a box into a file named .png or .svg.

    `windows` (by egg key) are the hatch windows to show; without them none is shown. Get them
    from `expected`.
    """
    wide, high = CELL[0] * box.columns + 0.3, CELL[1] * box.rows + 0.7
    figure = sheet(wide, high, dpi=max(60, min(150, round(2400 / max(wide, high)))))
    axes = figure.add_subplot()
    axes.set_xlim(0, box.columns)
    axes.set_ylim(box.rows, 0)
    axes.axis("off")
    head = f"{title(box)}, {say('picture.as_of', day=day(today, today))}"
    axes.set_title(head, loc="left", color=INK, fontsize=15, parse_math=False)
    for number, (slot, eggs) in enumerate(lying_in(colony, box)):
        down, right = divmod(number, box.columns)
        _cell(axes, right, down, eggs)
        _say(axes, right, down, slot, _lines(eggs, today, windows or {}))
    return save(figure, file)


def _cell(axes: Axes, right: int, down: int, eggs: tuple[Egg, ...]) -> None:
    from matplotlib.patches import FancyBboxPatch

    axes.add_patch(
        FancyBboxPatch(
            (right + 0.06, down + 0.07), 0.88, 0.86,
            boxstyle="round,pad=0,rounding_size=0.08", edgecolor=FAINT if not eggs else INK,
            facecolor=SHADES.get(state_of(eggs[0]), PAPER) if eggs else PAPER,
            linewidth=1, linestyle="-" if eggs else ":",
        )
    )  # fmt: skip


def state_of(egg: Egg) -> str:
    """The state as it is shown: pipping, as last checked, or unchecked."""
    return "pipping" if egg.pipped else egg.state or "unchecked"


def _lines(eggs: tuple[Egg, ...], today: date, windows: Mapping[str, Window]) -> list[str]:
    if not eggs:
        return [say("picture.free")]
    egg = eggs[0]
    state = state_of(egg)
    window = windows.get(egg.key)
    said = [
        _dams(eggs) if egg.dam else say("picture.dam_unknown"),
        say("picture.laid_on", day=day(egg.laid, today)),
        say("picture.pipping") if state == "pipping" else say(f"state.{state}"),
    ]
    if window is not None:
        said.append(say("picture.expected", span=span(window.start, window.end, today)))
    return said


def _say(axes: Axes, right: int, down: int, slot: str, lines: list[str]) -> None:
    axes.text(
        right + 0.9, down + 0.14, slot, ha="right", va="top", fontsize=9, color=INK,
        parse_math=False,
    )  # fmt: skip
    for number, line in enumerate(lines):
        first = number == 0 and len(lines) > 1
        axes.text(
            right + 0.12, down + 0.14 + (0.24 + 0.19 * (number - 1) if number else 0), line,
            va="top", fontsize=12 if first else 8.5, color=INK,
            fontweight="bold" if first else "normal", parse_math=False,
        )  # fmt: skip
