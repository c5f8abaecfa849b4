"""`rackside read` and `rackside due`: what a message means, and what is due. Nothing is written."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import click

from bot.commands.house import DAY, MOMENT, House, pass_house

if TYPE_CHECKING:
    from bot.language.reading import Reading
    from bot.language.view import View
    from scheduler.colony import Colony, Due


@click.command()
@click.option("--json", "as_json", is_flag=True, help="One JSON object on one line.")
@click.option("--lines", is_flag=True, help="Read JSON lines with text and at; answer each.")
@click.option("--explain", is_flag=True, help="Say why it was read so.")
@click.option("--at", type=MOMENT, help="When the message arrived (ISO); now if left out.")
@click.argument("text", nargs=-1)
@pass_house
def read(
    house: House, as_json: bool, lines: bool, explain: bool, at: datetime | None, text: tuple[str]
) -> None:
    """Show what a message would be understood as, without writing it.

    \b
    rackside read "F3 laid 2, box B slot 4"
    rackside read --lines < messages.jsonl
    """
    if bool(text) == lines:
        raise click.UsageError("Give a text, or --lines and JSON lines on standard input.")
    view = _view(house)
    if lines:
        for answer in _answers(sys.stdin.buffer, view, at or house.now()):
            click.echo(answer)
        return
    from bot.language.reading import reading_to_json

    reading = _read(" ".join(text), _in_zone(at or house.now(), view.zone), view)
    click.echo(reading_to_json(reading) if as_json else _plainly(reading))
    if explain:
        for reason in reading.reasons:
            click.echo(reason, err=as_json)


def _view(house: House) -> View:
    """The household's view; an empty one where there is no book, which is not made for this."""
    from bot.language.view import View

    with house.looking() as pages:
        if pages is not None:
            return pages.view()
    from scheduler import species

    names = {key: species.load(key).name for key in species.keys()}  # noqa: SIM118
    return View(zone=house.settings.zone, species=names)


def _read(text: str, at: datetime, view: View) -> Reading:
    from bot.language.reader import read as read_message
    from bot.language.reading import NO_TALK

    # What a terminal passed on that is no UTF-8 would not print either.
    return read_message(text.encode("utf-8", "replace").decode(), at, view, NO_TALK)


def _in_zone(at: datetime, zone: ZoneInfo) -> datetime:
    return at if at.tzinfo else at.replace(tzinfo=zone)


def _answers(lines: Iterable[bytes], view: View, now: datetime) -> Iterator[str]:
    from bot.language.reading import reading_to_json

    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            message = json.loads(line)
            text = str(message["text"])
            at = datetime.fromisoformat(message["at"]) if message.get("at") else now
        except (ValueError, KeyError, TypeError, AttributeError):
            raise click.UsageError(
                f"line {number} is no JSON object with text, and at as an ISO date-time."
            ) from None
        yield reading_to_json(_read(text, _in_zone(at, view.zone), view))


def _plainly(reading: Reading) -> str:
    from bot.language.reading import reading_to_json

    plain: dict[str, Any] = json.loads(reading_to_json(reading))
    lines = [plain["outcome"]]
    lines += [f"  {_fields(record)}" for record in plain.get("records", ())]
    if "request" in plain:
        lines.append(f"  asked: {_fields(plain['request'], 'ask')}")
    if "ask" in plain:
        choices = ", ".join(plain["ask"]["choices"])
        lines.append(f"  needs {plain['ask']['about']}" + (f": {choices}" if choices else ""))
        if "waiting" in plain["ask"]:
            lines.append(f"  waiting: {_fields(plain['ask']['waiting'])}")
    return "\n".join(lines)


def _fields(plain: dict[str, Any], first: str = "kind") -> str:
    rest = {name: value for name, value in plain.items() if name != first}
    said = (f"{k} {', '.join(map(str, v)) if isinstance(v, list) else v}" for k, v in rest.items())
    return f"{plain[first]}  " + "; ".join(said) if rest else str(plain[first])


def _asked_at(
    at: datetime | None, start: datetime | None, now: datetime, zone: ZoneInfo
) -> datetime:
    """The moment asked for. A span of the past is told as it was to be seen on its first day."""
    if at is not None:
        return _in_zone(at, zone)
    first = start.replace(tzinfo=zone) if start else now
    return min(first, now)


@click.command()
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
@click.option("--from", "start", type=DAY, help="First day; today if left out.")
@click.option("--to", "end", type=DAY, help="Last day; six days after the first if left out.")
@click.option(
    "--at", type=MOMENT, help="The moment it is asked (ISO); now, or a first day that is past."
)
@pass_house
def due(
    house: House,
    as_json: bool,
    start: datetime | None,
    end: datetime | None,
    at: datetime | None,
) -> None:
    """List what is due in a span of days, each with its reason."""
    with house.looking() as pages:
        if pages is None:
            return
        colony = pages.colony()
    show: Callable[[Due], str] = _due_json if as_json else _due_plain
    for each in _due(colony, _asked_at(at, start, house.now(), colony.zone), start, end):
        click.echo(show(each))


def _due(
    colony: Colony, now: datetime, start: datetime | None, end: datetime | None
) -> tuple[Due, ...]:
    from scheduler import reminders

    first: date = start.date() if start else now.astimezone(colony.zone).date()
    last: date = end.date() if end else first + timedelta(days=6)
    if last < first:
        raise click.UsageError("--to is before --from.")
    return reminders.due(colony, first, last, now)


def _due_json(due: Due) -> str:
    return json.dumps(
        {
            "kind": due.kind,
            "about": list(due.about),
            "due": due.due.isoformat(),
            "until": due.until.isoformat() if due.until else None,
            "text": due.text,
            "why": due.why,
        },
        ensure_ascii=False,
    )


def _due_plain(due: Due) -> str:
    return f"{due.due:%a} {due.due.day} {due.due:%b %H:%M}  {due.text}\n    {due.why}"
