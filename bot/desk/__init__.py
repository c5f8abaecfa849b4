"""Reading + member + book to reply: one module per kind of work, the front door is `answer`."""

from bot.desk import counter, standing
from bot.desk.context import Context
from bot.desk.reminders import tell
from bot.language.reading import Reading, Talk
from bot.messages import Reply


def answer(reading: Reading, ctx: Context) -> tuple[Reply, Talk]:
    """Do what a message says; the reply and where the talk now stands: see `counter.answer`."""
    return counter.answer(standing.taken_up(reading, ctx), ctx)


__all__ = ["Context", "answer", "tell"]
