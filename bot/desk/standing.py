"""Standing in: "my sister looks after them from Friday to Sunday evening", and "I'm back".

And what is said around it: hello to the stand-in, the account to who was away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from bot import wording
from bot.desk.context import Context
from bot.desk.roles import KEEPERS
from bot.language.reading import Ask, Outcome, Reading, Request
from bot.messages import Choice, Reply
from bot.wording import capped, joined, near, say

if TYPE_CHECKING:
    from bot.book.households import Member
    from bot.book.pages import Pages
    from bot.book.reminders import ReminderRow
    from bot.book.standins import StandIn
    from bot.people import People

ASKED = "standin"
"""What an open question about who stands in is about; its `said` holds the span, ISO/ISO."""
NOW = "now"
OPEN_ENDED = timedelta(days=28)
"""With no end said it lasts until "I'm back", but no longer than this (our convention)."""
MOST_COMING, MOST_DONE = 8, 20


# --- asked for ------------------------------------------------------------------------------


def standin(request: Request, ctx: Context) -> Reply:
    """Let somebody have the keeper's reminders for a while; or, back again, end it."""
    if ctx.member.role not in KEEPERS:
        return Reply(say("standin.for_keepers"))
    if request.get("until") == NOW:
        return _back(ctx)
    starts = _moment(request.get("from"), ctx, end=False) or ctx.now
    ends = _moment(request.get("until"), ctx, end=True)
    starts = max(starts, ctx.now)
    if ends is None:
        ends = starts + OPEN_ENDED
    if ends <= starts:
        return Reply(say("standin.past"))
    return _who(str(request.get("who") or ""), starts, ends, ctx)


def _moment(said: Any, ctx: Context, *, end: bool) -> datetime | None:
    """A local moment of the household; a day alone counts from its start to its end."""
    if isinstance(said, str) and said:
        said = datetime.fromisoformat(said) if "T" in said else date.fromisoformat(said)
    if isinstance(said, datetime):
        return said if said.tzinfo else said.replace(tzinfo=ctx.zone)
    if isinstance(said, date):
        return datetime.combine(said + timedelta(days=1 if end else 0), time(), ctx.zone)
    return None


def _who(who: str, starts: datetime, ends: datetime, ctx: Context) -> Reply:
    """Agree on a member; ask where the words name none."""
    from bot.book import standins
    from bot.people import MAY_HELP

    people = _people(ctx)
    others = [each for each in people.members.values() if each.id != ctx.member.id]
    named = _named(who, list(people.members.values()))
    when = _between(starts, ends, people)
    if named is not None and named.id == ctx.member.id:
        return Reply(say("standin.yourself"))
    if named is not None and named.role not in MAY_HELP:
        return Reply(say("standin.watcher", name=named.name))
    if named is not None:
        return _agreed(named, starts, ends, ctx, people)
    able = [each.name for each in others if each.role in MAY_HELP]
    if not able:
        standins.want(
            ctx.pages.conn, ctx.pages.household.id, for_member=ctx.member.id, who=who,
            starts=starts, ends=ends, now=ctx.now,
        )  # fmt: skip
        return Reply(say("standin.nobody", who=who or say("standin.somebody"), span=when))
    ask = Ask(ASKED, tuple(able), said=f"{starts.isoformat()}/{ends.isoformat()}")
    ctx.talk = replace(ctx.talk, question=ask, offer=None)
    asked = say("standin.who_unknown", who=who, span=when) if who else say("standin.who", span=when)
    rows = [say("standin.choice", number=n, name=name) for n, name in enumerate(able, 1)]
    return Reply(f"{asked} {', '.join(rows)}", tuple(Choice(name, name) for name in able))


def _named(who: str, everybody: Sequence[Member]) -> Member | None:
    """The one member of that name, or first name; None for none, or for several."""
    wanted = who.casefold().split()
    names = [(each, each.name.casefold().split()) for each in everybody]
    whole = [each for each, name in names if name == wanted]
    first = [each for each, name in names if name[:1] == wanted]
    found = whole or first
    return found[0] if wanted and len(found) == 1 else None


def _agreed(
    member: Member, starts: datetime, ends: datetime, ctx: Context, people: People
) -> Reply:
    from bot.book import standins

    conn, household = ctx.pages.conn, ctx.pages.household.id
    for each in standins.unreported(conn, household):
        if each.for_member == ctx.member.id and each.member != member.id:
            ctx.others += _let_go(each, people)
    made = standins.begin(
        conn, household, for_member=ctx.member.id, member=member.id, starts=starts, ends=ends,
        now=ctx.now,
    )  # fmt: skip
    if made.starts != ctx.now:  # ahead of time, or it only ends later than was said
        ctx.others += people.send(member, asked(made, people))
    text = say("standin.agreed", name=member.name, span=span(made, people))
    unreached = "" if people.reached(member) else say("standin.unreached", name=member.name)
    return Reply(joined([text, unreached]))


def _back(ctx: Context) -> Reply:
    """End what runs, with the account of it; call off what was to come."""
    from bot.book import standins

    conn, household, people = ctx.pages.conn, ctx.pages.household.id, _people(ctx)
    for wanted in standins.wanted(conn, household, ctx.now):
        if wanted.for_member == ctx.member.id:
            standins.forget(conn, household, wanted.key)
    lines = []
    for each in standins.call_off(conn, household, ctx.member.id, ctx.now):
        ctx.others += _let_go(each, people)
        if each.starts > ctx.now:
            lines.append(say("standin.called_off", name=people.name_of(each.member)))
        else:
            ended = replace(each, ends=min(each.ends, ctx.now))
            lines += [say("standin.back"), account(ctx.pages, ended, people).text]
    return Reply("\n".join(lines) or say("standin.not_away"))


def _let_go(each: StandIn, people: People) -> list[Any]:
    """Tell a stand-in that it is over, or is not to be."""
    member = people.members.get(each.member)
    keeper = people.name_of(each.for_member)
    if member is None:
        return []
    over = each.starts <= people.now
    text = (
        say("standin.over", keeper=keeper)
        if over
        else say("standin.off", keeper=keeper, span=span(each, people))
    )
    return list(people.send(member, Reply(text, silent=True)))


def _people(ctx: Context) -> People:
    from bot.people import People

    return People(ctx.pages.conn, ctx.pages.household, ctx.now)


def taken_up(reading: Reading, ctx: Context) -> Reading:
    """An answer to "who stands in?", by number or name, as a request; else the reading as it is."""
    asked = ctx.talk.question
    if asked is None or asked.about != ASKED:
        return reading
    said = ctx.message.text.strip().strip(".!").casefold()
    chosen = [
        name
        for number, name in enumerate(asked.choices, 1)
        if said in (str(number), name.casefold(), name.casefold().split()[0])
    ]
    if len(chosen) != 1:
        return reading
    starts, _, ends = asked.said.partition("/")
    request = Request(ASKED, {"who": chosen[0], "from": starts, "until": ends})
    return Reading(Outcome.REQUEST, request=request, answers=True)


# --- what is said ---------------------------------------------------------------------------


def span(each: StandIn, people: People) -> str:
    """ " from Fri 27 Nov to Sun 29 Nov at 20:00", or " until ..." where it runs already."""
    return _between(each.starts, each.ends, people)


def asked(each: StandIn, people: People) -> Reply:
    """To the stand-in, ahead of time."""
    keeper = people.name_of(each.for_member)
    return Reply(say("standin.asked", keeper=keeper, span=span(each, people)))


def hello(pages: Pages, each: StandIn, open_rows: Sequence[ReminderRow], people: People) -> Reply:
    """To the stand-in when it begins: what is open, numbered, and what is coming."""
    until = say("standin.until", end=_end_said(each.ends, people))
    lines = [say("standin.hello", keeper=people.name_of(each.for_member), until=until)]
    if open_rows:
        rows = [
            say("standin.row", number=number, text=row.text.rstrip("."))
            for number, row in enumerate(open_rows, 1)
        ]
        lines += [say("standin.open"), *rows]
    coming = _coming(pages, each, people)
    if coming:
        lines += [say("standin.coming"), *capped(coming, MOST_COMING)]
    elif not open_rows:
        lines.append(say("standin.nothing"))
    return Reply("\n".join(lines))


def _coming(pages: Pages, each: StandIn, people: People) -> list[str]:
    from scheduler.reminders import due

    last = each.ends.astimezone(pages.zone).date()
    found = due(pages.colony(), people.today, last, people.now)
    coming = [row for row in found if people.now < row.due < each.ends]
    days = [near(row.due.astimezone(pages.zone).date(), people.today) for row in coming]
    return [
        say("standin.row_coming", day=day[:1].upper() + day[1:], text=row.text.rstrip("."))
        for day, row in zip(days, coming, strict=True)
    ]


def account(pages: Pages, each: StandIn, people: People) -> Reply:
    """To who was away, when it is over: what was done by whom, and what was not.

    It is given once, and what is left open is the keeper's again.
    """
    from bot.book import standins
    from bot.desk.accounts import hand_back

    standins.reported(pages.conn, each.id, people.now)
    hand_back(pages, each, people)
    first, last = (at.astimezone(pages.zone) for at in (each.starts, each.ends))
    when = wording.span(first.date(), (last - timedelta(seconds=1)).date(), people.today)
    return _account(say("standin.report", span=when), pages, each, people)


def account_so_far(pages: Pages, each: StandIn, people: People) -> Reply:
    """To who is away, at the hour of their digest."""
    return _account(say("standin.report_so_far"), pages, each, people)


def _account(head: str, pages: Pages, each: StandIn, people: People) -> Reply:
    from bot.desk.accounts import done_since, left_open

    done = capped(done_since(pages, each, people), MOST_DONE) or [say("standin.report_nothing")]
    undone = left_open(pages, people)
    rest = [say("standin.report_open"), *capped(undone, MOST_DONE)]
    return Reply("\n".join([head, *done, *(rest if undone else [say("standin.report_all")])]))


def _between(starts: datetime, ends: datetime, people: People) -> str:
    end = _end_said(ends, people)
    if starts <= people.now:
        return say("standin.until", end=end)
    return say("standin.span", start=_said(starts, people), end=end)


def _said(at: datetime, people: People) -> str:
    """A day, with the time unless it is midnight: then the whole day is meant."""
    local = at.astimezone(people.zone)
    time_said = say("days.at", time=wording.clock(local)) if local.time() != time() else ""
    return near(local.date(), people.today) + time_said


def _end_said(at: datetime, people: People) -> str:
    """An end at midnight is the end of the day before."""
    local = at.astimezone(people.zone)
    if local.time() == time():
        return near(local.date() - timedelta(days=1), people.today)
    return _said(at, people)
