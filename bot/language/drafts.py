"""A record in the making: what the fillers share to take a clause's pieces apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from bot.language.codes import find_box, near_tags, slot_exists
from bot.language.items import BREAKS, Item
from bot.language.view import PairingSeen, View


@dataclass(slots=True)
class Trouble:
    """Why a draft can't be written as it is: the field to ask about and what it could be."""

    about: str
    why: str = "missing"
    choices: tuple[str, ...] = ()
    said: str = ""


@dataclass(slots=True)
class Draft:
    """A record in the making. `score` grows with what fits, and falls with what is left over."""

    kind: str
    fields: dict[str, Any] = field(default_factory=dict)
    trouble: Trouble | None = None
    score: float = 0.0
    said: dict[str, str] = field(default_factory=dict)  # field -> the word it came from

    def ask(
        self, about: str, why: str = "missing", choices: Sequence[str] = (), said: str = ""
    ) -> Draft:
        """Notes trouble, unless there is some already; returns the draft."""
        if self.trouble is None:
            self.trouble = Trouble(about, why, tuple(choices), said)
        return self


@dataclass
class Scene:
    """What is known while a message is read: the book, the hour, and what was told so far."""

    view: View
    now: datetime  # the household's wall time
    tags: tuple[str, ...] = ()  # whom the last clause was about
    named: list[str] = field(default_factory=list)  # every animal named so far, in order
    slots: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    boxes: tuple[str, ...] = ()
    last_kind: str | None = None
    meal: str | None = None  # the feeder told last in the sentence
    joined: list[PairingSeen] = field(default_factory=list)
    filled: set[str] = field(default_factory=set)
    emptied: set[str] = field(default_factory=set)
    born: set[str] = field(default_factory=set)  # tags the message itself brought in
    told_tags: tuple[str, ...] = ()  # whom the conversation was about before this message
    told_slots: tuple[str, ...] = ()

    def unread(self) -> Scene:
        """The same scene to read a message in, which leaves this one as it is."""
        return replace(
            self,
            named=list(self.named),
            joined=list(self.joined),
            filled=set(self.filled),
            emptied=set(self.emptied),
            born=set(self.born),
        )

    def sex(self, tag: str) -> str:
        """The book's word on an animal's sex."""
        seen = self.view.animals.get(tag)
        return seen.sex if seen else "unknown"

    def pairings(self, tag: str) -> list[PairingSeen]:
        """Open pairings of an animal, with those the message told."""
        return [*self.view.partners(tag), *(p for p in self.joined if tag in (p.male, p.female))]


class Span:
    """The pieces of one clause with ways to pick arguments out of them."""

    def __init__(self, items: Sequence[Item], scene: Scene) -> None:
        self.items = items
        self.scene = scene
        self.view = scene.view

    # -- words ------------------------------------------------------------------------------------

    def has(self, cls: str, *values: str) -> bool:
        """True where some piece carries such a sense."""
        return any(each.is_(cls, *values) for each in self.items)

    def first(self, cls: str, *values: str) -> Item | None:
        """The first piece with such a sense."""
        return next((each for each in self.items if each.is_(cls, *values)), None)

    def what(self, *whats: str) -> list[Item]:
        """All pieces of those sorts."""
        return [each for each in self.items if each.what in whats]

    def index(self, item: Item) -> int:
        """Where a piece stands in the clause."""
        return next(k for k, each in enumerate(self.items) if each is item)

    def before(self, item: Item, steps: int = 1) -> Item | None:
        """The piece that stands before another, past small words."""
        k = self.index(item) - 1
        while k >= 0 and self.items[k].text.casefold() in (
            "the",
            "a",
            "an",
            "his",
            "her",
            "its",
            "my",
            "their",
            "own",
            "on",
            "to",
            "for",
        ):
            if self.items[k].is_("prep"):
                break
            k -= 1
        return self.items[k] if k >= 0 else None

    def prep(self, item: Item) -> str | None:
        """The preposition that leads a piece."""
        lead = self.before(item)
        if lead is None:
            return None
        if lead.is_("act", "pair"):
            return "with"
        return lead.get("prep")

    # -- animals ----------------------------------------------------------------------------------

    def animals(self) -> list[Item]:
        """Pieces that name animals, or codes the book does not know as anything else."""
        return [
            each
            for each in self.items
            if each.what == "tag" or (each.what == "slot" and any(code.tag for code in each.codes))
        ]

    def tag_names(self, item: Item) -> tuple[str, ...]:
        """The tags that a piece names, as the book writes them or as they would be written."""
        if item.what == "slot":
            return tuple(code.tag for code in item.codes if code.tag)
        return tuple(item.value)

    def pronoun_tags(self) -> tuple[str, ...]:
        """Whom "she", "him", "both" or nobody at all stands for."""
        scene = self.scene
        if self.has("pron", "both", "they"):
            if len(scene.tags) > 1:
                return scene.tags
            recent = tuple(dict.fromkeys(scene.named))[-2:]
            if len(recent) == 2:
                return recent
            return scene.told_tags if len(scene.told_tags) > 1 else ()
        for word, sex in (("she", "female"), ("he", "male")):
            if self.has("pron", word):
                return self._by_sex(sex)
        if self.has("pron", "it") and not scene.tags and len(scene.told_tags) == 1:
            return scene.told_tags
        return scene.tags

    def _by_sex(self, sex: str) -> tuple[str, ...]:
        scene = self.scene
        other = "male" if sex == "female" else "female"
        for tag in reversed(scene.named):
            if scene.sex(tag) == sex:
                return (tag,)
        if scene.tags and scene.sex(scene.tags[0]) != other:
            return scene.tags[:1]
        told = [tag for tag in scene.told_tags if scene.sex(tag) == sex]
        if not scene.named and len(told) == 1:
            return (told[0],)
        if not scene.named and len(scene.told_tags) == 1 and scene.sex(scene.told_tags[0]) != other:
            return scene.told_tags
        return ()

    def subjects(self, heart: Item | None = None) -> tuple[tuple[str, ...], Item | None]:
        """The animals a one-animal kind is about, and the piece that named them.

        Of several, the one that stands right after the verb, else the nearest ahead of it.
        """
        items = self.animals()
        if not items:
            return self.pronoun_tags(), None
        if len(items) > 1:
            plain = [each for each in items if self.prep(each) not in ("with", "from", "to")]
            items = plain or items
        chosen = items[0]
        if len(items) > 1 and heart is not None:
            at = self.index(heart)
            right_after = [
                e
                for e in items
                if 0 < self.index(e) - at <= 2
                and not any(b.what in BREAKS for b in self.items[at : self.index(e)])
            ]
            ahead = [e for e in items if self.index(e) < at]
            if right_after and (heart.is_("act") or heart.is_("how")):
                chosen = right_after[0]
            elif ahead:
                chosen = ahead[-1]
        return self.tag_names(chosen), chosen

    # -- slots, boxes, places ---------------------------------------------------------------------

    def slot_items(self) -> list[Item]:
        """Pieces that give slots: known, or codes that the book knows as nothing."""
        return [
            each
            for each in self.items
            if each.what == "slot"
            or (
                each.what == "tag"
                and each.codes
                and all(code.slot or not code.tag for code in each.codes)
            )
        ]

    def slot_names(self, item: Item) -> tuple[str, ...]:
        """The slots of a piece; "?4" (a slot with no box named) takes the box last spoken of."""
        if item.what == "tag":
            return tuple(code.slot or code.wrote for code in item.codes)
        return tuple(self._boxed(slot) for slot in item.value)

    def _boxed(self, slot: str) -> str:
        if not slot.startswith("?"):
            return slot
        boxes = [box for each in self.what("box") for box in each.value] or list(self.scene.boxes)
        if not boxes and len(self.view.boxes) == 1:
            boxes = list(self.view.boxes)
        return f"{boxes[0]}{slot[1:]}" if len(boxes) == 1 else slot

    def place_names(self) -> list[tuple[str, Item]]:
        """Places told, boxes among them ("box B"), each with the piece that named it."""
        out: list[tuple[str, Item]] = []
        for each in self.items:
            if each.what == "place":
                names = each.value if isinstance(each.value, tuple) else (each.value,)
                out += [(name, each) for name in names]
            elif each.what == "box":
                out += [(f"box {find_box(b, self.view) or b}", each) for b in each.value]
        return out

    # -- numbers ----------------------------------------------------------------------------------

    def numbers(self, whole: bool | None = None) -> list[Item]:
        """Bare numbers, perhaps only whole ones."""
        return [
            each for each in self.what("num") if whole is None or ("whole" in each.senses) == whole
        ]

    def near(self, item: Item, cls: str, *values: str, reach: int = 2) -> bool:
        """True where a sense stands within `reach` pieces after the item."""
        k = self.index(item)
        for each in self.items[k + 1 : k + 1 + reach]:
            if each.what == "num" or each.what in ("comma", "joint"):
                return False
            if each.is_(cls, *values):
                return True
        return False


def check_tag(
    draft: Draft, name: str, tag: str, scene: Scene, sex: str | None = None, said: str = ""
) -> Draft:
    """Asks where the book knows no such animal, where it has left, or where its sex can't be."""
    if tag in scene.born:
        return draft
    seen = scene.view.animals.get(tag)
    if seen is None:
        return draft.ask(name, "unknown-tag", near_tags(tag, scene.view), said or tag)
    if seen.status != "kept":
        return draft.ask(name, "gone", (), said or tag)
    if sex is not None and seen.sex != sex:
        return draft.ask(name, f"not-a-{sex}", (), said or tag)
    return draft


def check_slots(draft: Draft, name: str, slots: Sequence[str], scene: Scene, want: str) -> Draft:
    """Asks where a slot does not exist, or is taken (`want` free) or empty (`want` an egg)."""
    for slot in slots:
        if slot.startswith("?"):
            choices = tuple(
                f"{box}{slot[1:]}"
                for box in list(scene.view.boxes)[:6]
                if slot_exists(f"{box}{slot[1:]}", scene.view)
            )
            return draft.ask(name, "ambiguous", choices, f"slot {slot[1:]}")
    for slot in slots:
        if not slot_exists(slot, scene.view):
            return draft.ask(name, "unknown-slot", (), slot)
    for slot in slots:
        taken = (slot in scene.view.eggs or slot in scene.filled) and slot not in scene.emptied
        if want == "free" and taken:
            return draft.ask(name, "slot-taken", tuple(free_beside(slots, scene)), slot)
        if want == "egg" and not taken:
            return draft.ask(name, "slot-empty", (), slot)
    return draft


def free_beside(slots: Sequence[str], scene: Scene, limit: int = 4) -> Iterator[str]:
    """The first free slots of the box that the slots lie in."""
    from bot.language.codes import box_slots, split_slot

    box = split_slot(slots[0])[0]
    if box not in scene.view.boxes:
        return
    for slot in box_slots(box, scene.view):
        if slot not in scene.view.eggs and slot not in scene.filled and slot not in slots:
            yield slot
            limit -= 1
            if not limit:
                return
