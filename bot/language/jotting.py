"""Notes and reminders: what is to be written down or told again, in the keeper's own words."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bot.language.dates import when_of
from bot.language.drafts import Draft, Scene, Span
from bot.language.items import BREAKS, ENTITIES, Item
from bot.language.reading import Ask
from bot.language.repeating import repeating
from bot.language.spans import lies_ahead
from bot.records import Record


@dataclass(frozen=True)
class Source:
    """The message as typed, and where each of its tokens begins and ends in it."""

    text: str
    spans: tuple[tuple[int, int], ...]

    def typed(self, item: Item) -> str:
        """A piece as it was typed."""
        if not self.text or item.j > len(self.spans) or item.i >= item.j:
            return item.text
        return self.text[self.spans[item.i][0] : self.spans[item.j - 1][1]]

    def gap(self, one: Item, two: Item) -> str:
        """What stood between two pieces; a space where something was taken out."""
        apart = " " if not two.text.startswith(("'", ",")) else ""
        if not self.text or two.j > len(self.spans) or one.j > two.i:
            return apart
        between = self.text[self.spans[one.j - 1][1] : self.spans[two.i][0]]
        return apart if any(c.isalnum() for c in between) else between


Jot = tuple[Record | None, Ask | None, str]

_LEAD_IN = frozenset(
    {
        "to",
        "that",
        "about",
        "of",
        "for",
        "on",
        "at",
        "in",
        "a",
        "and",
        ":",
        "-",
        "please",
        "pls",
        "me",
        "also",
        "the",
        "is",
        "by",
        ",",
        ".",
        "again",
    }
)
_OPENERS = frozenset(
    {
        "kindly",
        "dear",
        "assistant",
        "please",
        "pls",
        "can",
        "could",
        "you",
        "and",
        "also",
        "ok",
        "hey",
        "hi",
        "oh",
        "so",
        "a",
        "quick",
        "just",
        "new",
        "to",
        "self",
        "'s",
        "own",
        "rackside",
        "then",
        "i",
        "need",
        "don't",
        "let",
        "want",
        "would",
        "like",
        "little",
        "another",
        "the",
    }
)


_CHANNELS = frozenset({"sms", "text", "texts", "telegram"})
_AROUND_A_CHANNEL = frozenset(
    {
        *("remind", "reminder", "reminders", "me", "us", "by", "via", "on", "over", "through"),
        *("the", "my", "our", "all", "a", "message", "messages", "please", "pls", "instead", "of"),
        *("from", "now", "with", "in", "to", ",", "always", "as"),
    }
)


def _says_by_what(line: Sequence[Item]) -> bool:
    """ "remind me on Telegram", "text me the reminders": how reminders come, and no reminder."""
    words = [word for item in line for word in item.text.casefold().split()]
    spoken = "reminders" in words or not {"text", "sms"} & set(words[:1])
    channel = any(word in _CHANNELS for word in words)
    return channel and spoken and all(w in _CHANNELS | _AROUND_A_CHANNEL for w in words)


def jotted(
    items: Sequence[Item], source: Source, scene: Scene, reads: Callable[[list[Item]], bool]
) -> tuple[list[Jot], list[Item]]:
    """Notes and reminders taken out of the message: each with its line's words; then what is left.

    `reads` tells whether a line is a record by itself: "please note that F3 shed" is one.
    """
    jots: list[Jot] = []
    rest: list[Item] = []
    k = 0
    while k < len(items):
        item = items[k]
        which = (
            "remind" if item.is_("act", "remind") else "note" if item.is_("act", "note") else None
        )
        if which is None and item.is_("mood", "neutral") and "write down" in item.text.casefold():
            end = _line_end(items, k, "note")
            which = None if reads(list(items[k + 1 : end])) else "note"
        if which == "remind" and (_later(items, k) or (k > 0 and items[k - 1].is_("mood", "neg"))):
            which = None
        if which == "remind" and _says_by_what(items[k : _line_end(items, k, "remind")]):
            which = None
        if _tells_a_trait(items, k, rest):
            end = _line_end(items, k, "note")
            said = joined_text(list(items[k:end]), source)
            jots.append((Record("note", scene.now.date(), None, {"text": said}), None, "a trait"))
            k = end
            continue
        if which is None or not _opens(items, k, rest):
            rest.append(item)
            k += 1
            continue
        end = _line_end(items, k, which)
        if which == "remind":
            end = _log_after(items, k, end, reads)
        line = list(items[k + 1 : end])
        if which == "note" and _polite(items, k) and reads(line):
            rest += line
            k = end
            continue
        about = _pulled_back(rest) if which == "note" else []
        if which == "note":
            jot = _note(line, about, source, scene)
        else:
            jot = _plan(line, _pulled_back(rest, dates=True), source, scene)
        if jot is None:
            rest += [item, *line]
        else:
            jots.append(jot)
            while rest and rest[-1].what not in ("stop",) and _opener(rest[-1]):
                rest.pop()
        k = end
    return jots, rest


_INHERITED = frozenset(
    {"recessive", "dominant", "codominant", "co-dominant", "incomplete", "polygenic", "co"}
)


def _tells_a_trait(items: Sequence[Item], k: int, before: Sequence[Item]) -> bool:
    """ "trait stripe is recessive": how a trait is inherited is a note."""
    opens = items[k].text.casefold() in ("trait", "morph") or items[k].is_("trait")
    if not opens or (before and before[-1].what != "stop"):
        return False
    return any(e.text.casefold() in _INHERITED for e in items[k + 1 : k + 8])


def _polite(items: Sequence[Item], k: int) -> bool:
    """ "please note that ...", "record that ...": perhaps only a polite way to tell."""
    asked = items[k].text.casefold()
    follow = items[k + 1].text.casefold() if k + 1 < len(items) else ""
    return (
        asked.endswith("that") or follow == "that" or asked.startswith(("please", "pls", "kindly"))
    )


def _later(items: Sequence[Item], k: int) -> bool:
    """ "remind me later", "remind me again tomorrow" put a reminder off and set none."""
    end = _line_end(items, k, "remind")
    words = {
        e.text.casefold()
        for e in items[k + 1 : end]
        if e.what not in ("date", "time", "comma", "span")
    }
    asked = items[k].text.casefold()
    return (bool(words & {"later", "again"}) or "again" in asked) and words <= {
        "later",
        "again",
        "in",
        "a",
        "bit",
        "about",
        "it",
        "this",
        "that",
        "please",
        "pls",
        "on",
        "at",
        "of",
        "the",
    }


def _opener(item: Item) -> bool:
    return item.what in ("comma", "joint") or item.text.casefold() in _OPENERS or item.is_("chat")


def _opens(items: Sequence[Item], k: int, before: Sequence[Item]) -> bool:
    """True where only openers, an animal or a day stand ahead in the sentence."""
    lead = items[k - 1] if k else None
    if lead is not None and items[k].text.casefold().startswith("remind me"):
        measured = ("grams", "pct", "temp", "slot", "tag", "place", "box")
        if lead.what in ("joint", "comma", *measured):
            return True
    for item in reversed(before):
        if item.what == "stop":
            return True
        if item.what == "comma" and item.value in (",",) and items[k].is_("act", "remind"):
            return True
        if _opener(item) or item.what in ("tag", "slot", "date", "time") or item.is_("prep"):
            continue
        if items[k].is_("act", "remind") and (_timed(item) or item.text.casefold() in _EVERY):
            continue
        if item.what == "joint":
            return True
        return items[k].text.casefold().startswith(("note", "nb", "for the record")) and (
            k > 0 and items[k - 1].what in ("comma", "joint")
        )
    return True


_EVERY = ("every", "each")


def _timed(item: Item) -> bool:
    """True for what tells an hour: "at 5 in the afternoon", "the evening"."""
    return item.is_("daypart") or item.what == "span" or item.text.casefold() == "the"


def _line_end(items: Sequence[Item], k: int, which: str) -> int:
    """A note runs to the line's end, a reminder to the sentence's."""
    end = k + 1
    while end < len(items):
        item = items[end]
        if item.what == "stop" and (item.value == "\n" or which == "remind"):
            break
        if (
            item.what == "stop"
            and which == "note"
            and end + 1 < len(items)
            and (items[end + 1].is_("act", "remind"))
        ):
            break
        end += 1
    return end


def _log_after(items: Sequence[Item], k: int, end: int, reads: Callable[[list[Item]], bool]) -> int:
    """Where "..., and box G had its water" begins: a log of its own ends the reminder's words."""
    for at in range(k + 2, end - 1):
        if items[at].what not in ("comma", "joint"):
            continue
        rest = list(itertools.dropwhile(lambda e: e.what in BREAKS, items[at:end]))
        told = any(e.is_("act") and e.form == "past" and not e.is_("act", "egg") for e in rest)
        if rest and rest[0].what in ENTITIES and told and reads(rest):
            return at
    return end


def _pulled_back(rest: list[Item], dates: bool = False) -> list[Item]:
    """What stands ahead of the word in its sentence: "F3 note: ...", "friday remind me ..."."""
    out: list[Item] = []
    while rest and rest[-1].what != "stop":
        item = rest[-1]
        wanted = item.what in (("date", "time") if dates else ("tag", "slot"))
        if wanted or (dates and (_timed(item) or item.text.casefold() in _EVERY)):
            out.insert(0, rest.pop())
        elif _opener(item) or item.is_("prep"):
            rest.pop()
        else:
            break
    return out


def _note(line: list[Item], ahead: list[Item], source: Source, scene: Scene) -> Jot | None:
    about, words = (list(ahead), list(line)) if ahead else _noted_about(line)
    span = Span([*about, *words], scene)
    while words and (
        (words[0].text.casefold() in _LEAD_IN and words[0].what != "tag")
        or words[0].what in ("comma", "stop")
        or words[0].text == "'s"
    ):
        words = words[1:]
    said = joined_text(words, source)
    tags = [name for item in about for name in _names(item, span)]
    if not tags:
        named = [e for e in words if e.what in ("tag", "slot")]
        tags = [name for item in named[:1] for name in _names(item, span)]
    when = when_of([e for e in words if e.what == "date" and not _ahead(e)], scene.now)
    fields: dict[str, object] = {"about": tuple(tags)} if tags else {}
    if said:
        fields["text"] = said
    record = Record("note", scene.now.date() if when.future else when.on, None, fields)
    if not said:
        return None, Ask("text", (), record), "a note with no words"
    told = (t for e in about if e.what == "tag" for t in span.tag_names(e))
    unknown = next((t for t in told if t not in scene.view.animals), None)
    if unknown:
        from bot.language.codes import near_tags

        waiting = record.with_fields(about=None)
        asked = Ask("about", near_tags(unknown, scene.view), waiting, "unknown-tag", unknown)
        return None, asked, "a note on an unknown animal"
    return record, None, f"a note: {said}"


def _names(item: Item, span: Span) -> tuple[str, ...]:
    return span.slot_names(item) if item.what == "slot" else span.tag_names(item)


def _noted_about(line: list[Item]) -> tuple[list[Item], list[Item]]:
    """What a note's words begin with, "for P1 and P2 ...", and the words that are left."""
    words = list(line)
    k = 0
    while k < len(words) and (words[k].text.casefold() in _LEAD_IN or words[k].what == "comma"):
        k += 1
    if k < len(words) and words[k].text.casefold() in ("self", "myself"):
        return _noted_about(words[k + 1 :])
    about: list[Item] = []
    while k < len(words) and words[k].what in ("tag", "slot"):
        about.append(words[k])
        k += 1
        while k + 1 < len(words) and (
            words[k].what in ("joint", "comma") and words[k + 1].what in ("tag", "slot")
        ):
            k += 1
    return about, words[k:] if about else words


def _ahead(item: Item) -> bool:
    return bool(item.value.sort == "offset" and item.value.number > 0)


def joined_text(items: Sequence[Item], source: Source) -> str:
    """The words of pieces as they were typed, with what stood between them."""
    out = ""
    last: Item | None = None
    for item in items:
        typed = source.typed(item)
        gap = source.gap(last, item) if last is not None else ""
        out += gap + typed
        last = item
    return " ".join(out.split()).rstrip(".,;:")


def _plan(line: list[Item], ahead: list[Item], source: Source, scene: Scene) -> Jot:
    often = repeating([*ahead, *line], scene.now)
    line = [e for e in line if not any(e is each for each in often.pieces)]
    pieces = [e for e in [*ahead, *line] if not any(e is each for each in often.pieces)]
    told = [e for e in pieces if e.what in ("date", "time")]
    parts = [e for e in pieces if e.is_("daypart") and e.what == "word"]
    spans = [e for e in pieces if e.what == "span" and lies_ahead(e.value)]
    words = [e for e in line if e not in told and not (told and e in parts)]
    words = tidy(words)
    said = joined_text(words, source)
    fields: dict[str, object] = {"text": said} if said else {}
    when = when_of([*told, *parts], scene.now, ahead=True)
    on = when.on
    if spans and not told:
        from bot.language.spans import plan_day

        on = plan_day(spans[0].value, scene.now.date())
        words = tidy([e for e in words if e not in spans])
        said = joined_text(words, source)
        fields = {"text": said} if said else {}
    again = often.said or _again(pieces, source)
    if often.first is not None and not told and not spans:
        on = often.first
    if said and again:
        fields["text"] = f"{said} {again}"
    record = Record("plan", on, when.at, fields)
    if not said:
        return None, Ask("text", (), record), "a reminder with no words"
    if not told and not spans and often.first is None:
        return None, Ask("on", ("today", "tomorrow"), record), "a reminder with no day"
    return record, None, f"a reminder: {said}"


def _again(pieces: Sequence[Item], source: Source) -> str:
    """ "every friday": kept in the words, since a reminder is set for one day."""
    for one, two in itertools.pairwise(pieces):
        if one.text.casefold() in _EVERY and two.what in ("date", "time"):
            return f"{source.typed(one)} {source.typed(two)}"
    return ""


def tidy(words: list[Item]) -> list[Item]:
    """Drops the small words that led to what is left: "to", "about", "on"."""
    while words and (
        words[0].text.casefold() in (*_LEAD_IN, "every", "each")
        or words[0].what in ("comma", "joint")
        or words[0].text == "'s"
    ):
        words = words[1:]
    while words and (
        words[-1].text.casefold()
        in (
            "on",
            "at",
            "in",
            "by",
            "please",
            "pls",
            "for",
            ",",
            "the",
            "thanks",
            "this",
            "to",
            "from",
            "again",
            "around",
        )
        or words[-1].what in ("comma", "joint")
        or words[-1].is_("chat", "thanks")
    ):
        words = words[:-1]
    out: list[Item] = []
    for k, word in enumerate(words):
        if (
            word.is_("prep", "on", "at")
            and k + 1 < len(words)
            and words[k + 1].text.casefold() == "to"
        ):
            continue
        out.append(word)
    return out


def plan_text(draft: Draft, items: Sequence[Item]) -> str:
    """A short text for a reminder of something planned: "put M2 in with F3"."""
    fields = draft.fields
    if draft.kind == "paired" and {"male", "female"} <= fields.keys():
        return f"put {fields['male']} in with {fields['female']}"
    if draft.kind == "parted" and "male" in fields:
        return f"pull {fields['male']}" + (
            f" from {fields['female']}" if "female" in fields else ""
        )
    words = [
        e
        for e in items
        if e.what not in ("date", "time", "span")
        and not e.is_("mood")
        and not e.is_("pron", "it")
        and e.text.casefold() not in ("i", "'ll", "'m", "am", "be", "'s")
    ]
    return joined_text(tidy(words), Source("", ()))
