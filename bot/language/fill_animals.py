"""Fills records about one animal: weighed, shed, seen, sexed, placed, left, named."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

from bot.language.drafts import Draft, Span, check_tag
from bot.language.fill_feeding import fill_fed
from bot.language.fill_newcomer import fill_animal
from bot.language.fill_pairing import fill_paired, fill_parted, fill_partner
from bot.language.items import BREAKS, Item
from bot.language.likely_weights import hardly

HEAVIEST = 450.0  # grams; no gecko kept weighs more

Filler = Callable[[Span], list[Draft]]


def _each(
    span: Span, kind: str, fields: dict[str, object], score: float = 2.0, heart: Item | None = None
) -> list[Draft]:
    """One draft for each animal the clause is about; `heart` is the word that tells it."""
    tags, item = span.subjects(heart)
    if item is None and span.has("mood", "either"):  # "one of the youngsters shed"
        return [Draft(kind, dict(fields), score=score).ask("tag")]
    if item is not None and item.either:
        return [Draft(kind, dict(fields), score=score).ask("tag", "ambiguous", tags, item.text)]
    if not tags:
        return [Draft(kind, dict(fields), score=score - 1).ask("tag")]
    out = []
    for tag in tags:
        draft = Draft(kind, {"tag": tag, **fields}, score=score + (1 if item else 0))
        check_tag(draft, "tag", tag, span.scene, said=item.text if item else tag)
        out.append(draft)
    return out


def fill_shed(span: Span) -> list[Draft]:
    """`shed`: whoever the clause is about."""
    return _each(span, "shed", {}, heart=span.first("act", "shed"))


_OVER = frozenset({"no longer gravid", "not gravid any more", "not gravid anymore"})
_ILL = ("weak", "thin", "injured", "straining")
_VAGUELY_ILL = frozenset(
    {
        *("sick", "ill", "looks sick", "looks ill", "unwell", "not well", "not looking well"),
    }
)


def fill_seen(span: Span) -> list[Draft]:
    """`seen`: a sign; one that two animals share goes under the female, a bite under the biter."""
    item = span.first("sign")
    if item is None:
        return []
    sign = item.get("sign") or ""
    if item.word in _OVER:  # slim, or only not seen any more
        return [d.ask("sign", "ambiguous", ("slim",)) for d in _each(span, "seen", {}, heart=item)]
    if item.word in _VAGUELY_ILL:
        return [d.ask("sign", "ambiguous", _ILL) for d in _each(span, "seen", {}, heart=item)]
    animals = span.animals()
    tags = [tag for each in animals for tag in span.tag_names(each)]
    if sign == "biting" and item.text.casefold().startswith("bitten by") and animals:
        after = [a for a in animals if a.i > item.i]
        return _pick(span, sign, span.tag_names(after[0])[:1] if after else tuple(tags[:1]))
    if sign == "mating" and len(tags or span.pronoun_tags()) == 1:
        tag = (tags or span.pronoun_tags())[0]
        partners = {p.female for p in span.scene.pairings(tag) if p.male == tag}
        if len(partners) == 1:  # "M2 in with F3, locked within minutes"
            return _pick(span, sign, tuple(partners))
    if sign in ("mating", "biting", "receptive", "unreceptive") and (
        len(tags) > 1 or span.has("pron", "both", "they")
    ):
        return _shared(span, item, sign, tags)
    return _each(span, "seen", {"sign": sign}, heart=item)


def _shared(span: Span, item: Item, sign: str, tags: Sequence[str]) -> list[Draft]:
    if not tags:
        tags = span.pronoun_tags()
    females = [tag for tag in tags if span.scene.sex(tag) == "female"]
    if sign == "biting":
        before = [tag for each in span.animals() if each.i < item.i for tag in span.tag_names(each)]
        return _pick(span, sign, tuple(before[:1] or females[:1] or tags[:1]))
    return _pick(span, sign, tuple(females[:1] or tags[:1]))


def _pick(span: Span, sign: str, tags: tuple[str, ...]) -> list[Draft]:
    if not tags:
        return [Draft("seen", {"sign": sign}, score=1).ask("tag")]
    draft = Draft("seen", {"tag": tags[0], "sign": sign}, score=3)
    return [check_tag(draft, "tag", tags[0], span.scene)]


def fill_weighed(span: Span) -> list[Draft]:
    """`weighed`: grams, or a bare number beside an animal."""
    weights = span.what("grams")
    if span.has("placenoun", "incubator") or span.what("pct") or span.has("climate", "humidity"):
        return []
    if not weights:
        weights = span.numbers(whole=False) or [
            each for each in span.numbers() if span.has("act", "weigh", "check") or each.value >= 5
        ]
    weights = [each for each in weights if not _change(span, each)]
    tags, _item = span.subjects()
    if not weights:
        if not span.has("act", "weigh"):
            return []
        draft = Draft("weighed", {"tag": tags[0]} if tags else {}, score=1)
        if tags:
            check_tag(draft, "tag", tags[0], span.scene)
        return [draft.ask("tag") if not tags else draft.ask("grams")]
    if weights[0].what == "num" and "whole" in weights[0].senses and not _plainly_weighed(span):
        return []
    weight = weights[-1] if _from_to(span, weights) else weights[0]
    grams = round(float(weight.value) + 1e-9, 1) if weight.value is not None else 0.0
    strong = weight.what == "grams" or span.has("act", "weigh") or "whole" not in weight.senses
    score = (3.0 if strong else 1.5) - (1 if span.what("place", "box") else 0)
    drafts = _each(span, "weighed", {"grams": grams}, score, weight)
    if _two_figures(span, weight):
        for draft in drafts:
            draft.fields.pop("grams", None)
            draft.ask("grams", "ambiguous", (), weight.text)
    for draft in drafts:
        if hardly(span.view, draft.fields.get("tag"), grams, span.scene.now.date()):
            draft.fields.pop("grams", None)
            draft.ask("grams", "unlikely", (f"{grams:g}",), weight.text)
    if not 0 < grams <= HEAVIEST:
        for draft in drafts:
            draft.fields.pop("grams", None)
            draft.ask("grams", "impossible", (), weight.text)
    return drafts


_BESIDE_A_WEIGHT = frozenset(
    {
        *("is", "was", "at", "now", "today", "tonight", "still", "only", "just", "and", "for"),
        *("the", "a", "'s", "ok", "about", "around"),
    }
)


def _plainly_weighed(span: Span) -> bool:
    """True where a bare whole number can only be a weight: nothing else is said beside it."""
    if span.has("act", "weigh"):
        return True
    return all(
        e.what in ("tag", "num", "comma", "joint", "date", "time", "stop")
        or e.text.casefold() in _BESIDE_A_WEIGHT
        for e in span.items
    )


def _two_figures(span: Span, weight: Item) -> bool:
    """ "twenty two oint one grams": a number just ahead of the weight that is not told apart."""
    k = span.index(weight)
    return any(e.what == "num" for e in span.items[max(0, k - 2) : k]) and not any(
        e.what in BREAKS or e.is_("prep") or e.what == "tag" for e in span.items[max(0, k - 1) : k]
    )


def _change(span: Span, item: Item) -> bool:
    """True for a change and not a weight: "lost 2 g", "up 0.3", "gained 1.2g"."""
    lead = span.before(item)
    if lead is None:
        return False
    word = lead.word
    if word in (
        "lost",
        "gained",
        "down",
        "up",
        "dropped",
        "another",
        "by",
        "extra",
        "minus",
        "plus",
        "about a",
        "put on",
        "losing",
        "gaining",
        "lost about",
        "+",
        "over",
    ):
        return True
    follow = span.items[span.index(item) + 1 : span.index(item) + 2]
    return any(
        each.text.casefold()
        in ("lighter", "heavier", "up", "down", "more", "less", "gain", "loss", "since", "of")
        for each in follow
    )


def _from_to(span: Span, weights: Sequence[Item]) -> bool:
    if len(weights) < 2:
        return False
    lead = span.before(weights[0])
    return (lead is not None and (lead.is_("prep", "from") or lead.text.casefold() == "was")) or (
        span.prep(weights[1]) == "to"
    )


def fill_sexed(span: Span) -> list[Draft]:
    """`sexed`: a sex said outright, or what shows it."""
    item = span.first("sex")
    if item is not None:
        sex = item.get("sex")
    else:
        mark = span.first("sexmark")
        sex = "male" if mark is not None and not span.has("mood", "neg") else None
        if mark is None and not span.has("act", "sex"):
            return []
    if sex is None:
        drafts = _each(span, "sexed", {}, 1.5)
        return [d.ask("sex", choices=("female", "male", "unknown")) for d in drafts]
    if (
        sex == "unknown"
        and not span.has("act", "sex")
        and (item is None or "sexes" not in item.text.casefold())
    ):
        return []
    strong = span.has("act", "sex") or span.has("sexmark")
    drafts = _each(span, "sexed", {"sex": sex}, 3 if strong else 2, item)
    if not span.animals() and not span.scene.tags and not span.pronoun_tags():
        return []
    return [d for d in drafts if strong or _news(span, d, sex or "")]


def _news(span: Span, draft: Draft, sex: str) -> bool:
    """A bare "boy" tells a sex only of an animal whose sex the book does not know."""
    tag = draft.fields.get("tag")
    seen = span.view.animals.get(tag) if isinstance(tag, str) else None
    if seen is None or seen.sex in ("unknown", sex):
        return True
    return any(each.text.casefold() in ("is", "'s", "was", "actually") for each in span.items)


def fill_placed(span: Span) -> list[Draft]:
    """`placed`: to the place last told ("from tub 3 to tub 5")."""
    places = [(name, item) for name, item in span.place_names() if item.what == "place"]
    goal = [p for p in places if span.prep(p[1]) not in ("from",)]
    if not goal:
        if not span.has("act", "move") or not span.animals():
            return []
        if not any(e.is_("placenoun") for e in span.items) and span.slot_items():
            return []
        return [d.ask("place") for d in _each(span, "placed", {}, 1)]
    if any(item.either for _, item in goal):
        return [
            d.ask("place", "ambiguous", [p[0] for p in goal]) for d in _each(span, "placed", {}, 2)
        ]
    score = 3.0 if span.has("act", "move", "put", "at", "drop") or span.has("prep", "to") else 1.5
    animals = span.animals()
    if not animals and (
        span.what("box")
        or (span.has("pron", "it", "they") and span.scene.slots and not span.scene.tags)
    ):
        return []
    if not animals and not span.has("act", "move", "put", "drop") and not span.pronoun_tags():
        return []
    drafts = [
        _back_home(span, d)
        for d in _each(
            span, "placed", {"place": goal[-1][0]}, score, span.first("act", "move", "put", "drop")
        )
    ]
    if len(goal) == len(drafts) > 1:
        for draft, (name, _) in zip(drafts, goal, strict=True):
            draft.fields["place"] = name
    return drafts


def _back_home(span: Span, draft: Draft) -> Draft:
    """A male who is in with a female and goes back to his own tub is parted from her."""
    tag = draft.fields.get("tag")
    seen = span.view.animals.get(tag) if isinstance(tag, str) else None
    if seen is None or not seen.place or draft.trouble is not None:
        return draft
    if seen.place.casefold() != str(draft.fields["place"]).casefold():
        return draft
    parted = fill_partner(span, seen.tag, draft.score)
    return parted if parted.trouble is None else draft


def fill_left(span: Span) -> list[Draft]:
    """`left`: sold, given, died or lost; "gave H2 to my niece" is given."""
    item = span.first("how")
    how = item.get("how") if item else None
    if item is None:
        if span.has("act", "lose"):
            how = "lost"
        elif span.has("act", "give") and _to_somebody(span):
            how = "given"
        elif span.has("act", "move", "leave") and _to_somebody(span):
            how = "unclear"
        else:
            return []
        if how == "lost" and (
            span.what("grams", "num") or len(span.items) > 6 or span.has("ground")
        ):
            return []
    if how == "given" and span.has("how", "sold"):
        how = "sold"
    animals = span.animals()
    if not animals and span.has("mood", "either") and item is not None:
        return [Draft("left", {"how": how}, score=2).ask("tag")]  # "sold one of the females"
    if not animals and not span.scene.tags:
        return []
    if item is not None and not item.sure and not animals:
        return []  # a misspelt word takes no animal from the clause before it ("little sod")
    if how == "died" and span.slot_items() and not any(a.what == "tag" for a in animals):
        return []
    if how == "unclear" and span.what("place"):
        return []
    if how == "unclear" and any(e.text.casefold() in _PAID for e in span.items):
        how = "sold"
    if how == "unclear":
        return [d.ask("how", "ambiguous", ("sold", "given")) for d in _each(span, "left", {}, 2)]
    return _each(span, "left", {"how": how}, 3 if item else 2, item)


_PAID = frozenset({"buyer", "customer", "paid", "cash", "paypal", "sale", "price", "money"})
_PEOPLE = frozenset(
    {
        "friend",
        "niece",
        "nephew",
        "mate",
        "neighbour",
        "neighbor",
        "brother",
        "sister",
        "cousin",
        "mum",
        "dad",
        "mother",
        "father",
        "kid",
        "son",
        "daughter",
        "colleague",
        "school",
        "teacher",
        "guy",
        "lady",
        "woman",
        "man",
        "buyer",
        "customer",
        "boy",
        "girl",
        "someone",
        "somebody",
        "breeder",
        "keeper",
        "student",
        "uncle",
        "aunt",
        "grandson",
        "granddaughter",
        "partner",
        "boss",
        "shop",
        "zoo",
        "rescue",
        "family",
        "couple",
        "chap",
        "bloke",
        "kids",
        "pal",
        "buddy",
        "collector",
        "museum",
        "lad",
        "vet",
    }
)


def _to_somebody(span: Span) -> bool:
    """True for "to my niece": somebody, or a name, who is no animal of the book."""
    seen_to = False
    for each in span.items:
        words = each.text.casefold().split()
        if each.is_("prep", "to") or "to" in words:
            seen_to = True
        if seen_to and (set(words) & _PEOPLE or each.is_("mood", "hearsay")):
            return True
    if span.what("place", "box", "slot", "ml") or len(span.animals()) != 1 or span.has("food"):
        return False
    items = [e for e in span.items if e.what == "word"]
    for one, two in itertools.pairwise(items):
        if (
            one.is_("prep", "to")
            and two.text[:1].isupper()
            and not two.senses
            and (span.items[0] is not two)
        ):
            return True
    return False


def fill_named(span: Span) -> list[Draft]:
    """`named`: the words after "is called"."""
    act = span.first("act", "name")
    if act is None or span.slot_items():
        return []
    animals = span.animals()
    animals = [
        a for a in animals if any(c.wrote == a.text for c in a.codes) or a.i < act.i
    ] or animals
    if not animals or span.has("act", "hatch", "new"):
        return []
    k = span.index(act)
    after = [
        e for e in span.items[k + 1 :] if e.what not in ("comma", "joint") and e is not animals[0]
    ]
    words = [
        e.text for e in after if e.text.casefold() not in ("a", "the", "now", "please", "to", "it")
    ]
    if any(e.what in ("place", "box", "slot") for e in after):
        return []  # "Opal's home is now tub 44"
    drafts = _each(span, "named", {}, 2.5)
    for draft in drafts:
        if not words or any(
            e.what == "tag" and e.value[0] != draft.fields.get("tag") for e in after
        ):
            draft.ask("name")
        else:
            draft.fields["name"] = " ".join(words[:3])
    return drafts


FILLERS: dict[str, Filler] = {
    "shed": fill_shed,
    "seen": fill_seen,
    "weighed": fill_weighed,
    "sexed": fill_sexed,
    "placed": fill_placed,
    "left": fill_left,
    "named": fill_named,
    "paired": fill_paired,
    "parted": fill_parted,
    "fed": fill_fed,
    "animal": fill_animal,
}
