"""While somebody is away: the stand-in is greeted, who was away gets an account, it goes back.

Each of these goes out once; in quiet hours it waits for their end.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from sqlalchemy import select

from bot.book import households, reminders, standins
from bot.book.pages import Pages
from bot.book.standins import StandIn, Wanted
from bot.book.tables import members
from bot.desk import standing
from bot.desk.reminders import in_order, task_words
from bot.desk.talk import talk_from_json, talk_to_json
from bot.messages import Outgoing, Reply
from bot.people import MAY_HELP, People
from bot.wording import say

KIND = "standin"


def put_out(pages: Pages, now: datetime) -> list[Outgoing]:
    """Put in the outbox what standing in calls for by now."""
    conn, number = pages.conn, pages.household.id
    wanted = standins.wanted(conn, number, now)
    if not wanted and not standins.unreported(conn, number):
        return []
    people = People(conn, pages.household, now)
    out = [sent for each in wanted for sent in _take_up(each, people)]
    for each in standins.unreported(conn, number):
        if each.for_member not in people.members:
            standins.reported(conn, each.id, now)
        elif not people.may_help(each.member):
            out += _lost(each, people)
        elif each.ends <= now and standins.civil(each.ends, pages.zone) <= now:
            out += _end(pages, each, people)
        elif each.starts <= now < each.ends and standins.civil(each.starts, pages.zone) <= now:
            out += _greet(pages, each, people)
    return out


def _take_up(wanted: Wanted, people: People) -> list[Outgoing]:
    """Somebody has joined since it was asked: they stand in."""
    conn, household = people.conn, people.household
    query = (
        select(members.c.id)
        .where(
            members.c.household == household.id,
            members.c.gone.is_(None),
            members.c.role.in_(MAY_HELP),
            members.c.joined > wanted.asked,
        )
        .order_by(members.c.id)
    )
    joined = conn.execute(query).scalar()
    keeper = people.members.get(wanted.for_member)
    if joined is None or keeper is None:
        return []
    standins.forget(conn, household.id, wanted.key)
    made = standins.begin(
        conn, household.id, for_member=keeper.id, member=joined, starts=wanted.starts,
        ends=wanted.ends, now=people.now,
    )  # fmt: skip
    name = people.members[joined].name
    text = say("standin.taken_up", name=name, span=standing.span(made, people))
    return [
        *people.send(keeper, Reply(text)),
        *people.send(people.members[joined], standing.asked(made, people)),
    ]


def _greet(pages: Pages, each: StandIn, people: People) -> list[Outgoing]:
    """Hello to the stand-in: what is open and what is coming."""
    member = people.members[each.member]
    if not people.reached(member) or not people.awake(member):
        return []
    # Not by its number alone: SQLite gives that of a row that is gone to the next.
    key = f"{KIND} {each.id} {each.member} {each.starts.isoformat()}"
    if not reminders.once(pages.conn, pages.household.id, KIND, key, people.now):
        return []
    rows = in_order(
        [
            row
            for row in reminders.to_see_to(pages.conn, pages.household.id, people.now)
            if row.told is not None and row.snoozed is None and member.id not in row.told_to
        ]
    )
    for row in rows:
        reminders.told_too(pages.conn, pages.household.id, row, people.now, [member.id])
    talk = replace(talk_from_json(member.talk), tasks=tuple(task_words(row) for row in rows))
    households.update_member(pages.conn, member.id, talk=talk_to_json(talk))
    return people.send(member, standing.hello(pages, each, rows, people))


def _end(pages: Pages, each: StandIn, people: People) -> list[Outgoing]:
    """It is over: an account to who was away, and thanks to who stood in."""
    keeper, member = people.members[each.for_member], people.members[each.member]
    if not people.reached(keeper) or not people.awake(keeper):
        return []
    return [
        *people.send(keeper, standing.account(pages, each, people)),
        *people.send(member, Reply(say("standin.over", keeper=keeper.name), silent=True)),
    ]


def _lost(each: StandIn, people: People) -> list[Outgoing]:
    """The stand-in has left the book, or may no longer log: the keeper hears it at once."""
    standins.reported(people.conn, each.id, people.now)
    gone = people.name_of(each.member)
    return people.send(people.members[each.for_member], Reply(say("standin.lost", name=gone)))
