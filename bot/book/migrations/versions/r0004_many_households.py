"""Many households in one book: when each is looked at again, what waits to be sent, who sees what.

On PostgreSQL every table that belongs to households gets row-level security: a transaction sees the
rows of the household in the setting `rackside.household`, or all with "*", or none.
"""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

OWNED = (
    "members", "addresses", "codes", "standins", "ledger", "animals", "boxes", "pairings",
    "clutches", "eggs", "happenings", "messages", "outbox", "reminders", "pictures",
)  # fmt: skip
WAITING = "sent IS NULL AND given_up IS NULL"


def upgrade() -> None:
    """Add what ticks and several senders go by, and keep households apart in the database."""
    op.add_column("households", sa.Column("slept", sa.DateTime(), nullable=True))
    op.add_column("households", sa.Column("fresh", sa.Date(), nullable=True))
    op.create_index(op.f("ix_households_slept"), "households", ["slept"])
    op.add_column("delays", sa.Column("since", sa.DateTime(), nullable=True))
    op.drop_index("ix_outbox_to_send", "outbox")
    where: dict[str, Any] = {
        f"{dialect}_where": sa.text(WAITING) for dialect in ("sqlite", "postgresql")
    }
    op.create_index("ix_outbox_waiting", "outbox", ["id"], **where)
    op.create_index("ix_outbox_queue", "outbox", ["channel", "address", "id"], **where)
    if op.get_bind().dialect.name == "postgresql":
        _keep_apart("households", "id")
        for table in OWNED:
            _keep_apart(table, "household")


def _keep_apart(table: str, column: str) -> None:
    seen = "(SELECT current_setting('rackside.household', true))"
    op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
    op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")  # for the owner, who we are, too
    op.execute(f"CREATE POLICY own_household ON {table} USING ({seen} IN ('*', {column}::text))")
