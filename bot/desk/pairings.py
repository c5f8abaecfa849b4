"""Pairings: when he comes out, who is in with whom, who may be paired, who suits whom."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from bot.desk.animals import next_clutch_said, unknown
from bot.desk.context import Context
from bot.desk.plan import coming, lines_of, plan
from bot.language.reading import Request
from bot.messages import Reply
from bot.records import Record
from bot.wording import by_number, capped, day, joined, listed, say, sentence, weekday

if TYPE_CHECKING:
    from scheduler.colony import Pairing
    from scheduler.readiness import Mate, Verdict

MOST_ROWS = 8


def after_pairing(record: Record, ctx: Context) -> str:
    """The day he comes out, and kindly, once, what speaks against the pair."""
    session = _session(record.get("male"), record.get("female"), ctx)
    return joined([_pull_said(session, ctx) if session else "", _misgivings(record, ctx)])


def _session(male: str, female: str, ctx: Context) -> Pairing | None:
    for each in ctx.pages.state.open_pairings():
        if (each.male, each.female) == (male, female):
            return each
    return None


def _pull_said(session: Pairing, ctx: Context) -> str:
    last = _last_day(session, ctx)
    if last <= ctx.today:
        return say("next.pull_now")
    return say("next.pull", day=weekday(last, ctx.today))


def _last_day(session: Pairing, ctx: Context) -> date:
    from scheduler.facts import facts
    from scheduler.sessions import pull_day

    colony = ctx.colony
    return pull_day(facts(colony), session, ctx.today)[0]


def _misgivings(record: Record, ctx: Context) -> str:
    """What stood in the way of the pair before this session; said at its first session alone."""
    from scheduler.readiness import may_pair

    male, female = record.get("male"), record.get("female")
    colony = ctx.colony
    together = [p for p in colony.pairings if (p.male, p.female) == (male, female)]
    if len(together) > 1 or not {male, female} <= set(colony.animals):
        return ""
    before = replace(colony, pairings=tuple(p for p in colony.pairings if p not in together))
    verdict = may_pair(before, female, male, ctx.today)
    if verdict.answer == "yes":
        return ""
    return say("next.not_ready", reasons=" ".join(verdict.reasons))


def pairs(request: Request, ctx: Context) -> Reply:
    """Who is in with whom, and until when; then the plan of the coming two weeks."""
    lines = [
        say(
            "pairs.row",
            male=each.male,
            female=each.female,
            since=day(each.put_in, ctx.today),
            until=weekday(_last_day(each, ctx), ctx.today),
        )
        for each in ctx.pages.state.open_pairings()
    ]
    return Reply("\n".join([*(lines or [say("pairs.none")]), *plan(ctx)]))


def next_clutch(request: Request, ctx: Context) -> Reply:
    """When a female may lay next, and what that rests on."""
    tag = request.get("tag")
    kept = ctx.pages.state.animals.get(tag)
    if kept is None:
        return Reply(unknown(tag))
    if kept.sex != "female":
        return Reply(say("next_clutch.not_female", tag=tag))
    said = next_clutch_said(tag, ctx)
    if not said:
        return Reply(say("next_clutch.none", tag=tag))
    return Reply(joined([said, _clutch_basis(tag, ctx)]))


def _clutch_basis(tag: str, ctx: Context) -> str:
    from scheduler.laying import clutch_window

    window = clutch_window(ctx.colony, tag, ctx.today)
    return say("next_clutch.basis", basis=window.basis.rstrip(".")) if window else ""


def ready(request: Request, ctx: Context) -> Reply:
    """Who may be paired now; for the others, the first reason and until when.

    Of one that is named, every reason. Then what to do next: who is planned where in the coming
    two weeks, or how to find a mate.
    """
    if request.get("tag"):
        return Reply(_ready_one(request.get("tag"), request.get("mate"), ctx))
    if request.get("sex") == "male":
        return Reply(_free_males(ctx))
    from scheduler.readiness import ready_females

    verdicts = ready_females(ctx.colony, ctx.today)
    if not verdicts:
        return Reply(say("ready.no_females"))
    now = sorted((v.female for v in verdicts if v.answer == "yes"), key=by_number)
    later = [each for each in verdicts if each.answer != "yes"]
    head = say("ready.now", tags=listed(now)) if now else say("ready.none")
    rows = capped([_not_yet(each, ctx) for each in later], MOST_ROWS)
    return Reply("\n".join([head, *rows, *_next(now, ctx)]))


def _ready_one(tag: str, mate: str | None, ctx: Context) -> str:
    """One animal alone, or a pair: yes, not yet or no, with every reason, and what is next."""
    animals = ctx.pages.state.animals
    for each in (tag, mate):
        if each and each not in animals:
            return unknown(each)
    if mate and animals[tag].sex == animals[mate].sex != "unknown":
        return "\n".join(_ready_one(each, None, ctx) for each in (tag, mate))
    if animals[tag].sex == "male" and mate:
        tag, mate = mate, tag
    if animals[tag].sex == "unknown":
        return say("match.unknown_sex", tag=tag)
    if animals[tag].sex == "male":
        return _male_alone(tag, ctx)
    from scheduler.readiness import may_pair

    verdict = may_pair(ctx.colony, tag, mate, ctx.today)
    pair = say("ready.pair", tag=tag, mate=mate) if mate else tag
    why = " ".join(verdict.reasons)
    head = say("ready.row", tag=pair, word=_answer(verdict, ctx), why=why)
    alone = say("ready.mate", tag=tag) if verdict.answer == "yes" and not mate else ""
    return "\n".join([head, *(_sessions_of(tag, ctx) or ([alone] if alone else []))])


def _male_alone(tag: str, ctx: Context) -> str:
    """Whether a male is free now, and where he goes next."""
    kept = ctx.pages.state.animals[tag]
    if kept.status != "kept":
        return sentence(f"{tag} {say(f'how.{kept.status}')}")
    stay = next((each for each in ctx.pages.state.open_pairings() if each.male == tag), None)
    if stay is None:
        head = say("ready.male", tag=tag)
    else:
        since = day(stay.put_in, ctx.today)
        head = say("ready.male_in", tag=tag, mate=stay.female, since=since)
    return "\n".join([head, *(_sessions_of(tag, ctx) or [say("ready.mate", tag=tag)])])


def _sessions_of(tag: str, ctx: Context) -> list[str]:
    """The sessions that are planned for one animal in the coming two weeks."""
    found = coming(ctx)
    mine = tuple(each for each in found.sessions if tag in (each.male, each.female))
    return lines_of(replace(found, sessions=mine, notes=()), ctx)


def _next(ready: list[str], ctx: Context) -> list[str]:
    """What to do about those that are ready: the plan of two weeks, or the question for a mate."""
    found = coming(ctx)
    planned = {each.female for each in found.sessions}
    alone = next((tag for tag in ready if tag not in planned), None)
    return [*lines_of(found, ctx), *([say("ready.mate", tag=alone)] if alone else [])]


def _not_yet(verdict: Verdict, ctx: Context) -> str:
    word = _answer(verdict, ctx)
    return say("ready.row", tag=verdict.female, word=word, why=verdict.reasons[0])


def _answer(verdict: Verdict, ctx: Context) -> str:
    """ "yes", "no", "not yet", or "not before 11 Mar"."""
    if verdict.answer == "not yet" and verdict.until:
        return say("ready.not_before", day=day(verdict.until, ctx.today))
    return say(f"ready.{verdict.answer.replace(' ', '_')}")


def _free_males(ctx: Context) -> str:
    busy = {each.male for each in ctx.pages.state.open_pairings()}
    males = [
        each.tag
        for each in ctx.pages.state.animals.values()
        if each.sex == "male" and each.status == "kept" and each.tag not in busy
    ]
    return (
        say("ready.males", tags=listed(sorted(males, key=by_number)))
        if males
        else say("ready.no_males")
    )


def match(request: Request, ctx: Context) -> Reply:
    """The best mates for an animal, with how related they are and what stands in the way."""
    from scheduler.readiness import match as mates_for

    tag = request.get("tag")
    kept = ctx.pages.state.animals.get(tag)
    if kept is None:
        return Reply(unknown(tag))
    if request.get("mate"):
        return Reply(_ready_one(tag, request.get("mate"), ctx))
    if kept.sex == "unknown":
        return Reply(say("match.unknown_sex", tag=tag))
    mates = mates_for(ctx.colony, tag, ctx.today)
    if not mates:
        return Reply(say("match.none", tag=tag))
    head = say("match.head", tag=tag)
    return Reply("\n".join([head, *capped([_mate(each, ctx) for each in mates], MOST_ROWS)]))


def _mate(mate: Mate, ctx: Context) -> str:
    verdict = mate.verdict
    close = verdict.inbreeding
    related = say("match.related", f=f"{close:.3g}") if close else say("match.unrelated")
    traits = say("match.traits", traits=listed(mate.shared_traits)) if mate.shared_traits else ""
    return say(
        "match.row", tag=mate.tag, word=_answer(verdict, ctx), related=related, traits=traits,
        why=verdict.reasons[0],
    )  # fmt: skip
