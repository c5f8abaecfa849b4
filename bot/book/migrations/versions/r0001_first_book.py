"""The first book: who, ledger, state, post."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make every table of the first book."""
    op.create_table(
        "delays",
        sa.Column("channel", sa.String(length=16), nullable=False),
        sa.Column("address", sa.String(length=80), nullable=False),
        sa.Column("until", sa.DateTime(), nullable=False),
        sa.Column("why", sa.Float(), nullable=True),
        sa.PrimaryKeyConstraint("channel", "address", name=op.f("pk_delays")),
    )
    op.create_table(
        "households",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("name", sa.String(length=80), server_default="", nullable=False),
        sa.Column("zone", sa.String(length=64), nullable=False),
        sa.Column("begun", sa.DateTime(), nullable=False),
        sa.Column("calendar", sa.String(length=64), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_households")),
        sa.UniqueConstraint("calendar", name=op.f("uq_households_calendar")),
    )
    op.create_table(
        "strangers",
        sa.Column("channel", sa.String(length=16), nullable=False),
        sa.Column("address", sa.String(length=80), nullable=False),
        sa.Column("wrong", sa.Integer(), server_default="0", nullable=False),
        sa.Column("since", sa.DateTime(), nullable=True),
        sa.Column("told", sa.DateTime(), nullable=True),
        sa.PrimaryKeyConstraint("channel", "address", name=op.f("pk_strangers")),
    )
    op.create_table(
        "usage",
        sa.Column("channel", sa.String(length=16), nullable=False),
        sa.Column("month", sa.String(length=7), nullable=False),
        sa.Column("sent", sa.Integer(), server_default="0", nullable=False),
        sa.Column("warned", sa.Boolean(), server_default="0", nullable=False),
        sa.PrimaryKeyConstraint("channel", "month", name=op.f("pk_usage")),
    )
    op.create_table(
        "animals",
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("tag", sa.String(length=40), nullable=False),
        sa.Column("species", sa.String(length=40), nullable=True),
        sa.Column("sex", sa.String(length=8), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=True),
        sa.Column("hatched", sa.Date(), nullable=True),
        sa.Column("sire", sa.String(length=40), nullable=True),
        sa.Column("dam", sa.String(length=40), nullable=True),
        sa.Column("place", sa.String(length=80), nullable=True),
        sa.Column("traits", sa.JSON(), nullable=False),
        sa.Column("status", sa.String(length=8), nullable=False),
        sa.Column("arrived", sa.Date(), nullable=True),
        sa.Column("placed", sa.Date(), nullable=True),
        sa.Column("ended", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(
            ["household"], ["households.id"], name=op.f("fk_animals_household")
        ),
        sa.PrimaryKeyConstraint("household", "tag", name=op.f("pk_animals")),
    )
    op.create_table(
        "boxes",
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("box", sa.String(length=40), nullable=False),
        sa.Column("rows", sa.Integer(), nullable=False),
        sa.Column("columns", sa.Integer(), nullable=False),
        sa.Column("incubator", sa.String(length=40), nullable=True),
        sa.ForeignKeyConstraint(["household"], ["households.id"], name=op.f("fk_boxes_household")),
        sa.PrimaryKeyConstraint("household", "box", name=op.f("pk_boxes")),
    )
    op.create_table(
        "clutches",
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("key", sa.String(length=24), nullable=False),
        sa.Column("dam", sa.String(length=40), nullable=False),
        sa.Column("laid", sa.Date(), nullable=False),
        sa.Column("eggs", sa.Integer(), nullable=False),
        sa.Column("spoiled", sa.Integer(), nullable=False),
        sa.Column("sires", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["household"], ["households.id"], name=op.f("fk_clutches_household")
        ),
        sa.PrimaryKeyConstraint("household", "key", name=op.f("pk_clutches")),
    )
    op.create_table(
        "eggs",
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("key", sa.String(length=24), nullable=False),
        sa.Column("clutch", sa.String(length=24), nullable=True),
        sa.Column("dam", sa.String(length=40), nullable=True),
        sa.Column("laid", sa.Date(), nullable=False),
        sa.Column("slot", sa.String(length=40), nullable=True),
        sa.Column("species", sa.String(length=40), nullable=True),
        sa.Column("sires", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=True),
        sa.Column("checked", sa.Date(), nullable=True),
        sa.Column("pipped", sa.Date(), nullable=True),
        sa.Column("end", sa.String(length=16), nullable=True),
        sa.Column("ended", sa.Date(), nullable=True),
        sa.Column("young", sa.String(length=40), nullable=True),
        sa.Column("stays", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["household"], ["households.id"], name=op.f("fk_eggs_household")),
        sa.PrimaryKeyConstraint("household", "key", name=op.f("pk_eggs")),
    )
    op.create_index("ix_eggs_in_the_box", "eggs", ["household", "end"], unique=False)
    op.create_table(
        "happenings",
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("entry", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("about", sa.String(length=80), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("at", sa.String(length=5), nullable=True),
        sa.Column("fields", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["household"], ["households.id"], name=op.f("fk_happenings_household")
        ),
        sa.PrimaryKeyConstraint("household", "entry", "about", name=op.f("pk_happenings")),
    )
    op.create_index(
        op.f("ix_happenings_household_about_on"),
        "happenings",
        ["household", "about", "on"],
        unique=False,
    )
    op.create_index(
        op.f("ix_happenings_household_kind_on"),
        "happenings",
        ["household", "kind", "on"],
        unique=False,
    )
    op.create_table(
        "members",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("zone", sa.String(length=64), nullable=True),
        sa.Column("temperature", sa.String(length=1), server_default="C", nullable=False),
        sa.Column("weight", sa.String(length=2), server_default="g", nullable=False),
        sa.Column("quiet_from", sa.String(length=5), nullable=True),
        sa.Column("quiet_to", sa.String(length=5), nullable=True),
        sa.Column("digest", sa.String(length=5), nullable=True),
        sa.Column("prefers", sa.String(length=16), nullable=True),
        sa.Column("joined", sa.DateTime(), nullable=False),
        sa.Column("gone", sa.DateTime(), nullable=True),
        sa.Column("talk", sa.JSON(), nullable=True),
        sa.ForeignKeyConstraint(
            ["household"], ["households.id"], name=op.f("fk_members_household")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_members")),
    )
    op.create_index(op.f("ix_members_household"), "members", ["household"], unique=False)
    op.create_table(
        "pairings",
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("key", sa.String(length=24), nullable=False),
        sa.Column("male", sa.String(length=40), nullable=False),
        sa.Column("female", sa.String(length=40), nullable=False),
        sa.Column("put_in", sa.Date(), nullable=False),
        sa.Column("taken_out", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(
            ["household"], ["households.id"], name=op.f("fk_pairings_household")
        ),
        sa.PrimaryKeyConstraint("household", "key", name=op.f("pk_pairings")),
    )
    op.create_table(
        "addresses",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("member", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("channel", sa.String(length=16), nullable=False),
        sa.Column("address", sa.String(length=80), nullable=False),
        sa.Column("current", sa.Boolean(), nullable=False),
        sa.Column("shut", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["household"], ["households.id"], name=op.f("fk_addresses_household")
        ),
        sa.ForeignKeyConstraint(["member"], ["members.id"], name=op.f("fk_addresses_member")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_addresses")),
        sa.UniqueConstraint(
            "channel", "address", "household", name=op.f("uq_addresses_channel_address_household")
        ),
    )
    op.create_index(op.f("ix_addresses_household"), "addresses", ["household"], unique=False)
    op.create_table(
        "codes",
        sa.Column("code", sa.String(length=64), nullable=False),
        sa.Column("household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("member", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.Column("made", sa.DateTime(), nullable=False),
        sa.Column("ends", sa.DateTime(), nullable=True),
        sa.Column("used", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(["household"], ["households.id"], name=op.f("fk_codes_household")),
        sa.ForeignKeyConstraint(["member"], ["members.id"], name=op.f("fk_codes_member")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_codes")),
    )
    op.create_table(
        "messages",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.Column("member", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.Column("channel", sa.String(length=16), nullable=False),
        sa.Column("channel_id", sa.String(length=80), nullable=False),
        sa.Column("sent", sa.DateTime(), nullable=False),
        sa.Column("arrived", sa.DateTime(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("picture", sa.String(length=200), nullable=True),
        sa.ForeignKeyConstraint(
            ["household"], ["households.id"], name=op.f("fk_messages_household")
        ),
        sa.ForeignKeyConstraint(["member"], ["members.id"], name=op.f("fk_messages_member")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_messages")),
        sa.UniqueConstraint("channel", "channel_id", name=op.f("uq_messages_channel_channel_id")),
    )
    op.create_index(op.f("ix_messages_household_id"), "messages", ["household", "id"], unique=False)
    op.create_table(
        "reminders",
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("key", sa.String(length=160), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("about", sa.JSON(), nullable=False),
        sa.Column("due", sa.DateTime(), nullable=False),
        sa.Column("until", sa.DateTime(), nullable=True),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("place", sa.String(length=80), nullable=True),
        sa.Column("told", sa.DateTime(), nullable=True),
        sa.Column("passed_on", sa.DateTime(), nullable=True),
        sa.Column("snoozed", sa.DateTime(), nullable=True),
        sa.Column("closed", sa.DateTime(), nullable=True),
        sa.Column("closed_as", sa.String(length=16), nullable=True),
        sa.Column("closed_by", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.ForeignKeyConstraint(["closed_by"], ["members.id"], name=op.f("fk_reminders_closed_by")),
        sa.ForeignKeyConstraint(
            ["household"], ["households.id"], name=op.f("fk_reminders_household")
        ),
        sa.PrimaryKeyConstraint("household", "key", name=op.f("pk_reminders")),
    )
    op.create_index("ix_reminders_open", "reminders", ["household", "closed", "due"], unique=False)
    op.create_table(
        "standins",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column(
            "for_member", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("member", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("starts", sa.DateTime(), nullable=False),
        sa.Column("ends", sa.DateTime(), nullable=False),
        sa.Column("reported", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["for_member"], ["members.id"], name=op.f("fk_standins_for_member")
        ),
        sa.ForeignKeyConstraint(
            ["household"], ["households.id"], name=op.f("fk_standins_household")
        ),
        sa.ForeignKeyConstraint(["member"], ["members.id"], name=op.f("fk_standins_member")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_standins")),
    )
    op.create_index(
        op.f("ix_standins_household_ends"), "standins", ["household", "ends"], unique=False
    )
    op.create_table(
        "ledger",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("member", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.Column("message", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.Column("channel", sa.String(length=16), nullable=False),
        sa.Column("arrived", sa.DateTime(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("at", sa.String(length=5), nullable=True),
        sa.Column("fields", sa.JSON(), nullable=False),
        sa.Column(
            "stands_for", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True
        ),
        sa.ForeignKeyConstraint(["household"], ["households.id"], name=op.f("fk_ledger_household")),
        sa.ForeignKeyConstraint(["member"], ["members.id"], name=op.f("fk_ledger_member")),
        sa.ForeignKeyConstraint(["message"], ["messages.id"], name=op.f("fk_ledger_message")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ledger")),
    )
    op.create_index(op.f("ix_ledger_household_id"), "ledger", ["household", "id"], unique=False)
    op.create_index(op.f("ix_ledger_message"), "ledger", ["message"], unique=False)
    op.create_table(
        "outbox",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("member", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.Column("message", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.Column("channel", sa.String(length=16), nullable=False),
        sa.Column("address", sa.String(length=80), nullable=False),
        sa.Column("reply", sa.JSON(), nullable=False),
        sa.Column("made", sa.DateTime(), nullable=False),
        sa.Column("not_before", sa.DateTime(), nullable=False),
        sa.Column("sent", sa.DateTime(), nullable=True),
        sa.Column("given_up", sa.DateTime(), nullable=True),
        sa.Column("tries", sa.Integer(), server_default="0", nullable=False),
        sa.Column("sent_as", sa.String(length=80), nullable=True),
        sa.Column("claimed", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(["household"], ["households.id"], name=op.f("fk_outbox_household")),
        sa.ForeignKeyConstraint(["member"], ["members.id"], name=op.f("fk_outbox_member")),
        sa.ForeignKeyConstraint(["message"], ["messages.id"], name=op.f("fk_outbox_message")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outbox")),
    )
    op.create_index(op.f("ix_outbox_household_id"), "outbox", ["household", "id"], unique=False)
    op.create_index("ix_outbox_to_send", "outbox", ["sent", "given_up", "not_before"], unique=False)
    op.create_table(
        "pictures",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column(
            "household", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False
        ),
        sa.Column("message", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=True),
        sa.Column("about", sa.String(length=80), nullable=False),
        sa.Column("file", sa.String(length=200), nullable=False),
        sa.Column("taken", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["household"], ["households.id"], name=op.f("fk_pictures_household")
        ),
        sa.ForeignKeyConstraint(["message"], ["messages.id"], name=op.f("fk_pictures_message")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pictures")),
    )
    op.create_index(
        op.f("ix_pictures_household_about"), "pictures", ["household", "about"], unique=False
    )
