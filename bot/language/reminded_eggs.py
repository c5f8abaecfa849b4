"""What is answered about eggs: searched for, candled, watched as they hatch."""

from __future__ import annotations

from bot.language.drafts import Scene
from bot.language.reading import Outcome, Reading, Told
from bot.language.reminded import BY_THE_WAY, Part, made, wants, whole, why
from bot.language.shortly import Said

BAD_WAYS = ("infertile", "mould", "collapsed")  # what "gone bad" may mean
MOST_EGGS = 12  # of a clutch; a larger figure is of something else
_NONE = ("none", "no", "nothing-yet")
_FINDING = (
    "found", "laid", "eggs", "searched", "looked", "put", "bad", "good", "better", "some",
    "state:infertile", "state:fertile", "toss", "in",
)  # fmt: skip


def searched(said: Said, told: Told, scene: Scene) -> Reading | None:
    """ "none", "nothing, she's slim"; else what was found."""
    tag, signs = told.about[0], said.values("sign")
    looks = [f"sign:{sign}" for sign in signs]
    seen: list[Part] = [("seen", {"tag": tag, "sign": sign}) for sign in signs]
    denied = said.has("neg") and said.has("found", "eggs") and not said.has("searched", "laid")
    if not said.numbers and not said.slots and (said.has(*_NONE) or denied):
        if said.only(*_NONE, "neg", "found", "eggs", "searched", "looked", "done", "all", *looks):
            return made(said, told, scene, ("searched", {"tag": tag, "found": 0}), *seen)
        return None
    if not said.only(*_FINDING, *BY_THE_WAY, *looks):
        return None
    if signs and not (said.numbers or said.slots or said.has("found", "laid", "eggs")):
        return made(said, told, scene, *seen)
    laid = _laid(said, tag)
    return None if laid is None else made(said, told, scene, ("laid", laid), *seen)


def _laid(said: Said, tag: str) -> dict[str, object] | None:
    """ "2", "2 eggs, 1 bad", "one good one bad", "2 in B1 and B2", "yes"."""
    counts = _counts(said)
    if counts is None:
        return None
    eggs, spoiled = counts
    if eggs is None and not (said.slots or said.has("found", "laid", "yes", "eggs")):
        return None
    if eggs is not None and (not 0 < eggs <= MOST_EGGS or len(said.slots) > eggs):
        return None
    return {"dam": tag, "eggs": eggs, "spoiled": spoiled, "slots": said.slots}


def _counts(said: Said) -> tuple[int | None, int | None] | None:
    """Eggs found and, of those, spoiled; None where the numbers don't add up."""
    wholes = whole(said)
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


def candled(said: Said, told: Told, scene: Scene) -> Reading | None:
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
            wants(said, told, scene, "slots", "checked", choices=told.about, state=state).ask
            for state in states
        ]
        later = tuple(each for each in asks[1:] if each is not None)
        return Reading(Outcome.ASK, ask=asks[0], later=later, reasons=(why(told),))
    if {"fertile", "infertile"} <= set(states):
        return None
    parts: list[Part] = [("checked", {"slots": slots, "state": state}) for state in states]
    if said.has("toss"):
        parts.append(("discarded", {"slots": slots}))
    return made(said, told, scene, *parts)


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
    return wants(said, told, scene, "state", "checked", choices=BAD_WAYS, slots=slots)


def _slots(said: Said, told: Told, scene: Scene, needs_all: bool = False) -> tuple[str, ...] | None:
    """Which of the reminder's eggs: those named, the one there is, or all; None where not clear."""
    if said.slots:
        return said.slots if set(said.slots) <= set(told.about) else None
    if not set(told.about) <= scene.view.eggs.keys():  # the book does not know where they lie
        return None
    wholes = whole(said)
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


def hatched(said: Said, told: Told, scene: Scene) -> Reading | None:
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
        return wants(said, told, scene, "slots", kind, choices=told.about, **state)
    if said.tags and len(said.tags) != len(slots):
        return None
    fields: dict[str, object] = {"slots": slots, **state}
    if said.tags:
        fields["tags"] = said.tags
    parts = [(kind, fields)]
    if kind == "checked" and said.has("toss"):
        parts.append(("discarded", {"slots": slots}))
    return made(said, told, scene, *parts)
