"""A stand-in for the Bot API on loopback: lo-bot-api-emulator, with faults and a memory of texts.

It runs on a thread of its own. `faults` answers instead of the emulator: each entry is tried once,
for its method; "lost" lets the emulator take the request and then breaks the connection.
"""

from __future__ import annotations

import asyncio
import json
import logging
import threading
import time
from typing import Any

from aiohttp import web
from lo_bot_api_emulator import LoBotApiEmulator

TOKEN = "123456:standin-token"
NAMED = {"getMe": {"username": "standin_bot"}}


logging.getLogger("aiohttp.server").disabled = True  # a killed client is no news here


class StandIn:
    """Start it, put updates in, look at what was said."""

    def __init__(self) -> None:
        self.faults: list[tuple[str, Any]] = []
        self.calls: list[dict[str, Any]] = []
        self.refused_token = False
        self.emulator = LoBotApiEmulator(allow_insecure_loopback_webhooks=True)
        self._loop = asyncio.new_event_loop()
        self._number = 100
        self.port = 0
        ready = threading.Event()
        threading.Thread(target=self._run, args=(ready,), daemon=True).start()
        assert ready.wait(10)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def close(self) -> None:
        asyncio.run_coroutine_threadsafe(self._runner.cleanup(), self._loop).result(5)
        self._loop.call_soon_threadsafe(self._loop.stop)

    # --- what the tests do ------------------------------------------------------------------

    def put(self, update: dict[str, Any]) -> int:
        done = asyncio.run_coroutine_threadsafe(
            self.emulator.enqueue_update(update, token=TOKEN), self._loop
        )
        return done.result(5)

    def write(self, who: int, text: str, **more: Any) -> int:
        """A person writes; gives the message's number."""
        self._number += 1
        self.put({"message": self.message(who, self._number, text) | more})
        return self._number

    def message(self, who: int, number: int, text: str) -> dict[str, Any]:
        return {
            "message_id": number,
            "date": int(time.time()),
            "chat": {"id": who, "type": "private"},
            "from": {"id": who, "is_bot": False, "first_name": "Ines"},
            "text": text,
        }

    def press(self, who: int, sent: dict[str, Any], label: str, query: str = "q1") -> None:
        """A person presses the button with this label below a message that we sent."""
        rows = json.loads(sent["reply_markup"])["inline_keyboard"]
        data = next(b["callback_data"] for row in rows for b in row if label in b["text"])
        self.put(
            {
                "callback_query": {
                    "id": query,
                    "from": {"id": who, "is_bot": False, "first_name": "Ines"},
                    "chat_instance": "1",
                    "data": data,
                    "message": self.message(who, sent["sent_id"], sent["text"]),
                }
            }
        )

    def said(self, who: int | None = None) -> list[dict[str, Any]]:
        """What was sent and taken, in order; to one chat, if it is named."""
        return [
            call
            for call in list(self.calls)
            if call["method"] == "sendMessage" and call["taken"]
            and who in (None, int(call["chat_id"]))
        ]  # fmt: skip

    def of(self, method: str) -> list[dict[str, Any]]:
        return [call for call in list(self.calls) if call["method"] == method]

    # --- inside -----------------------------------------------------------------------------

    def _run(self, ready: threading.Event) -> None:
        asyncio.set_event_loop(self._loop)
        self._loop.run_until_complete(self._start())
        ready.set()
        self._loop.run_forever()

    async def _start(self) -> None:
        app = web.Application()
        app.router.add_post("/bot{token}/{method}", self._answer)
        self._runner = web.AppRunner(app, access_log=None, shutdown_timeout=0.1)
        await self._runner.setup()
        await web.TCPSite(self._runner, "127.0.0.1", self.port).start()
        self.port = self._runner.addresses[0][1]

    async def _answer(self, request: web.Request) -> web.StreamResponse:
        method = request.match_info["method"]
        fields = dict(await request.post())
        if self.refused_token:
            return web.json_response({"ok": False, "description": "Unauthorized"}, status=401)
        call = {"method": method, "at": time.monotonic(), "taken": False, **fields}
        self.calls.append(call)
        fault = self._fault(method, fields)
        if isinstance(fault, web.StreamResponse):
            return fault
        if isinstance(fault, float):
            await asyncio.sleep(fault)
        response = await self.emulator.handle(request)
        body = json.loads(response.body)
        call["taken"] = response.status == 200
        if isinstance(body.get("result"), dict):
            call["sent_id"] = body["result"].get("message_id")
        if fault == "lost":
            assert request.transport is not None
            request.transport.abort()
        if method == "getUpdates":
            return web.json_response(_with_edits(body), status=response.status)
        if method in NAMED:
            body["result"] |= NAMED[method]
            return web.json_response(body)
        return response

    def _fault(self, method: str, fields: dict[str, Any]) -> Any:
        for fault in self.faults:
            where, what = fault
            name, _, chat = where.partition(":")
            if name == method and chat in ("", str(fields.get("chat_id"))):
                self.faults.remove(fault)
                return what() if callable(what) else what
        return None


def _with_edits(body: dict[str, Any]) -> dict[str, Any]:
    """The emulator keeps plain messages only: one with the date of an edit is told as an edit."""
    for update in body.get("result") or ():
        if "edit_date" in update.get("message", ()):
            update["edited_message"] = update.pop("message")
    return body


def too_many(seconds: int) -> Any:
    body = {"ok": False, "error_code": 429, "parameters": {"retry_after": seconds}}
    return lambda: web.json_response(body, status=429)


def status(code: int, text: str = "<html>no</html>") -> Any:
    return lambda: web.Response(status=code, text=text, content_type="text/html")


def error(code: int, description: str) -> Any:
    body = {"ok": False, "error_code": code, "description": description}
    return lambda: web.json_response(body, status=code)
