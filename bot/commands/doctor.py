"""`rackside doctor`: looks at settings, book and channels, writes nothing, says what is wrong."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import click

from bot.commands.house import House, pass_house
from bot.settings import Settings, SettingsError

Finding = tuple[str, str | None]  # what was looked at; what is wrong with it, or None


@click.command()
@click.option("--offline", is_flag=True, help="Ask no channel.")
@pass_house
def doctor(house: House, offline: bool) -> None:
    """Check settings, book and channels: a line each, ok or wrong with what to do."""
    try:
        settings = house.settings
    except SettingsError as error:
        for line in error.lines:
            name, _, what = line.partition(": ")
            click.echo(f"wrong {name}: {what}")
        sys.exit(1)
    findings = [("settings", None), *_look(house, settings)]
    for name, wrong in findings:
        click.echo(f"wrong {name}: {wrong}" if wrong else f"ok {name}")
    if any(wrong for _, wrong in findings):
        sys.exit(1)


def _look(house: House, settings: Settings) -> Iterator[Finding]:
    yield "book", _book(house)
    yield "backups", _folder(settings.backups) if settings.backups else None


def _book(house: House) -> str | None:
    from bot.book import households
    from bot.book.errors import BookError
    from bot.book.pages import Pages

    if not house.there:
        return _folder(Path(house.settings.book).parent)
    try:
        with house.book(create=False) as book, book.reading() as conn:
            for each in households.all_households(conn):
                if Pages(conn, each.id).check():
                    return "it does not agree with its ledger; run rackside check to see where"
    except BookError as error:
        return str(error)
    return None


def _folder(folder: Path) -> str | None:
    """What keeps us from writing there; a folder that is missing is made when it is needed."""
    import os

    there = next(each for each in (folder, *folder.absolute().parents) if each.exists())
    if there.is_dir() and os.access(there, os.W_OK | os.X_OK):
        return None
    return f"{there} can't be written in; choose another folder or change its permissions"
