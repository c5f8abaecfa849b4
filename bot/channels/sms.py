"""What arrives by SMS: the gateway's request checked, the message handled, a few words of its own.

Replies go out by REST through the outbox, so that one path keeps, counts and repeats them. Only
what is not kept (an answer to a stranger, the goodbye to STOP) goes back as TwiML.
"""

from __future__ import annotations

from collections.abc import Mapping
from hmac import compare_digest
from typing import TYPE_CHECKING

from sqlalchemy import Connection, select, update

from bot.book import households, post
from bot.book.households import Member
from bot.book.tables import addresses, messages, outbox
from bot.channels import allowance
from bot.channels.numbers import e164
from bot.channels.sms_sender import CHANNEL, OPTED_OUT
from bot.channels.sms_words import first_page
from bot.messages import Message, Outgoing, Reply
from bot.settings import Settings
from bot.wording import say

if TYPE_CHECKING:
    from bot.service import Rackside

STOP = frozenset({"stop", "stopall", "unsubscribe"})
START = frozenset({"start", "unstop"})
HELP = frozenset({"help", "info"})
MORE = "more"
LOOK_BACK = 10  # messages to one number in which what MORE continues is looked for
LONGEST = {"MessageSid": 80, "From": 80, "Body": 20_000}

Answer = tuple[int, str]  # HTTP status, and the body: TwiML or nothing
NOTHING: Answer = (204, "")


async def answer(
    form: Mapping[str, str], signature: str, settings: Settings, rackside: Rackside
) -> Answer:
    """Answer one request to `/sms`. What is to be sent is in the outbox when this returns.

    403 unless it is for our account and signed; 400 where it is no message; in both cases nothing
    is stored. A `MessageSid` that came before changes nothing.
    """
    if not genuine(form, signature, settings):
        return 403, ""
    if "MessageStatus" in form and "Body" not in form:
        return _report(form, rackside)
    message = _message(form, rackside)
    if message is None:
        return 400, ""
    word = message.text.strip().strip(".!").casefold()
    with rackside.book.writing() as conn:
        member = households.find(conn, CHANNEL, message.address)
        if member is not None:
            if post.seen(conn, message) is not None:
                return NOTHING
            kept = _own_words(conn, form, message, member, word)
            if kept is not None:
                return kept
    out = rackside.handle(message)
    return _unkept(out, message.address, settings, rackside)


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
    if any(len(form.get(name, "")) > most for name, most in LONGEST.items()):
        return None
    number = e164(form.get("From", ""))
    if not form.get("MessageSid") or number is None or "Body" not in form:
        return None
    return Message(
        CHANNEL, form["MessageSid"], number, form["Body"].replace("\0", ""), rackside.now(),
        picture=_picture(form),
    )  # fmt: skip


def _picture(form: Mapping[str, str]) -> str | None:
    where = form.get("MediaUrl0", "")
    image = form.get("MediaContentType0", "").startswith("image/")
    return where if image and 0 < len(where) <= 200 else None


# --- words that the channel answers itself --------------------------------------------------


def _own_words(
    conn: Connection, form: Mapping[str, str], message: Message, member: Member, word: str
) -> Answer | None:
    """STOP, START, HELP, MORE, and what has no words; None for everything else."""
    answered = "OptOutType" in form  # the gateway has answered this word itself
    if word in STOP or form.get("OptOutType") == "STOP":
        post.take_in(conn, message, member, message.at)
        _set_shut(conn, message, shut=True)
        return NOTHING if answered else (200, twiml(say("sms.stopped")))
    _set_shut(conn, message, shut=False)
    reply = _own_reply(conn, form, message, member, word)
    if reply is None:
        return None
    number = post.take_in(conn, message, member, message.at)
    if not answered:
        post.put_out(conn, reply, member, CHANNEL, message.address, message.at, number)
    return NOTHING


def _own_reply(
    conn: Connection, form: Mapping[str, str], message: Message, member: Member, word: str
) -> Reply | None:
    if word in START:
        return Reply(say("sms.started"))
    if word in HELP:
        return Reply(say("sms.help"))
    if word == MORE:
        left = _left(conn, member, message.address)
        return Reply(left) if left else None
    if not word and message.picture is None and form.get("NumMedia", "0") != "0":
        return Reply(say("sms.words_only"))
    return None


def _set_shut(conn: Connection, message: Message, *, shut: bool) -> None:
    """Send there no more, or again: who writes is there."""
    here = update(addresses).where(
        addresses.c.channel == CHANNEL, addresses.c.address == message.address
    )
    if shut:
        conn.execute(here.where(addresses.c.shut.is_(None)).values(shut=message.at))
    else:
        conn.execute(here.where(addresses.c.shut.is_not(None)).values(shut=None))


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
        if left or (asked or "").strip().strip(".!").casefold() == MORE:
            return left
    return ""


# --- what goes back at once, and what the gateway reports -----------------------------------


def _unkept(out: list[Outgoing], address: str, settings: Settings, rackside: Rackside) -> Answer:
    """Answers that are not in the outbox (id 0, to a stranger) as TwiML, within the allowance."""
    texts = [first_page(o.reply)[0] for o in out if o.id == 0 and o.address == address]
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


def _report(form: Mapping[str, str], rackside: Rackside) -> Answer:
    """A delivery report: a number that turns out to have opted out is sent nothing more."""
    number = e164(form.get("To", ""))
    if form.get("ErrorCode") == str(OPTED_OUT) and number is not None:
        with rackside.book.writing() as conn:
            conn.execute(
                update(addresses)
                .where(addresses.c.channel == CHANNEL, addresses.c.address == number)
                .values(shut=rackside.now())
            )
    return NOTHING
