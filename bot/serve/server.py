"""The HTTP side of `serve`: health, the channels' webhooks, the calendar. Anything else is 4xx."""

from __future__ import annotations

import hmac
import json
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass

from aiohttp import web

LARGEST = 64 * 1024  # bytes of a body
SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"

Answer = tuple[int, str]  # HTTP status and body


@dataclass(frozen=True)
class Doors:
    """What stands behind the addresses; None: that address is not there.

    `health` gives "ok", "off" or "down" by name; `telegram` takes an update and gives a status;
    `sms` takes a form and its signature; `calendar` takes a secret.
    """

    health: Callable[[], Awaitable[Mapping[str, str]]]
    calendar: Callable[[str], Awaitable[bytes | None]]
    telegram: Callable[[object], Awaitable[int]] | None = None
    telegram_path: str = ""
    telegram_header: str = ""
    sms: Callable[[Mapping[str, str], str], Awaitable[Answer]] | None = None


def application(doors: Doors) -> web.Application:
    """The web application; it holds no state of its own."""
    app = web.Application(client_max_size=LARGEST)

    async def health(_: web.Request) -> web.Response:
        found = await doors.health()
        good = found["book"] == "ok"
        return web.json_response({"ok": good, **found}, status=200 if good else 503)

    async def telegram(request: web.Request) -> web.Response:
        right_path = _same(request.match_info["secret"], doors.telegram_path)
        if doors.telegram is None or not right_path:
            raise web.HTTPNotFound
        if not _same(request.headers.get(SECRET_HEADER, ""), doors.telegram_header):
            raise web.HTTPForbidden
        return web.Response(status=await doors.telegram(await _json(request)))

    async def sms(request: web.Request) -> web.Response:
        if doors.sms is None:
            raise web.HTTPNotFound
        form = await _form(request)
        status, body = await doors.sms(form, request.headers.get("X-Twilio-Signature", ""))
        return web.Response(status=status, text=body, content_type="text/xml")

    async def calendar(request: web.Request) -> web.Response:
        found = await doors.calendar(request.match_info["secret"])
        if found is None:
            raise web.HTTPNotFound
        return web.Response(body=found, content_type="text/calendar", charset="utf-8")

    app.router.add_get("/health", health)
    app.router.add_post("/telegram/{secret}", telegram)
    app.router.add_post("/sms", sms)
    app.router.add_get("/calendar/{secret}.ics", calendar)
    return app


def _same(given: str, wanted: str) -> bool:
    return bool(wanted) and hmac.compare_digest(given.encode("utf-8", "replace"), wanted.encode())


async def _body(request: web.Request) -> str:
    """The body as text. Raises HTTPRequestEntityTooLarge, HTTPBadRequest."""
    raw = await request.read()
    try:
        return raw.decode()
    except UnicodeDecodeError:
        raise web.HTTPBadRequest from None


async def _json(request: web.Request) -> object:
    try:
        return json.loads(await _body(request))
    except (ValueError, RecursionError):
        raise web.HTTPBadRequest from None


async def _form(request: web.Request) -> Mapping[str, str]:
    """The fields of a form; of a name that comes twice the last counts, as signing has it."""
    from urllib.parse import parse_qsl

    if request.content_type != "application/x-www-form-urlencoded":
        raise web.HTTPBadRequest
    try:
        pairs = parse_qsl(
            await _body(request), keep_blank_values=True, errors="strict", max_num_fields=200
        )
    except ValueError:
        raise web.HTTPBadRequest from None
    return dict(pairs)
