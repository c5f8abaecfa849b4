"""Bringing a book's tables up to date, by Alembic, from the first revision on."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Engine, text


def upgrade(engine: Engine) -> None:
    """Run every migration that this book has not had, in one transaction."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    with engine.begin() as conn:
        if engine.dialect.name == "sqlite":
            conn.execute(text("BEGIN IMMEDIATE"))
        else:  # two processes may start at once: the second then finds it done
            conn.execute(text("SELECT pg_advisory_xact_lock(20261)"))
        config.attributes["connection"] = conn
        command.upgrade(config, "head")
