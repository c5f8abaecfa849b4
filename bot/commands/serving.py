"""`rackside serve`: Telegram, SMS and the reminders, until a signal."""

from __future__ import annotations

import gc
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
    # A start makes much and drops next to nothing: looking for garbage meanwhile would take a
    # quarter of its time. `bot/serve/run.py` looks again once it is over.
    gc.disable()
    from bot.serve.run import serve as run

    sys.exit(run(settings))
