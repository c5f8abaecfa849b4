"""`rackside chat` and `rackside play`: a conversation in the terminal, and one on file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bot.commands.house import FILE, House, pass_house

if TYPE_CHECKING:
    from datetime import datetime

    from bot.book.store import Book


@click.command()
@pass_house
def chat(house: House) -> None:
    """Talk to the book in the terminal, as its owner. The end of input ends it."""
    import signal

    from bot.commands import sitting

    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    if sys.stdin.isatty() and sys.stdout.isatty():
        sitting.at_terminal(house)
    else:
        sitting.piped(house)


@click.command()
@click.argument("file", type=FILE)
@pass_house
def play(house: House, file: Path) -> None:
    """Play a conversation file against a book in memory, on its own clock.

    Prints the whole exchange; 1 where an expectation (a line with <) is not met.
    """
    from bot.book.store import Book
    from bot.channels.chatfile import ChatFileError, parse
    from bot.channels.script import FileClock, Player
    from bot.service import Rackside

    try:
        steps = parse(file.read_text(encoding="utf-8-sig"))
    except ChatFileError as error:
        raise click.UsageError(f"{file.name} {error}") from None
    except UnicodeDecodeError:
        raise click.UsageError(f"{file} is not UTF-8 text.") from None
    except OSError as error:
        raise click.UsageError(f"{file}: {error.strerror}.") from None
    book = Book.open(":memory:")
    clock = FileClock(house.now().replace(second=0, microsecond=0))
    household = PlayedHousehold(book)
    player = Player(Rackside(book, clock), household, clock, click.echo)
    good = player.play(steps)
    book.close()
    if not good:
        count = len(player.failures)
        what = "1 expectation was" if count == 1 else f"{count} expectations were"
        click.echo(f"rackside: {file.name}: {what} not met.", err=True)
        sys.exit(1)


class PlayedHousehold:
    """The household of a conversation file: begun when somebody first speaks."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.zone = "UTC"
        self.number: int | None = None

    def set_zone(self, zone: str) -> None:
        """The household's zone, before or after it is begun."""
        from bot.book import households

        self.zone = zone
        if self.number is not None:
            with self.book.writing() as conn:
                households.set_zone(conn, self.number, zone)

    def join(self, name: str, role: str, now: datetime) -> None:
        """Let somebody speak: the owner, who begins the household, or another member."""
        from bot.book import households
        from bot.channels.script import CHANNEL

        with self.book.writing() as conn:
            if self.number is None:
                member = households.begin(conn, zone=self.zone, owner=name, now=now)
                self.number = member.household
            else:
                number = self.number
                member = households.join(conn, household=number, name=name, role=role, now=now)
            households.add_address(conn, member, CHANNEL, name)
