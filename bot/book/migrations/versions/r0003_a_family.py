"""A family at one book: the group in which reminders are told, and who made a code."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the group of a household and the maker of a code."""
    op.add_column("households", sa.Column("room", sa.String(length=80), nullable=True))
    maker = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
    op.add_column("codes", sa.Column("made_by", maker, nullable=True))
