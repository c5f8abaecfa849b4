"""The addresses of `rackside serve`: health, webhooks, the calendar; anything else is 4xx."""

from __future__ import annotations

import json
import re
import sqlite3
import time
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from urllib.parse import urlencode

import pytest
from twilio.request_validator import RequestValidator

from tests.serve.conftest import CODE, OWNER, Serving, wait_for
from tests.serve.standin import TOKEN, StandIn

pytestmark = pytest.mark.slow
SMS = {"SMS_ACCOUNT": "AC1", "SMS_SECRET": "sms-secret-word", "SMS_NUMBER": "+351210000000"}


def ask(
    serving: Serving, method: str, path: str, body: str | bytes = b"", **headers: str
) -> tuple[int, bytes]:
    host, _, port = serving.listen.partition(":")
    line = HTTPConnection(host, int(port), timeout=10)
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    line.request(method, path, body, named)
    answer: HTTPResponse = line.getresponse()
    return answer.status, answer.read()


def hook_of(standin: StandIn) -> tuple[str, str]:
    """The path and the header that were registered."""
    call = wait_for(lambda: standin.of("setWebhook"))[-1]
    return "/telegram/" + call["url"].rpartition("/")[2], call["secret_token"]


@pytest.fixture
def called(tmp_path: Path, standin: StandIn) -> Serving:
    """Serving by webhook, with SMS too."""
    made = Serving(tmp_path, standin, SMS_API="http://127.0.0.1:1", **SMS)
    made.settings["TELEGRAM_WEBHOOK"] = f"http://{made.listen}"
    yield made.start()
    if made.process is not None and made.process.poll() is None:
        made.kill()


def test_the_webhook_takes_updates_with_the_right_path_and_header_only(
    called: Serving, standin: StandIn
) -> None:
    """An update is taken once, with path and secret token right; bad bodies have no effect."""
    path, header = hook_of(standin)
    update = {"update_id": 9, "message": standin.message(OWNER, 5, CODE)}
    good = {"X_Telegram_Bot_Api_Secret_Token": header}
    body = json.dumps(update)
    assert ask(called, "POST", path, body)[0] == 403
    assert ask(called, "POST", "/telegram/guess", body, **good)[0] in (403, 404)
    for bad in ("", "{", "[]", "5", '{"update_id": "x"}', "[" * 60_000, "\udcff", "x" * 70_000,
                '{"update_id": 1, "message": {"chat": 5}}', '{"update_id": 1, "message": null}',
                '{"update_id": 1, "callback_query": {"id": 1}}'):  # fmt: skip
        status, _ = ask(called, "POST", path, bad.encode("utf-8", "surrogateescape"), **good)
        assert 400 <= status < 500, bad[:50]
    assert not standin.said()
    odd = {"update_id": 8, "message": standin.message(OWNER + 1, 4, "half \ud800 and \0 nothing")}
    assert ask(called, "POST", path, json.dumps(odd), **good)[0] == 200
    assert [ask(called, "POST", path, body, **good)[0] for _ in range(2)] == [200, 200]
    wait_for(lambda: standin.said(OWNER))
    again = update | {"message": standin.message(OWNER, 6, "new female F\ud8003 leopard")}
    assert ask(called, "POST", path, json.dumps(again | {"update_id": 10}), **good)[0] == 200
    wait_for(lambda: len(standin.said(OWNER)) == 2)
    time.sleep(0.5)
    assert len(standin.said(OWNER)) == 2


def test_sms_is_refused_unless_signed(called: Serving) -> None:
    """An inbound text is 403 unless the gateway signed it for our address."""
    form = {"AccountSid": "AC1", "MessageSid": "SM1", "From": "+351912345678", "Body": CODE}
    body = urlencode(form)
    kind = {"Content_Type": "application/x-www-form-urlencoded"}
    assert ask(called, "POST", "/sms", body, **kind)[0] == 403
    signed = RequestValidator(SMS["SMS_SECRET"]).compute_signature(
        f"http://{called.listen}/sms", form
    )
    status, _ = ask(called, "POST", "/sms", body, X_Twilio_Signature=signed, **kind)
    assert status in (200, 204)
    with sqlite3.connect(called.book) as book:
        assert book.execute("SELECT role FROM members").fetchall() == [("owner",)]


def test_health_the_calendar_and_nothing_else(called: Serving, standin: StandIn) -> None:
    """Health names each channel, the calendar needs its secret, all other addresses are 4xx."""
    path, header = hook_of(standin)
    said = ["new female F3 leopard", "new male M2 leopard", "M2 in with F3"]
    for number, text in enumerate([CODE, *said], 20):
        update = {"update_id": number, "message": standin.message(OWNER, number, text)}
        ask(called, "POST", path, json.dumps(update), X_Telegram_Bot_Api_Secret_Token=header)
    update = {"update_id": 30, "message": standin.message(OWNER, 30, "calendar link")}
    ask(called, "POST", path, json.dumps(update), X_Telegram_Bot_Api_Secret_Token=header)
    told = wait_for(lambda: [s["text"] for s in standin.said(OWNER) if ".ics" in s["text"]])
    address = re.search(r"http://(\S+?)(/calendar/\S+)", told[0])
    assert address is not None and address[1] == called.listen
    good, health = ask(called, "GET", "/health")
    found, calendar = ask(called, "GET", address[2])
    assert (good, found) == (200, 200)
    assert json.loads(health) == {"ok": True, "book": "ok", "telegram": "ok", "sms": "ok"}
    assert "M2" in str(calendar) and b"BEGIN:VEVENT" in calendar
    for method, place in (
        ("GET", "/"), ("GET", "/calendar/guess.ics"), ("POST", "/health"), ("GET", "/sms"),
        ("PUT", "/telegram/x"), ("GET", f"/bot{TOKEN}/getMe"),
    ):  # fmt: skip
        assert 400 <= ask(called, method, place)[0] < 500, place


def test_an_edit_replaces_what_its_message_wrote(called: Serving, standin: StandIn) -> None:
    """An edited message takes back its records and writes the new ones, and so does the next."""
    path, header = hook_of(standin)
    said = [("message", 5, CODE), ("message", 6, "new female F3 leopard"),
            ("message", 7, "F3 21.5g"), ("edited_message", 7, "F3 22.5g"),
            ("edited_message", 7, "F3 23.5g")]  # fmt: skip
    for number, (kind, message, text) in enumerate(said, 20):
        update = {"update_id": number, kind: standin.message(OWNER, message, text)}
        body = json.dumps(update)
        assert ask(called, "POST", path, body, X_Telegram_Bot_Api_Secret_Token=header)[0] == 200
    with sqlite3.connect(called.book) as book:
        rows = book.execute("SELECT fields FROM happenings WHERE kind = 'weighed'").fetchall()
    assert [json.loads(fields)["grams"] for (fields,) in rows] == [23.5]
