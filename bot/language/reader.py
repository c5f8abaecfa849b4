"""Reads a keeper's message: text, moment, view of the book, state of the conversation → Reading."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from bot.language.asking import read_request
from bot.language.clauses import Clause, sentences
from bot.language.correcting import correction
from bot.language.cutting import Cutter
from bot.language.doubts import grouped, without_asides, worth_asking
from bot.language.drafts import Draft, Scene, Span, check_tag
from bot.language.fill_animals import FILLERS as ANIMAL_FILLERS
from bot.language.fill_described import described
from bot.language.fill_eggs import FILLERS as EGG_FILLERS
from bot.language.fixing import fixed
from bot.language.frames import frames
from bot.language.gaps import BLOCKING, gap_kinds, told_behind
from bot.language.guarding import Accounts, mark_open_ends, passed_over, unread
from bot.language.items import Item, shown
from bot.language.joining import joined
from bot.language.jotting import Source, jotted
from bot.language.keeping import Found, Told, guessed_field, keep
from bot.language.own_message import of_its_own
from bot.language.reading import NO_TALK, Ask, Outcome, Reading, Request, Talk
from bot.language.replying import Heard, doubted, fresh_reply, outdoes, reply
from bot.language.scan import scan
from bot.language.settling import settled, slight
from bot.language.stating import stated
from bot.language.talking import answer
from bot.language.tellings import is_question, tell
from bot.language.tokens import LONGEST, MOST, tokens_of
from bot.language.view import PairingSeen, View
from bot.language.wording import Lexicon, lexicon
from bot.records import KINDS, Record

FILLERS = {**ANIMAL_FILLERS, **EGG_FILLERS}
_OF_PEOPLE = ("share", "standin", "role")  # "my friend" is no hearsay here
_TYPED_JSON = re.compile(r"[{\[][^{}\[\]]{0,40}[\"']\s*:")
_MARGIN = 0.3  # how far ahead of its rivals a reading must be


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
        described(items, scene, talk)
        or fresh_reply(heard, talk, plainly)
        or (
            None
            if of_its_own(items, folded, scene, talk.question, lex)
            else answer(items, folded, scene, talk, lex)
        )
        or correction(items, folded, scene, talk, lex)
    )
    if leaning is not None:
        return leaning
    reading = plainly(scene)
    if outdoes(reading):
        return doubted(heard, talk, reading)
    return stated(reply(heard, talk, plainly) or reading, items, scene)


def _scene(view: View, now: datetime, talk: Talk) -> Scene:
    """The scene as the conversation left it."""
    scene = Scene(view, now)
    tags: list[str] = []
    slots: list[str] = []
    asked = talk.question.waiting if talk.question is not None else None
    for record in talk.last if asked is None else (*talk.last, asked):
        for each in KINDS[record.kind].fields if record.kind in KINDS else ():
            value = record.get(each.name)
            values = value if isinstance(value, tuple) else (value,)
            if each.type.value in ("tag", "tags", "who") and each.name not in ("sire",):
                tags += [v for v in values if isinstance(v, str) and v in view.animals]
            elif each.type.value == "slots":
                slots += [v for v in values if isinstance(v, str)]
    if asked is not None and (about := _tags_of(asked, view)):
        tags = about  # "F1 laid", asked how many: "her" is F1
    scene.told_tags = tuple(dict.fromkeys(tags))
    scene.told_slots = tuple(dict.fromkeys(slots))
    return scene


def _tags_of(record: Record, view: View) -> list[str]:
    values = (record.get(name) for name in ("tag", "dam", "male", "female"))
    return [v for v in values if isinstance(v, str) and v in view.animals]


# -- sentences ----------------------------------------------------------------------------


def _tell_all(
    items: Sequence[Item], source: Source, folded: Sequence[str], scene: Scene, lex: Lexicon
) -> Told:
    told = Told()
    told.reasons += [shown(item) for item in items if item.what != "stop"]
    sexes = {tag: scene.sex(tag) for item in items if item.what == "tag" for tag in item.value}
    mended, _ = fixed(items, sexes)
    if len(mended) != len(items):
        told.reasons.append("put right in the same breath: " + " ".join(e.text for e in mended))
    jots, rest = jotted(mended, source, scene, lambda line: _reads(line, folded, scene, lex))
    for record, ask, reason in jots:
        told.reasons.append(reason)
        if ask is not None and ask.waiting is not None:
            told.found.append(Found(ask.waiting, ask, None))
        elif record is not None:
            told.found.append(Found(record, None, None))
    lead: list[Item] = []
    last: Clause | None = None
    for sentence, mark in joined(sentences(rest)):
        lead, last = _one_sentence(sentence, mark, folded, scene, lex, told, lead, last)
    _guard(told, scene.view, lex)
    _settle(told, scene.view)
    return told


def _guard(told: Told, view: View, lex: Lexicon) -> None:
    """Parts what is sure from what is asked: a clause that is not wholly read is asked about."""
    accounts = Accounts((each.record for each in told.found), view)
    left = {n: passed_over(clause, accounts, lex) for n, clause in told.unread}
    left = {n: text for n, text in left.items() if text}
    reasons: dict[int, str] = {}
    for at, each in enumerate(told.found):
        if each.ask is None and each.clause is not None:
            key = id(each.clause)
            if key not in reasons:
                reasons[key] = unread(
                    each.clause.items, each.record, accounts, lex, each.clause.open_end
                )
                if reasons[key]:
                    told.reasons.append(f"{each.record.kind} is asked about: {reasons[key]}")
            if reasons[key]:
                each.ask = _doubted(each.record, reasons[key])
        if at in left and each.ask is None:
            told.reasons.append(f"{each.record.kind} is asked about: {left[at]!r} is passed over")
            each.ask = _doubted(each.record, left[at])
        if each.ask is None:
            told.records.append(each.record)
        else:
            told.asks.append(each.ask)


def _doubted(record: Record, why: str) -> Ask:
    """The question whether a record is meant."""
    about = "count" if record.get("count") else guessed_field(record.kind)
    about = "who" if why.endswith("no place of the book") else about
    value = record.get(about)
    choices = tuple(value) if isinstance(value, tuple) else (str(value),) if value else ()
    return Ask(about, choices, record, "ambiguous")


def _reads(line: list[Item], folded: Sequence[str], scene: Scene, lex: Lexicon) -> bool:
    """True where a line by itself is a sure record."""
    told = Told()
    trial = Scene(scene.view, scene.now)
    for sentence, mark in sentences(line):
        _one_sentence(sentence, mark, folded, trial, lex, told, [], None)
    return bool(told.found) and all(each.ask is None for each in told.found)


def _one_sentence(
    sentence: list[Item],
    mark: str,
    folded: Sequence[str],
    scene: Scene,
    lex: Lexicon,
    told: Told,
    lead: list[Item],
    last: Clause | None,
) -> tuple[list[Item], Clause | None]:
    """Reads one sentence into `told`; returns the day told ahead for what follows, and the last
    clause."""
    question = is_question(sentence, mark)
    scene.meal = None
    request = read_request(sentence, scene, question, folded, lex)
    if request is not None and not question and _only_told(sentence, request[0]):
        request = None
    table = frames()
    cutter = Cutter(table, scene.view)
    clauses = cutter.cut(cutter.grouped(sentence))
    tell(clauses, sentence, table, question)
    told_behind(clauses)
    mark_open_ends(clauses)
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
        keep(clause, found, scene, lead, told)
    at = max(0, len(told.found) - 1)
    told.unread += [(at, e) for e in clauses if not any(e is clause for clause, _ in drafts)]
    header = bool(lead) and _only_a_day(sentence)
    if header:
        told.header = lead
    return (lead if header or (mark != "\n" and lead and _header(sentence)) else []), last


def _only_told(sentence: Sequence[Item], request: Request) -> bool:
    """True for a wish, or what others do: no order to the assistant."""
    if any(e.is_("mood", "wish") for e in sentence):
        return True
    return request.ask not in _OF_PEOPLE and any(e.is_("mood", "hearsay") for e in sentence)


def _only_a_day(sentence: Sequence[Item]) -> bool:
    return len(sentence) <= 3 and all(
        e.what in ("date", "comma", "time") or e.is_("prep") for e in sentence
    )


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
    if "oddsword" in request[2]:
        return True  # "odds M2 x F3" puts nobody in with anybody
    best = max(
        (
            d.score
            for clause, found in drafts
            for d in found
            if d.trouble is None and not clause.moods & BLOCKING
        ),
        default=0.0,
    )
    return (request[1] >= 1.5 and best < 3.0) or request[1] > best


# -- clauses ------------------------------------------------------------------------------


def _read_clause(
    clause: Clause, scene: Scene, lead: list[Item], told: Told, last: Clause | None
) -> list[Draft]:
    """The drafts of the kind that reads the clause best; notes whom it was about."""
    span = Span(clause.items, scene)
    kinds = clause.kinds or gap_kinds(clause, last)
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


# -- the outcome --------------------------------------------------------------------------


def _settle(told: Told, view: View) -> None:
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
        if same and record.kind == "hatched" and record.get("slots"):
            out[same[-1]] = out[same[-1]].with_fields(**record.fields)  # "hatched. New baby is Y12"
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


def _outcome(told: Told, items: Sequence[Item], lex: Lexicon) -> Reading:
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
