"""What a short message says to one reminder, by the reminder's kind: the record or the request."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bot.language.completing import completed
from bot.language.dates import when_of
from bot.language.drafts import Scene
from bot.language.numbers import celsius_of
from bot.language.reading import Ask, Outcome, Reading, Request, Told
from bot.language.shortly import Said
from bot.records import Record

Part = tuple[str, dict[str, object]]
"""A record in the making: its kind and fields."""
BAD_WAYS = ("infertile", "mould", "collapsed")  # what "gone bad" may mean
BY_THE_WAY = ("done", "yes", "okay", "all")  # said along with an answer
HEAVIEST, LIGHTEST = 500.0, 0.1  # grams; what else is no weight of a small gecko
COLDEST, HOTTEST = 10.0, 45.0  # Celsius, of an incubator
_NONE = ("none", "no", "nothing-yet")


@dataclass(frozen=True)
class Fit:
    """A reminder and the reading of a message as its answer."""

    told: Told
    reading: Reading

    @property
    def sole(self) -> Record | None:
        """The one record that it writes, if it writes one."""
        records = self.reading.records
        return records[0] if len(records) == 1 and self.reading.ask is None else None

    @property
    def says(self) -> str:
        """The same answer as a message that needs no reminder."""
        request, ask = self.reading.request, self.reading.ask
        if request is not None:
            whose = " and ".join(self.told.about) or str(request.get("task"))
            return f"{whose} not yet" if request.ask == "snooze" else f"{request.ask} {whose}"
        waiting = [ask.waiting] if ask is not None and ask.waiting is not None else []
        return all_in_words([*self.reading.records, *waiting])


def answered(said: Said, told: Told, scene: Scene) -> Fit | None:
    """The message as the answer to a reminder of its kind; None where it is none."""
    reader = _READERS.get(told.kind)
    if reader is None:
        return None
    reading = reader(said, told, scene)
    return None if reading is None else Fit(told, reading)


def task_of(told: Told) -> str:
    """The words that name a reminder among others, as a request's `task`."""
    if not told.about:
        return " ".join(word.strip(".,:") for word in told.text.split())
    return f"{told.kind} {' '.join(told.about)}"


def all_in_words(records: Sequence[Record]) -> str:
    """Records as one message that would write them."""
    return ", ".join(filter(None, (in_words(each) for each in records)))


def in_words(record: Record) -> str:
    """A record as a keeper would log it in full."""
    pattern = _SAYS.get(record.kind, "")
    fields = {
        name: " and ".join(map(str, value)) if isinstance(value, tuple) else value
        for name, value in record.fields.items()
    }
    text = pattern.format_map(_Gaps(fields)).strip()
    if record.kind == "laid" and record.get("slots"):
        text += f", {fields['slots']}"
    return text


class _Gaps(dict[str, object]):
    def __missing__(self, key: str) -> str:
        return ""


_SAYS = {
    "parted": "pulled {male} from {female}",
    "paired": "{male} in with {female}",
    "seen": "{tag} looks {sign}",
    "searched": "searched {tag}, no eggs",
    "laid": "{dam} laid {eggs}",
    "checked": "{slots} {state}",
    "discarded": "tossed {slots}",
    "weighed": "{tag} {grams}g",
    "reading": "{place} {celsius}C",
    "watered": "added water to {place}",
    "pipped": "{slots} pipped",
    "hatched": "{slots} hatched",
    "sexed": "{tag} is {sex}",
}


# -- what all kinds share ----------------------------------------------------------------------


def _made(said: Said, told: Told, scene: Scene, *parts: Part) -> Reading | None:
    """Records of these kinds and fields on the day said; a question where the book objects."""
    when = when_of(said.days, scene.now)
    if when.future or when.wrong:
        return None
    done: list[Record] = []
    for kind, fields in parts:
        given = {name: value for name, value in fields.items() if value not in (None, ())}
        record, ask = completed(Record(kind, when.on, when.at, given), scene)
        if ask is not None:
            return Reading(Outcome.ASK, tuple(done), ask=ask, reasons=(_why(told),))
        done.append(record)
    return Reading(Outcome.RECORDS, tuple(done), reasons=(_why(told),))


def _why(told: Told) -> str:
    return f"answers: {told.text}"


def _wants(
    said: Said, told: Told, scene: Scene, about: str, kind: str, *,
    choices: tuple[str, ...] = (), **fields: object,
) -> Reading:  # fmt: skip
    """The question for what an answer leaves open."""
    if about == "slots":
        choices = tuple(each for each in choices if each in scene.view.eggs)
    when = when_of(said.days, scene.now)
    waiting = Record(kind, when.on, when.at, fields)
    return Reading(
        Outcome.ASK, ask=Ask(about, choices, waiting, "ambiguous"), reasons=(_why(told),)
    )


def _closed(told: Told, ask: str = "done", fine: bool = False) -> Reading:
    """Nothing to write: the reminder is done (`fine`: nothing was called for), or skipped."""
    fields = {"task": task_of(told)} | ({"fine": "yes"} if fine else {})
    return Reading(Outcome.REQUEST, request=Request(ask, fields), reasons=(_why(told),))


def _whole(said: Said) -> list[int]:
    return [int(n.value) for n in said.numbers if n.what == "num" and "whole" in n.senses]


# -- pairings ----------------------------------------------------------------------------------


def _parted(said: Said, told: Told, scene: Scene) -> Reading | None:
    if said.numbers or not (said.has("out") and said.only("out", *BY_THE_WAY)):
        return None
    male, female = told.about
    return _made(said, told, scene, ("parted", {"male": male, "female": female}))


def _paired(said: Said, told: Told, scene: Scene) -> Reading | None:
    if said.has("skip") and said.only("skip", "no", "okay", "plan"):
        return _closed(told, "skip")
    if said.numbers or not (said.has("in") and said.only("in", *BY_THE_WAY)):
        return None
    male, female = told.about
    return _made(said, told, scene, ("paired", {"male": male, "female": female}))


def _gravid(said: Said, told: Told, scene: Scene) -> Reading | None:
    tag = told.about[0]
    signs = said.values("sign")
    shown = said.has("gravid") or (said.has("eggs") and said.has("visible"))
    told_so = ("gravid", "sign:gravid", "sign:slim", "eggs", "visible", "looked", "found")
    if not said.only(*told_so, *BY_THE_WAY, *(["no"] if signs == ["slim"] else [])):
        return None
    if said.numbers and not (shown and len(_whole(said)) == len(said.numbers) == 1):
        return None
    if shown and not signs:
        signs = ["gravid"]
    if len(signs) == 1:
        return _made(said, told, scene, ("seen", {"tag": tag, "sign": signs[0]}))
    if said.has("yes") and not signs and not said.numbers:
        return _wants(said, told, scene, "sign", "seen", choices=("gravid", "slim"), tag=tag)
    return None


# -- eggs --------------------------------------------------------------------------------------


_FINDING = (
    "found", "laid", "eggs", "searched", "looked", "put", "bad", "good", "better", "some",
    "state:infertile", "state:fertile", "toss", "in",
)  # fmt: skip


def _searched(said: Said, told: Told, scene: Scene) -> Reading | None:
    """ "none", "nothing, she's slim"; else what was found."""
    tag, signs = told.about[0], said.values("sign")
    looks = [f"sign:{sign}" for sign in signs]
    seen: list[Part] = [("seen", {"tag": tag, "sign": sign}) for sign in signs]
    denied = said.has("neg") and said.has("found", "eggs") and not said.has("searched", "laid")
    if not said.numbers and not said.slots and (said.has(*_NONE) or denied):
        if said.only(*_NONE, "neg", "found", "eggs", "searched", "looked", "done", "all", *looks):
            return _made(said, told, scene, ("searched", {"tag": tag, "found": 0}), *seen)
        return None
    if not said.only(*_FINDING, *BY_THE_WAY, *looks):
        return None
    laid = _laid(said, tag)
    return None if laid is None else _made(said, told, scene, ("laid", laid), *seen)


def _laid(said: Said, tag: str) -> dict[str, object] | None:
    """ "2", "2 eggs, 1 bad", "one good one bad", "2 in B1 and B2", "yes"."""
    counts = _counts(said)
    if counts is None:
        return None
    eggs, spoiled = counts
    if eggs is None and not (said.slots or said.has("found", "laid", "yes", "eggs")):
        return None
    if eggs is not None and (not 0 < eggs <= 12 or len(said.slots) > eggs):
        return None
    return {"dam": tag, "eggs": eggs, "spoiled": spoiled, "slots": said.slots}


def _counts(said: Said) -> tuple[int | None, int | None] | None:
    """Eggs found and, of those, spoiled; None where the numbers don't add up."""
    wholes = _whole(said)
    if len(wholes) != len(said.numbers) or len(wholes) > 3:
        return None
    bad = {"bad", "state:infertile", "toss"}
    good_words = {"good", "state:fertile"}
    labels = ["bad" if each & bad else "good" if each & good_words else "" for each in said.labels]
    spoken = said.has(*bad)
    if not wholes:
        return None if spoken else (None, None)
    if len(wholes) == 1:
        if not spoken:
            return wholes[0], None
        return (wholes[0], wholes[0]) if said.has("all") or wholes[0] == 1 else None
    spoiled = sum(n for n, label in zip(wholes, labels, strict=True) if label == "bad")
    good = sum(n for n, label in zip(wholes, labels, strict=True) if label == "good")
    if labels[0]:
        return (good + spoiled, spoiled or None) if all(labels) else None
    rest = wholes[1:]
    if not all(labels[1:]) or sum(rest) > wholes[0]:
        return None
    return wholes[0], spoiled or None


def _candled(said: Said, told: Told, scene: Scene) -> Reading | None:
    states = _states(said)
    allowed = [f"state:{state}" for state in states]
    words = ("looked", "toss", "eggs", "some", "in", "good", "bad", "better", "fine", "still")
    if not states or not said.only(*allowed, *words, *BY_THE_WAY):
        return None
    slots = _slots(said, told, scene)
    if "unsure" in states:
        return _bad(said, told, scene, slots) if len(states) == 1 else None
    if slots is None or (len(states) > 1 and len(slots) > 1):
        asks = [
            _wants(said, told, scene, "slots", "checked", choices=told.about, state=state).ask
            for state in states
        ]
        later = tuple(each for each in asks[1:] if each is not None)
        return Reading(Outcome.ASK, ask=asks[0], later=later, reasons=(_why(told),))
    if {"fertile", "infertile"} <= set(states):
        return None
    parts: list[Part] = [("checked", {"slots": slots, "state": state}) for state in states]
    if said.has("toss"):
        parts.append(("discarded", {"slots": slots}))
    return _made(said, told, scene, *parts)


def _states(said: Said) -> list[str]:
    """The states told; candled, "good" is fertile, and "bad" one of several."""
    states = said.values("state")
    if said.has("good") and "fertile" not in states and not said.has("state:infertile", "neg"):
        states.append("fertile")
    if said.has("bad") and not set(states) - {"fertile"} and not said.has("toss"):
        states.append("unsure")
    if said.has("good") and said.has("bad") and len(said.numbers) == 2:
        return ["fertile", "infertile"]
    return states


def _bad(said: Said, told: Told, scene: Scene, slots: tuple[str, ...] | None) -> Reading | None:
    """ "gone bad": how, is asked."""
    if slots is None:
        return None
    return _wants(said, told, scene, "state", "checked", choices=BAD_WAYS, slots=slots)


def _slots(said: Said, told: Told, scene: Scene, needs_all: bool = False) -> tuple[str, ...] | None:
    """Which of the reminder's eggs: those named, the one there is, or all; None where not clear."""
    if said.slots:
        return said.slots if set(said.slots) <= set(told.about) else None
    if not set(told.about) <= scene.view.eggs.keys():  # the book does not know where they lie
        return None
    wholes = _whole(said)
    if len(told.about) == 1 and (not wholes or wholes == [1]):
        return told.about
    if (
        said.has("some")
        or (said.single and not said.has("all"))
        or (wholes and wholes != [len(told.about)])
    ):
        return None
    if needs_all and not (said.has("all") or wholes):
        return None
    return told.about


def _hatched(said: Said, told: Told, scene: Scene) -> Reading | None:
    states = said.values("state")
    if states == ["unsure"] and said.only("state:unsure", "bad", "looked", *BY_THE_WAY):
        return _bad(said, told, scene, _slots(said, told, scene, needs_all=True))
    words = ("hatch", "pip", "out", "toss", "looked", "some", "eggs", "name", *BY_THE_WAY)
    if not said.only(*words, *(f"state:{state}" for state in states)):
        return None
    kind = (
        "pipped" if said.has("pip")
        else "hatched" if said.has("hatch", "out")
        else "checked" if len(states) == 1
        else "discarded" if said.has("toss") and not states
        else ""
    )  # fmt: skip
    if (
        not kind
        or "unsure" in states
        or (states and kind != "checked")
        or (said.tags and kind != "hatched")
    ):
        return None
    state = {"state": states[0]} if states else {}
    slots = _slots(said, told, scene, needs_all=True)
    if slots is None:
        if said.tags:
            return None
        return _wants(said, told, scene, "slots", kind, choices=told.about, **state)
    if said.tags and len(said.tags) != len(slots):
        return None
    fields: dict[str, object] = {"slots": slots, **state}
    if said.tags:
        fields["tags"] = said.tags
    parts = [(kind, fields)]
    if kind == "checked" and said.has("toss"):
        parts.append(("discarded", {"slots": slots}))
    return _made(said, told, scene, *parts)


# -- measures, water, the young ----------------------------------------------------------------


def _weighed(said: Said, told: Told, scene: Scene) -> Reading | None:
    tag, signs = told.about[0], said.values("sign")
    looks = [f"sign:{sign}" for sign in signs]
    if len(said.numbers) != 1 or not said.only("weighed", "still", "fine", *looks, *BY_THE_WAY):
        return None
    number = said.numbers[0]
    if number.what not in ("grams", "num") or number.value is None:
        return None
    grams = round(float(number.value) + 1e-9, 1)
    if not LIGHTEST <= grams <= HEAVIEST:
        return None
    seen: list[Part] = [("seen", {"tag": tag, "sign": sign}) for sign in signs]
    return _made(said, told, scene, ("weighed", {"tag": tag, "grams": grams}), *seen)


def _read(said: Said, told: Told, scene: Scene) -> Reading | None:
    """ "27.5", "27.5 75%", "81 and 75", "75%"."""
    labelled = [n for n in said.numbers if n.what in ("temp", "pct")]
    plain = [n for n in said.numbers if n.what == "num"]
    if not 1 <= len(said.numbers) <= 2 or len(labelled) + len(plain) < len(said.numbers):
        return None
    named = ("climate:temperature", "climate:humidity", "climate:reads", "still", "looked")
    if not told.place or not said.only(*named, *BY_THE_WAY):
        return None
    temp = next((n for n in labelled if n.what == "temp"), None)
    percent = next((n for n in labelled if n.what == "pct"), None)
    damp_only = said.has("climate:humidity") and not said.has("climate:temperature")
    if temp is None and plain and not (damp_only and len(said.numbers) == 1):
        temp = plain.pop(0)
    if percent is None and plain:
        percent = plain.pop(0)
    fields: dict[str, object] = {"place": told.place}
    if percent is not None:
        if not 1 <= float(percent.value) <= 100:
            return None
        fields["humidity"] = round(float(percent.value))
    if temp is None:
        return _made(said, told, scene, ("reading", fields))
    celsius = temp.value if temp.what == "temp" else celsius_of(float(temp.value), None)
    if celsius is None:
        degrees = (f"{float(temp.value or 0):g} °C", f"{float(temp.value or 0):g} °F")
        return _wants(said, told, scene, "celsius", "reading", choices=degrees, **fields)
    if not COLDEST <= celsius <= HOTTEST:
        return None
    return _made(said, told, scene, ("reading", {**fields, "celsius": celsius}))


def _watered(said: Said, told: Told, scene: Scene) -> Reading | None:
    if said.numbers:
        return None
    if said.has("watered") and said.only("watered", "dry", "fine", *BY_THE_WAY):
        return _made(said, told, scene, ("watered", {"place": told.place}))
    if said.has("fine") and said.only("fine", "looked", *BY_THE_WAY):
        return _closed(told, fine=True)
    return None


def _sexed(said: Said, told: Told, scene: Scene) -> Reading | None:
    sexes = said.values("sex")
    if not said.only(*(f"sex:{sex}" for sex in sexes), "looked", "sexed", "some", *BY_THE_WAY):
        return None
    if len(sexes) != 1 or (said.numbers and not said.has("some")):
        return None
    if len(told.about) > 1 and not said.has("all"):
        return _wants(said, told, scene, "tag", "sexed", choices=told.about, sex=sexes[0])
    if said.has("some") and len(told.about) > 1:
        return None
    parts: list[Part] = [("sexed", {"tag": tag, "sex": sexes[0]}) for tag in told.about]
    return _made(said, told, scene, *parts)


def _set_apart(said: Said, told: Told, scene: Scene) -> Reading | None:
    if said.numbers or not said.has("out") or not said.only("out", "moved", *BY_THE_WAY):
        return None
    return _closed(told)


def _acknowledged(said: Said, told: Told, scene: Scene) -> Reading | None:
    """What only wants to be known."""
    if said.numbers or said.days or not said.has("okay") or not said.only("okay"):
        return None
    return _closed(told)


def _plan(said: Said, told: Told, scene: Scene) -> Reading | None:
    """ "ordered them", to "Order roaches": the plan's own words as done."""
    if said.numbers or said.has("neg", "plan", "no") or not said.strange:
        return None
    own = {word.strip(".,:!").casefold()[:4] for word in told.text.split() if len(word) > 3}
    strange = {word[:4] for word in said.strange}
    return _closed(told) if strange <= own and said.pieces == [] else None


_READERS: dict[str, Callable[[Said, Told, Scene], Reading | None]] = {
    "pull-male": _parted,
    "put-male-in": _paired,
    "check-gravid": _gravid,
    "search-eggs": _searched,
    "candle": _candled,
    "watch-hatch": _hatched,
    "overdue-egg": _hatched,
    "weigh": _weighed,
    "read-incubator": _read,
    "wet-box": _watered,
    "sex-young": _sexed,
    "separate-sexes": _set_apart,
    "rest-female": _acknowledged,
    "first-pairing": _acknowledged,
    "plan": _plan,
}
