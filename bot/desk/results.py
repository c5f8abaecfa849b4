"""What came of it: hatch rates and the odds of a pair's young."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from bot.desk.animals import unknown
from bot.desk.context import Context
from bot.language.reading import Request
from bot.messages import Reply
from bot.records import Record
from bot.wording import by_number, capped, joined, number, say

if TYPE_CHECKING:
    from scheduler.genetics import Outcome
    from scheduler.rates import Rates

MOST_GROUPS = 20


def rates(request: Request, ctx: Context) -> Reply:
    """Fertility, hatch rate and sex ratio by season, female, male, pair or temperature."""
    from scheduler.rates import BY
    from scheduler.rates import rates as rates_by

    by = request.get("by") or "season"
    if by not in BY:
        return Reply(say("rates.which"))
    found = rates_by(ctx.colony, by, ctx.today)
    if not found:
        return Reply(say("rates.none"))
    ordered = found[::-1] if by == "season" else sorted(found, key=lambda r: by_number(r.label))
    head = say("rates.head", by=say(f"rates.by_{by}"))
    return Reply("\n".join([head, *capped([*map(_group, ordered)], MOST_GROUPS)]))


def _group(group: Rates) -> str:
    """One line a group: fertile, hatched, males, each with its interval or "too few to say"."""
    parts = [
        say(f"rates.{name}", said=rate.said)
        for name, rate in (
            ("fertility", group.fertility),
            ("hatch", group.hatch),
            ("males", group.males),
        )
        if rate.n
    ]
    counts = {"waiting": group.waiting, "spoiled": group.spoiled, "unsexed": group.unsexed}
    parts += [say(f"rates.{name}", n=n) for name, n in counts.items() if n]
    return say("rates.row", label=group.label, parts="; ".join(parts))


def odds(request: Request, ctx: Context) -> Reply:
    """What the young of a pair may be, trait by trait, then all together as seen."""
    from scheduler.genetics import TraitError
    from scheduler.genetics import odds as odds_of
    from scheduler.kinship import PedigreeLoop

    male, female = request.get("male"), request.get("female")
    for tag in (male, female):
        if tag not in ctx.pages.state.animals:
            return Reply(unknown(tag))
    try:
        found = odds_of(ctx.colony, male, female)
    except (TraitError, PedigreeLoop) as problem:
        return Reply(str(problem))
    head = say("odds.head", male=male, female=female)
    lines = [line for each in found.by_trait for line in _outcomes(each.outcomes)]
    if len(found.by_trait) > 1:
        lines += [say("odds.together"), *_outcomes(found.together)]
    undefined = _undefined(male, female, ctx)
    notes = [*found.notes, *([say("odds.define", trait=undefined)] if undefined else [])]
    if not lines:
        return Reply(" ".join([head, *(notes or (say("odds.none"),))]))
    return Reply("\n".join([head, *lines, *notes]))


def _undefined(male: str, female: str, ctx: Context) -> str:
    """The first trait of the two that the book does not know how to inherit, or nothing."""
    from scheduler.traits import definitions, read_word

    defined = definitions(ctx.colony.traits)
    for animal in (ctx.pages.state.animals[tag] for tag in (male, female)):
        for word in animal.traits:
            name = _named(word)
            if name.casefold() not in defined and isinstance(
                read_word(word, animal.sex, defined), str
            ):
                return name
    return ""


def _named(word: str) -> str:
    """The trait in a trait word, "stripe" in "66% het stripe": the least that reads as one."""
    from scheduler.colony import Trait
    from scheduler.traits import definitions, read_word

    parts = word.split()
    for start in range(len(parts) - 1, 0, -1):
        name = " ".join(parts[start:])
        trait = definitions([Trait(name, "recessive")])
        if not isinstance(read_word(word, "male", trait), str):
            return name
    return " ".join(parts)


def after_note(record: Record, ctx: Context) -> str:
    """A note that tells how a trait is inherited says what it is for."""
    from bot.book.facts import trait_in

    trait = trait_in(record.get("text"))
    if trait is not None:
        return say("next.trait", trait=trait.name)
    return joined([_shown(tag, record.get("text"), ctx) for tag in record.get("about") or ()])


def after_description(record: Record, ctx: Context) -> str:
    """A trait that the book can't inherit yet: how to say that; nothing for others."""
    from scheduler.traits import definitions

    defined = definitions(ctx.colony.traits)
    names = [_named(word) for word in record.get("traits", ())]
    unknown_one = next((name for name in names if name.casefold() not in defined), "")
    return say("next.define", trait=unknown_one) if unknown_one else ""


def _shown(tag: str, text: str, ctx: Context) -> str:
    """A note that tells a young one's look says that odds go by it, and whom that proves."""
    from bot.book.facts import trait_word
    from scheduler.genetics import proven
    from scheduler.traits import definitions

    animal = ctx.pages.state.animals.get(tag)
    defined = definitions(ctx.colony.traits)
    word = trait_word(text, animal.sex, defined) if animal else None
    if not word:
        return ""
    return joined([say("next.shown", tag=tag, word=word), *proven(ctx.colony, tag)])


def _outcomes(outcomes: Iterable[Outcome]) -> list[str]:
    likely = sorted(outcomes, key=lambda each: -each.chance)
    return [
        say(
            "odds.row",
            percent=say("odds.sure", value=number(round(100 * each.chance, 1))),
            label=each.label,
            sex=say("odds.sex", sex=say(f"sex.{each.sex}")) if each.sex else "",
        )
        for each in likely
    ]
