"""How something is told: as fact, or denied, planned, wished, guessed, of others, as a question."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.clauses import Clause
from bot.language.frames import Frames
from bot.language.items import BREAKS, ENTITIES, Item

_WHOLE_SENTENCE = ("if", "wish", "hearsay")
_FRAGMENT = ("almost", "plan", "hedge")
_AUX = frozenset(
    {
        "is",
        "are",
        "was",
        "were",
        "did",
        "does",
        "do",
        "has",
        "have",
        "had",
        "can",
        "could",
        "should",
        "shall",
        "would",
        "will",
        "am",
    }
)
_ASKING = _AUX | {
    "what", "whats", "which", "who", "whos", "whose", "where", "wheres", "when", "whens", "why",
    "how", "hows", "any", "anything", "anyone",
}  # fmt: skip


def is_question(items: Sequence[Item], mark: str) -> bool:
    """True for a sentence that asks, with or without its mark."""
    words = [e for e in items if e.what not in ("comma",) and not e.is_("mood", "neutral")]
    while (
        words
        and (
            words[0].is_("chat")
            or words[0].word
            in (
                "so",
                "and",
                "but",
                "ok",
                "hey",
                "hi",
                "please",
                "pls",
                "um",
                "oh",
                "quick",
                "question",
            )
        )
        and len(words) > 1
    ):
        words = words[1:]
    if mark == "?" and _tag_question(words):
        mark = ""
    if not words or (mark != "?" and words[0].what in ENTITIES):
        return False
    if mark == "?":
        return True
    if words[0].is_("mood", "wish"):
        return False
    if words[0].is_("act") and len(words[0].text.split()) > 2:
        return False  # "did a quick dig through F7's sand" tells
    said = " ".join(e.word for e in words[:3])
    if said.startswith(("last time", "the last time", "when last", "most recent")):
        return len(words) > 2
    first = words[0].word.split()[0] if words[0].text.split() else ""
    if first not in _ASKING:
        return False
    if first in _AUX:
        return _aux_asks(words)
    if first in ("any", "anything", "anyone"):
        return True
    if first == "when" and len(words) > 2 and words[1].what in ("tag", "slot", "box"):
        return not any(e.form in ("often", "base") for e in words[2:4]) or len(words) <= 3
    return not (first == "when" and len(words) > 2 and words[1].is_("pron"))


_TAGS = frozenset({"ok", "okay", "right", "alright", "yeah", "yes", "innit", "yep", "all right"})


def _tag_question(words: Sequence[Item]) -> bool:
    """ "fed the geckos in rack A 5 each ok?": told, with a word after it that asks for a nod."""
    if len(words) < 4 or words[-1].word not in _TAGS:
        return False
    first = words[1] if words[0].word in ("i", "we", "i've", "we've") else words[0]
    return first.is_("act") and first.form == "past" and not first.is_("act", "egg")


def _aux_asks(words: Sequence[Item]) -> bool:
    """ "has M2 been fed" asks; "had to toss B6", "have moved F3" and "did a search" tell."""
    if len(words) < 2:
        return False
    second = words[1]
    first = words[0].word.split()[0]
    if second.word in ("anybody", "somebody", "someone", "anyone", "everybody"):
        return True
    if second.is_("act", "egg") and first in ("is", "are", "was", "were"):
        return True
    if second.what in ("tag", "slot", "box", "place"):
        return first not in ("had", "have") or (len(words) > 3 and first != "had")
    return second.word in (
        "i",
        "we",
        "you",
        "there",
        "any",
        "anyone",
        "anybody",
        "someone",
        "somebody",
        "everyone",
        "it",
        "she",
        "he",
        "they",
        "that",
        "this",
        "my",
        "the",
        "anything",
        "all",
    )


def tell(clauses: Sequence[Clause], sentence: Sequence[Item], frames: Frames, asked: bool) -> None:
    """Marks each clause of a sentence with the moods that keep it from being a plain fact."""
    whole = {m for m in _WHOLE_SENTENCE if _sentence_mood(sentence, m)}
    carried: set[str] = set()
    for clause in clauses:
        clause.moods |= whole | _own(clause, frames)
        clause.asked = asked
        carried = _carry(clause, carried, frames)
        clause.moods |= carried
        if clause.word in ("while", "whilst"):  # "while I had her out"
            clause.moods.add("almost")


def _sentence_mood(sentence: Sequence[Item], mood: str) -> bool:
    for k, item in enumerate(sentence):
        if item.is_("mood", mood):
            if (
                mood == "hearsay"
                and item.word
                in (
                    "my friend",
                    "a friend",
                    "my mate",
                    "a mate",
                    "my friends",
                    "a breeder",
                    "a keeper",
                    "someone",
                    "somebody",
                    "neighbour",
                    "neighbour 's",
                    "my neighbour",
                    "neighbour's",
                    "neighbor's",
                )
                and any(
                    e.is_("prep", "to", "with", "for", "from", "at") or e.is_("how")
                    for e in sentence[max(0, k - 2) : k]
                )
            ):
                continue
            if mood == "hearsay" and _buyer(sentence, k):
                continue
            if item.word in ("someone", "somebody") and _object(sentence, k):
                continue  # "put someone in with Luna": which male is asked
            if item.word in ("every time", "each time") and _follows(sentence, k):
                continue
            return True
        if (
            mood == "if"
            and item.word in ("when", "once", "after", "before", "until")
            and (k == 0 or sentence[k - 1].what in BREAKS)
        ):
            rest = list(sentence[k + 1 : k + 5])
            if any(e.form in ("base", "often") for e in rest):
                return True
        if mood == "hearsay" and (_owned(sentence, k) or _theirs(sentence, k)):
            return True
    return False


def _buyer(sentence: Sequence[Item], k: int) -> bool:
    """ "sold H3 to a lady from the club": whom it went to is no hearsay."""
    for n, item in enumerate(sentence[:k]):
        if item.is_("how", "sold", "given") or item.is_("act", "give"):
            rest = sentence[n + 1 : k + 1]
            return any(e.what == "tag" for e in sentence[:k]) and any(
                e.is_("prep", "to") for e in rest
            )
    return False


def _object(sentence: Sequence[Item], k: int) -> bool:
    return k > 0 and sentence[k - 1].is_("act", "put", "pair", "move", "drop")


def _follows(sentence: Sequence[Item], k: int) -> bool:
    """True for words that come after a telling in their fragment and do not open one."""
    return k > 1 and sentence[k - 1].what not in BREAKS


_NOBODY = frozenset(
    {
        "it",
        "that",
        "there",
        "here",
        "what",
        "she",
        "he",
        "who",
        "where",
        "how",
        "let",
        "this",
        "when",
        "one",
        "so",
        "box",
        "everyone",
        "f",
        "m",
    }
)


def _owned(sentence: Sequence[Item], k: int) -> bool:
    """ "Sara's F3": an animal of somebody the book does not know."""
    if k + 2 >= len(sentence) or sentence[k + 1].word != "'s":
        return False
    item, owned = sentence[k], sentence[k + 2]
    if owned.what not in ("tag", "slot") or item.what != "word" or item.word in _NOBODY:
        return False
    return not any(item.is_(cls) for cls in ("act", "sign", "state", "day", "chat", "pron", "sex"))


def _theirs(sentence: Sequence[Item], k: int) -> bool:
    """ "says his C3 sheds": somebody else's."""
    follow = sentence[k + 1] if k + 1 < len(sentence) else None
    return sentence[k].word in ("his", "their") and follow is not None and (follow.what == "tag")


def _own(clause: Clause, frames: Frames) -> set[str]:
    """Moods within the clause: a fragment's own, and those of fragments ahead of its heart."""
    moods: set[str] = set()
    seen_heart = False
    for fragment in _fragments(clause.items):
        heart = next((n for n, e in enumerate(fragment) if frames.kinds_of(e)), None)
        if seen_heart and heart is None:
            continue
        for n, item in enumerate(fragment):
            mood = item.get("mood")
            if mood in _FRAGMENT:
                moods.add(mood)
            elif mood == "neg" and _denies(fragment, n, heart):
                moods.add("neg")
            elif _tells_ahead(item):
                moods.add("plan")
        seen_heart = seen_heart or heart is not None
    return moods


def _tells_ahead(item: Item) -> bool:
    """True for a day or hour still to come: "tomorrow", "in two hours", "next week"."""
    if item.what == "date":
        return _ahead(item)
    if item.what == "time":
        return item.value.ago is not None and item.value.ago < 0
    return item.what == "span" and item.value in ("next-week", "next-month", "next-weekend")


def _ahead(item: Item) -> bool:
    hint = item.value
    return (hint.sort == "offset" and hint.number > 0) or hint.turn in ("next", "week")


def _denies(fragment: Sequence[Item], n: int, heart: int | None) -> bool:
    """A "not" ahead of the heart of its fragment denies it; "no pores" and "no. 4" do not."""
    if heart is None:
        return [e.word for e in fragment] != ["oh", "no"]  # "oh no, M5 dropped his tail"
    follow = fragment[n + 1] if n + 1 < len(fragment) else None
    if follow is not None and (
        follow.is_("sexmark") or (fragment[n].is_("slotnoun") and follow.what == "num")
    ):
        return False
    if follow is not None and follow.word in ("longer", "only", "just"):
        return fragment[n].word == "no"
    return n < heart or fragment[n].word in ("nope", "nothing", "none", "neither")


def _fragments(items: Sequence[Item]) -> list[list[Item]]:
    out: list[list[Item]] = [[]]
    for item in items:
        if item.what in BREAKS and item.get("joint") != "or":
            if out[-1]:
                out.append([])
            continue
        out[-1].append(item)
    return [each for each in out if each]


def _carry(clause: Clause, carried: set[str], frames: Frames) -> set[str]:
    """Moods that run on into the next clause: "hasn't laid or shed", "will pull M2 and weigh him".

    A new subject of its own, or a finished past form, ends them.
    """
    heart = next((n for n, e in enumerate(clause.items) if frames.kinds_of(e)), None)
    if heart is None:
        return set(clause.moods) & {"neg", "plan", "almost", "hedge"} or carried
    named = ("tag", "slot", "place", "box")
    led = any(e.what in named for e in clause.items[:heart])
    if not led and any(e.is_("pron", "she", "he") for e in clause.items[:heart]):
        carried = carried - {"neg"}  # "did not mate, she bit him"
    own = any(e.what in named for e in clause.items) and clause.items[heart].form != "base"
    if led or clause.first or (own and clause.joined not in ("and", "or")):
        return clause.moods & {"plan", "almost", "hedge", "neg"}
    return carried | (clause.moods & {"plan", "almost", "hedge", "neg"})
