"""Several people and several processes at one book: who was told, who sends, what came of it."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add what standing in, passing on, delivery reports and several workers need."""
    op.add_column("households", sa.Column("wakes", sa.DateTime(), nullable=True))
    op.add_column("households", sa.Column("pass_on", sa.Integer(), nullable=True))
    op.create_index(op.f("ix_households_wakes"), "households", ["wakes"])
    op.add_column("messages", sa.Column("chat", sa.String(length=80), nullable=True))
    op.add_column("outbox", sa.Column("worker", sa.String(length=40), nullable=True))
    op.add_column("outbox", sa.Column("report", sa.String(length=16), nullable=True))
    op.add_column("outbox", sa.Column("reported", sa.DateTime(), nullable=True))
    op.add_column("reminders", sa.Column("told_to", sa.JSON(), nullable=True))
