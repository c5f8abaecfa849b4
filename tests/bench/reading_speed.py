"""How long one message takes to read, as the book grows, beside two peers in the same run.

    python -m tests.bench.reading_speed

The peers: one `dateparser.parse` of a date, and `hassil`, a strict template recogniser, on the
same sentences with templates for laying, weighing, pairing, shedding and moving. Speed alone
favours whoever understands least, so beside it stands the share of damaged sentences still read.
Machines are noisy: medians, and a run says only what this machine did then.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from statistics import median
from zoneinfo import ZoneInfo

from bot.language.reader import read
from bot.language.view import AnimalSeen, BoxSeen, EggSeen, View
from tests.bench.damage import KINDS

AT = datetime(2026, 3, 10, 19, 30, tzinfo=UTC)
SENTENCES = (
    "F3 laid 2, B4 and B5", "F7 21.4g", "M2 in with F3", "F5 shed", "moved F3 to tub 12",
    "F9 laid 1 in B6", "F11 19.8 g", "M4 in with F7", "F13 shed", "moved F9 to tub 7",
)  # fmt: skip
KIND_OF = ("laid", "weighed", "paired", "shed", "placed") * 2
TEMPLATES = {
    "laid": "{tag} laid {n}[[,] [in] {slot} [and {slot}]]",
    "weighed": "{tag} {n}[ ]g",
    "paired": "{tag} in with {tag}",
    "shed": "{tag} shed",
    "placed": "moved {tag} to tub {n}",
}


def book_of(animals: int, eggs: int) -> View:
    """A view of a made-up book of that size; box B is free."""
    view = View(zone=ZoneInfo("Europe/Lisbon"), species={"picta": "Paroedura picta"})
    for n in range(1, animals + 1):
        tag = f"{'F' if n % 2 else 'M'}{n}"
        view.animals[tag] = AnimalSeen(tag, "female" if n % 2 else "male", "picta")
        view.names[f"name{n}"] = (tag,)
        view.places[f"tub {n}"] = f"tub {n}"
    view.boxes["B"] = BoxSeen("B", 10, 10, "1")
    for n in range(eggs):
        box = f"X{chr(65 + n // 1000 % 26)}"
        view.boxes.setdefault(box, BoxSeen(box, 25, 40, "1"))
        slot = f"{box}{n % 1000 + 1}"
        view.eggs[slot] = EggSeen(slot, "F1", None, date(2026, 1, 1))
    return view


def times(work: Callable[[str], object], texts: Sequence[str], rounds: int = 30) -> list[float]:
    """Milliseconds for each call, sorted, after one round of warming up."""
    for text in texts:
        work(text)
    found = []
    for _ in range(rounds):
        for text in texts:
            begun = time.perf_counter()
            work(text)
            found.append((time.perf_counter() - begun) * 1000)
    return sorted(found)


def strict_recogniser() -> Callable[[str], str | None]:
    """`hassil` with our few templates: gives the kind, or None."""
    from hassil.intents import Intents, TextSlotList
    from hassil.recognize import recognize

    intents = Intents.from_dict(
        {
            "language": "en",
            "intents": {
                kind: {"data": [{"sentences": [text]}]} for kind, text in TEMPLATES.items()
            },
        }
    )
    lists = {
        "tag": TextSlotList.from_strings([f"{s}{n}" for s in "FM" for n in range(1, 30)]),
        "slot": TextSlotList.from_strings([f"B{n}" for n in range(1, 20)]),
        "n": TextSlotList.from_strings([f"{n}" for n in range(1, 30)] + ["21.4", "19.8"]),
    }

    def strict(text: str) -> str | None:
        found = recognize(text, intents, slot_lists=lists)
        return found.intent.name if found else None

    return strict


def ours(view: View) -> Callable[[str], str | None]:
    """Our reader: gives the kind of the one record, or None."""

    def kind(text: str) -> str | None:
        records = read(text, AT, view).records
        return records[0].kind if len(records) == 1 else None

    return kind


def share_read(reader: Callable[[str], str | None]) -> float:
    """The share of damaged sentences whose kind is still recognised."""
    right = total = 0
    for damage, change in KINDS.items():
        for n, text in enumerate(SENTENCES):
            total += 1
            right += reader(change(text, random.Random(f"{damage} {n}"))) == KIND_OF[n]
    return right / total


def main() -> None:
    """Print the tables."""
    import dateparser

    print(f"{'book':<28}{'p50 ms':>9}{'p99 ms':>9}")
    for animals, eggs in ((20, 20), (200, 2_000), (2_000, 20_000)):
        taken = times(ours(book_of(animals, eggs)), SENTENCES)
        name = f"{animals} animals, {eggs} eggs"
        print(f"{name:<28}{median(taken):>9.2f}{taken[int(len(taken) * 0.99)]:>9.2f}")
    view = book_of(2_000, 20_000)
    readers = {"this reader": ours(view), "hassil, 5 templates": strict_recogniser()}
    own = median(times(readers["this reader"], SENTENCES))
    parse = median(times(lambda _: dateparser.parse("last tuesday at 7pm"), SENTENCES, 3))
    print(f"\n{'peer':<28}{'p50 ms':>9}{'ratio':>9}{'damaged, still read':>22}")
    for name, reader in readers.items():
        taken = median(times(reader, SENTENCES, 10))
        print(f"{name:<28}{taken:>9.2f}{taken / own:>9.1f}{share_read(reader):>22.0%}")
    print(f"{'one dateparser.parse':<28}{parse:>9.2f}{parse / own:>9.1f}")


if __name__ == "__main__":
    main()
