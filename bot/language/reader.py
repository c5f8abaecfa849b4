"""Reads a keeper's message: text, moment, view of the book, state of the conversation → Reading."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path

from bot.language.asking import read_request
from bot.language.clauses import Clause, Cutter, sentences
from bot.language.dates import when_of
from bot.language.doubts import grouped, without_asides, worth_asking
from bot.language.drafts import Draft, Scene, Span, check_tag
from bot.language.fill_animals import FILLERS as ANIMAL_FILLERS
from bot.language.fill_eggs import FILLERS as EGG_FILLERS
from bot.language.fixing import fixed
from bot.language.frames import frames
from bot.language.guarding import Accounts, unread
from bot.language.items import Item, shown
from bot.language.jotting import Source, jotted
from bot.language.reading import NO_TALK, Ask, Outcome, Reading, Request, Talk
from bot.language.replying import Heard, doubted, fresh_reply, outdoes, reply
from bot.language.scan import scan
from bot.language.settling import settled, slight
from bot.language.spans import day_unsaid
from bot.language.talking import answer, correction
from bot.language.tellings import is_question, tell
from bot.language.tokens import LONGEST, MOST, tokens_of
from bot.language.view import PairingSeen, View
from bot.language.wording import Lexicon, lexicon
from bot.records import KINDS, LISTS, Record

FILLERS = {**ANIMAL_FILLERS, **EGG_FILLERS}
_BLOCKING = frozenset({"neg", "almost", "plan", "if", "wish", "hearsay"})
_OF_PEOPLE = ("share", "standin", "role")  # "my friend" is no hearsay here
_TYPED_JSON = re.compile(r"[{\[][^{}\[\]]{0,40}[\"']\s*:")
_MARGIN = 0.3  # how far ahead of its rivals a reading must be


@dataclass
class _Found:
    """One thing told: its record, what is to be asked of it, and the clause that told it."""

    record: Record
    ask: Ask | None
    clause: Clause | None


@dataclass
class _Told:
    """What the clauses of a message came to, in order."""

    records: list[Record] = field(default_factory=list)
    asks: list[Ask] = field(default_factory=list)
    found: list[_Found] = field(default_factory=list)
    request: Request | None = None
    offer: Record | None = None
    blocked: bool = False
    header: list[Item] = field(default_factory=list)  # "Tuesday:" on a line of its own
    guessed: bool = False
    reasons: list[str] = field(default_factory=list)


def read(
    text: str, moment: datetime, view: View, talk: Talk = NO_TALK, words: Path | None = None
) -> Reading:
    """What `text`, sent at `moment` (aware), means to the household that `view` shows.

    Pure, and never raises for any text. `talk` is what the conversation leaves open; `words` a
    folder of the keeper's own words files. Raises WordsError only where such a file is bad.
    """
    lex = lexicon(words)
    pieces = tokens_of(text, lex.wholes) if len(text) <= LONGEST else []
    if _TYPED_JSON.search(text[:LONGEST]):
        return Reading(Outcome.UNCLEAR, reasons=("a program's text and no keeper's",))
    if len(text) > LONGEST or len(pieces) > MOST:
        return Reading(Outcome.UNCLEAR, hint="long", reasons=("too long for a message",))
    now = moment.astimezone(view.zone).replace(second=0, microsecond=0)
    items, tokens = scan(pieces, view, lex)
    items = settled(items, view)
    folded = [token.text for token in tokens]
    scene = _scene(view, now, talk)
    spans = tuple((t.start, t.end) for t in tokens) if text.isascii() else ()
    source = Source(text if spans else "", spans)

    def plainly(scene: Scene) -> Reading:
        told = _tell_all(items, source, folded, scene.unread(), lex)
        return replace(_outcome(told, items, lex), reasons=tuple(told.reasons))

    heard = Heard(items, folded, scene, lex)
    leaning = (
        fresh_reply(heard, talk, plainly)
        or answer(items, folded, scene, talk, lex)
        or correction(items, folded, scene, talk, lex)
    )
    if leaning is not None:
        return leaning
    reading = plainly(scene)
    if outdoes(reading):
        return doubted(heard, talk, reading)
    return reply(heard, talk, plainly) or reading


def _scene(view: View, now: datetime, talk: Talk) -> Scene:
    """The scene as the conversation left it."""
    scene = Scene(view, now)
    tags: list[str] = []
    slots: list[str] = []
    for record in talk.last:
        for each in KINDS[record.kind].fields if record.kind in KINDS else ():
            value = record.get(each.name)
            values = value if isinstance(value, tuple) else (value,)
            if each.type.value in ("tag", "tags", "who") and each.name not in ("sire",):
                tags += [v for v in values if isinstance(v, str) and v in view.animals]
            elif each.type.value == "slots":
                slots += [v for v in values if isinstance(v, str)]
    scene.told_tags = tuple(dict.fromkeys(tags))
    scene.told_slots = tuple(dict.fromkeys(slots))
    return scene


# -- sentences ----------------------------------------------------------------------------


def _tell_all(
    items: Sequence[Item], source: Source, folded: Sequence[str], scene: Scene, lex: Lexicon
) -> _Told:
    told = _Told()
    told.reasons += [shown(item) for item in items if item.what != "stop"]
    sexes = {tag: scene.sex(tag) for item in items if item.what == "tag" for tag in item.value}
    mended, _ = fixed(items, sexes)
    if len(mended) != len(items):
        told.reasons.append("put right in the same breath: " + " ".join(e.text for e in mended))
    jots, rest = jotted(mended, source, scene, lambda line: _reads(line, folded, scene, lex))
    for record, ask, reason in jots:
        told.reasons.append(reason)
        if ask is not None and ask.waiting is not None:
            told.found.append(_Found(ask.waiting, ask, None))
        elif record is not None:
            told.found.append(_Found(record, None, None))
    lead: list[Item] = []
    last: Clause | None = None
    for sentence, mark in _joined(sentences(rest)):
        lead, last = _one_sentence(sentence, mark, folded, scene, lex, told, lead, last)
    _guard(told, scene.view, lex)
    _settle(told, scene.view)
    return told


def _guard(told: _Told, view: View, lex: Lexicon) -> None:
    """Parts what is sure from what is asked: a clause that is not wholly read is asked about."""
    accounts = Accounts((each.record for each in told.found), view)
    reasons: dict[int, str] = {}
    for each in told.found:
        if each.ask is None and each.clause is not None:
            key = id(each.clause)
            if key not in reasons:
                reasons[key] = unread(each.clause.items, each.record, accounts, lex)
                if reasons[key]:
                    told.reasons.append(f"{each.record.kind} is asked about: {reasons[key]}")
            if reasons[key]:
                each.ask = _doubted(each.record, reasons[key])
        if each.ask is None:
            told.records.append(each.record)
        else:
            told.asks.append(each.ask)


def _doubted(record: Record, why: str) -> Ask:
    """The question whether a record is meant."""
    about = "count" if record.get("count") else _guessed_field(record.kind)
    value = record.get(about)
    choices = tuple(value) if isinstance(value, tuple) else (str(value),) if value else ()
    return Ask(about, choices, record, "ambiguous")


def _reads(line: list[Item], folded: Sequence[str], scene: Scene, lex: Lexicon) -> bool:
    """True where a line by itself is a sure record."""
    told = _Told()
    trial = Scene(scene.view, scene.now)
    for sentence, mark in sentences(line):
        _one_sentence(sentence, mark, folded, trial, lex, told, [], None)
    return bool(told.found) and all(each.ask is None for each in told.found)


def _joined(parts: list[tuple[list[Item], str]]) -> list[tuple[list[Item], str]]:
    """Sentences with a bare list after one that lacks it made one: "hatched!! H5 and H6!!"."""
    table = frames()
    out: list[tuple[list[Item], str]] = []
    for items, mark in parts:
        heads = any(table.kinds_of(each) for each in items)
        named = any(e.what in ("tag", "slot", "place", "num") for e in items)
        spoken = sum(e.what == "word" and not e.is_("prep") for e in items)
        put = (
            bool(out)
            and any(e.is_("act", "lay", "egg", "find") for e in out[-1][0])
            and not any(e.what == "slot" for e in out[-1][0])
            and any(e.what in ("slot", "box") for e in items)
            and any(e.is_("act", "put", "at", "move") for e in items)
            and not any(e.what in ("tag", "place") for e in items)
            and any(e.is_("pron", "it", "they", "both") or e.is_("act", "egg") for e in items)
        )
        counted = (
            bool(out)
            and any(e.is_("act", "lay") for e in out[-1][0])
            and not any(e.what == "num" for e in out[-1][0])
            and all(e.is_("act", "egg") for e in items if table.kinds_of(e))
            and not any(e.what == "tag" for e in items)
        )
        if (out and _names_the_young(out[-1][0], items)) or (
            out and _found_nothing(out[-1][0], items)
        ):
            out[-1] = ([*out[-1][0], *items], mark)
        elif (
            out
            and (not heads or counted or put)
            and named
            and (spoken <= 3 or put)
            and mark != "?"
            and out[-1][1] not in ("?", "\n")
            and (put or _wants(out[-1][0], items, table))
        ):
            out[-1] = ([*out[-1][0], Item("comma", ",", items[0].i, items[0].i, ","), *items], mark)
        else:
            out.append((items, mark))
    return out


def _names_the_young(before: Sequence[Item], items: Sequence[Item]) -> bool:
    """ "J1's hatched! calling it N6": the name in a sentence of its own."""
    return (
        any(e.is_("act", "hatch") for e in before)
        and not any(e.what == "tag" for e in before)
        and any(e.is_("act", "name") for e in items)
        and any(e.what == "tag" for e in items)
        and not any(e.what in ("slot", "place", "num") for e in items)
    )


def _found_nothing(before: Sequence[Item], items: Sequence[Item]) -> bool:
    """ "dug around in P4's sand. zip": the outcome in a sentence of its own."""
    return (
        len(items) <= 3
        and any(e.is_("act", "search") for e in before)
        and any(e.is_("mood", "neg") for e in items)
        and not any(e.is_("mood", "neg") for e in before)
    )


def _wants(before: Sequence[Item], items: Sequence[Item], table: object) -> bool:
    hatch = any(e.is_("act", "hatch", "out") for e in before)
    lay = any(e.is_("act", "lay", "egg") for e in before)
    new = any(e.is_("act", "new") for e in before)
    whats = {e.what for e in items}
    had = {e.what for e in before}
    if lay and not ("tag" in had and "tag" in whats):
        return "slot" in whats or ("num" in whats and "num" not in had) or "tag" in whats
    return (hatch and bool(whats & {"tag", "slot"} - (had - {"slot"}))) or (
        new and bool(whats & {"tag", "place"})
    )


def _one_sentence(
    sentence: list[Item],
    mark: str,
    folded: Sequence[str],
    scene: Scene,
    lex: Lexicon,
    told: _Told,
    lead: list[Item],
    last: Clause | None,
) -> tuple[list[Item], Clause | None]:
    """Reads one sentence into `told`; returns the day told ahead for what follows, and the last
    clause."""
    question = is_question(sentence, mark)
    scene.meal = None
    request = read_request(sentence, scene, question, folded, lex)
    if not question and any(e.is_("mood", "wish") for e in sentence):
        request = None
    if (
        request is not None
        and request[0].ask not in _OF_PEOPLE
        and not question
        and any(e.is_("mood", "hearsay") for e in sentence)
    ):
        request = None
    table = frames()
    cutter = Cutter(table, scene.view)
    clauses = cutter.cut(cutter.grouped(sentence))
    tell(clauses, sentence, table, question)
    drafts: list[tuple[Clause, list[Draft]]] = []
    lead = lead or told.header
    if not question:
        day = _leading_day(sentence)
        if day:
            lead = day
        for clause in clauses:
            clause.lead = list(lead)
            found = _read_clause(clause, scene, lead, told, last) or _same_again(
                clause, drafts, scene
            )
            if found:
                drafts.append((clause, found))
            last = clause if clause.kinds else last
    back = request is not None and request[0].get("until") == "now"
    if request is not None and (back or _prefer_request(request, drafts, question)):
        told.request = _with(told.request, request[0])
        told.reasons.append(f"request {request[0].ask}: {request[2]} (fits {request[1]:.1f})")
        _remember(Span(sentence, scene), (), scene)
        if not back:
            return lead, last
    if question:
        _remember(Span(sentence, scene), (), scene)
        told.reasons.append("a question that fits no request")
        told.blocked = True
        return lead, last
    for clause, found in drafts:
        _keep(clause, found, scene, lead, told)
    header = (
        bool(lead)
        and len(sentence) <= 3
        and all(e.what in ("date", "comma", "time") or e.is_("prep") for e in sentence)
    )
    if header:
        told.header = lead
    return (lead if header or (mark != "\n" and lead and _header(sentence)) else []), last


def _with(first: Request | None, second: Request) -> Request:
    """The first request, with what a second of its sort adds ("Away till Monday. Jo covers")."""
    if first is None or first.ask != second.ask or first.ask != "standin":
        return first or second
    return Request(first.ask, {**second.fields, **first.fields})


def _same_again(
    clause: Clause, drafts: Sequence[tuple[Clause, list[Draft]]], scene: Scene
) -> list[Draft]:
    """ "F4 shed, F5 too": the last telling again, of another animal."""
    span = Span(clause.items, scene)
    tags = [tag for item in span.animals() for tag in span.tag_names(item)]
    if not drafts or clause.kinds or not tags or not span.has("answer", "same"):
        return []
    before, last = drafts[-1]
    clause.moods |= before.moods
    out: list[Draft] = []
    for tag in tags:
        if "tag" not in last[0].fields or last[0].kind in ("weighed", "animal"):
            continue
        draft = Draft(last[0].kind, {**last[0].fields, "tag": tag}, score=2)
        out.append(check_tag(draft, "tag", tag, scene))
    return out


def _header(sentence: Sequence[Item]) -> bool:
    """ "4/3: ..." gives its day to all that follows."""
    whats = [e.what for e in sentence[:3]]
    return "comma" in whats and any(e.value == ":" for e in sentence[:3] if e.what == "comma")


def _leading_day(sentence: Sequence[Item]) -> list[Item]:
    """A day told before anything else, for the whole sentence."""
    day: list[Item] = []
    for item in sentence:
        if item.what == "date":
            day.append(item)
        elif (
            item.what in ("comma", "joint")
            or item.is_("prep", "on", "at", "from")
            or item.is_("chat")
            or (
                item.text.casefold()
                in ("ok", "so", "right", "also", "and", "the", "for", "log", "late", "back")
            )
        ):
            continue
        else:
            break
    return day


def _prefer_request(
    request: tuple[Request, float, str], drafts: list[tuple[Clause, list[Draft]]], question: bool
) -> bool:
    """A question is never a log; an order to the assistant wins where no record stands as well."""
    if question:
        return True
    best = max(
        (
            d.score
            for clause, found in drafts
            for d in found
            if d.trouble is None and not clause.moods & _BLOCKING
        ),
        default=0.0,
    )
    return (request[1] >= 1.5 and best < 3.0) or request[1] > best


# -- clauses ------------------------------------------------------------------------------


def _read_clause(
    clause: Clause, scene: Scene, lead: list[Item], told: _Told, last: Clause | None
) -> list[Draft]:
    """The drafts of the kind that reads the clause best; notes whom it was about."""
    span = Span(clause.items, scene)
    kinds = clause.kinds or _gap_kinds(clause, last)
    best: list[Draft] = []
    rival = 0.0
    for kind in sorted(kinds):
        filler = FILLERS.get(kind)
        found = filler(span) if filler else []
        if not found:
            continue
        score = found[0].score - (1.0 if found[0].trouble else 0.0)
        told.reasons.append(f"{kind} scores {score:.1f}: {found[0].fields}")
        if not best or score > best[0].score - (1.0 if best[0].trouble else 0.0):
            if best:
                rival = best[0].score - (1.0 if best[0].trouble else 0.0)
            best = found
        else:
            rival = max(rival, score)
    if (
        best
        and best[0].trouble is not None
        and slight(clause.items)
        and (best[0].trouble.why in ("missing", "no-open-pairing", "ambiguous"))
    ):
        told.reasons.append(f"{best[0].kind} names nothing of the book")
        best = []
    if best and best[0].trouble is None and best[0].score - rival < _MARGIN:
        told.reasons.append(f"{best[0].kind} has a rival as good")
        best[0].ask(_main_field(best[0].kind), "ambiguous")
    _remember(span, best, scene)
    return best


def _main_field(kind: str) -> str:
    return KINDS[kind].fields[0].name


def _gap_kinds(clause: Clause, last: Clause | None) -> frozenset[str]:
    """Kinds for a clause with no verb of its own: the last one's, or what its pieces make."""
    whats = {e.what for e in clause.items}
    gapped: frozenset[str] = frozenset()
    if last is not None and last.kinds and not last.moods & _BLOCKING:
        if "tag" in whats and "num" in whats:
            gapped = last.kinds & {"laid", "fed", "weighed"}
        elif "tag" in whats and "place" in whats:
            gapped = last.kinds & {"placed"}
        elif "tag" in whats and any(e.is_("prep", "with") for e in clause.items):
            gapped = last.kinds & {"paired"}
        elif "slot" in whats:
            gapped = last.kinds & {"shifted"}
        elif whats & {"place", "box"} and "num" in whats:
            gapped = last.kinds & {"reading", "fed"}
    if gapped:
        return gapped
    if whats <= {"tag", "place", "date", "comma"} and {"tag", "place"} <= whats:
        return frozenset({"placed"})
    if (
        whats <= {"tag", "slot", "date", "comma"}
        and {"tag", "slot"} <= whats
        and any(c.tag for e in clause.items for c in e.codes)
    ):
        return frozenset({"laid"})
    if "place" in whats and clause.items[0].is_("pron", "both", "they"):
        return frozenset({"placed"})
    tags = [e for e in clause.items if e.what == "tag"]
    fresh = [e for e in tags if not any(c.tag for c in e.codes)]
    if fresh and "slot" in whats and len(fresh) == len(tags):
        return frozenset({"hatched"})
    if (
        "tag" in whats
        and any(e.is_("ground") for e in clause.items)
        and any(e.is_("mood", "neg") or e.text.casefold() == "empty" for e in clause.items)
    ):
        return frozenset({"searched"})
    if len(tags) == 1 and _nothing_in(clause.items):
        return frozenset({"searched"})
    if (
        tags
        and any(e.what == "num" and "whole" in e.senses for e in clause.items)
        and ("slot" in whats or any(e.is_("prep", "from") for e in clause.items))
    ):
        return frozenset({"laid"})
    if (
        len(tags) == 2
        and any(e.is_("prep", "in") for e in clause.items)
        and any(e.is_("ground") or e.is_("placenoun") for e in clause.items)
    ):
        return frozenset({"paired"})
    if "tag" in whats and "place" in whats and any(e.is_("prep", "to", "in") for e in clause.items):
        return frozenset({"placed"})
    if "tag" in whats and any(e.is_("prep", "with") for e in clause.items):
        return frozenset({"paired"})
    if "slot" in whats and any(e.is_("prep", "to") for e in clause.items):
        return frozenset({"shifted"})
    if (
        whats & {"place", "box"} or any(e.is_("placenoun", "incubator") for e in clause.items)
    ) and ("num" in whats):
        return frozenset({"reading"})
    if "tag" in whats and "num" in whats:
        return frozenset({"weighed"})
    return frozenset()


def _nothing_in(items: Sequence[Item]) -> bool:
    """ "nothing in R2's": an animal's sand was looked through."""
    for one, two, three, four in zip(items, items[1:], items[2:], items[3:], strict=False):
        if one.is_("mood", "neg") and two.is_("prep", "in", "under") and three.what == "tag":
            return four.text.casefold() in ("'s", "s")
    return False


def _remember(span: Span, best: Sequence[Draft], scene: Scene) -> None:
    """Keeps whom and what the clause named, for "she", "it" and clauses with no subject."""
    animals = span.animals()
    for item in animals:
        scene.named += span.tag_names(item)
    if animals:
        items = [a for a in animals if span.prep(a) not in ("with", "from", "to")] or animals
        scene.tags = span.tag_names(items[0])
        if best and best[0].kind == "laid" and "dam" in best[0].fields:
            scene.tags = (best[0].fields["dam"],)
    elif span.has("pron"):
        scene.tags = span.pronoun_tags() or scene.tags
    slots = [
        slot for item in span.slot_items() if item.what == "slot" for slot in span.slot_names(item)
    ]
    if slots:
        scene.slots = tuple(slots)
        scene.boxes = (slots[-1].rstrip("0123456789"),)
        scene.tags = () if not animals else scene.tags
    boxes = tuple(box for item in span.what("box") for box in item.value)
    if boxes:
        scene.boxes = boxes
    places = tuple(name for name, _ in span.place_names())
    if places:
        scene.places = places
    if best:
        scene.last_kind = best[0].kind
        scene.meal = best[0].fields.get("food") if best[0].kind == "fed" else None
        for draft in best:
            _overlay(draft, scene)


def _overlay(draft: Draft, scene: Scene) -> None:
    """What the message has told so far counts for the rest of it."""
    fields = draft.fields
    if draft.trouble is not None:
        return
    if draft.kind == "paired":
        scene.joined.append(PairingSeen(fields["male"], fields["female"], scene.now.date()))
    elif draft.kind == "laid":
        scene.filled.update(fields.get("slots", ()))
    elif draft.kind == "shifted":
        scene.emptied.update(fields["slots"])
        scene.filled.update(fields["to"])
    elif draft.kind == "animal":
        scene.born.add(fields["tag"])
    elif draft.kind == "hatched":
        scene.born.update(fields.get("tags", ()))


def _keep(clause: Clause, drafts: list[Draft], scene: Scene, lead: list[Item], told: _Told) -> None:
    """Writes a clause's drafts as records or questions, or holds them back for how it is told."""
    moods = _effective(clause, drafts)
    if moods & _BLOCKING or _unfinished(clause, drafts):
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
            draft.ask(_guessed_field(draft.kind), "ambiguous", _main_choice(draft))
        ask = _question(draft, record) if draft.trouble is not None else None
        told.found.append(_Found(record, ask, clause))


def _vague(items: Sequence[Item]) -> str:
    """The words for a day that can't be told: "last week", "the other day"."""
    found = next(
        (e for e in items if e.what == "span" and day_unsaid(e.value) and not _since(items, e)),
        None,
    )
    return found.text if found is not None else ""


def _since(items: Sequence[Item], day: Item) -> bool:
    k = next((n for n, each in enumerate(items) if each is day), 0)
    return k > 0 and items[k - 1].text.casefold() in ("since", "for")


def _guessed_field(kind: str) -> str:
    """The field that a guess is about: the last needed one."""
    return [each.name for each in KINDS[kind].fields if each.needed][-1]


def _main_choice(draft: Draft) -> tuple[str, ...]:
    value = draft.fields.get(_guessed_field(draft.kind))
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


# -- the outcome --------------------------------------------------------------------------


def _settle(told: _Told, view: View) -> None:
    """Drops what was said twice or by the way, and questions that the rest answers."""
    told.records = grouped(without_asides(_unique(told.records), view))
    told.asks = [ask for ask in told.asks if not _answered(ask, told.records)]
    told.asks = worth_asking(told.asks, told.records)


def _unique(records: list[Record]) -> list[Record]:
    out: list[Record] = []
    for record in records:
        same = [
            k
            for k, each in enumerate(out)
            if each.kind == record.kind and _about(each) == _about(record) and each.on == record.on
        ]
        if record in out:
            continue
        if same and record.kind in ("checked", "sexed", "placed"):
            out[same[-1]] = record
        else:
            out.append(record)
    return out


def _about(record: Record) -> object:
    return record.get("slots") or record.get("tag") or record.get("place") or record.get("who")


def _answered(ask: Ask, records: Sequence[Record]) -> bool:
    waiting = ask.waiting
    if waiting is None or ask.why not in ("missing", "ambiguous"):
        return False
    slots = set(waiting.get("slots") or ())
    if slots and ask.about != "slots":
        told = {s for r in records if r.kind == waiting.kind for s in r.get("slots") or ()}
        return slots <= told
    if waiting.kind == "laid" and waiting.get("dam") and ask.about == "eggs":
        return any(r.kind == "laid" and r.get("dam") == waiting.get("dam") for r in records)
    if waiting.get("tag") and ask.about != "tag":
        return any(r.kind == waiting.kind and r.get("tag") == waiting.get("tag") for r in records)
    return False


def _outcome(told: _Told, items: Sequence[Item], lex: Lexicon) -> Reading:
    records = tuple(told.records)
    if told.asks:
        return Reading(Outcome.ASK, records, told.request, told.asks[0], later=tuple(told.asks[1:]))
    if records:
        return Reading(Outcome.RECORDS, records, told.request, offer=told.offer)
    if told.request is not None:
        return Reading(Outcome.REQUEST, request=told.request)
    if told.offer is not None:
        return Reading(Outcome.CHAT, offer=told.offer)
    if told.blocked:
        return Reading(Outcome.CHAT)
    if _small_talk(items):
        return Reading(Outcome.CHAT)
    return Reading(Outcome.UNCLEAR, hint=_hint(items))


def _small_talk(items: Sequence[Item]) -> bool:
    """True where something is said that only small talk says, and nothing of the book."""
    if any(e.what in ("tag", "slot", "box", "place", "grams", "temp") for e in items):
        return False
    return any(e.is_("chat") for e in items)


def _hint(items: Sequence[Item]) -> str | None:
    """The kind of record that the words come closest to."""
    table = frames()
    for item in items:
        kinds = table.kinds_of(item)
        if kinds:
            return sorted(kinds)[0]
    return None


def local_day(moment: datetime, view: View) -> date:
    """The household's date at a moment."""
    return moment.astimezone(view.zone).date()
