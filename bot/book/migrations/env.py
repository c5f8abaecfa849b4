"""Alembic's door: runs the migrations on the connection that `bot.book.migrate` hands over."""

from alembic import context

from bot.book.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    transactional_ddl=False,  # the caller's transaction holds everything
    render_as_batch=True,
)
context.run_migrations()
