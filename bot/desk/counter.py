"""The front of the desk: a reading comes in, the book is written, a reply goes out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from bot.desk import amend, chat, records
from bot.desk.answers import ANSWERS
from bot.desk.context import Context
from bot.desk.questions import put, question, said_of
from bot.desk.roles import refusal
from bot.language.reading import Ask, Outcome, Reading, Talk
from bot.messages import Reply
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
    before = ctx.talk
    if reading.answers:
        ctx.talk = replace(ctx.talk, question=None, offer=None)
    filled = _fills_a_gap(reading, before, ctx)
    reply = _filled(filled, reading, ctx) if filled else _act(reading, ctx)
    if before.offer is not None and ctx.talk.offer is before.offer and before.offer.kind == "note":
        ctx.talk = replace(ctx.talk, offer=None)  # a "yes" to something else must not keep it
    if reading.answers and ctx.talk.question is None and before.more:
        reply = _next(reply, before.more, ctx)
    elif before.question and not reading.answers and ctx.talk.question is not before.question:
        reply = _left_out(reply, before, ctx)
    return reply, ctx.talk


def _act(reading: Reading, ctx: Context) -> Reply:
    return OUTCOMES[reading.outcome](reading, ctx)


def _filled(entry: int, reading: Reading, ctx: Context) -> Reply:
    """The gap filled, and what was told along with it ("H40, and it's a male")."""
    reply = amend.filled(entry, reading.records[0], ctx)
    if len(reading.records) == 1 or not reply.wrote:
        return reply
    question = ctx.talk.question
    besides = records.written(reading.records[1:], ctx)
    ctx.talk = replace(ctx.talk, question=question or ctx.talk.question)
    return replace(besides, text=f"{reply.text}\n{besides.text}")


def _fills_a_gap(reading: Reading, before: Talk, ctx: Context) -> int | None:
    """The entry whose gap the answer fills: it was written before the question was put."""
    asked = before.question
    if not (reading.answers and reading.records and asked and asked.waiting):
        return None
    if reading.records[0].kind != asked.waiting.kind:
        return None
    for entry, record in ctx.pages.last_written(ctx.member):
        if record == asked.waiting and asked.waiting in before.last:
            return entry
    return None


def _next(reply: Reply, more: tuple[Ask, ...], ctx: Context) -> Reply:
    """One question is answered; the next of the same message is put."""
    asked = put(more[0], more[1:], ctx)
    waits = say("talk.waits", waiting=said_of(more, ctx))
    return replace(
        reply,
        text=f"{reply.text}\n{waits}\n{asked.text}",
        choices=(*reply.choices, *asked.choices),
    )


def _left_out(reply: Reply, before: Talk, ctx: Context) -> Reply:
    """Questions passed over are closed; the reply says what was not written, if anything."""
    assert before.question is not None
    if ctx.talk.question is None:
        ctx.talk = replace(ctx.talk, more=())
    passed = tuple(
        each
        for each in (before.question, *before.more)
        if each.waiting and each.waiting not in before.last
    )
    if not passed:
        return reply
    dropped = say("talk.dropped", waiting=said_of(passed, ctx))
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
