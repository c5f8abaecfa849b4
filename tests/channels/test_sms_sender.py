"""SMS going out, against a gateway of ours on this machine; and the month's allowance."""

from __future__ import annotations

import asyncio
from base64 import b64encode
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from typing import Any

import aiohttp
import pytest
from aiohttp import web
from aiohttp.test_utils import TestServer

from bot.book import households
from bot.channels.allowance import give_back, take, until_next_month
from bot.channels.segments import length
from bot.channels.sms_sender import SmsSender, can_be_called, meaning
from bot.messages import Outgoing, Reply
from bot.serve.sending import Delivered, Lost, Refused, RetryAfter, Sent, Shut, Unreachable
from bot.wording import say
from tests.channels.sms_support import MINA, NOW, Desk, desk, to_send, with_settings

PATH = "/2010-04-01/Accounts/AC0001/Messages.json"
Gateway = Callable[[web.Request], Awaitable[web.StreamResponse]]


def send(
    gateway: Gateway | None, replies: list[Reply], house: Desk | None = None, **settings: Any
) -> list[Sent]:
    """Send replies to Mina through a gateway that answers as told; None is no gateway at all."""
    house = house or desk()[0]

    async def run() -> list[Sent]:
        app = web.Application()
        if gateway is not None:
            app.router.add_post(PATH, gateway)
        async with TestServer(app) as server, aiohttp.ClientSession() as session:
            api = str(server.make_url("")).rstrip("/") if gateway else "http://127.0.0.1:1"
            told = with_settings(sms_api=api, **settings)
            sender = SmsSender(session, told, house.book, lambda: house.moment)
            return [await sender.send(Outgoing(1, "sms", MINA, "Mina", each)) for each in replies]

    return asyncio.run(run())


def answering(
    status: int, body: Any = None, got: list[Any] | None = None, **headers: str
) -> Gateway:
    """A gateway that always says the same, and keeps what it got."""

    async def handle(request: web.Request) -> web.Response:
        if got is not None:
            got.append((dict(await request.post()), request.headers.get("Authorization")))
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return web.json_response(body or {}, status=status, headers=named)

    return handle


def test_a_reply_is_posted() -> None:
    """A reply goes out with both numbers, basic authentication, and plain signs."""
    got: list[Any] = []
    sent = send(answering(201, {"sid": "SM7"}, got), [Reply("Incubator 1: 27.2 °C")])
    assert sent == [Delivered("SM7")]
    ((body, login),) = got
    assert body == {
        "To": MINA, "From": "+351900000099", "Body": "Incubator 1: 27.2 C",
        "StatusCallback": "https://book.example/sms",
    }  # fmt: skip
    assert login == "Basic " + b64encode(b"AC0001:a-secret-for-tests").decode()


def test_a_long_reply_is_a_page() -> None:
    """A long reply goes out as two parts that end with how to get the rest."""
    got: list[Any] = []
    send(answering(201, {}, got), [Reply("Box B is full – all “fertile”. " * 40)])
    said = got[0][0]["Body"]
    assert said.endswith(say("sms.more"))
    assert (length(said).gsm, length(said).parts) == (True, 2)


@pytest.mark.parametrize("name", ["Amber", "Яна"])
def test_never_over_three_parts(name: str) -> None:
    """Even the last text of the month, of a long reply, in either alphabet, has at most three."""
    got: list[Any] = []
    send(answering(201, {}, got), [Reply(f"F3 {name} laid 2 in B4. " * 60)], sms_monthly=1)
    assert length(got[0][0]["Body"]).parts <= 3


@pytest.mark.parametrize(
    ("gateway", "means"),
    [
        (answering(400, {"code": 21610}), Shut()),
        (answering(403, {}), Shut()),
        (answering(403, {"code": 20005}), Unreachable()),
        (answering(401, {"code": 20003}), Unreachable()),
        (answering(429, {"code": 20429}, Retry_After="7"), RetryAfter(7.0)),
        (answering(429), RetryAfter(5.0)),
        (answering(503), Unreachable()),
        (answering(400, {"code": 21211}), Refused("status 400, code 21211")),
        (None, Unreachable()),
    ],
)
def test_what_the_gateway_says(gateway: Gateway | None, means: Sent) -> None:
    """Each answer of the gateway is told apart, and none raises."""
    assert send(gateway, [Reply("Hello.")]) == [means]


def test_a_connection_cut_after_the_request_is_lost() -> None:
    """No answer after the gateway read the message: it may have been taken."""

    async def cut(request: web.Request) -> web.Response:
        await request.post()
        assert request.transport is not None
        request.transport.abort()
        return web.Response()

    assert send(cut, [Reply("Hello.")]) == [Lost()]


def test_retry_after_may_be_a_date() -> None:
    """A Retry-After given as a date counts from now."""
    date = "Tue, 10 Mar 2026 19:30:30 GMT"
    assert meaning(429, {}, date, NOW) == RetryAfter(30.0)
    assert meaning(429, {}, "soon", NOW) == RetryAfter(5.0)


def test_the_allowance_warns_at_four_fifths_and_stops() -> None:
    """Of ten a month the eighth warns the owner, the tenth is called the last, none follows."""
    got: list[Any] = []
    house, mina = desk()
    with house.book.writing() as conn:
        households.add_address(conn, mina, "telegram", "77")
    sent = send(answering(201, {}, got), [Reply("Hello.")] * 11, house, sms_monthly=10)
    assert sent[:10] == [Delivered(None)] * 10
    assert isinstance(sent[10], RetryAfter)
    assert len(got) == 10
    assert got[9][0]["Body"] == "Hello.\n" + say("sms.last", most=10)
    assert to_send(house.book) == [say("sms.nearly", sent=8, most=10), say("sms.spent", most=10)]


def test_a_failing_gateway_warns_nobody() -> None:
    """The last message of the month, tried again and again in vain, is no news to the owner."""
    house, mina = desk()
    with house.book.writing() as conn:
        households.add_address(conn, mina, "telegram", "77")
    send(answering(503), [Reply("Hello.")] * 3, house, sms_monthly=1)
    assert to_send(house.book) == []
    send(answering(201), [Reply("Hello.")] * 3, house, sms_monthly=1)
    assert to_send(house.book) == [say("sms.spent", most=1)]


def test_a_new_month_begins_anew() -> None:
    """What stopped in March goes out in April, by the calendar of the zone set."""
    house, _ = desk()
    assert len(send(answering(201), [Reply("Hello.")] * 2, house, sms_monthly=1)) == 2
    house.moment = datetime(2026, 3, 31, 22, 59, 59, tzinfo=UTC)  # 23:59:59 in Lisbon
    assert send(answering(201), [Reply("Hello.")], house, sms_monthly=1) == [RetryAfter(1.0)]
    house.moment = datetime(2026, 3, 31, 23, 0, tzinfo=UTC)
    assert send(answering(201), [Reply("Hello.")], house, sms_monthly=1) == [Delivered(None)]


def test_what_was_not_sent_is_not_counted() -> None:
    """A message that the gateway did not take leaves the allowance as it was."""
    house, _ = desk()
    send(answering(503), [Reply("Hello.")] * 3, house, sms_monthly=1)
    assert send(answering(201), [Reply("Hello.")], house, sms_monthly=1) == [Delivered(None)]


def test_none_a_month_sends_nothing() -> None:
    """An allowance of none lets nothing out, and gives nothing back below none."""
    house, _ = desk()
    with house.book.writing() as conn:
        assert take(conn, "sms", "2026-03", 0) is None
        give_back(conn, "sms", "2026-03")
        assert take(conn, "sms", "2026-03", 1) is not None


def test_the_month_ends() -> None:
    """The seconds left of a month, also in December."""
    assert until_next_month(datetime(2026, 12, 31, 23, 59, tzinfo=UTC)) == 60.0


@pytest.mark.parametrize(
    ("url", "api", "asked"),
    [
        ("http://book.example:8787", "https://gateway.example", True),
        ("http://127.0.0.1:8787", "https://gateway.example", False),
        ("http://127.0.0.1:8787", "http://127.0.0.1:9000", True),
    ],
)
def test_reports_are_asked_for_where_they_can_come(url: str, api: str, asked: bool) -> None:
    """A delivery report is asked for at our address, unless that is this machine and far off."""
    assert can_be_called(with_settings(url=url, sms_api=api)) is asked
