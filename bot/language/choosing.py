"""Which of several reminders an answer is to: the one told last, all of them, or a question."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from bot.language.reading import Ask, Outcome, Reading, Request
from bot.language.reminded import Fit
from bot.language.shortly import Said
from bot.records import KINDS

DAY = timedelta(hours=24)  # what was told so long before the last is no rival to it
WHICH = "?"  # a task that is none: the desk then asks which
PICK = "pick"  # what an ask is about whose choices are whole messages
_SUBJECTS = ("slots", "tag", "dam", "female", "male", "place")


def asked_for(ask: str, task: int | str, why: str, until: datetime | None = None) -> Reading:
    """A request about a task, as a reading; `until` is when to tell it again."""
    fields: dict[str, object] = {"task": task} | ({"until": until} if until else {})
    return Reading(Outcome.REQUEST, request=Request(ask, fields), reasons=(why,))


def choose(fits: list[Fit], said: Said) -> Reading:
    """The one that fits; of several, what was told last by itself; else a question."""
    fits = [fit for fit in fits if fit.told.fresh] or fits
    last = max(fit.told.at for fit in fits)
    fits = [fit for fit in fits if last - fit.told.at < DAY]
    if len(fits) == 1:
        return fits[0].reading
    together = _together(fits, said)
    if together is not None:
        return together
    requests = {fit.reading.request.ask for fit in fits if fit.reading.request}
    if len(requests) == 1 and all(fit.reading.request for fit in fits):
        return asked_for(requests.pop(), WHICH, "several reminders fit")
    return _which(fits) or _pick(fits)


_SHARED = ("parted", "paired", "searched", "watered")


def _together(fits: Sequence[Fit], said: Said) -> Reading | None:
    """ "both out" to two pairs: all of them, each by itself."""
    records = [fit.sole for fit in fits]
    known = tuple(each for each in records if each is not None and each.kind in _SHARED)
    if not said.has("all") or said.numbers or len(known) < len(fits):
        return None
    if len({each.kind for each in known}) > 1:
        return None
    return Reading(Outcome.RECORDS, known, reasons=("all of those told",))


def _which(fits: Sequence[Fit]) -> Reading | None:
    """One record that could be of several: the animal, slot or place is asked for."""
    records = [fit.sole for fit in fits]
    known = [each for each in records if each is not None]
    if len(known) < len(fits) or len({each.kind for each in known}) > 1:
        return None
    fields = [f.name for f in KINDS[known[0].kind].fields if f.name in _SUBJECTS]
    names = [each for each in fields if len({record.get(each) for record in known}) > 1]
    if not names or (len(names) > 1 and known[0].kind == "paired"):
        return None
    name, first = names[0], known[0]
    values = [record.get(name) for record in known]
    choices: list[str] = []
    for value in values:
        choices += value if isinstance(value, tuple) else (str(value),)
    blank = first.with_fields(**dict.fromkeys(names))
    alike = all(record.with_fields(**dict.fromkeys(names)) == blank for record in known)
    if not alike or len(set(choices)) < len(choices):
        return None
    ask = Ask(name, tuple(choices), blank, "ambiguous")
    return Reading(Outcome.ASK, ask=ask, reasons=("several reminders fit",))


def _pick(fits: Sequence[Fit]) -> Reading:
    """Answers that have nothing in common, put into words to pick from."""
    says = tuple(dict.fromkeys(fit.says for fit in fits))
    ask = Ask(PICK, says, None, "ambiguous")
    return Reading(Outcome.ASK, ask=ask, reasons=("several reminders fit, in different ways",))
