"""The HTTP side of `serve`: health, the channels' webhooks, the calendar. Anything else is 4xx."""

from __future__ import annotations

import asyncio
import hmac
import json
import time
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass

from aiohttp import web
from aiohttp.http_exceptions import HttpProcessingError
from aiohttp.typedefs import Handler, Middleware

LARGEST = 64 * 1024  # bytes of a body
SLOWEST = 8.0  # seconds in which a body has to be here
SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"

Answer = tuple[int, str]  # HTTP status and body


@dataclass(frozen=True)
class Doors:
    """What stands behind the addresses; None: that address is not there.

    `health` gives "ok", "off" or "down" by name; `telegram` takes an update and gives a status;
    `sms` takes a form and its signature; `calendar` takes a secret. `delivery` gives the moments
    that `/health?delivery` adds; `metrics` takes an Accept header and gives a text and its type.
    `watch` is told of each request: the address's pattern, the status, the seconds it took.
    """

    health: Callable[[], Awaitable[Mapping[str, str]]]
    calendar: Callable[[str], Awaitable[bytes | None]]
    telegram: Callable[[object], Awaitable[int]] | None = None
    telegram_path: str = ""
    telegram_header: str = ""
    sms: Callable[[Mapping[str, str], str], Awaitable[Answer]] | None = None
    delivery: Callable[[], Awaitable[Mapping[str, str | None]]] | None = None
    metrics: Callable[[str], Awaitable[tuple[bytes, str]]] | None = None
    watch: Callable[[str, int, float], None] | None = None


def application(doors: Doors) -> web.Application:
    """The web application; it holds no state of its own."""
    app = web.Application(client_max_size=LARGEST, middlewares=[_watched(doors)])

    async def health(request: web.Request) -> web.Response:
        accept = request.headers.get("Accept", "")
        if doors.metrics is not None and asks_for_metrics(accept):
            text, kind = await doors.metrics(accept)
            return web.Response(body=text, headers={"Content-Type": kind})
        found = await doors.health()
        good = found["book"] == "ok"
        told: dict[str, object] = {"ok": good, **found}
        if doors.delivery is not None and good and "delivery" in request.query:
            told |= await doors.delivery()
        return web.json_response(told, status=200 if good else 503)

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


def asks_for_metrics(accept: str) -> bool:
    """Whether an Accept header is a scraper's: it names a version of the metrics' text form.

    >>> asks_for_metrics("*/*"), asks_for_metrics("text/plain"), asks_for_metrics("")
    (False, False, False)
    >>> asks_for_metrics("text/plain;version=0.0.4;q=0.5,*/*;q=0.1")
    True
    """
    kinds = [[part.strip() for part in each.split(";")] for each in accept.lower().split(",")]
    return any(
        kind == "application/openmetrics-text"
        or (kind == "text/plain" and any(each.startswith("version=") for each in rest))
        for kind, *rest in kinds
    )


def _watched(doors: Doors) -> Middleware:
    """Times every request under the pattern of its address: a secret in it is told nobody."""

    @web.middleware
    async def watched(request: web.Request, handler: Handler) -> web.StreamResponse:
        began, status = time.perf_counter(), 500
        try:
            response = await handler(request)
            status = response.status
            return response
        except web.HTTPException as refused:
            status = refused.status
            raise
        finally:
            if doors.watch is not None:
                resource = request.match_info.route.resource
                address = resource.canonical if resource is not None else "other"
                doors.watch(address, status, time.perf_counter() - began)

    return watched


def _same(given: str, wanted: str) -> bool:
    return bool(wanted) and hmac.compare_digest(given.encode("utf-8", "replace"), wanted.encode())


async def _body(request: web.Request) -> str:
    """The body as text. Raises HTTPRequestEntityTooLarge, HTTPRequestTimeout, HTTPBadRequest."""
    try:
        return (await asyncio.wait_for(request.read(), SLOWEST)).decode()
    except TimeoutError:
        raise web.HTTPRequestTimeout from None
    except (UnicodeDecodeError, ConnectionError, web.RequestPayloadError, HttpProcessingError):
        raise web.HTTPBadRequest from None  # no text, or cut off, or not packed as it says


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
