"""Pictures that go along with an answer, on channels that can show or keep a file."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from bot import links
from bot.desk.context import Context
from bot.messages import Reply

SHOWS = frozenset({"telegram"})
"""Channels on which a picture is seen at once."""
KEEPS = SHOWS | {"console"}
"""Channels on which a file can be kept, for instance to print a label."""


def with_chart(reply: Reply, of: str, about: str | None, ctx: Context) -> Reply:
    """The chart as a picture beside its lines."""
    from bot.pictures.charts import draw_chart

    def draw(file: Path) -> Path | None:
        return draw_chart(
            of, ctx.colony, about, ctx.today, file,
            temperature=ctx.member.temperature, weight=ctx.member.weight,
        )  # fmt: skip

    return _with(reply, f"chart {of} {about or ''}", draw, KEEPS, ctx)


def with_box(reply: Reply, name: str, ctx: Context) -> Reply:
    """The box as a picture beside its map."""
    from bot.pictures.box_map import draw_box, expected

    def draw(file: Path) -> Path | None:
        colony = ctx.colony
        box = colony.boxes[name]
        return draw_box(colony, box, ctx.today, file, expected(colony, box, ctx.today))

    return _with(reply, f"box {name}", draw, SHOWS, ctx)


def with_label(reply: Reply, of: str, lines: Sequence[str], ctx: Context) -> Reply:
    """The label to print; its code holds a link that asks for the tag, slot or box, or these."""
    from bot.pictures.labels import draw_label

    code = _code(of, ctx)
    return _with(reply, f"label {of}", lambda file: draw_label(lines, code, file), KEEPS, ctx)


def _code(of: str, ctx: Context) -> str:
    state = ctx.pages.state
    boxed = of in state.boxes and of not in state.animals
    payload = links.packed(f"box {of}" if boxed else of)
    return links.to(ctx.bot, payload) if ctx.bot and payload else of[:150]


def _with(
    reply: Reply, name: str, draw: Callable[[Path], Path | None], channels: frozenset[str],
    ctx: Context,
) -> Reply:  # fmt: skip
    if ctx.export_folder is None or ctx.message.channel not in channels:
        return reply
    ctx.export_folder.mkdir(parents=True, exist_ok=True)
    drawn = draw(ctx.export_folder / f"{re.sub(r'[^A-Za-z0-9]+', '-', name).strip('-')}.png")
    return replace(reply, files=(*reply.files, drawn)) if drawn else reply
