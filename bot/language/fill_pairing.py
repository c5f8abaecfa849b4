"""Fills pairings and partings: which male and which female, by what the book knows of them."""

from __future__ import annotations

from bot.language.codes import near_tags
from bot.language.drafts import Draft, Span, check_tag


def fill_paired(span: Span) -> list[Draft]:
    """`paired`: a male and a female; which is which the book knows."""
    males, females, unknown = _by_sex(span)
    mentioned = span.animals()
    left = [t for e in mentioned if span.prep(e) == "from" for t in span.tag_names(e)]
    if len(left) == 1 and len(males) == 1 and len(females) == 2 and left[0] in females:
        rest = [tag for tag in females if tag not in left]  # "moved M1 from F2 to F7"
        fields = {"male": males[0], "female": left[0]}
        return [
            _checked_pair(Draft("parted", fields, score=5), span),
            _checked_pair(Draft("paired", {"male": males[0], "female": rest[0]}, score=5), span),
        ]
    if not mentioned and not span.has("pron"):
        return []
    if left and span.index(mentioned[0]) <= 2 and not span.has("act", "pair", "put", "move"):
        return []  # "from M2 x F3" tells of parents
    if any(e.is_("prep", "from") and e.text.casefold() == "out of" for e in span.items):
        return []  # "S2 out of R4's tub" is no putting in
    said = span.has("act", "pair") or span.has("prep", "with")
    names = sum(len(span.tag_names(each)) for each in mentioned)
    if not said and not span.has("pron") and (names < 2 and not _bare_in(span)):
        return []
    males, females = _with_pronouns(span, males, females)
    if not males and females and not unknown:  # "M2 came out of F5 and went in with F7"
        males = [tag for tag in span.scene.tags[:1] if span.scene.sex(tag) == "male"]
    if len(mentioned) == 1 and mentioned[0].either:
        name = "female" if span.scene.sex(mentioned[0].value[0]) == "female" else "male"
        return [Draft("paired", {}, score=2).ask(name, "ambiguous", mentioned[0].value)]
    if not males and not females and not unknown:
        return []
    if not said and len(males) != 1 and not unknown:
        return []  # "F3 and F5 swapped tubs"
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
    if len(males) > 1 and len(females) > 1 and len(mentioned) > 2:
        return [Draft("paired", {}, score=score).ask("male", "ambiguous", males)]
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
    strange = [a for a in span.animals() if not any(c.tag or c.slot for c in a.codes)]
    if span.slot_items() and not males and not females and not strange:
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
        lacking = "male" if females or tag[:1].upper() != "F" else "female"
        draft = Draft("parted", {}, score=score)
        if females:
            draft.fields["female"] = females[0]
        if males:
            draft.fields["male"], lacking = males[0], "female"
        why = f"not-a-{lacking}" if tag in span.view.animals else "unknown-tag"
        return [
            draft.ask(lacking, why, near_tags(tag, span.view) if why == "unknown-tag" else (), tag)
        ]
    if len(males) > 1 and len(females) > 1 and len(span.animals()) > 2:
        return [Draft("parted", {}, score=score).ask("male", "ambiguous", males)]
    if males and females:
        drafts = [
            Draft("parted", {"male": m, "female": f}, score=score + 1)
            for m in males
            for f in females
        ]
        return [_checked_pair(d, span) for d in drafts]
    return [fill_partner(span, tag, score) for tag in males or females]


def fill_partner(span: Span, tag: str, score: float) -> Draft:
    """A parting of one animal, with the other from its open pairing."""
    scene = span.scene
    side, other = ("male", "female") if scene.sex(tag) == "male" else ("female", "male")
    draft = Draft("parted", {side: tag}, score=score)
    check_tag(draft, side, tag, scene)
    partners = [getattr(p, other) for p in scene.pairings(tag)]
    if len(partners) == 1:
        draft.fields[other] = partners[0]
        return draft
    near = [tag for tag in dict.fromkeys(scene.named) if tag in partners]
    if len(near) == 1:  # "C3 unreceptive, M2 out of there"
        draft.fields[other] = near[0]
        return draft
    why = "ambiguous" if partners else "no-open-pairing"
    return draft.ask(other, why, tuple(partners))


def _part_nobody(span: Span) -> list[Draft]:
    """ "pulled the male": sure only where a single pairing is open."""
    if not span.has("pron", "hemale", "shefemale", "he", "they") and not span.has("sex"):
        return []
    open_pairs = [*span.view.pairings[:7], *span.scene.joined]
    if len(open_pairs) == 1:
        pair = open_pairs[0]
        return [Draft("parted", {"male": pair.male, "female": pair.female}, score=2)]
    return [
        Draft("parted", {}, score=1.5).ask(
            "male", "ambiguous" if open_pairs else "missing", tuple(p.male for p in open_pairs)
        )
    ]
