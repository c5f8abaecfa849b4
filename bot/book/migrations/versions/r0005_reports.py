"""Find the text that a delivery report is of, however many were sent."""

from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Index what channels call the messages that they took."""
    op.create_index("ix_outbox_sent_as", "outbox", ["sent_as"])
