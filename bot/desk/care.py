"""Cautions where they belong: trouble seen, trouble asked about, a departure, a helper's first job.

A caution is said at most once a day to the same person, except where an animal may be in trouble.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, time

from bot.desk.context import Context
from bot.records import Record
from bot.wording import lookup
from scheduler.cautions import caution, for_event

FOR_A_VET = {"straining": "dystocia", "weak": "dystocia", "injured": "not-a-vet"}
"""Signs at which a reptile vet is named every time, and the caution that names one."""
ONCE_A_DAY = frozenset({"biting", "tail-drop", "thin", "sold", "given", "lost"})
"""Signs and ways to leave whose caution is said once a day."""
HYGIENE = "salmonella-hands"
LOOK_BACK = 60
"""How many of the household's latest replies are looked at: more than a day's talk has."""


def at_sign(sign: str) -> str:
    """The caution for a sign of trouble; nothing for other signs."""
    return caution(FOR_A_VET[sign]).text if sign in FOR_A_VET else ""


def after_writing(records: Iterable[Record], ctx: Context) -> list[str]:
    """What to add to a confirmation: the event's caution, and hygiene at a helper's first job."""
    events = {str(each.get("sign") or each.get("how")) for each in records} & ONCE_A_DAY
    wanted = [for_event(event)[0].text for event in sorted(events) if for_event(event)]
    if ctx.member.role == "helper":
        wanted.append(caution(HYGIENE).text)
    return _unsaid(wanted, ctx)


def asked_about(ctx: Context) -> str:
    """The caution for what a message that is no log tells of: a dose, an illness, a power cut."""
    said = {word.strip(",.!?;:'\"").casefold() for word in ctx.message.text.split()}
    for event, words in (lookup("care") or {}).items():
        if said & set(words.split()):
            return " ".join(each.text for each in for_event(event))
    return ""


def _unsaid(wanted: list[str], ctx: Context) -> list[str]:
    """Those that this member has not been told since midnight."""
    if not wanted:
        return []
    told = _told_today(ctx)
    return [each for each in dict.fromkeys(wanted) if not any(each in text for text in told)]


def _told_today(ctx: Context) -> list[str]:
    from sqlalchemy import select

    from bot.book.tables import outbox

    midnight = datetime.combine(ctx.today, time(), ctx.zone)
    latest = (
        select(outbox.c.reply, outbox.c.member, outbox.c.made)
        .where(outbox.c.household == ctx.pages.household.id)
        .order_by(outbox.c.id.desc())
        .limit(LOOK_BACK)
    )
    return [
        str(reply.get("text", ""))
        for reply, member, made in ctx.pages.conn.execute(latest)
        if member == ctx.member.id and made >= midnight
    ]
