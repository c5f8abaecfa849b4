"""One sitting of `rackside chat`: opens the book, puts the console together, begins and ends."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from bot.channels import first
from bot.channels.console import ENDS, Conversation
from bot.commands.house import House, household_here, owner_here
from bot.settings import data_folder

if TYPE_CHECKING:
    from bot.book.store import Book
    from bot.language.view import View


def piped(house: House) -> None:
    """Take lines from a file or another program: no questions, plain replies."""
    with _open(house, house.settings.book) as book, _conversation(house, book) as talk:
        talk.begin()
        talk.take(line.decode("utf-8", "replace") for line in sys.stdin.buffer)


def at_terminal(house: House) -> None:
    """Sit down at a terminal: the demo colony while there is one, then the keeper's own book."""
    where = house.settings.book
    demo = None if "://" in where else Path(where).with_name("demo.sqlite")
    with _open(house, where) as book:
        if _is_new(book):
            wishes = first.ask(input, _write, house.settings.zone.key, may_demo=demo is not None)
            _begin(house, book, wishes)
            if wishes.demo and demo is not None:
                _make_demo(house, demo, wishes)
        else:
            _write('Type "help" for what to say, "quit" to end.')
        if demo is not None and demo.exists() and not _in_demo(house, demo):
            return
        if _is_empty(book):
            _write(first.WHAT_TO_TYPE)
        _talk(house, book, "> ", ENDS)


def _in_demo(house: House, demo: Path) -> bool:
    """Talk in the demo colony; whether it was thrown away, and the own book is to be opened."""
    with _open(house, str(demo)) as book:
        _write(first.WHAT_TO_TYPE)
        _write(first.DEMO_HERE)
        end = _talk(house, book, "demo> ", (*ENDS, *first.FORGET))
    if end not in first.FORGET:
        return False
    for rest in ("", "-wal", "-shm"):
        demo.with_name(demo.name + rest).unlink(missing_ok=True)
    _write(first.DEMO_GONE)
    return True


def _talk(house: House, book: Book, mark: str, ends: tuple[str, ...]) -> str:
    """Converse until it ends, while the clock tells what falls due; the line that ended it."""
    from bot.channels.prompt import converse, session
    from scheduler.clock import Clock

    with _conversation(house, book) as talk:
        talk.begin()
        line = session(data_folder() / "history", lambda: _view(book))
        with Clock(talk.look):
            return converse(line, mark, talk.say, ends)


@contextmanager
def _open(house: House, where: str) -> Iterator[Book]:
    from bot.book.store import Book

    book = Book.open(where, create=True)
    try:
        yield book
    finally:
        book.close()


@contextmanager
def _conversation(house: House, book: Book) -> Iterator[Conversation]:
    from bot.service import Rackside

    with book.writing() as conn:
        owner_here(conn, house.settings.zone.key, house.now())
    beside = book.path.parent if book.path else data_folder()
    rackside = Rackside(book, house.now, beside / "export")
    rackside.url = house.settings.url
    yield Conversation(rackside, house.now, _write)


def _begin(house: House, book: Book, wishes: first.Wishes) -> int:
    """Begin the household as its keeper wished; its number."""
    from bot.book import households

    with book.writing() as conn:
        owner = owner_here(conn, wishes.zone, house.now())
        households.update_member(
            conn, owner.id, temperature=wishes.temperature, weight=wishes.weight
        )
        return owner.household


def _make_demo(house: House, demo: Path, wishes: first.Wishes) -> None:
    from bot.book.pages import Pages
    from bot.channels.demo import bring_in_demo

    with _open(house, str(demo)) as book:
        number = _begin(house, book, wishes)
        with book.writing() as conn:
            bring_in_demo(Pages(conn, number), now=house.now())


def _is_new(book: Book) -> bool:
    with book.reading() as conn:
        return household_here(conn) is None


def _is_empty(book: Book) -> bool:
    view = _view(book)
    return not view.animals and not view.boxes


def _view(book: Book) -> View:
    from bot.book.pages import Pages

    with book.reading() as conn:
        number = household_here(conn)
        assert number is not None, "a household is begun before anybody talks"
        return Pages(conn, number).view()


def _write(text: str) -> None:
    # Not click.echo: the input line takes the place of sys.stdout, so as not to be broken up.
    print(text, flush=True)
