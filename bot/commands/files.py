"""`rackside import`, `export`, `check`, `backup`, `restore`: the book and the files beside it."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from bot.commands.house import FILE, FOLDER, House, pass_house


@click.command("import")
@click.argument("folder", type=FOLDER)
@pass_house
def import_(house: House, folder: Path) -> None:
    """Bring a colony in from the CSV files in FOLDER.

    animals.csv, boxes.csv, pairings.csv, eggs.csv, hatches.csv, readings.csv, weights.csv: any of
    them. A wrong row is named by file and line, and then nothing is kept.
    """
    from bot.book.csv_in import ImportRefused, bring_in

    house.settings  # noqa: B018 -- wrong settings are told before anything is made
    if not folder.is_dir():
        raise click.UsageError(f"There is no folder {folder}.")
    new = not house.there
    try:
        with house.writing() as pages:
            counts = bring_in(pages, folder, now=house.now())
    except ImportRefused as refused:
        if new:
            _unmake(house)
        for line in refused.lines:
            click.echo(f"rackside: {line}", err=True)
        click.echo("rackside: nothing was kept; put these right and import again.", err=True)
        sys.exit(1)
    for name, count in counts.items():
        click.echo(f"{name}: {count} {'row' if count == 1 else 'rows'}")


def _unmake(house: House) -> None:
    """Take away the empty book that a refused first import made."""
    for rest in ("", "-wal", "-shm"):
        Path(house.settings.book + rest).unlink(missing_ok=True)


@click.command()
@click.argument("folder", type=FOLDER)
@pass_house
def export(house: House, folder: Path) -> None:
    """Write the book as CSV files into FOLDER, in the form that import reads."""
    from bot.book.csv_out import export as write_out

    with house.book(create=False):
        pass  # a missing or damaged book is told before any folder is made
    with house.looking() as pages:
        if pages is None:
            raise click.ClickException("There is nobody in the book yet.")
        for file in write_out(pages, folder):
            click.echo(str(file))


@click.command()
@pass_house
def check(house: House) -> None:
    """Replay the ledger and compare it with the book; 0 where they agree."""
    from bot.book import households
    from bot.book.pages import Pages

    with house.book(create=False) as book, book.reading() as conn:
        found = households.all_households(conn)
        wrong = [
            f"household {each.id}: {line}"
            for each in found
            for line in Pages(conn, each.id).check()
        ]
    for line in wrong:
        click.echo(line)
    if wrong:
        sys.exit(1)
    click.echo("The book agrees with its ledger.")


@click.command()
@click.argument("file", type=FILE)
@pass_house
def backup(house: House, file: Path) -> None:
    """Write a copy of the whole book to FILE, also while it is in use."""
    with house.book(create=False) as book:
        if book.path is not None and file.exists() and file.samefile(book.path):
            raise click.UsageError(f"{file} is the book itself.")
        file.parent.mkdir(parents=True, exist_ok=True)
        book.backup(file)
    click.echo(f"Copied the book to {file}.")


@click.command()
@click.option("--replace", is_flag=True, help="Also where a book with anything in it stands.")
@click.argument("file", type=FILE)
@pass_house
def restore(house: House, replace: bool, file: Path) -> None:
    """Put a backup in the book's place."""
    from bot.book.errors import BookError
    from bot.book.store import restore as put_back
    from bot.serve.hold import is_held

    where = house.settings.book
    if "://" in where:
        raise click.UsageError("Only a book in a file can be restored; use the database's tools.")
    try:
        if is_held(Path(where)):
            raise BookError('"rackside serve" is using the book. Stop it, then restore.')
        put_back(file, Path(where), replace)
    except BookError as refused:
        click.echo(f"rackside: {refused}", err=True)
        sys.exit(1)
    click.echo(f"The book at {where} is now the one from {file}.")
