"""How long replies are by SMS: every reply to the demo conversations and the colonies' messages.

    python -m tests.bench.sms_segments

A message of a colony is answered over that colony's book as the ones before it left it; so is a
fortnight of reminders. Lengths are those of what is sent first, before anybody replies MORE.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from bot.book import households
from bot.book.csv_in import bring_in
from bot.book.pages import Pages
from bot.book.store import Book
from bot.channels.chatfile import parse
from bot.channels.script import FileClock, Player
from bot.channels.segments import length
from bot.channels.sms_words import first_page
from bot.commands.talking import PlayedHousehold
from bot.messages import Message, Outgoing, Reply
from bot.service import Rackside

ROOT = Path(__file__).parents[2]
COLONIES = ROOT / "tests" / "language" / "cases"
FORTNIGHT = 14


@dataclass(frozen=True)
class Sized:
    """A reply as it is sent: its text, its segments, and whether there is more of it."""

    text: str
    parts: int
    gsm: bool
    more: bool


class Kept(Rackside):
    """The assistant, keeping all that it says."""

    said: list[Reply]

    def handle(self, message: Message, name: str = "") -> list[Outgoing]:
        """As ever."""
        return self._kept(super().handle(message, name))

    def tick(self) -> list[Outgoing]:
        """As ever."""
        return self._kept(super().tick())

    def _kept(self, out: list[Outgoing]) -> list[Outgoing]:
        self.said = [*getattr(self, "said", []), *(each.reply for each in out)]
        return out


def demo_replies() -> Iterator[Reply]:
    """Everything said in the demo conversations."""
    for file in sorted((ROOT / "demo_conversations").glob("*.chat")):
        book = Book.open(":memory:")
        clock = FileClock(datetime(2026, 3, 1, 9, 0))
        rackside = Kept(book, clock)
        player = Player(rackside, PlayedHousehold(book), clock, lambda line: None)
        player.play(parse(file.read_text(encoding="utf-8")))
        yield from rackside.said
        book.close()


def colony_replies(folder: Path) -> Iterator[Reply]:
    """The reply to each message of a colony, and the reminders of the fortnight after."""
    cases = [json.loads(line) for line in (folder / "messages.jsonl").read_text().splitlines()]
    clock = FileClock(datetime.fromisoformat(cases[0]["at"]))
    book = Book.open(":memory:")
    with book.writing() as conn:
        mina = households.begin(conn, zone="Europe/Lisbon", owner="Mina", now=clock())
        households.add_address(conn, mina, "sms", "+351900000001")
        bring_in(Pages(conn, mina.household), folder / "book", now=clock())
    rackside = Kept(book, clock)
    for number, case in enumerate(cases):
        at = max(clock(), datetime.fromisoformat(case["at"]))
        clock.moment = at + timedelta(seconds=1)
        rackside.handle(Message("sms", str(number), "+351900000001", case["text"], at))
    for _ in range(FORTNIGHT * 24):
        clock.moment += timedelta(hours=1)
        rackside.tick()
    yield from rackside.said
    book.close()


def sized(replies: Iterator[Reply]) -> list[Sized]:
    """Each as it goes out."""
    found = []
    for reply in replies:
        text, left = first_page(reply)
        size = length(text)
        found.append(Sized(text, size.parts, size.gsm, bool(left)))
    return found


def main() -> None:
    """Print the shares."""
    print(f"{'replies':24}{'number':>8}{'one':>8}{'two':>8}{'MORE':>8}{'other':>8}")
    total: list[Sized] = []
    for name, replies in sources():
        found = sized(replies)
        total += found
        _row(name, found)
    _row("all", total)


def sources() -> Iterator[tuple[str, Iterator[Reply]]]:
    """The demo conversations, and each colony."""
    yield "demo conversations", demo_replies()
    for folder in sorted(each for each in COLONIES.iterdir() if (each / "book").is_dir()):
        yield f"colony {folder.name}", colony_replies(folder)


def _row(name: str, found: list[Sized]) -> None:
    count = Counter(
        "other" if not each.gsm or each.parts > 2 else "more" if each.more else each.parts
        for each in found
    )
    shares = "".join(f"{100 * count[kind] / len(found):7.1f}%" for kind in (1, 2, "more", "other"))
    print(f"{name:24}{len(found):8}{shares}")


if __name__ == "__main__":
    main()
