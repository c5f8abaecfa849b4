"""`rackside serve`: Telegram, SMS and the reminders, until a signal."""

from __future__ import annotations

import sys

import click

from bot.commands.house import House, pass_house


@click.command()
@pass_house
def serve(house: House) -> None:
    """Answer on Telegram, by SMS or both, and send the reminders, until a signal.

    Set RACKSIDE_TELEGRAM_TOKEN, or RACKSIDE_SMS_ACCOUNT, RACKSIDE_SMS_SECRET and
    RACKSIDE_SMS_NUMBER, first.
    """
    settings = house.settings
    from bot.serve.run import serve as run

    sys.exit(run(settings))
