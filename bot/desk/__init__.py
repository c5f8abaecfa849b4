"""Reading + member + book to reply: one module per kind of work, the front door is `answer`."""

from bot.desk.context import Context
from bot.desk.counter import answer
from bot.desk.reminders import tell

__all__ = ["Context", "answer", "tell"]
