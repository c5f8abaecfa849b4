"""`rackside forecast` and `rackside inbreeding`: ask the scheduler directly, without a book."""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from bot.commands.house import FILE


@click.group(invoke_without_command=True)
@click.option("--lines", is_flag=True, help="Read one JSON object a line; answer each.")
@click.pass_context
def forecast(ctx: click.Context, lines: bool) -> None:
    """Forecast when eggs hatch, or when a female lays next."""
    if ctx.invoked_subcommand is not None:
        return
    if not lines:
        click.echo(ctx.get_help())
        return
    _lines()


def _lines() -> None:
    from bot import forecast as forecasts

    for answer in forecasts.lines(line.decode("utf-8", "replace") for line in sys.stdin.buffer):
        click.echo(answer)


def _answer(work: Callable[..., dict[str, Any]], *args: Any) -> None:
    from scheduler.species import SpeciesError

    try:
        click.echo(json.dumps(work(*args), ensure_ascii=False))
    except (SpeciesError, ValueError) as error:
        raise click.UsageError(f"{error}") from None
    except OSError as error:
        raise click.UsageError(f"{error.filename}: {error.strerror}") from None


@forecast.command()
@click.option("--species", help="A species key, or a species file.")
@click.option("--laid", help="The day the egg was laid.")
@click.option("--celsius", type=float, help="A constant temperature.")
@click.option("--readings", help="A CSV file of readings: at,celsius.")
@click.option("--own", help="A CSV file of the household's hatches: laid,hatched,celsius.")
@click.option("--lines", is_flag=True, help="Read one JSON object a line; answer each.")
def hatch(
    species: str | None,
    laid: str | None,
    celsius: float | None,
    readings: str | None,
    own: str | None,
    lines: bool,
) -> None:
    """Forecast when an egg hatches: one JSON object."""
    if lines:
        return _lines()
    from bot import forecast as forecasts

    _need({"--species": species, "--laid": laid})
    if (celsius is None) == (readings is None):
        raise click.UsageError("Give --celsius or --readings, one of them.")
    return _answer(forecasts.hatch, species, laid, celsius, readings, own)


@forecast.command()
@click.option("--species", help="A species key, or a species file.")
@click.option("--laid", help="Her laying days, with commas between.")
@click.option("--on", help="The day it is asked.")
@click.option("--own", help="A CSV file of the other females: female,laid.")
@click.option("--lines", is_flag=True, help="Read one JSON object a line; answer each.")
def clutch(
    species: str | None, laid: str | None, on: str | None, own: str | None, lines: bool
) -> None:
    """Forecast when a female lays next: one JSON object, days counted from her last laying."""
    if lines:
        return _lines()
    from bot import forecast as forecasts

    _need({"--species": species, "--laid": laid, "--on": on})
    return _answer(forecasts.clutch, species, laid, on, own)


def _need(options: dict[str, str | None]) -> None:
    missing = [name for name, value in options.items() if not value]
    if missing:
        raise click.UsageError(
            f"{' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} missing."
        )


@click.command()
@click.option("--pedigree", type=FILE, required=True, help="A CSV file: tag,sire,dam.")
@click.option("--sire", required=True, help="The male's tag.")
@click.option("--dam", required=True, help="The female's tag.")
def inbreeding(pedigree: Path, sire: str, dam: str) -> None:
    """Work out how inbred the young of a pair would be: {"inbreeding": 0.125}."""
    from scheduler import kinship

    known = _pedigree(pedigree)
    parents = {parent for pair in known.values() for parent in pair}
    for tag in (sire, dam):
        if tag not in known and tag not in parents:
            raise click.UsageError(f"{pedigree.name} has no {tag}.")
    try:
        found = kinship.inbreeding(known, sire, dam)
    except kinship.PedigreeLoop as loop:
        raise click.UsageError(str(loop)) from None
    click.echo(json.dumps({"inbreeding": round(found, 10)}))


def _pedigree(file: Path) -> dict[str, tuple[str | None, str | None]]:
    """Tag -> (sire, dam). Raises UsageError with the file and line of what is wrong."""
    known: dict[str, tuple[str | None, str | None]] = {}
    try:
        with file.open(encoding="utf-8-sig", newline="") as text:
            reader = csv.DictReader(text)
            if not {"tag", "sire", "dam"} <= set(reader.fieldnames or ()):
                raise click.UsageError(f"{file.name} line 1: the columns must be tag,sire,dam.")
            for row in reader:
                cells = [(row[name] or "").strip() for name in ("tag", "sire", "dam")]
                if not cells[0] and any(cells):
                    raise click.UsageError(f"{file.name} line {reader.line_num}: tag is blank.")
                if cells[0] in known:
                    raise click.UsageError(
                        f"{file.name} line {reader.line_num}: {cells[0]} is there already."
                    )
                if cells[0]:
                    known[cells[0]] = (cells[1] or None, cells[2] or None)
    except UnicodeDecodeError:
        raise click.UsageError(f"{file.name} is not UTF-8.") from None
    except OSError as error:
        raise click.UsageError(f"{file}: {error.strerror}.") from None
    return known
