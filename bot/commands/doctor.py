"""`rackside doctor`: looks at settings, book and channels, writes nothing, says what is wrong."""

from __future__ import annotations

import sys
from collections.abc import Iterator

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
    found = False
    for name, wrong in _findings(house, settings, offline):
        click.echo(f"wrong {name}: {wrong}" if wrong else f"ok {name}")
        found = found or wrong is not None
    if found:
        sys.exit(1)


def _findings(house: House, settings: Settings, offline: bool) -> Iterator[Finding]:
    from bot.commands.doctor_book import look_at_book
    from bot.commands.doctor_channels import ask_channels, look_at_channels

    yield "settings", None
    yield from look_at_book(house, settings)
    yield from look_at_channels(settings)
    if not offline:
        yield from ask_channels(settings, house)
