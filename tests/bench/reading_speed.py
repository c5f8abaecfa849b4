"""How long reading takes on books of several sizes, beside two libraries on the same lines.

dateparser.parse and a hassil recogniser run on the same sentences in the same process; the share of
damaged sentences that each makes sense of stands beside the times, since speed alone favours
whoever understands least. It prints; it neither passes nor fails.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from bot.language.reader import read
from bot.language.view import AnimalSeen, BoxSeen, EggSeen, PairingSeen, View
from tests.bench.reading_accuracy import Sentence, measured
from tests.bench.reading_damage import DAMAGES, damaged
from tests.language.cases_of import HERE, MOMENT, ZONE, own_cases
from tests.language.support import view_of

SIZES = ((20, 200), (200, 2_000), (2_000, 20_000), (20_000, 200_000))
LIBRARY_ROUNDS = 60  # sentences given to the slower libraries

TEMPLATES = """
language: en
intents:
  Laid:
    data:
      - sentences: ["{tag} laid {count} [eggs] [in] {slot}", "{tag} laid {count} [eggs]"]
  Weighed:
    data:
      - sentences: ["{tag} {grams}[ ]g", "{tag} weighs {grams} [grams]"]
  Shed:
    data:
      - sentences: ["{tag} [has] shed"]
  Paired:
    data:
      - sentences: ["[put] {tag} in with {tag}", "pulled {tag}"]
  Hatched:
    data:
      - sentences: ["{slot} [has] (hatched|pipped)", "{slot} [is] (fertile|infertile|mouldy)"]
  Fed:
    data:
      - sentences: ["fed {tag} {count} (crickets|dubia|mealworms) [each] [dusted]"]
lists:
  tag: {wildcard: true}
  slot: {wildcard: true}
  grams: {wildcard: true}
  count: {range: {from: 1, to: 100}}
"""


def grown(animals: int, eggs: int) -> View:
    """A book of that many animals and eggs, with names, places, boxes and open pairings."""
    view = View(ZoneInfo("Europe/Lisbon"))
    for n in range(animals):
        letter, sex = (("P", "female"), ("M", "male"), ("Y", "unknown"))[n % 3]
        tag = f"{letter}{n // 3 + 1}"
        place = f"rack A tub {n}"
        view.animals[tag] = AnimalSeen(tag, sex, "picta", f"name{n}", place)
        view.names[f"name{n}"] = (tag,)
        view.places[place.casefold()] = place
    letters = [
        a + b for a in ["", *"ABCDEFGHIJKLMNOPQRSTUVWXYZ"] for b in "KLNABCDEFGHIJOQRSTUVWXZ"
    ]
    for box in letters[: max(1, eggs // 400)]:
        view.boxes[box] = BoxSeen(box, 20, 40, "1")
        for slot in range(1, 401):
            view.eggs[f"{box}{slot}"] = EggSeen(f"{box}{slot}")
    view.pairings = tuple(
        PairingSeen(f"M{n}", f"P{n}", date(2026, 1, 1)) for n in range(1, animals // 6)
    )
    return view


def timed(act: Callable[[str], object], texts: Sequence[str]) -> list[float]:
    """Milliseconds for each text, after one round that warms up."""
    for text in texts[:40]:
        act(text)
    out = []
    for text in texts:
        start = time.perf_counter()
        act(text)
        out.append((time.perf_counter() - start) * 1000)
    return sorted(out)


def _p(times: Sequence[float], share: float) -> float:
    return times[min(len(times) - 1, int(len(times) * share))]


def _dateparser() -> Callable[[str], object]:
    import dateparser

    return lambda text: dateparser.parse(text, languages=["en"])


def _hassil() -> Callable[[str], object]:
    from hassil import Intents, recognize
    from hassil.util import normalize_whitespace

    intents = Intents.from_dict(_yaml(TEMPLATES))
    return lambda text: recognize(normalize_whitespace(text), intents)


def _yaml(text: str) -> dict[str, object]:
    import yaml

    loaded: dict[str, object] = yaml.safe_load(text)
    return loaded


def main() -> None:
    """The times by size of book, the ratios, and what each still reads when damaged."""
    texts = [case.text for case in own_cases()]
    moment = datetime(2026, 4, 16, 19, 15, tzinfo=UTC)
    base = 0.0
    print(f"reading {len(texts)} sentences")
    for animals, eggs in SIZES:
        view = grown(animals, eggs)
        times = timed(lambda text, v=view: read(text, moment, v), texts * 2)  # type: ignore[misc]
        base = statistics.median(times) if (animals, eggs) == (2_000, 20_000) else base
        print(
            f"  {animals:>6} animals {eggs:>7} eggs   p50 {_p(times, 0.5):6.2f} ms   "
            f"p99 {_p(times, 0.99):6.2f} ms"
        )
    print("beside others, on the same sentences (ratio to our p50 at 2,000 animals)")
    some = texts[:: max(1, len(texts) // LIBRARY_ROUNDS)]
    others = {"dateparser.parse": _dateparser(), "hassil recogniser": _hassil()}
    for name, act in others.items():
        times = timed(act, some)
        print(
            f"  {name:<18} p50 {_p(times, 0.5):6.2f} ms   {_p(times, 0.5) / base:5.1f} times ours"
        )
    _understood(others["hassil recogniser"], others["dateparser.parse"], some)


def _understood(
    hassil: Callable[[str], object], dates: Callable[[str], object], texts: Sequence[str]
) -> None:
    """What share of damaged sentences each reads: ours exactly, the others at all."""
    book = view_of(HERE / "book", ZONE)
    cases = [Sentence(case.text, MOMENT, case.accept) for case in own_cases()]
    print(f"  {'damage':<16}{'ours, exact':>12}{'hassil, any':>13}{'dateparser, any':>17}")
    for name in DAMAGES:
        count, exact, _ = measured(cases, book, name)
        spoilt = [damaged(text, name) for text in texts]
        any_of = [sum(bool(act(text)) for text in spoilt) / len(spoilt) for act in (hassil, dates)]
        print(f"  {name:<16}{exact / count:>12.1%}{any_of[0]:>13.1%}{any_of[1]:>17.1%}")


if __name__ == "__main__":
    main()
