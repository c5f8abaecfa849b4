"""Fills feedings: who was fed, with what, how many each, dusted, refused, left out."""

from __future__ import annotations

from bot.language.codes import near_tags
from bot.language.drafts import Draft, Span, check_tag
from bot.language.items import BREAKS, Item

MOST_EACH = 500  # feeders; more for one animal is a slip of the thumb


def fill_fed(span: Span) -> list[Draft]:
    """`fed`: who, what, how many each, dusted; and who of them refused or was left out."""
    food = span.first("food")
    if not _evidence(span, food):
        return []
    who, either = _fed(span)
    refusing = _refusing(span, who)
    spared = _spared(span)
    named = [each for each in who if each not in spared]
    if _everyone(span, food, bool(named)):
        named = ["everyone"]
    if not named and spared and span.has("fed", "refused"):
        named, spared = spared, []  # "..., except S6 refused his"
    if not named:
        named = list(span.pronoun_tags())
    fields = _meal(span, food)
    score = 2.0 + bool(food) + bool(named) + (0.5 if span.has("act", "feed") else 0)
    if _group_only(span, who):
        return [Draft("fed", fields, score=score).ask("who", "ambiguous")]
    if not named:
        if span.has("fed", "refused"):
            return [Draft("fed", fields, score=score).ask("who")] if food is not None else []
        return [Draft("fed", fields, score=score).ask("who")]
    if food is not None and _run_together(span, food):
        return [Draft("fed", fields, score=score).ask("who", "ambiguous", tuple(named))]
    if either is not None:
        asked = Draft("fed", fields, score=score)
        return [asked.ask("who", "ambiguous", tuple(named), either.text)]
    if span.has("everyone") and span.first("everyone") is span.first("fed", "refused"):
        refusing = named  # "no one wanted food"
    eaters = [each for each in named if each not in refusing]
    left = {name: fields[name] for name in ("food",) if name in fields}
    if not eaters:
        left |= {name: fields[name] for name in ("dusted",) if name in fields}
    drafts = [_draft(span, eaters, each, score) for each in _meals(span, fields)] if eaters else []
    if spared and (more := _apart(span, spared)) is not None:
        return [*drafts, _draft(span, spared, {**left, "count": more}, score)]
    told = _of_itself(span) or span.has("fed", "refused")
    if spared and span.has("act", "feed", "give") and not told:
        for draft in drafts:  # not fed is not refused, and "everyone" would hold them too
            draft.fields.pop("who", None)
            draft.ask("who", "ambiguous", tuple(e for e in eaters if e != "everyone"))
        return drafts
    return drafts + [
        _draft(span, [each], {**left, "refused": True}, score) for each in (*refusing, *spared)
    ]


def _run_together(span: Span, food: Item) -> bool:
    """ "fed shelf 1 six crickets Juniper shed": one is named before the feeder, one right after."""
    k = span.index(food)
    ahead = any(e.what in ("tag", "place") for e in span.items[:k])
    for item in span.items[k + 1 :]:
        if item.what in BREAKS or item.is_("prep") or item.is_("mood", "except"):
            return False
        if item.what in ("tag", "place"):
            return ahead and not span.has("fed", "refused")
    return False


def _evidence(span: Span, food: Item | None) -> bool:
    """True where something tells of feeding: feeders, a verb, a refusal, or "M4 6" after one."""
    told = food is not None or span.has("act", "feed") or span.has("fed")
    gapped = span.scene.last_kind == "fed" and bool(span.numbers()) and not span.has("act")
    return (told or gapped) and not (bool(span.what("ml")) and food is None)


def _fed(span: Span) -> tuple[list[str], Item | None]:
    """The animals and places named, and the piece of them that leaves two open."""
    who: list[str] = []
    either = None
    for item in span.items:
        if item.what == "tag":
            who += span.tag_names(item)
            either = item if item.either else either
        elif item.what == "place":
            who += item.value if isinstance(item.value, tuple) else (item.value,)
    return list(dict.fromkeys(who)), either


def _refusing(span: Span, who: list[str]) -> list[str]:
    """Those who would not eat: all, or of several the ones told right ahead of the refusal."""
    item = span.first("fed", "refused")
    if item is None:
        return []
    k = span.index(item)
    ahead = [e for e in span.items[:k] if e.what == "tag"]
    others = any(e.what == "place" for e in span.items[:k]) or span.has("everyone")
    if ahead and (others or (len(ahead) > 1 and span.numbers())):
        return list(span.tag_names(ahead[-1]))
    return who or list(span.pronoun_tags())


def _meal(span: Span, food: Item | None) -> dict[str, object]:
    fields: dict[str, object] = {}
    if food is not None:
        fields["food"] = food.get("food")
    elif span.scene.meal and (
        span.has("fed", "refused") or not span.has("act", "feed") or span.numbers()
    ):
        fields["food"] = span.scene.meal
    count = _count(span, food)
    if count is not None:
        fields["count"] = count
    if span.has("fed", "dusted"):
        fields["dusted"] = True
    return fields


def _meals(span: Span, fields: dict[str, object]) -> list[dict[str, object]]:
    """One meal for each feeder told with its own figure: "4 crickets and 2 mealworms"."""
    foods = [e for e in span.items if e.is_("food")]
    if len({e.get("food") for e in foods}) < 2 or len(foods) != len({e.get("food") for e in foods}):
        return [fields]
    out = []
    for food in foods:
        k = span.index(food)
        counts = [e for e in span.items[max(0, k - 2) : k] if e.what == "num"]
        meal = {name: value for name, value in fields.items() if name != "count"}
        meal["food"] = food.get("food")
        if counts and "whole" in counts[-1].senses:
            meal["count"] = int(counts[-1].value)
        out.append(meal)
    return out


def _apart(span: Span, spared: list[str]) -> int | None:
    """ "everyone had 4 apart from M2 who had 6": how many the one left out had."""
    item = next(e for e in span.animals() if set(span.tag_names(e)) & set(spared))
    after = [e for e in span.items[span.index(item) + 1 :] if e.what == "num"]
    return int(after[0].value) if len(after) == 1 and "whole" in after[0].senses else None


def _draft(span: Span, who: list[str], fields: dict[str, object], score: float) -> Draft:
    """A feeding of those named, asked about where the book knows one of them not."""
    scene = span.scene
    draft = Draft("fed", {"who": tuple(who), **fields}, score=score)
    for item in span.items:
        for tag in span.tag_names(item) if item.what == "tag" else ():
            if tag in who and tag not in scene.view.animals and tag not in scene.born:
                draft.ask("who", "unknown-tag", near_tags(tag, scene.view), item.text)
    for tag in who:
        if tag in scene.view.animals:
            check_tag(draft, "who", tag, scene)
    count = draft.fields.get("count")
    if isinstance(count, int) and count > MOST_EACH:
        draft.fields.pop("count")
        draft.ask("count", "impossible", (), str(count))
    heard = _heard_twice(span)
    if heard:
        draft.fields.pop("count", None)
        draft.ask("count", "ambiguous", heard)
    return draft


def _heard_twice(span: Span) -> tuple[str, ...]:
    """ "r six eight for mealworms": the figure may be "ate", and "for" the figure."""
    food = span.first("food")
    k = span.index(food) if food is not None else 0
    if k < 2:
        return ()
    small, number = span.items[k - 1], span.items[k - 2]
    sound = {"for": "4", "to": "2", "too": "2"}.get(small.word)
    if sound is None or number.what != "num" or not number.text.isalpha():
        return ()
    return (f"{number.value:g}", sound)


_OF_ITSELF = frozenset({"ate", "eaten", "eats", "eat", "all eaten", "took", "eating"})


def _of_itself(span: Span) -> bool:
    """True where the animals did it, "everybody ate except F5", and nobody fed them."""
    return any(e.is_("act", "feed") and bool(_OF_ITSELF & set(e.word.split())) for e in span.items)


def _spared(span: Span) -> list[str]:
    """Those left out: "everybody ate except F5"."""
    item = span.first("mood", "except")
    if item is None:
        return []
    return [tag for each in span.animals() if each.i > item.i for tag in span.tag_names(each)]


_GROUPS = frozenset(
    {
        *("babies", "baby", "hatchlings", "hatchling", "juveniles", "juvies", "youngsters"),
        *("young", "adults", "females", "males", "girls", "boys", "ladies", "lads", "breeders"),
        *("subadults", "sub-adults", "gravid", "growing", "growers", "pairs", "holdbacks"),
        *("youngest", "oldest", "rest", "others", "sick", "little", "small", "big", "bigger"),
    }
)


def _group_only(span: Span, who: list[str]) -> bool:
    """True for some of all, by no tag: "all the hatchlings", "everybody except the babies"."""
    item = span.first("everyone") or span.first("mood", "except")
    if item is None or who:
        return False
    k = span.index(item)
    after = span.items[k + 1 : k + 4]
    spared = span.first("mood", "except")
    if spared is not None and not any(a.i > spared.i for a in span.animals()):
        return True
    for each in after:
        if each.what in BREAKS or each.what == "num" or each.is_("food"):
            return False
        if set(each.word.split()) & _GROUPS:
            return True
    return False


def _everyone(span: Span, food: Item | None, named: bool) -> bool:
    item = span.first("everyone")
    if item is None or named:
        return False
    if item.word == "all":  # "fed all", not "all gone"
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


def _out_of(span: Span, number: Item) -> bool:
    """ "2 of her 5", "3 out of 4"."""
    rest = span.items[span.index(number) + 1 : span.index(number) + 4]
    of = bool(rest) and (rest[0].is_("prep", "of") or rest[0].word == "out of")
    return of and any(e.what == "num" for e in rest)


def _count(span: Span, food: Item | None) -> int | None:
    """How many each: the number that leads the food, or stands with "each"."""
    numbers = span.numbers(whole=True)
    if food is not None:
        k = span.index(food)
        lead = [n for n in numbers if n.i < food.i and span.index(n) >= k - 3]
        eaten = [n for n in numbers if n.i < food.i and _out_of(span, n)]
        if eaten:
            return int(eaten[0].value)  # "ate 2 of her 5 crickets"
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
        just_ahead = span.items[max(0, span.index(food) - 1) : span.index(food)]
        one = any(e.word in ("a", "an") for e in just_ahead) and not food.text.endswith("s")
        return 1 if one and span.has("act", "give", "feed") else None
    return (
        int(numbers[0].value)
        if numbers and (span.has("act", "feed") or not span.has("act"))
        else None
    )
