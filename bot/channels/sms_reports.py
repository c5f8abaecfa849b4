"""What the gateway reports of a text later: kept beside it, and a dead number is sent no more."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select, update

from bot.book import access
from bot.book.tables import members, outbox
from bot.channels.sms_sender import CHANNEL, OPTED_OUT
from bot.passing import way_shut
from bot.serve.logs import log

STATES: Mapping[str, int] = {
    "accepted": 0, "scheduled": 0, "queued": 1, "sending": 2, "sent": 3,
    "undelivered": 4, "failed": 4, "canceled": 4, "delivered": 5, "read": 6,
}  # fmt: skip
"""The states of a text that is going out, each with how far on it is; none goes back.

The words are the gateway's (its `MessageStatus`; from memory of its public documentation).
"""

NOT_DELIVERED = frozenset({"undelivered", "failed"})

DEAD: Mapping[int, str] = {
    OPTED_OUT: "sent STOP",
    21614: "no number that takes texts",
    30004: "blocks this sender",
    30005: "unknown number",
    30006: "landline, or a carrier that can't be reached",
}
"""Error codes after which a number is not tried again until its owner writes.

From memory of the gateway's public list. Left out because they pass: 30003 (switched off or out of
reach), 30007 (filtered), 30008 (no reason given).
"""


def is_report(form: Mapping[str, str]) -> bool:
    """Whether a form tells of a text of ours, rather than being a message of somebody's."""
    return "MessageStatus" in form and ("Body" not in form or form["MessageStatus"] in STATES)


def keep(conn: Connection, form: Mapping[str, str], now: datetime) -> bool:
    """Keep a report beside the text that it is of; false where it tells nothing new.

    Nothing new is a text that we did not send, a state that we don't know, or one that it is past.
    A number that turns out to be dead is shut, and the owner is told.
    """
    state = form.get("MessageStatus", "")
    row = _row(conn, form.get("MessageSid", ""))
    if row is None or state not in STATES:
        return False
    before = [each for each, step in STATES.items() if step < STATES[state]]
    forward = outbox.c.report.is_(None) | outbox.c.report.in_(before)
    change = update(outbox).where(outbox.c.id == row["id"], forward)
    if conn.execute(change.values(report=state, reported=now)).rowcount == 0:
        return False
    if state in NOT_DELIVERED:
        _not_delivered(conn, row, form.get("ErrorCode", ""), now)
    return True


def _row(conn: Connection, sid: str) -> Any:
    """The text that the gateway calls so, with the name of whom it went to."""
    if not sid.isprintable():  # no id, and no database takes NUL
        return None
    query = (
        select(outbox.c.id, outbox.c.household, outbox.c.address, members.c.name)
        .join(members, members.c.id == outbox.c.member)
        .where(outbox.c.channel == CHANNEL, outbox.c.sent_as == sid[:80])
    )
    return conn.execute(query).mappings().first()


def _not_delivered(conn: Connection, row: Any, code: str, now: datetime) -> None:
    number = int(code) if code.isascii() and code.isdecimal() and len(code) < 9 else None
    log.warning("a text was not delivered", row=row["id"], code=number)
    if number not in DEAD:
        return
    access.shut(conn, CHANNEL, row["address"], now)
    way_shut(conn, row["household"], CHANNEL, row["address"], now)
