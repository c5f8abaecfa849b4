"""Cautions where they belong: trouble, eggs and heat, a departure, coming in, a helper's first job.

A caution is said at most once a day to the same person, except where an animal may be in trouble.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, time
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from bot.desk.context import Context
from bot.records import Record
from bot.wording import lookup
from scheduler.cautions import caution, for_event

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bot.book.households import Household, Member

FOR_A_VET = {"straining": "dystocia", "weak": "dystocia", "injured": "not-a-vet"}
"""Signs at which a reptile vet is named every time, and the caution that names one."""
ONCE_A_DAY = frozenset({"biting", "tail-drop", "thin", "sold", "given", "lost"})
"""Signs and ways to leave whose caution is said once a day."""
BY_KIND = {"laid": "egg-turning", "shifted": "egg-turning", "box": "heat-safety"}
"""Records whose caution is said once a day: eggs picked up, and a box that is to be kept warm."""
HYGIENE = "salmonella-hands"
RISK_GROUPS = "salmonella-risk-groups"
LOOK_BACK = 60
"""How many of the household's latest replies are looked at in one go."""


def at_sign(sign: str) -> str:
    """The caution for a sign of trouble; nothing for other signs."""
    return caution(FOR_A_VET[sign]).text if sign in FOR_A_VET else ""


def after_writing(records: Iterable[Record], ctx: Context) -> list[str]:
    """What to add to a confirmation: the event's caution, and hygiene at a helper's first job."""
    records = list(records)
    events = {str(each.get("sign") or each.get("how")) for each in records} & ONCE_A_DAY
    wanted = [for_event(event)[0].text for event in sorted(events) if for_event(event)]
    wanted += [caution(BY_KIND[each.kind]).text for each in records if _calls_for_care(each)]
    said = _unsaid(wanted, ctx)
    if helps(ctx):
        line = hygiene(ctx.pages.conn, ctx.pages.household, ctx.member, ctx.now)
        said += [line] if line else []
    return said


def _calls_for_care(record: Record) -> bool:
    """Eggs that lie in a slot were picked up; a box that stands in an incubator is heated."""
    needed = {"laid": "slots", "box": "incubator"}.get(record.kind)
    return record.kind in BY_KIND and (needed is None or bool(record.get(needed)))


def at_the_door(role: str) -> list[str]:
    """What somebody who has just come in is told; a helper's first job has the hygiene line."""
    if role == "watcher":
        return []
    if role == "helper":
        return [caution(RISK_GROUPS).text]
    return [each.text for each in for_event("first-message")]


def helps(ctx: Context) -> bool:
    """Whether a member is a helper, or stands in for somebody now."""
    from bot.people import People

    if ctx.member.role == "helper":
        return True
    if not ctx.pages.standing_in:
        return False
    people = People(ctx.pages.conn, ctx.pages.household, ctx.now)
    return bool(people.stands_in_for(ctx.member))


def hygiene(conn: Connection, household: Household, member: Member, now: datetime) -> str:
    """The hygiene line for a helper's first job of a day; "" where it was said on their day."""
    line = caution(HYGIENE).text
    zone = ZoneInfo(member.zone or household.zone)
    return "" if any(line in text for text in _told_today(conn, member, zone, now)) else line


def asked_about(ctx: Context, of_animal: bool = False) -> str:
    """The caution for what a message that is no log tells of: a dose, an illness, a power cut.

    `of_animal` where it names an animal: then the illness is not the keeper's.
    """
    said = {word.strip(",.!?;:'\"").casefold() for word in ctx.message.text.split()}
    for event, words in (lookup("care") or {}).items():
        if said & set(words.split()) and not (of_animal and event == "keeper-ill"):
            return " ".join(each.text for each in for_event(event))
    return ""


def _unsaid(wanted: list[str], ctx: Context) -> list[str]:
    """Those that this member has not been told since midnight."""
    if not wanted:
        return []
    zone = ZoneInfo(ctx.member.zone or ctx.pages.household.zone)
    told = list(_told_today(ctx.pages.conn, ctx.member, zone, ctx.now))
    return [each for each in dict.fromkeys(wanted) if not any(each in text for text in told)]


def _told_today(conn: Connection, member: Member, zone: ZoneInfo, now: datetime) -> Iterator[str]:
    """What was said to a member since their midnight, the latest first."""
    from sqlalchemy import select

    from bot.book.tables import outbox

    midnight = datetime.combine(now.astimezone(zone).date(), time(), zone)
    query = (
        select(outbox.c.id, outbox.c.reply, outbox.c.member, outbox.c.made)
        .where(outbox.c.household == member.household)
        .order_by(outbox.c.id.desc())
        .limit(LOOK_BACK)
    )
    rows = conn.execute(query).all()
    while rows:
        for _, reply, to, made in rows:
            if made < midnight:
                return
            if to == member.id:
                yield str(reply.get("text", ""))
        rows = conn.execute(query.where(outbox.c.id < rows[-1].id)).all()
