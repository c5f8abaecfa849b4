"""One sentence that may ask something, ready to be held against the patterns of requests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bot.language.drafts import Scene, Span
from bot.language.items import Item
from bot.language.spans import asked_ahead
from bot.language.wording import Lexicon

ENTITY = {
    "<num>": ("num",),
    "<grams>": ("grams",),
    "<tag>": ("tag",),
    "<slot>": ("slot",),
    "<box>": ("box",),
    "<place>": ("place",),
    "<date>": ("date",),
    "<span>": ("span",),
    "<time>": ("time",),
}
ALIASES: Mapping[str, tuple[str, ...]] = {
    "deed": ("act", "how", "fed", "sign", "state"),
    "plan": ("mood.plan",),
    "will": ("mood.plan",),
    "with": ("prep.with",),
    "next": (),
    "everything": ("everyone",),
    "put": ("act.put",),
    "howto": ("howq",),
    "best": ("match",),
    "suggest": ("match",),
    "space": ("free",),
    "date": ("date",),
}


class Asked:
    """One sentence, ready to be matched."""

    def __init__(
        self, items: Sequence[Item], scene: Scene, words: Sequence[str], lexicon: Lexicon
    ) -> None:
        """`words` are the folded words of the whole message, by which the items count."""
        self.items = items
        self.scene = scene
        self.span = Span(items, scene)
        self.names: set[str] = set()
        self.cued: set[int] = set()  # the words that belong to a cue
        self._find_cues(words, lexicon)
        for item in items:
            self._note(item)
        if "<tag>" not in self.names and self.span.has("pron", "she", "he", "it"):
            for tag in self.span.pronoun_tags():
                self.names.update(("<tag>", f"<{scene.sex(tag)}>"))

    def _find_cues(self, words: Sequence[str], lexicon: Lexicon) -> None:
        start, end = (self.items[0].i, self.items[-1].j) if self.items else (0, 0)
        for i in range(start, min(end, len(words))):
            for phrase, name in lexicon.cues.get(words[i], ()):
                n = len(phrase)
                if i + n < len(words) and len(phrase[-1]) == 1 and words[i + n].isdigit():
                    continue  # the C of "in C1" is no Celsius
                if n == 1 or (i + n <= end and list(phrase) == list(words[i : i + n])):
                    self.names.add(name)
                    self.cued.update(range(i, i + n))

    def _note(self, item: Item) -> None:
        names = self.names
        if item.what == "word":
            for cls, sense in item.senses.items():
                names.add(cls)
                names.add(f"{cls}.{sense.value}")
        elif item.what in ("joint",):
            names.update(f"{cls}.{s.value}" for cls, s in item.senses.items())
        if item.what != "span" or asked_ahead(item.value, self.items):
            names.add(f"<{item.what}>")
        for cls, sense in item.senses.items():
            names.add(f"{cls}.{sense.value}")
        if item.text.casefold() in ("next", "nxt", "nex"):
            names.add("next")
        if item.what == "tag":
            for tag in self.span.tag_names(item):
                names.add(f"<{self.scene.sex(tag)}>")
            if len(item.value) > 1 or len([e for e in self.items if e.what == "tag"]) > 1:
                names.add("<tag2>")

    def has(self, name: str) -> bool:
        """True where the sentence holds the piece of that name."""
        if name in self.names:
            return True
        return any(each in self.names for each in ALIASES.get(name, ()))

    def extra(self, wanted: frozenset[str]) -> int:
        """How many words of content the pieces wanted leave unexplained."""
        left = 0
        for item in self.items:
            if item.what in (
                "comma",
                "joint",
                "num",
                "date",
                "time",
                "span",
                "ml",
                "grams",
                "other",
            ):
                continue
            if item.i in self.cued:
                continue
            if f"<{item.what}>" in wanted or item.is_("chat") or item.is_("answer"):
                continue
            if item.what == "word" and (
                not item.senses
                or set(item.senses)
                <= {"plain", "prep", "pron", "soundletter", "soundnumber", "slotnoun", "daypart"}
            ):
                left += not item.is_("prep") and item.text.casefold() not in SMALL
                continue
            left += 2
        return left


SMALL = frozenset(
    {
        *("the", "a", "an", "that", "this", "it", "please", "pls", "one", "my", "me", "i", "and"),
        *("is", "of", "'s", "number", "no", "task", "to", "do", "for"),
    }
)
