"""The first evening at the console: what is asked, what is said, and the demo colony."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bot.settings import zone

WHAT_TO_TYPE = """\
Type what happened, in your own words:
  new female F1 picta, hatched 3 Feb       new box B, 3 by 4, incubator 1
  M1 in with F1                            F1 laid 2, box B slot 4
  what's due today?    F1?    undo (takes the last message back)    help    quit"""

DEMO_HERE = (
    'This is the demo colony. Try anything; "forget the demo" throws it away '
    "and opens your own book."
)
DEMO_GONE = "The demo is thrown away. This is your own book."
FORGET = ("forget the demo", "forget demo")


@dataclass(frozen=True)
class Wishes:
    """What a new keeper chose. `temperature` is "C" or "F", `weight` "g" or "oz"."""

    zone: str
    temperature: str
    weight: str
    demo: bool


def ask(
    question: Callable[[str], str], write: Callable[[str], None], guess: str, *, may_demo: bool
) -> Wishes:
    """Ask a new keeper for time zone, units and the demo; Enter takes what is shown."""
    write("Welcome to Rackside. A few questions first; Enter takes what is in brackets.")
    where = _zone(question, write, guess)
    temperature = _one_of(question, write, "Temperatures in C or F", ("C", "F"))
    weight = _one_of(question, write, "Weights in g or oz", ("g", "oz"))
    demo = may_demo and (
        _one_of(
            question, write, "Look around in a small demo colony first, yes or no", ("no", "yes")
        )
        == "yes"
    )
    return Wishes(where, temperature, weight, demo)


def _zone(question: Callable[[str], str], write: Callable[[str], None], guess: str) -> str:
    while True:
        said = question(f"Time zone [{guess}]: ").strip() or guess
        try:
            return zone(said).key
        except ValueError:
            write(f'There is no time zone "{said}". Write it as Europe/Lisbon or America/Denver.')


def _one_of(
    question: Callable[[str], str], write: Callable[[str], None], what: str, words: tuple[str, ...]
) -> str:
    """One of the words, the first where nothing is said; a beginning of one is enough."""
    while True:
        said = question(f"{what} [{words[0]}]: ").strip().casefold()
        for word in words:
            if word.casefold().startswith(said):
                return word
        write(f"Please type {' or '.join(words)}.")
