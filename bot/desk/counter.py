"""The front of the desk: a reading comes in, the book is written, a reply goes out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from bot.desk import chat, records
from bot.desk.answers import ANSWERS
from bot.desk.context import Context
from bot.desk.questions import described, question
from bot.desk.roles import refusal
from bot.language.reading import Outcome, Reading, Talk
from bot.messages import Reply
from bot.records import Record
from bot.wording import say


def answer(reading: Reading, ctx: Context) -> tuple[Reply, Talk]:
    """Do what the message says, through `ctx.pages`; the reply and where the talk now stands.

    Nothing is written unless the reading holds records (or its request changes the book), and the
    member's role allows it. Raises whatever the book raises; nothing is half done then, as the
    caller holds the transaction.
    """
    refused = refusal(reading, ctx.member.role)
    if refused:
        return Reply(refused), ctx.talk
    passed_over = None if reading.answers else ctx.talk.question
    if reading.answers:
        ctx.talk = replace(ctx.talk, question=None, offer=None)
    reply = OUTCOMES[reading.outcome](reading, ctx)
    if passed_over and passed_over.waiting and reading.records:
        reply = _left_out(reply, passed_over.waiting, ctx)
    return reply, ctx.talk


def _left_out(reply: Reply, waiting: Record, ctx: Context) -> Reply:
    """A question passed over by a new log is closed, and the reply says that it was."""
    dropped = say("talk.dropped", waiting=described(waiting, ctx))
    return replace(reply, text=f"{reply.text}\n{dropped}")


def _request(reading: Reading, ctx: Context) -> Reply:
    assert reading.request is not None
    return ANSWERS[reading.request.ask](reading.request, ctx)


def _records(reading: Reading, ctx: Context) -> Reply:
    reply = records.written(reading.records, ctx)
    if reading.request is None:
        return reply
    also = _request(reading, ctx)
    return replace(
        also,
        text=f"{reply.text}\n{also.text}",
        choices=(*reply.choices, *also.choices),
        wrote=True,
    )


OUTCOMES: dict[Outcome, Callable[[Reading, Context], Reply]] = {
    Outcome.RECORDS: _records,
    Outcome.REQUEST: _request,
    Outcome.ASK: question,
    Outcome.CHAT: chat.small_talk,
    Outcome.UNCLEAR: chat.unclear,
}
