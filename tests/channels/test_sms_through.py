"""A text all the way: over HTTP into the book, and its reply out through the gateway."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable, Mapping
from typing import Any

import aiohttp
import pytest
from aiohttp import web
from aiohttp.test_utils import TestClient, TestServer

from bot.book import households
from bot.channels.sms import answer
from bot.channels.sms_sender import SmsSender
from bot.serve.delivery import Delivery
from bot.serve.server import Doors, application
from tests.channels.sms_support import MINA, Desk, desk, form, sign, with_settings

PATH = "/2010-04-01/Accounts/AC0001/Messages.json"


class Gateway:
    """Answers each message with the next of `statuses`, then 201; keeps when each came."""

    def __init__(self, *statuses: tuple[int, dict[str, Any]]) -> None:
        self.statuses = list(statuses)
        self.got: list[tuple[float, str]] = []

    async def take(self, request: web.Request) -> web.Response:
        body = await request.post()
        self.got.append((time.monotonic(), str(body["Body"])))
        status, answer = self.statuses.pop(0) if self.statuses else (201, {"sid": "SM1"})
        headers = {"Retry-After": "1"} if status == 429 else {}
        return web.json_response(answer, status=status, headers=headers)


def serve_while(
    house: Desk, gateway: Gateway, texts: list[dict[str, str]], done: Callable[[], bool],
    seconds: float = 4.0,
) -> list[int]:  # fmt: skip
    """Serve while the gateway hands texts over, until `done` or so long; gives the statuses."""

    async def in_book(step: Callable[[], Any]) -> Any:
        return step()

    async def run() -> list[int]:
        app = web.Application()
        app.router.add_post(PATH, gateway.take)
        async with TestServer(app) as far, aiohttp.ClientSession() as session:
            settings = with_settings(sms_api=str(far.make_url("")).rstrip("/"))
            sender = SmsSender(session, settings, house.book, house.now, in_book)
            delivery = Delivery(house.book, {"sms": sender}, house.now, in_book)

            async def sms(fields: Mapping[str, str], signature: str) -> tuple[int, str]:
                said = await answer(fields, signature, settings, house)  # type: ignore[arg-type]
                delivery.wake()
                return said

            async def none(*_: Any) -> Any:
                return {"book": "ok"}

            sending = asyncio.create_task(delivery.run())
            near = TestServer(application(Doors(health=none, calendar=none, sms=sms)))
            async with TestClient(near) as client:
                statuses = [
                    (await client.post("/sms", data=each, headers=signed(each))).status
                    for each in texts
                ]
                end = time.monotonic() + seconds
                while not done() and time.monotonic() < end:
                    await asyncio.sleep(0.02)
            sending.cancel()
            return statuses

    return asyncio.run(run())


def signed(fields: dict[str, str]) -> dict[str, str]:
    """The header with the gateway's signature."""
    return {"X-Twilio-Signature": sign(fields)}


def test_there_and_back() -> None:
    """Odd signs survive the way in; the reply goes out once, also when the text comes twice."""
    house, _ = desk("F3 laid 2 in B4.")
    gateway = Gateway()
    fields = form("F3 laid 2 – box B & slot 4 + “warm” ж🦎")
    assert serve_while(house, gateway, [fields, fields], lambda: bool(gateway.got)) == [204, 204]
    assert [each.text for each in house.handled] == [fields["Body"]]
    assert [said for _, said in gateway.got] == ["F3 laid 2 in B4."]


@pytest.mark.parametrize("fault", [(429, {"code": 20429}), (503, {})])
def test_a_fault_of_the_gateway_delays(fault: tuple[int, dict[str, Any]]) -> None:
    """After 429 with a second's pause, or a 503, the reply goes out a second or more later."""
    house, _ = desk()
    gateway = Gateway(fault)
    serve_while(house, gateway, [form("F3 laid 2")], lambda: len(gateway.got) > 1)
    (first, _), (second, said) = gateway.got
    assert 0.95 < second - first < 3
    assert said == "Written."


def test_opted_out_until_they_write() -> None:
    """After 21610 nothing goes there; when that person writes, what waited goes out, in order."""
    house, mina = desk("One.")
    gateway = Gateway((400, {"code": 21610}))
    serve_while(house, gateway, [form("first")], lambda: not open_routes(house, mina))
    serve_while(house, gateway, [], lambda: len(gateway.got) > 1, seconds=1.5)
    assert [said for _, said in gateway.got] == ["One."]
    serve_while(house, gateway, [form("START")], lambda: len(gateway.got) > 2)
    assert [said for _, said in gateway.got][1] == "One."
    assert open_routes(house, mina) == [MINA]


def open_routes(house: Desk, mina: households.Member) -> list[str]:
    """Where something can be sent to."""
    with house.book.reading() as conn:
        return [where for _, _, where in households.routes(conn, mina.household)]
