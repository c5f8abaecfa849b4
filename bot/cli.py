"""The `rackside` command: puts the commands together and turns mistakes into words and statuses.

Exit status: 0 done; 1 done, and the answer is no; 2 wrong usage; 3 a setting is wrong; 4 the book
does not open.
"""

from __future__ import annotations

import io
import sys

import click

from bot.commands import asking, doctor, files, serving, talking, thinking
from bot.commands.house import House
from bot.settings import SettingsError

WRONG_USAGE, WRONG_SETTING, NO_BOOK = 2, 3, 4


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option("--book", metavar="PATH", help="The book: a path or a database URL.")
@click.version_option(package_name="rackside", message="%(prog)s %(version)s")
@click.pass_context
def rackside(ctx: click.Context, book: str | None) -> None:
    """The assistant a hobby gecko breeder texts: it keeps the book, answers, and reminds.

    Start with "rackside chat" and type what happened, such as: F3 laid 2, box B slot 4.
    """
    ctx.obj = House(book)


for command in (
    talking.chat, serving.serve, asking.read, asking.due, files.import_, files.export,
    talking.play, files.check, files.backup, files.restore, thinking.forecast,
    thinking.inbreeding, doctor.doctor,
):  # fmt: skip
    rackside.add_command(command)


def main(args: list[str] | None = None) -> None:
    """Run a command; every mistake is one sentence on stderr and an exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a plain terminal is no reason to fall over
    try:
        rackside.main(args, prog_name="rackside", standalone_mode=False)
    except click.exceptions.Exit as end:
        sys.exit(end.exit_code)
    except click.Abort:
        sys.exit(0)
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message(), err=True)
        sys.exit(WRONG_USAGE)
    except click.UsageError as error:
        _say(_usage(error))
        sys.exit(WRONG_USAGE)
    except click.ClickException as error:
        _say(error.format_message())
        sys.exit(1)
    except SettingsError as error:
        for line in error.lines:
            _say(line)
        sys.exit(WRONG_SETTING)
    except BrokenPipeError:
        _hush()
    except Exception as error:
        _of_the_book(error)


def _usage(error: click.UsageError) -> str:
    help_for = error.ctx.command_path if error.ctx else "rackside"
    return f'{error.format_message()} See "{help_for} --help".'


def _of_the_book(error: Exception) -> None:
    """Say what is wrong with the book or a file; anything else is ours, and goes on up."""
    from bot.book.errors import BookError

    if isinstance(error, BookError):
        _say(str(error))
        sys.exit(NO_BOOK)
    if type(error).__module__.startswith("sqlalchemy"):
        _say(f"the book can't be used just now ({str(error).splitlines()[0]}).")
        sys.exit(NO_BOOK)
    if isinstance(error, OSError):
        where = f"{error.filename}: " if error.filename else ""
        _say(f"{where}{error.strerror or error}.")
        sys.exit(1)
    raise error


def _hush() -> None:
    """Whoever read our output has gone (`| head`): end without a word."""
    import os

    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _say(line: str) -> None:
    click.echo(f"rackside: {line}", err=True)


if __name__ == "__main__":
    main()
