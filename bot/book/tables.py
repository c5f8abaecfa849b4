"""The tables of the book. Every row belongs to a household; moments are UTC.

Three families: the **ledger** (append-only; what was said), the **state** (what follows from it,
and what questions read: animals, boxes, pairings, clutches, eggs, happenings), and the **post**
(messages in, messages out, reminders). `bot/book/migrations/` builds the same tables step by
step; a test holds the two equal.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    Date,
    DateTime,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
    text,
)
from sqlalchemy.engine import Dialect

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

Id = BigInteger().with_variant(Integer, "sqlite")


class Moment(TypeDecorator[datetime]):
    """An aware moment, kept as UTC. A naive one is refused: it would be a guess."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment in the book needs a time zone")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        return None if value is None else value.replace(tzinfo=UTC)


def _household() -> Column[int]:
    return Column("household", Id, ForeignKey("households.id"), nullable=False)


# --- who ------------------------------------------------------------------------------------

households = Table(
    "households",
    metadata,
    Column("id", Id, primary_key=True),
    Column("name", String(80), nullable=False, server_default=""),
    Column("zone", String(64), nullable=False),
    Column("begun", Moment, nullable=False),
    Column("calendar", String(64), unique=True),  # the secret in the calendar's address
    Column("wakes", Moment, index=True),  # when something may next be due; none: look now
    Column("slept", Moment, index=True),  # when that was worked out: before, a clock was set back
    Column("fresh", Date),  # the local day for which its reminders are worked out
    Column("pass_on", Integer),  # minutes an answer is waited for; none: the usual, 0: never
    Column("room", String(80)),  # the Telegram group where reminders are told, if one is
)

members = Table(
    "members",
    metadata,
    Column("id", Id, primary_key=True),
    _household(),
    Column("name", String(80), nullable=False),
    Column("role", String(16), nullable=False),  # owner, keeper, helper, watcher
    Column("zone", String(64)),  # their own, where it is not the household's
    Column("temperature", String(1), nullable=False, server_default="C"),
    Column("weight", String(2), nullable=False, server_default="g"),
    Column("quiet_from", String(5)),
    Column("quiet_to", String(5)),
    Column("digest", String(5)),
    Column("prefers", String(16)),  # the channel their reminders go to
    Column("joined", Moment, nullable=False),
    Column("gone", Moment),
    Column("talk", JSON),  # the open question, the last records: bot/desk/talk.py
    Index(None, "household"),
)

addresses = Table(
    "addresses",
    metadata,
    Column("id", Id, primary_key=True),
    _household(),
    Column("member", Id, ForeignKey("members.id"), nullable=False),
    Column("channel", String(16), nullable=False),
    Column("address", String(80), nullable=False),
    Column("current", Boolean, nullable=False),  # which household speaks here, of several
    Column("shut", Moment),  # blocked or opted out: nothing is sent there
    UniqueConstraint("channel", "address", "household"),
    Index(None, "household"),
)

codes = Table(
    "codes",
    metadata,
    Column("code", String(64), primary_key=True),
    Column("household", Id, ForeignKey("households.id")),  # none: the owner code
    Column("role", String(16), nullable=False),
    Column("member", Id, ForeignKey("members.id")),  # a second channel of this member
    Column("made", Moment, nullable=False),
    Column("ends", Moment),
    Column("used", Moment),
    Column("made_by", Id),  # the member who shared it: it lapses when they go
)

strangers = Table(
    "strangers",
    metadata,
    Column("channel", String(16), primary_key=True),
    Column("address", String(80), primary_key=True),
    Column("wrong", Integer, nullable=False, server_default="0"),  # wrong codes since `since`
    Column("since", Moment),
    Column("told", Moment),  # when they were last told that this is a private book
)

standins = Table(
    "standins",
    metadata,
    Column("id", Id, primary_key=True),
    _household(),
    Column("for_member", Id, ForeignKey("members.id"), nullable=False),
    Column("member", Id, ForeignKey("members.id"), nullable=False),
    Column("starts", Moment, nullable=False),
    Column("ends", Moment, nullable=False),
    Column("reported", Moment),  # when the digest of what was done went out
    Index(None, "household", "ends"),
)

# --- the ledger -----------------------------------------------------------------------------

ledger = Table(
    "ledger",
    metadata,
    Column("id", Id, primary_key=True),
    _household(),
    Column("member", Id, ForeignKey("members.id")),
    Column("message", Id, ForeignKey("messages.id")),
    Column("channel", String(16), nullable=False),
    Column("arrived", Moment, nullable=False),
    Column("text", Text, nullable=False),
    Column("kind", String(16), nullable=False),
    Column("on", Date, nullable=False),
    Column("at", String(5)),
    Column("fields", JSON, nullable=False),
    Column("stands_for", Id),  # the entry that this one puts right
    Index(None, "household", "id"),
    Index(None, "message"),
)

# --- the state ------------------------------------------------------------------------------

animals = Table(
    "animals",
    metadata,
    Column("household", Id, ForeignKey("households.id"), primary_key=True),
    Column("tag", String(40), primary_key=True),
    Column("species", String(40)),
    Column("sex", String(8), nullable=False),
    Column("name", String(80)),
    Column("hatched", Date),
    Column("sire", String(40)),
    Column("dam", String(40)),
    Column("place", String(80)),
    Column("traits", JSON, nullable=False),
    Column("status", String(8), nullable=False),
    Column("arrived", Date),
    Column("placed", Date),
    Column("ended", Date),
)

boxes = Table(
    "boxes",
    metadata,
    Column("household", Id, ForeignKey("households.id"), primary_key=True),
    Column("box", String(40), primary_key=True),
    Column("rows", Integer, nullable=False),
    Column("columns", Integer, nullable=False),
    Column("incubator", String(40)),
)

pairings = Table(
    "pairings",
    metadata,
    Column("household", Id, ForeignKey("households.id"), primary_key=True),
    Column("key", String(24), primary_key=True),
    Column("male", String(40), nullable=False),
    Column("female", String(40), nullable=False),
    Column("put_in", Date, nullable=False),
    Column("taken_out", Date),
)

clutches = Table(
    "clutches",
    metadata,
    Column("household", Id, ForeignKey("households.id"), primary_key=True),
    Column("key", String(24), primary_key=True),
    Column("dam", String(40), nullable=False),
    Column("laid", Date, nullable=False),
    Column("eggs", Integer, nullable=False),
    Column("spoiled", Integer, nullable=False),
    Column("sires", JSON, nullable=False),
)

eggs = Table(
    "eggs",
    metadata,
    Column("household", Id, ForeignKey("households.id"), primary_key=True),
    Column("key", String(24), primary_key=True),
    Column("clutch", String(24)),
    Column("dam", String(40)),
    Column("laid", Date, nullable=False),
    Column("slot", String(40)),
    Column("species", String(40)),
    Column("sires", JSON, nullable=False),
    Column("state", String(16)),
    Column("checked", Date),
    Column("pipped", Date),
    Column("end", String(16)),
    Column("ended", Date),
    Column("young", String(40)),
    Column("stays", JSON, nullable=False),
    Index("ix_eggs_in_the_box", "household", "end"),
)

happenings = Table(
    "happenings",
    metadata,
    Column("household", Id, ForeignKey("households.id"), primary_key=True),
    Column("entry", Id, primary_key=True),
    Column("about", String(80), primary_key=True),
    Column("kind", String(16), nullable=False),
    Column("on", Date, nullable=False),
    Column("at", String(5)),
    Column("fields", JSON, nullable=False),
    Index(None, "household", "about", "on"),
    Index(None, "household", "kind", "on"),
)

STATE = (animals, boxes, pairings, clutches, eggs, happenings)

# --- the post -------------------------------------------------------------------------------

messages = Table(
    "messages",
    metadata,
    Column("id", Id, primary_key=True),
    Column("household", Id, ForeignKey("households.id")),  # none: from a stranger, no text kept
    Column("member", Id, ForeignKey("members.id")),
    Column("channel", String(16), nullable=False),
    Column("channel_id", String(80), nullable=False),
    Column("sent", Moment, nullable=False),
    Column("arrived", Moment, nullable=False),
    Column("text", Text, nullable=False),
    Column("picture", String(200)),
    Column("chat", String(80)),  # where it was written, where that is not the sender's own address
    UniqueConstraint("channel", "channel_id"),
    Index(None, "household", "id"),
)

_WAITING: dict[str, Any] = {
    f"{dialect}_where": text("sent IS NULL AND given_up IS NULL")
    for dialect in ("sqlite", "postgresql")
}

outbox = Table(
    "outbox",
    metadata,
    Column("id", Id, primary_key=True),
    _household(),
    Column("member", Id, ForeignKey("members.id")),
    Column("message", Id, ForeignKey("messages.id")),  # the message it answers
    Column("channel", String(16), nullable=False),
    Column("address", String(80), nullable=False),
    Column("reply", JSON, nullable=False),
    Column("made", Moment, nullable=False),
    Column("not_before", Moment, nullable=False),
    Column("sent", Moment),
    Column("given_up", Moment),
    Column("tries", Integer, nullable=False, server_default="0"),
    Column("sent_as", String(80)),  # the channel's own id of what was sent
    Column("claimed", Moment),  # when it was last taken in hand
    Column("worker", String(40)),  # which process has it in hand; none: nobody
    Column("report", String(16)),  # what the channel said of it later: delivered, undelivered...
    Column("reported", Moment),
    Index("ix_outbox_waiting", "id", **_WAITING),
    Index("ix_outbox_queue", "channel", "address", "id", **_WAITING),
    Index("ix_outbox_sent_as", "sent_as"),
    Index(None, "household", "id"),
)

reminders = Table(
    "reminders",
    metadata,
    Column("household", Id, ForeignKey("households.id"), primary_key=True),
    Column("key", String(160), primary_key=True),
    Column("kind", String(16), nullable=False),
    Column("about", JSON, nullable=False),
    Column("due", Moment, nullable=False),
    Column("until", Moment),
    Column("text", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("place", String(80)),
    Column("told", Moment),  # when it was put in the outbox
    Column("told_to", JSON),  # the members that it went to
    Column("passed_on", Moment),  # when it went to the next person, unanswered
    Column("snoozed", Moment),  # told again at this moment
    Column("closed", Moment),
    Column("closed_as", String(16)),  # done, skipped, answered (by a record), withdrawn
    Column("closed_by", Id, ForeignKey("members.id")),
    Index("ix_reminders_open", "household", "closed", "due"),
)

usage = Table(
    "usage",
    metadata,
    Column("channel", String(16), primary_key=True),
    Column("month", String(7), primary_key=True),
    Column("sent", Integer, nullable=False, server_default="0"),
    Column("warned", Boolean, nullable=False, server_default="0"),
)

pictures = Table(
    "pictures",
    metadata,
    Column("id", Id, primary_key=True),
    _household(),
    Column("message", Id, ForeignKey("messages.id")),
    Column("about", String(80), nullable=False),
    Column("file", String(200), nullable=False),  # the channel's file id
    Column("taken", Moment, nullable=False),
    Index(None, "household", "about"),
)

delays = Table(
    "delays",
    metadata,
    Column("channel", String(16), primary_key=True),
    Column("address", String(80), primary_key=True),
    Column("until", Moment, nullable=False),  # nothing is sent there before
    Column("why", Float),  # for so many seconds
    Column("since", Moment),  # when it asked: a clock that shows less was set back
)
