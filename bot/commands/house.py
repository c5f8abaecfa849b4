"""What commands work on: the settings, the book, the household and its owner at the console.

Imports that cost time stand inside the functions: `read` has to answer at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bot.settings import Settings, SettingsError, beside, load

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bot.book.households import Member
    from bot.book.pages import Pages
    from bot.book.store import Book

CHANNEL, ADDRESS, OWNER = "console", "owner", "keeper"


@dataclass
class House:
    """The household that the command line speaks for. `book_option` is what --book said."""

    book_option: str | None

    @cached_property
    def settings(self) -> Settings:
        """The settings; raises SettingsError with a line for each mistake.

        With them the keeper's own species files, in the folder "species" beside the book.
        """
        found = load({"BOOK": self.book_option})
        folder = beside(found.book) / "species"
        if folder.is_dir():
            from scheduler.species import SpeciesError, add_own

            try:
                add_own(folder)
            except SpeciesError as error:
                raise SettingsError([f"species/{error}"]) from None
        return found

    @staticmethod
    def now() -> datetime:
        """The wall clock: the one place where a command reads it."""
        return datetime.now(UTC)

    @property
    def there(self) -> bool:
        """Whether there is a book yet. A database is asked when it is opened."""
        return "://" in self.settings.book or Path(self.settings.book).exists()

    @contextmanager
    def book(self, *, create: bool) -> Iterator[Book]:
        """The book, open. Raises BookError."""
        from bot.book.store import Book

        book = Book.open(self.settings.book, create=create)
        try:
            yield book
        finally:
            book.close()

    @contextmanager
    def looking(self) -> Iterator[Pages | None]:
        """The household's pages, to read only; None where there is no book or household yet."""
        if not self.there:
            yield None
            return
        from bot.book.pages import Pages

        with self.book(create=False) as book, book.reading() as conn:
            number = household_here(conn)
            yield None if number is None else Pages(conn, number)

    @contextmanager
    def writing(self) -> Iterator[Pages]:
        """The household's pages inside one transaction; begins book and household if need be."""
        from bot.book.pages import Pages

        with self.book(create=True) as book, book.writing() as conn:
            owner = owner_here(conn, self.settings.zone.key, self.now())
            yield Pages(conn, owner.household)


def household_here(conn: Connection) -> int | None:
    """The console's household: its owner's, or else the first in the book."""
    from bot.book import households

    owner = households.find(conn, CHANNEL, ADDRESS)
    if owner is not None:
        return owner.household
    return next((each.id for each in households.all_households(conn)), None)


def owner_here(conn: Connection, zone: str, now: datetime) -> Member:
    """The owner, reachable at the console; begins a household where there is none."""
    from bot.book import households

    owner = households.find(conn, CHANNEL, ADDRESS)
    if owner is not None:
        return owner
    first = household_here(conn)
    members = households.of_household(conn, first) if first is not None else ()
    owner = next((each for each in members if each.role == "owner"), None)
    if owner is None and first is not None:
        owner = households.join(conn, household=first, name=OWNER, role="owner", now=now)
    if owner is None:
        owner = households.begin(conn, zone=zone, owner=OWNER, now=now)
    households.add_address(conn, owner, CHANNEL, ADDRESS)
    return owner


class Moment(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """An ISO date-time, with or without an offset."""

    name = "iso date-time"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> datetime:
        """The moment; naive where no offset was given."""
        if isinstance(value, datetime):
            return value
        try:
            return datetime.fromisoformat(str(value))
        except ValueError:
            self.fail(f'"{value}" is no moment; write 2026-03-10T19:30:00+00:00', param, ctx)


MOMENT = Moment()
DAY = click.DateTime(["%Y-%m-%d"])
FOLDER = click.Path(path_type=Path, file_okay=False)
FILE = click.Path(path_type=Path, dir_okay=False)
pass_house = click.make_pass_decorator(House)
