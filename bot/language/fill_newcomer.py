"""Fills a new animal: its tag and sex, its parents, when it hatched, what it shows and carries."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.codes import near_tags
from bot.language.dates import DayHint, resolve
from bot.language.drafts import Draft, Span
from bot.language.items import Item


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
