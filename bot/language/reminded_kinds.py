"""What a short message says to one reminder, by the reminder's kind: the record or the request."""

from __future__ import annotations

from collections.abc import Callable

from bot.language.drafts import Scene
from bot.language.likely_weights import hardly
from bot.language.numbers import celsius_of
from bot.language.reading import Ask, Outcome, Reading, Told
from bot.language.reminded import BY_THE_WAY, Fit, Part, closed, made, wants, whole
from bot.language.reminded_eggs import candled, hatched, searched
from bot.language.shortly import Said
from bot.records import Record

HEAVIEST, LIGHTEST = 500.0, 0.1  # grams; what else is no weight of a small gecko
COLDEST, HOTTEST = 10.0, 45.0  # Celsius, of an incubator


def answered(said: Said, told: Told, scene: Scene) -> Fit | None:
    """The message as the answer to a reminder of its kind; None where it is none."""
    reader = _READERS.get(told.kind)
    if reader is None:
        return None
    reading = reader(said, told, scene)
    return None if reading is None else Fit(told, reading)


# -- pairings ----------------------------------------------------------------------------------


def _parted(said: Said, told: Told, scene: Scene) -> Reading | None:
    if said.numbers or not (said.has("out") and said.only("out", *BY_THE_WAY)):
        return None
    male, female = told.about
    return made(said, told, scene, ("parted", {"male": male, "female": female}))


def _paired(said: Said, told: Told, scene: Scene) -> Reading | None:
    if said.has("skip") and said.only("skip", "no", "okay", "plan"):
        return closed(told, "skip")
    if said.numbers or not (said.has("in") and said.only("in", *BY_THE_WAY)):
        return None
    male, female = told.about
    return made(said, told, scene, ("paired", {"male": male, "female": female}))


def _gravid(said: Said, told: Told, scene: Scene) -> Reading | None:
    tag = told.about[0]
    signs = said.values("sign")
    shown = said.has("gravid") or (said.has("eggs") and said.has("visible"))
    told_so = ("gravid", "sign:gravid", "sign:slim", "eggs", "visible", "looked", "found")
    if not said.only(*told_so, *BY_THE_WAY, *(["no"] if signs == ["slim"] else [])):
        return None
    if said.numbers and not (shown and len(whole(said)) == len(said.numbers) == 1):
        return None
    if shown and not signs:
        signs = ["gravid"]
    if len(signs) == 1:
        return made(said, told, scene, ("seen", {"tag": tag, "sign": signs[0]}))
    if said.has("yes") and not signs and not said.numbers:
        return wants(said, told, scene, "sign", "seen", choices=("gravid", "slim"), tag=tag)
    return None


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
    today = scene.now.date()
    if hardly(scene.view, tag, grams, today):
        waiting = Record("weighed", today, None, {"tag": tag})
        again = Ask("grams", (f"{grams:g}",), waiting, "unlikely", number.text)
        return Reading(Outcome.ASK, ask=again, reasons=("far from its last weight",))
    seen: list[Part] = [("seen", {"tag": tag, "sign": sign}) for sign in signs]
    return made(said, told, scene, ("weighed", {"tag": tag, "grams": grams}), *seen)


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
        return made(said, told, scene, ("reading", fields))
    celsius = temp.value if temp.what == "temp" else celsius_of(float(temp.value), None)
    if celsius is None:
        degrees = (f"{float(temp.value or 0):g} °C", f"{float(temp.value or 0):g} °F")
        return wants(said, told, scene, "celsius", "reading", choices=degrees, **fields)
    if not COLDEST <= celsius <= HOTTEST:
        return None
    return made(said, told, scene, ("reading", {**fields, "celsius": celsius}))


def _watered(said: Said, told: Told, scene: Scene) -> Reading | None:
    if said.numbers:
        return None
    if said.has("watered") and said.only("watered", "dry", "fine", *BY_THE_WAY):
        return made(said, told, scene, ("watered", {"place": told.place}))
    if said.has("fine") and said.only("fine", "looked", *BY_THE_WAY):
        return closed(told, fine=True)
    return None


def _sexed(said: Said, told: Told, scene: Scene) -> Reading | None:
    sexes = said.values("sex")
    if not said.only(*(f"sex:{sex}" for sex in sexes), "looked", "sexed", "some", *BY_THE_WAY):
        return None
    if len(sexes) != 1 or (said.numbers and not said.has("some")):
        return None
    if len(told.about) > 1 and not said.has("all"):
        return wants(said, told, scene, "tag", "sexed", choices=told.about, sex=sexes[0])
    if said.has("some") and len(told.about) > 1:
        return None
    parts: list[Part] = [("sexed", {"tag": tag, "sex": sexes[0]}) for tag in told.about]
    return made(said, told, scene, *parts)


def _set_apart(said: Said, told: Told, scene: Scene) -> Reading | None:
    if said.numbers or not said.has("out") or not said.only("out", "moved", *BY_THE_WAY):
        return None
    return closed(told)


def _acknowledged(said: Said, told: Told, scene: Scene) -> Reading | None:
    """What only wants to be known."""
    if said.numbers or said.days or not said.has("okay") or not said.only("okay"):
        return None
    return closed(told)


def _plan(said: Said, told: Told, scene: Scene) -> Reading | None:
    """ "ordered them", to "Order roaches": the plan's own words as done."""
    if said.numbers or said.has("neg", "plan", "no") or not said.strange:
        return None
    own = {word.strip(".,:!").casefold()[:4] for word in told.text.split() if len(word) > 3}
    strange = {word[:4] for word in said.strange}
    return closed(told) if strange <= own and said.pieces == [] else None


_READERS: dict[str, Callable[[Said, Told, Scene], Reading | None]] = {
    "pull-male": _parted,
    "put-male-in": _paired,
    "check-gravid": _gravid,
    "search-eggs": searched,
    "candle": candled,
    "watch-hatch": hatched,
    "overdue-egg": hatched,
    "weigh": _weighed,
    "read-incubator": _read,
    "wet-box": _watered,
    "sex-young": _sexed,
    "separate-sexes": _set_apart,
    "rest-female": _acknowledged,
    "first-pairing": _acknowledged,
    "plan": _plan,
}
