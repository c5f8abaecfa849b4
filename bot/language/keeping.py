"""Keeps what a clause tells as a record or a question, or holds it back for how it is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from bot.language.clauses import Clause
from bot.language.dates import when_of
from bot.language.drafts import Draft, Scene
from bot.language.gaps import BLOCKING
from bot.language.items import Item
from bot.language.reading import Ask, Request
from bot.language.spans import day_unsaid
from bot.records import KINDS, LISTS, Record


@dataclass
class Found:
    """One thing told: its record, what is to be asked of it, and the clause that told it."""

    record: Record
    ask: Ask | None
    clause: Clause | None


@dataclass
class Told:
    """What the clauses of a message came to, in order."""

    records: list[Record] = field(default_factory=list)
    asks: list[Ask] = field(default_factory=list)
    found: list[Found] = field(default_factory=list)
    request: Request | None = None
    offer: Record | None = None
    blocked: bool = False
    unread: list[tuple[int, Clause]] = field(default_factory=list)
    """Clauses that came to nothing, each with the place in `found` of what was told beside it."""
    header: list[Item] = field(default_factory=list)  # "Tuesday:" on a line of its own
    guessed: bool = False
    reasons: list[str] = field(default_factory=list)


def keep(clause: Clause, drafts: list[Draft], scene: Scene, lead: list[Item], told: Told) -> None:
    """Writes a clause's drafts as records or questions, or holds them back for how it is told."""
    moods = _effective(clause, drafts)
    if moods & BLOCKING or _unfinished(clause, drafts):
        told.blocked = True
        told.reasons.append(
            f"{drafts[0].kind} not taken as done: {', '.join(sorted(moods)) or 'not finished'}"
        )
        if "plan" in moods and not moods & {"neg", "if", "wish", "hearsay", "almost"}:
            told.offer = told.offer or _offer(clause, drafts, scene, lead)
        return
    days = (
        clause.items
        if any(e.what in ("date", "time") for e in clause.items)
        else [*lead, *clause.items]
    )
    if drafts[0].kind == "animal":
        days = [e for e in days if e.what != "date"] if "hatched" in drafts[0].fields else days
    if lead and not any(e.what == "date" for e in days):
        days = [*lead, *days]
    if drafts[0].fields.get("refused"):  # "hasn't eaten since Sunday" is told today
        days = [e for e in days if e.what != "date" or not _since(clause.items, e)]
    when = when_of(days, scene.now)
    for draft in drafts:
        free = draft.kind == "animal" or draft.fields.get("refused")  # "hatched in march"
        vague = "" if free else _vague(clause.items)
        if when.wrong or vague:
            draft.ask("on", "impossible" if when.wrong else "ambiguous", (), vague)
        if when.future:
            draft.ask("on", "in-future", (), next((e.text for e in days if e.what == "date"), ""))
        record = Record(draft.kind, when.on, when.at, _plain_fields(draft))
        if "hedge" in moods and draft.trouble is not None:
            told.blocked = True
            continue
        if "hedge" in moods:
            told.guessed = True
            draft.ask(guessed_field(draft.kind), "ambiguous", _main_choice(draft))
        ask = _question(draft, record) if draft.trouble is not None else None
        told.found.append(Found(record, ask, clause))


def _vague(items: Sequence[Item]) -> str:
    """The words for a day that can't be told: "last week", "the other day"."""
    found = next(
        (e for e in items if e.what == "span" and day_unsaid(e.value) and not _since(items, e)),
        None,
    )
    return found.text if found is not None else ""


def _since(items: Sequence[Item], day: Item) -> bool:
    k = next((n for n, each in enumerate(items) if each is day), 0)
    return k > 0 and items[k - 1].word in ("since", "for")


def guessed_field(kind: str) -> str:
    """The field that a guess is about: the last needed one."""
    return [each.name for each in KINDS[kind].fields if each.needed][-1]


def _main_choice(draft: Draft) -> tuple[str, ...]:
    value = draft.fields.get(guessed_field(draft.kind))
    return tuple(value) if isinstance(value, tuple) else (str(value),) if value else ()


def _effective(clause: Clause, drafts: list[Draft]) -> set[str]:
    """The clause's moods, without a "no" that the record itself says ("no eggs" found)."""
    moods = set(clause.moods)
    kind = drafts[0].kind
    if (kind == "searched" and "found" in drafts[0].fields) or (
        kind == "fed" and drafts[0].fields.get("refused")
    ):
        moods.discard("neg")
    if (
        kind == "sexed"
        and any(e.is_("sex") for e in clause.items)
        and any(e.is_("sexmark") for e in clause.items)
    ):
        moods.discard("neg")
    if kind == "checked" and drafts[0].fields.get("state") in ("infertile", "too-early"):
        moods.discard("neg")
    if kind == "checked" and drafts[0].fields.get("state") == "too-early":
        moods.discard("hedge")
    return moods


def _unfinished(clause: Clause, drafts: list[Draft]) -> bool:
    """ "laying", "putting M2 in": under way or meant, not done."""
    kind = drafts[0].kind
    if _ordered_ahead(clause):
        clause.moods.add("plan")
        return True
    if kind in ("pipped", "shed", "seen", "checked", "weighed", "reading", "fed"):
        return False
    verbs = [e for e in clause.items if e.is_("act") and e.what == "word"]
    if kind == "laid":
        return any(v.form == "now" and v.is_("act", "lay") for v in verbs)
    done = any(v.form == "past" and not v.is_("act", "egg", "pair", "out") for v in verbs)
    return bool(verbs) and any(v.form == "now" for v in verbs) and not done


def _ordered_ahead(clause: Clause) -> bool:
    """ "friday: pull M2" plans: a bare verb with a day that is not past."""
    verbs = [e for e in (*clause.lead, *clause.items) if e.is_("act") and e.what == "word"]
    days = [e for e in (*clause.lead, *clause.items) if e.what == "date"]
    return (
        bool(verbs)
        and all(v.form in ("base", "often") for v in verbs)
        and any(d.value.sort == "weekday" and d.value.turn != "last" for d in days)
    )


def _offer(clause: Clause, drafts: list[Draft], scene: Scene, lead: list[Item]) -> Record | None:
    """A reminder to offer for a dated plan."""
    from bot.language.jotting import plan_text

    days = [*lead, *clause.items]
    if not any(e.what in ("date", "time") for e in days):
        return None
    when = when_of(days, scene.now, ahead=True)
    return Record("plan", when.on, when.at, {"text": plan_text(drafts[0], clause.items)})


def _plain_fields(draft: Draft) -> dict[str, object]:
    return {name: value for name, value in draft.fields.items() if value not in (None, ())}


def _question(draft: Draft, record: Record) -> Ask:
    """The question a troubled draft leads to: the first needed field missing, or the trouble."""
    trouble = draft.trouble
    assert trouble is not None
    if trouble.about in record.fields and trouble.why not in ("in-future",):
        lists = {f.name for f in KINDS[record.kind].fields if f.type in LISTS}
        value = record.get(trouble.about)
        if not (
            trouble.why == "ambiguous"
            and trouble.choices == _main_choice(draft)
            and (trouble.about in lists or value)
        ):
            record = record.with_fields(**{trouble.about: None})
    return Ask(trouble.about, trouble.choices, record, trouble.why, trouble.said)
