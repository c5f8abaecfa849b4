"""A stand-in for an SMS gateway, beside that for Telegram: takes texts, with faults."""

from __future__ import annotations

import asyncio
import json
import time
import urllib.request
from typing import Any
from urllib.parse import urlencode

from aiohttp import web
from twilio.request_validator import RequestValidator

from tests.serve.standin import StandIn

SMS = {
    "SMS_ACCOUNT": "AC1", "SMS_SECRET": "sms-secret-word", "SMS_NUMBER": "+351210000000",
    "SMS_MONTHLY": "100000",
}  # fmt: skip


class Gateway:
    """It lives on the thread of the other. A fault answers one request; `lost` takes it first."""

    def __init__(self, standin: StandIn) -> None:
        self.faults: list[Any] = []
        self.taken: list[dict[str, Any]] = []
        self._loop = standin._loop
        asyncio.run_coroutine_threadsafe(self._start(), self._loop).result(5)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def close(self) -> None:
        asyncio.run_coroutine_threadsafe(self._runner.cleanup(), self._loop).result(5)

    async def _start(self) -> None:
        app = web.Application()
        app.router.add_post("/2010-04-01/Accounts/AC1/Messages.json", self._answer)
        self._runner = web.AppRunner(app, access_log=None, shutdown_timeout=0.1)
        await self._runner.setup()
        await web.TCPSite(self._runner, "127.0.0.1", 0).start()
        self.port = self._runner.addresses[0][1]

    async def _answer(self, request: web.Request) -> web.StreamResponse:
        fields = dict(await request.post())
        fault = self.faults.pop(0) if self.faults else None
        if callable(fault):
            response: web.StreamResponse = fault()
            return response
        if isinstance(fault, float):
            await asyncio.sleep(fault)
        self.taken.append({"to": fields["To"], "text": fields["Body"], "at": time.monotonic()})
        if fault == "lost":
            assert request.transport is not None
            request.transport.abort()
        return web.json_response({"sid": f"SM{len(self.taken)}"}, status=201)


def busy() -> Any:
    """429, with a second to wait."""
    return lambda: web.json_response({"code": 20429}, status=429, headers={"Retry-After": "1"})


def broken() -> Any:
    """A fault on their side."""
    return lambda: web.json_response({}, status=503)


def text_to(listen: str, sid: str, number: str, text: str) -> int:
    """Hand a text to a process, signed as the gateway does; gives the status."""
    form = {"AccountSid": "AC1", "MessageSid": sid, "From": number, "Body": text}
    url = f"http://{listen}/sms"
    signed = RequestValidator(SMS["SMS_SECRET"]).compute_signature(url, form)
    headers = {"X-Twilio-Signature": signed}
    return post(url, urlencode(form).encode(), headers)


def post(url: str, body: bytes, headers: dict[str, str]) -> int:
    """The status; 0 where nobody answers."""
    try:
        with urllib.request.urlopen(urllib.request.Request(url, body, headers), timeout=12) as done:
            return int(done.status)
    except urllib.error.HTTPError as error:
        return error.code
    except OSError:
        return 0


def health(listen: str) -> tuple[int, dict[str, Any]]:
    """What `/health` says: status and body; 0 where nobody answers."""
    try:
        with urllib.request.urlopen(f"http://{listen}/health", timeout=8) as answer:
            return answer.status, json.loads(answer.read())
    except urllib.error.HTTPError as error:
        return error.code, json.loads(error.read())
    except OSError:
        return 0, {}
