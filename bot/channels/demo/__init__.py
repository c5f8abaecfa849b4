"""The demo colony: CSV files in the form that an import reads, with "-60" for sixty days ago."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bot.book.pages import Pages

_AGO = re.compile(r"(?<=,)-(\d+)(?=,|$)|^-(\d+)(?=,)", re.MULTILINE)


def bring_in_demo(pages: Pages, *, now: datetime) -> None:
    """Fill a new household with the demo colony, its dates counted back from today."""
    from bot.book.csv_in import bring_in

    today = now.astimezone(pages.zone).date()

    def day(found: re.Match[str]) -> str:
        return (today - timedelta(days=int(found[1] or found[2]))).isoformat()

    with TemporaryDirectory() as folder:
        for file in Path(__file__).parent.glob("*.csv"):
            dated = _AGO.sub(day, file.read_text(encoding="utf-8"))
            (Path(folder) / file.name).write_text(dated, encoding="utf-8")
        bring_in(pages, Path(folder), now=now)
