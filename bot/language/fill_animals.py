"""Fills records about animals: weighed, shed, seen, sexed, placed, left, paired, parted, fed."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

from bot.language.codes import near_tags
from bot.language.dates import DayHint, resolve
from bot.language.drafts import Draft, Span, check_tag
from bot.language.items import BREAKS, Item

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


def fill_seen(span: Span) -> list[Draft]:
    """`seen`: a sign; one that two animals share goes under the female, a bite under the biter."""
    item = span.first("sign")
    if item is None:
        return []
    sign = item.get("sign") or ""
    animals = span.animals()
    tags = [tag for each in animals for tag in span.tag_names(each)]
    if sign == "biting" and item.text.casefold().startswith("bitten by") and animals:
        after = [a for a in animals if a.i > item.i]
        return _pick(span, sign, span.tag_names(after[0])[:1] if after else tuple(tags[:1]))
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
    word = lead.text.casefold()
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
    parted = _fill_partner(span, seen.tag, draft.score)
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
    if not animals and not span.scene.tags:
        return []
    if item is not None and not item.sure and not animals:
        return []  # a misspelt word takes no animal from the clause before it ("little sod")
    if how == "died" and span.slot_items() and not any(a.what == "tag" for a in animals):
        return []
    if how == "unclear" and span.what("place"):
        return []
    if how == "unclear":
        return [d.ask("how", "ambiguous", ("sold", "given")) for d in _each(span, "left", {}, 2)]
    return _each(span, "left", {"how": how}, 3 if item else 2, item)


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
    drafts = _each(span, "named", {}, 2.5)
    for draft in drafts:
        if not words or any(
            e.what == "tag" and e.value[0] != draft.fields.get("tag") for e in after
        ):
            draft.ask("name")
        else:
            draft.fields["name"] = " ".join(words[:3])
    return drafts


# -- pairing ------------------------------------------------------------------------------


def fill_paired(span: Span) -> list[Draft]:
    """`paired`: a male and a female; which is which the book knows."""
    males, females, unknown = _by_sex(span)
    mentioned = span.animals()
    if not mentioned and not span.has("pron"):
        return []
    if any(e.is_("prep", "from") and e.text.casefold() == "out of" for e in span.items):
        return []  # "S2 out of R4's tub" is no putting in
    said = span.has("act", "pair") or span.has("prep", "with")
    names = sum(len(span.tag_names(each)) for each in mentioned)
    if not said and not span.has("pron") and (names < 2 and not _bare_in(span)):
        return []
    males, females = _with_pronouns(span, males, females)
    if len(mentioned) == 1 and mentioned[0].either:
        name = "female" if span.scene.sex(mentioned[0].value[0]) == "female" else "male"
        return [Draft("paired", {}, score=2).ask(name, "ambiguous", mentioned[0].value)]
    if not males and not females and not unknown:
        return []
    score = 4.0 if span.has("act", "pair") or span.has("prep", "with") else 2.0
    if span.what("place") or span.what("num", "grams"):
        score -= 1
    either = next((each for each in mentioned if each.either), None)
    if either is not None:
        name = "female" if span.scene.sex(either.value[0]) == "female" else "male"
        known = (
            {"male": males[0]}
            if name == "female" and males
            else ({"female": females[0]} if females and name == "male" else {})
        )
        return [Draft("paired", dict(known), score=score).ask(name, "ambiguous", either.value)]
    if males and females and not unknown:
        return [
            _checked_pair(Draft("paired", {"male": m, "female": f}, score=score), span)
            for m in males
            for f in females
        ]
    return [_half_pair(span, males, females, unknown, score)]


def _bare_in(span: Span) -> bool:
    """ "put M2 in" with nothing after."""
    return (
        span.has("prep", "in")
        and not span.what("place", "box", "slot")
        and span.has("act", "put", "pair", "drop")
        and not span.has("placenoun")
        and not span.has("ground")
    )


def _with_pronouns(span: Span, males: list[str], females: list[str]) -> tuple[list[str], list[str]]:
    """ "M2 in with her", "put him in with F7", and "in F2's tub" with the male named before."""
    if not males and span.has("pron", "he", "hemale"):
        found = [t for t in reversed(span.scene.named) if span.scene.sex(t) == "male"]
        males = found[:1] or [t for t in span.scene.told_tags if span.scene.sex(t) == "male"][:1]
    if not females and span.has("pron", "she", "shefemale"):
        found = [t for t in reversed(span.scene.named) if span.scene.sex(t) == "female"]
        females = (
            found[:1] or [t for t in span.scene.told_tags if span.scene.sex(t) == "female"][:1]
        )
    return males, females


def _by_sex(span: Span) -> tuple[list[str], list[str], list[str]]:
    males: list[str] = []
    females: list[str] = []
    unknown: list[str] = []
    for each in span.animals():
        for tag in span.tag_names(each):
            sex = span.scene.sex(tag)
            (males if sex == "male" else females if sex == "female" else unknown).append(tag)
    return males, females, unknown


def _half_pair(
    span: Span, males: list[str], females: list[str], unknown: list[str], score: float
) -> Draft:
    """Asks for what a pairing lacks, or for what can't be."""
    scene = span.scene
    draft = Draft("paired", {}, score=score)
    if unknown:
        tag = unknown[0]
        lacking = (
            "female"
            if males
            else "male"
            if females
            else (
                "male" if tag[:1].upper() == "M" else "female" if tag[:1].upper() == "F" else "male"
            )
        )
        if males:
            draft.fields["male"] = males[0]
        elif females:
            draft.fields["female"] = females[0]
        if tag in scene.view.animals and tag not in scene.born:
            return draft.ask(lacking, f"not-a-{lacking}", (), tag)
        return draft.ask(lacking, "unknown-tag", near_tags(tag, scene.view), tag)
    if len(females) > 1:
        draft.fields["female"] = females[1]
        return draft.ask("male", "not-a-male", (), females[0])
    if len(males) > 1:
        draft.fields["male"] = males[0]
        return draft.ask("female", "not-a-female", (), males[1])
    if males:
        draft.fields["male"] = males[0]
        return draft.ask("female")
    draft.fields["female"] = females[0]
    return draft.ask("male")


def _checked_pair(draft: Draft, span: Span) -> Draft:
    check_tag(draft, "male", draft.fields["male"], span.scene, "male")
    return check_tag(draft, "female", draft.fields["female"], span.scene, "female")


def fill_parted(span: Span) -> list[Draft]:
    """`parted`: with one animal named the other comes from the open pairing."""
    males, females, unknown = _by_sex(span)
    if span.slot_items() and not males and not females:
        return []
    if not span.has("act", "part", "take", "took", "out"):
        return []
    if len(females) > 1 and len(males) == 1 and any(e.what == "comma" for e in span.items):
        females = females[:1]
    males, females = _with_pronouns(span, males, females)
    if not (males or females or unknown):
        return _part_nobody(span)
    score = 3.0 if span.animals() else 2.0
    if unknown and not males and not females and unknown[0] in span.view.animals:
        return []
    if unknown:
        tag = unknown[0]
        lacking = "male" if females or tag[:1].upper() == "M" else "female"
        draft = Draft("parted", {}, score=score)
        if females:
            draft.fields["female"] = females[0]
        if males:
            draft.fields["male"], lacking = males[0], "female"
        why = f"not-a-{lacking}" if tag in span.view.animals else "unknown-tag"
        return [
            draft.ask(lacking, why, near_tags(tag, span.view) if why == "unknown-tag" else (), tag)
        ]
    if males and females:
        drafts = [
            Draft("parted", {"male": m, "female": f}, score=score + 1)
            for m in males
            for f in females
        ]
        return [_checked_pair(d, span) for d in drafts]
    return [_fill_partner(span, tag, score) for tag in males or females]


def _fill_partner(span: Span, tag: str, score: float) -> Draft:
    scene = span.scene
    side, other = ("male", "female") if scene.sex(tag) == "male" else ("female", "male")
    draft = Draft("parted", {side: tag}, score=score)
    check_tag(draft, side, tag, scene)
    partners = [getattr(p, other) for p in scene.pairings(tag)]
    if len(partners) == 1:
        draft.fields[other] = partners[0]
        return draft
    why = "ambiguous" if partners else "no-open-pairing"
    return draft.ask(other, why, tuple(partners))


def _part_nobody(span: Span) -> list[Draft]:
    """ "pulled the male": sure only where a single pairing is open."""
    if not span.has("pron", "hemale", "shefemale") and not span.has("sex"):
        return []
    open_pairs = [*span.view.pairings[:3], *span.scene.joined]
    if len(open_pairs) == 1 and not span.has("pron", "he", "she", "they"):
        pair = open_pairs[0]
        return [Draft("parted", {"male": pair.male, "female": pair.female}, score=2)]
    return [
        Draft("parted", {}, score=1.5).ask(
            "male", "ambiguous" if open_pairs else "missing", tuple(p.male for p in open_pairs)
        )
    ]


# -- feeding ------------------------------------------------------------------------------


def fill_fed(span: Span) -> list[Draft]:
    """`fed`: who, what, how many each, dusted, refused."""
    scene = span.scene
    refused = span.has("fed", "refused")
    food = span.first("food")
    who: list[str] = []
    unknown: list[tuple[str, Item]] = []
    either = None
    for item in span.items:
        if item.what == "tag":
            for tag in span.tag_names(item):
                who.append(tag)
                if tag not in scene.view.animals and tag not in scene.born:
                    unknown.append((tag, item))
            either = item if item.either else either
        elif item.what == "place":
            who += item.value if isinstance(item.value, tuple) else (item.value,)
    spared = _spared(span)
    who = [each for each in who if each not in spared]
    everyone = _everyone(span, food, bool(who))
    if everyone:
        who = ["everyone"]
    if not who and not span.has("act", "feed", "give") and not refused and food is None:
        return []
    gapped = scene.last_kind == "fed" and bool(span.numbers()) and not span.has("act")
    evidence = food is not None or refused or span.has("act", "feed") or span.has("fed") or gapped
    if not evidence or (span.what("ml") and food is None):
        return []
    if not who:
        who = list(span.pronoun_tags())
    fields: dict[str, object] = {}
    count = _count(span, food)
    if food is not None:
        fields["food"] = food.get("food")
    if count is not None and not refused:
        fields["count"] = count
    if span.has("fed", "dusted"):
        fields["dusted"] = True
    if refused:
        fields["refused"] = True
    score = 2.0 + (1 if food else 0) + (1 if who else 0) + (0.5 if span.has("act", "feed") else 0)
    if not who and refused and food is None:
        return []
    if not who:
        return [Draft("fed", fields, score=score).ask("who")]
    if either is not None:
        return [Draft("fed", fields, score=score).ask("who", "ambiguous", tuple(who), either.text)]
    if refused and len(who) > 1 and all(w in scene.view.animals for w in who):
        return [
            check_tag(Draft("fed", {"who": (w,), **fields}, score=score), "who", w, scene)
            for w in who
        ]
    draft = Draft("fed", {"who": tuple(dict.fromkeys(who)), **fields}, score=score)
    for tag, item in unknown:
        draft.ask("who", "unknown-tag", near_tags(tag, scene.view), item.text)
    for tag in who:
        if tag in scene.view.animals:
            check_tag(draft, "who", tag, scene)
    left_out = [
        check_tag(Draft("fed", {"who": (tag,), "refused": True}, score=score), "who", tag, scene)
        for tag in spared
        if not refused
    ]
    return [draft, *left_out]


def _spared(span: Span) -> list[str]:
    """Those left out: "everybody ate except F5"."""
    item = span.first("mood", "except")
    if item is None:
        return []
    return [tag for each in span.animals() if each.i > item.i for tag in span.tag_names(each)]


def _everyone(span: Span, food: Item | None, named: bool) -> bool:
    item = span.first("everyone")
    if item is None or named:
        return False
    if item.text.casefold() == "all":  # "fed all", not "all gone"
        k = span.index(item)
        after = span.items[k + 1] if k + 1 < len(span.items) else None
        before = span.items[k - 1] if k else None
        return bool(
            (
                before is not None
                and (
                    before.is_("act", "feed", "give")
                    or before.is_("prep", "for", "to")
                    or before.is_("food")
                )
            )
            or (after is not None and after.is_("act", "feed"))
        )
    return True


def _count(span: Span, food: Item | None) -> int | None:
    """How many each: the number that leads the food, or stands with "each"."""
    numbers = span.numbers(whole=True)
    if food is not None:
        k = span.index(food)
        lead = [n for n in numbers if n.i < food.i and span.index(n) >= k - 3]
        if lead:
            of_many = [
                n
                for n in lead
                if span.index(n) + 1 < len(span.items)
                and span.items[span.index(n) + 1].is_("prep", "of")
            ]
            return int((of_many or lead[-1:])[0].value)
        tail = [n for n in numbers if n.i > food.i and span.index(n) <= k + 2]
        if tail:
            return int(tail[0].value)
    each = span.first("fed", "each")
    if each is not None and numbers:
        return int(numbers[-1].value)
    if food is not None:
        return None
    return (
        int(numbers[0].value)
        if numbers and (span.has("act", "feed") or not span.has("act"))
        else None
    )


# -- a new animal -------------------------------------------------------------------------


def fill_animal(span: Span) -> list[Draft]:
    """`animal`: a newcomer with whatever is told of it."""
    if not span.has("act", "new") and not (span.has("species") or span.has("sex")):
        return []
    tag, parents = _newcomer(span)
    traits = _traits(span)
    telling = sum(
        bool(x)
        for x in (
            span.first("sex"),
            span.first("species"),
            parents,
            traits,
            span.has("act", "hatch"),
        )
    )
    if not span.has("act", "new") and (tag is None or tag in span.view.animals or telling < 2):
        return []
    if telling == 0 and tag is None:
        return []
    tags = _new_tags(span, tag)
    drafts = [_animal_draft(span, each, parents, traits, 3 + telling) for each in tags]
    weights = span.what("grams")
    if len(drafts) == 1 and len(weights) == 1 and tag is not None and drafts[0].trouble is None:
        drafts.append(Draft("weighed", {"tag": tag, "grams": weights[0].value}, score=3))
    return drafts


def _traits(span: Span) -> tuple[str, ...]:
    """Traits told, each with its "het", "66% het" or "poss het" where it is carried."""
    out: list[str] = []
    for k, item in enumerate(span.items):
        trait = item.get("trait")
        if trait is None or item.is_("act"):
            continue
        lead = span.items[k - 1].text.casefold() if k else ""
        if lead in ("het", "hets"):
            share = span.items[k - 2] if k > 1 else None
            sure = share.text.casefold() if share is not None else ""
            if share is not None and share.what == "share":
                trait = f"{share.value:g}% het {trait}"
            elif sure in ("poss", "possible", "pos", "double"):
                trait = f"{sure} het {trait}"
            else:
                trait = f"het {trait}"
        out.append(trait)
    return tuple(dict.fromkeys(out))


def _new_tags(span: Span, tag: str | None) -> list[str | None]:
    """Several newcomers at once: "two new females F14 and F15"."""
    item = next((a for a in span.animals() if tag is not None and tag in span.tag_names(a)), None)
    if item is None or item.what != "tag" or len(item.value) < 2:
        return [tag]
    return list(span.tag_names(item))


def _animal_draft(
    span: Span, tag: str | None, parents: Sequence[str], traits: tuple[str, ...], score: float
) -> Draft:
    draft = Draft("animal", {}, score=score)
    if tag is None:
        draft.ask("tag")
    else:
        draft.fields["tag"] = tag
        if tag in span.view.animals or tag in span.scene.born:
            draft.ask("tag", "duplicate", (), tag)
    for name in ("species", "sex"):
        item = span.first(name)
        if item is not None:
            draft.fields[name] = item.get(name)
    hatched = _hatch_day(span)
    if hatched is not None:
        day = resolve(hatched, span.scene.now.date(), False)
        if day is not None:
            draft.fields["hatched"] = day
        else:
            draft.ask("hatched", "impossible")
    _parents(draft, span, parents)
    places = [name for name, item in span.place_names() if item.what == "place"]
    if places:
        draft.fields["place"] = places[-1]
    if traits:
        draft.fields["traits"] = traits
    return draft


def _newcomer(span: Span) -> tuple[str | None, list[str]]:
    """The new tag and the parents named: an unknown tag first, else one that no "from" leads."""
    animals = span.animals()
    anchor = span.first("act", "new") or span.first("species") or span.first("sex")
    fresh = [each for each in animals if not any(c.tag for c in each.codes)]
    slots = [each for each in span.what("slot") if not any(c.tag for c in each.codes)]
    if not fresh and span.has("act", "new") and len(slots) == 1 and slots[0].codes:
        parents = [tag for each in animals for tag in span.tag_names(each)]
        return slots[0].codes[0].wrote, parents
    new: Item | None
    if fresh:
        new = fresh[0]
    else:
        plain = [
            each
            for each in animals
            if span.prep(each) not in ("from", "with", "of")
            and not _parent_word(span, each)
            and len(each.value) == 1
        ]
        pairish = len(animals) == 2 and _crossed(span, animals)
        new = plain[0] if plain and not pairish else None
        if new is not None and anchor is not None and _crossed(span, animals[:2]):
            new = None
    parents = [tag for each in animals if each is not new for tag in span.tag_names(each)]
    return (span.tag_names(new)[0] if new is not None else None), parents


def _crossed(span: Span, animals: Sequence[Item]) -> bool:
    if len(animals) < 2:
        return False
    one, two = (span.index(each) for each in animals[:2])
    between = span.items[one + 1 : two]
    return len(between) == 1 and (between[0].is_("prep", "with") or between[0].is_("joint", "and"))


def _parent_word(span: Span, item: Item) -> str | None:
    k = span.index(item)
    for each in span.items[max(0, k - 3) : k]:
        word = each.text.casefold()
        if word in ("sire", "dad", "father", "sired", "sired by", "papa"):
            return "sire"
        if word in ("dam", "mum", "mother", "mom", "mam", "mama"):
            return "dam"
    return None


def _parents(draft: Draft, span: Span, parents: Sequence[str]) -> None:
    for tag in parents[:2]:
        sex = span.scene.sex(tag)
        name = "sire" if sex == "male" else "dam" if sex == "female" else ""
        if not name:
            item = next(e for e in span.animals() if tag in span.tag_names(e))
            name = _parent_word(span, item) or (
                "sire"
                if "sire" not in draft.fields and tag == parents[0] and len(parents) > 1
                else "dam"
            )
        if name in draft.fields:
            wrong = "dam" if name == "sire" else "sire"
            draft.ask(wrong, "not-a-female" if wrong == "dam" else "not-a-male", (), tag)
            continue
        draft.fields[name] = tag
        if tag not in span.view.animals:
            draft.fields.pop(name)
            draft.ask(name, "unknown-tag", near_tags(tag, span.view), tag)


def _hatch_day(span: Span) -> DayHint | None:
    days = span.what("date")
    if not days:
        return None
    hatch = span.first("act", "hatch")
    if hatch is not None:
        after = [e for e in days if e.i > hatch.i]
        found: DayHint = (after or days)[0].value
        return found
    for each in days:
        lead = span.before(each)
        if lead is not None and lead.text.casefold() in (
            "born",
            "dob",
            "hatch",
            "hatchdate",
            "bd",
            "birthday",
            "hatched on",
        ):
            told: DayHint = each.value
            return told
    return None


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
