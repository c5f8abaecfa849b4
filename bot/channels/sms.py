"""What arrives by SMS: the gateway's request checked, the message handled, a few words of its own.

Replies go out by REST through the outbox, so that one path keeps, counts and repeats them. Only
what is not kept (an answer to a stranger, the goodbye to STOP) goes back as TwiML.
"""

from __future__ import annotations

from collections.abc import Mapping
from hmac import compare_digest
from typing import TYPE_CHECKING

from sqlalchemy import Connection, select
from sqlalchemy.exc import OperationalError

from bot.book import access, households, post
from bot.book.households import Member
from bot.book.tables import messages, outbox
from bot.channels import allowance, sms_numbers, sms_reports
from bot.channels.numbers import e164
from bot.channels.sms_sender import CHANNEL
from bot.channels.sms_words import first_page
from bot.door import UNKEPT
from bot.messages import Message, Outgoing, Reply
from bot.serve.logs import blame, log
from bot.serve.words import said
from bot.settings import Settings
from bot.wording import say

if TYPE_CHECKING:
    from bot.service import Rackside

STOP = frozenset({"stop", "stopall", "unsubscribe"})
START = frozenset({"start", "unstop"})
HELP = frozenset({"help", "info"})
MORE = "more"
LOOK_BACK = 10  # messages to one number in which what MORE continues is looked for
MOST = 80  # characters of an id or a number that are kept or looked at

Answer = tuple[int, str]  # HTTP status, and the body: TwiML or nothing
NOTHING: Answer = (204, "")


async def answer(
    form: Mapping[str, str], signature: str, settings: Settings, rackside: Rackside
) -> Answer:
    """Answer one request to `/sms`. What is to be sent is in the outbox when this returns.

    403 unless it is for our account and signed; 400 where it is no message; 503 where the book
    can't be written now; in each case nothing is stored. A `MessageSid` that came before changes
    nothing.
    """
    if not genuine(form, signature, settings):
        return 403, ""
    try:
        if sms_reports.is_report(form):
            with rackside.book.writing() as conn:
                sms_reports.keep(conn, form, rackside.now())
            return NOTHING
        message = _message(form, rackside)
        if message is None:
            return 400, ""
        return _taken(form, message, settings, rackside)
    except OperationalError as error:
        log.error("the book can't be written", **blame(error))
        return 503, ""


def _taken(
    form: Mapping[str, str], message: Message, settings: Settings, rackside: Rackside
) -> Answer:
    """Take a message in: the channel's own words here, all others at the desk."""
    with rackside.book.writing() as conn:
        member = households.find(conn, CHANNEL, message.address)
        if member is not None:
            if post.seen(conn, message) is not None:
                return NOTHING
            kept = _own_words(conn, form, message, member)
            if kept is not None:
                return kept
            number = sms_numbers.meant(conn, message, member, message.at)
            if isinstance(number, Reply):
                _reply(conn, message, member, number)
                return NOTHING
            message = number or message
    try:
        # The gateway tells no names; two who text are told apart by the end of their numbers.
        out = rackside.handle(message, say("sms.who", last=message.address[-4:]))
    except OperationalError:
        raise
    except Exception as error:  # ours to mend; the keeper hears that nothing was written
        log.error("a message could not be handled", **blame(error))
        _say_trouble(message, rackside)
        return NOTHING
    log.info("message taken", channel=CHANNEL)
    return _unkept(out, message.address, settings, rackside)


def _say_trouble(message: Message, rackside: Rackside) -> None:
    """Say so, unless the message is in the book: another process then took it meanwhile."""
    with rackside.book.writing() as conn:
        member = households.find(conn, CHANNEL, message.address)
        if member is not None and post.seen(conn, message) is None:
            _reply(conn, message, member, Reply(said("trouble")))


def genuine(form: Mapping[str, str], signature: str, settings: Settings) -> bool:
    """Whether the gateway sent this: our account, and its signature of our address and the form."""
    from twilio.request_validator import RequestValidator

    if not settings.sms_account or not settings.sms_secret:
        return False
    if not all(isinstance(value, str) for value in form.values()):
        return False
    account = form.get("AccountSid", "")
    try:
        ours = compare_digest(account.encode(), settings.sms_account.encode())
        signed = RequestValidator(settings.sms_secret).validate(
            f"{settings.url}/sms", form, signature
        )
    except UnicodeEncodeError:  # half a character: nothing that the gateway would send
        return False
    return ours and bool(signed)


def _message(form: Mapping[str, str], rackside: Rackside) -> Message | None:
    """The message of a form, or None where it has no id, no words or no number to answer."""
    sid, number = form.get("MessageSid", ""), e164(form.get("From", "")[:MOST])
    if not 0 < len(sid) <= MOST or not sid.isprintable() or number is None or "Body" not in form:
        return None
    return Message(
        CHANNEL, sid, number, form["Body"].replace("\0", ""), rackside.now(),
        picture=_picture(form),
    )  # fmt: skip


def _picture(form: Mapping[str, str]) -> str | None:
    where = form.get("MediaUrl0", "")
    image = form.get("MediaContentType0", "").startswith("image/")
    return where if image and 0 < len(where) <= 200 and where.isprintable() else None


# --- words that the channel answers itself --------------------------------------------------


def _own_words(
    conn: Connection, form: Mapping[str, str], message: Message, member: Member
) -> Answer | None:
    """STOP, START, HELP, MORE, and what has no words; None for everything else."""
    word = _word(message.text)
    answered = "OptOutType" in form  # the gateway has answered this word itself
    if word in STOP or form.get("OptOutType") == "STOP":
        post.take_in(conn, message, member, message.at)
        access.shut(conn, CHANNEL, message.address, message.at)
        return NOTHING if answered else (200, twiml(say("sms.stopped")))
    access.reopen(conn, CHANNEL, message.address)
    reply = _own_reply(conn, message, member, word)
    if reply is None:
        return None
    if answered:
        post.take_in(conn, message, member, message.at)
    else:
        _reply(conn, message, member, reply)
    return NOTHING


def _reply(conn: Connection, message: Message, member: Member, reply: Reply) -> None:
    number = post.take_in(conn, message, member, message.at)
    post.put_out(conn, reply, member, CHANNEL, message.address, message.at, number)


def _own_reply(conn: Connection, message: Message, member: Member, word: str) -> Reply | None:
    if word in START:
        return Reply(say("sms.started"))
    if word in HELP:
        return Reply(say("sms.help"))
    if word == MORE:
        left = _left(conn, member, message.address)
        return Reply(left) if left else None
    if not word:
        return Reply(said("which_picture") if message.picture else say("sms.words_only"))
    return None


def _word(text: str) -> str:
    """A message that may be one word, as it is compared: "Stop." is "stop"."""
    return text.strip().strip(".!").casefold()


def _left(conn: Connection, member: Member, address: str) -> str:
    """What the last long message to this number still has to say; "" where nothing."""
    rows = conn.execute(
        select(outbox.c.reply, messages.c.text)
        .join(messages, messages.c.id == outbox.c.message, isouter=True)
        .where(
            outbox.c.household == member.household, outbox.c.channel == CHANNEL,
            outbox.c.address == address, outbox.c.sent.is_not(None),
        )
        .order_by(outbox.c.id.desc())
        .limit(LOOK_BACK)
    )  # fmt: skip
    for reply, asked in rows:
        _, left = first_page(post.reply_from_json(reply))
        if left or _word(asked or "") == MORE:
            return left
    return ""


# --- what goes back at once -----------------------------------------------------------------


def _unkept(out: list[Outgoing], address: str, settings: Settings, rackside: Rackside) -> Answer:
    """Answers that are not in the outbox (to a stranger) as TwiML, within the allowance."""
    texts = [first_page(o.reply)[0] for o in out if o.id == UNKEPT and o.address == address]
    if not texts:
        return NOTHING
    month = allowance.month_of(rackside.now().astimezone(settings.zone))
    with rackside.book.writing() as conn:
        if allowance.take(conn, CHANNEL, month, settings.sms_monthly) is None:
            return NOTHING
    return 200, twiml(*texts)


def twiml(*texts: str) -> str:
    """The XML that tells the gateway to answer with these texts."""
    from twilio.twiml.messaging_response import MessagingResponse

    response = MessagingResponse()
    for text in texts:
        response.message(text)
    return str(response)
