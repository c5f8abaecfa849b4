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
    findings = [("settings", None), *_look(house, settings), *_channels(settings, offline)]
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


def _channels(settings: Settings, offline: bool) -> Iterator[Finding]:
    """Whether each channel that is set up answers; offline, that it is set up."""
    import asyncio

    if settings.telegram_token:
        yield "telegram", None if offline else asyncio.run(_telegram(settings))
    if settings.sms_account:
        yield "sms", None if offline else asyncio.run(_sms(settings))


async def _telegram(settings: Settings) -> str | None:
    from telegram.error import InvalidToken, TelegramError

    from bot.channels.telegram import Telegram

    line = Telegram(settings)
    try:
        await line.ask_who()
    except InvalidToken:
        return "the token is refused; copy RACKSIDE_TELEGRAM_TOKEN again from where you got it"
    except TelegramError:
        return f"no answer from {settings.telegram_api}; look at the connection, then try again"
    finally:
        await line.close()
    return None


async def _sms(settings: Settings) -> str | None:
    """Ask for our own account, which sends nothing and costs nothing."""
    from base64 import b64encode

    from aiohttp import ClientError, ClientSession, ClientTimeout

    account = settings.sms_account
    login = b64encode(f"{account}:{settings.sms_secret}".encode()).decode()
    url = f"{settings.sms_api}/2010-04-01/Accounts/{account}.json"
    try:
        async with (
            ClientSession(timeout=ClientTimeout(10)) as session,
            session.get(url, headers={"Authorization": f"Basic {login}"}) as answer,
        ):
            refused = answer.status in (401, 403)
    except (ClientError, TimeoutError):
        return f"no answer from {settings.sms_api}; look at the connection, then try again"
    if refused:
        return "the account is refused; look at RACKSIDE_SMS_ACCOUNT and RACKSIDE_SMS_SECRET"
    return None


def _folder(folder: Path) -> str | None:
    """What keeps us from writing there; a folder that is missing is made when it is needed."""
    import os

    there = next(each for each in (folder, *folder.absolute().parents) if each.exists())
    if there.is_dir() and os.access(there, os.W_OK | os.X_OK):
        return None
    return f"{there} can't be written in; choose another folder or change its permissions"
