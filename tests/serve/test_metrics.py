"""What `serve` tells of itself: figures for a scraper, and the moments of the last delivery."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from datetime import timedelta

import pytest
from aiohttp.test_utils import TestClient, TestServer
from prometheus_client.openmetrics.parser import text_string_to_metric_families as openmetrics
from prometheus_client.parser import text_string_to_metric_families as parse
from sqlalchemy import update

from bot.book import access, households, post
from bot.book.store import Book
from bot.book.tables import outbox
from bot.messages import Message, Outgoing, Reply
from bot.serve.metrics import Counted, CountedRackside, Metrics, Post, post_now, used_in
from bot.serve.sending import Delivered, Lost, Refused, RetryAfter, Sent, Shut, Unreachable
from bot.serve.server import Doors, application, asks_for_metrics
from tests.channels.sms_support import MINA, NOW
from tests.serve.conftest import OWNER, Serving, wait_for
from tests.serve.standin import StandIn
from tests.serve.test_serve_http import ask

SCRAPER = (
    "application/openmetrics-text;version=1.0.0;q=0.5,text/plain;version=0.0.4;q=0.3,*/*;q=0.1"
)


def figures(metrics: Metrics) -> Mapping[str, float]:
    """Every sample, by its name and labels: 'rackside_sends_total{sms,sent}'."""
    text, _ = metrics.text("")
    return {
        f"{each.name}{{{','.join(each.labels.values())}}}": each.value
        for family in parse(text.decode())
        for each in family.samples
    }


def test_each_outcome_of_a_send_is_counted() -> None:
    """Sent, retried, lost, refused and shut are told apart, by channel."""
    metrics = Metrics()
    answers: list[Sent] = [
        Delivered("1"), RetryAfter(3), Unreachable(), Lost(), Refused("status 400"), Shut(),
    ]  # fmt: skip

    class Line:
        async def send(self, outgoing: Outgoing) -> Sent:
            return answers[outgoing.id]

    async def run() -> list[Sent]:
        line = Counted("sms", Line(), metrics)
        out = [Outgoing(n, "sms", MINA, "Mina", Reply("Hello.")) for n in range(len(answers))]
        return [await line.send(each) for each in out]

    assert asyncio.run(run()) == answers
    found = {k: v for k, v in figures(metrics).items() if k.startswith("rackside_sends_total")}
    assert found == {
        "rackside_sends_total{sms,sent}": 1, "rackside_sends_total{sms,retried}": 2,
        "rackside_sends_total{sms,lost}": 1, "rackside_sends_total{sms,refused}": 1,
        "rackside_sends_total{sms,shut}": 1,
    }  # fmt: skip


def test_messages_and_what_falls_due_are_counted() -> None:
    """A message is counted under its channel, and what the clock puts out is counted."""
    metrics, book, moment = Metrics(), Book.open(":memory:"), NOW
    rackside = CountedRackside(book, lambda: moment, metrics=metrics)
    with book.writing() as conn:
        mina = households.begin(conn, zone="Europe/Lisbon", owner="Mina", now=NOW)
        households.add_address(conn, mina, "sms", MINA)
    rackside.handle(Message("sms", "1", MINA, "remind me tomorrow 9am to order crickets", NOW))
    moment = NOW + timedelta(days=1)
    out = rackside.tick()
    found = figures(metrics)
    assert found["rackside_messages_total{sms}"] == 1
    assert found["rackside_told_total{}"] == len(out) == 1


def test_the_outbox_is_looked_at_as_it_is() -> None:
    """What waits counts with its age; what was sent, given up or waits for a shut number not."""
    book = Book.open(":memory:")
    with book.writing() as conn:
        mina = households.begin(conn, zone="Europe/Lisbon", owner="Mina", now=NOW)
        households.add_address(conn, mina, "sms", MINA)
        households.add_address(conn, mina, "telegram", "77")
        assert post_now(conn, ["sms"]) == Post(0, None, None)
        made = [
            post.put_out(conn, Reply(f"{n}"), mina, channel, address, NOW + timedelta(minutes=n))
            for n, (channel, address) in enumerate(
                [("sms", MINA), ("sms", MINA), ("sms", MINA), ("telegram", "77"), ("console", "x")]
            )
        ]
        later = NOW + timedelta(hours=1)
        gone = update(outbox).where(outbox.c.id == made[0].id)
        conn.execute(gone.values(sent=later))
        conn.execute(update(outbox).where(outbox.c.id == made[1].id).values(given_up=later))
        both = post_now(conn, ["sms", "telegram"])
        access.shut(conn, "sms", MINA, later)
        left = post_now(conn, ["sms", "telegram"])
        assert used_in(conn, "sms", "2026-03") == 0
    assert both == Post(2, NOW + timedelta(minutes=2), later)
    assert left == Post(1, NOW + timedelta(minutes=3), later)
    metrics = Metrics()
    metrics.look(both, later, 240, 300)
    found = figures(metrics)
    assert found["rackside_oldest_undelivered_seconds{}"] == 58 * 60
    assert (found["rackside_sms_used{}"], found["rackside_sms_cap{}"]) == (240, 300)


@pytest.mark.parametrize(
    ("accept", "asked"),
    [
        ("", False), ("*/*", False), ("application/json", False), ("text/html,*/*", False),
        ("text/plain", False), (SCRAPER, True), ("TEXT/PLAIN; Version=0.0.4", True),
        ("application/openmetrics-text", True), (";;,=,;version=", False),
    ],
)  # fmt: skip
def test_only_a_scraper_gets_metrics(accept: str, asked: bool) -> None:
    """The Accept header of a scraper names a version; everybody else's does not."""
    assert asks_for_metrics(accept) is asked


@pytest.mark.parametrize("accept", ["text/plain;version=x.y", "text/plain;version=", SCRAPER])
def test_any_version_gets_an_answer(accept: str) -> None:
    """A version that is no version is answered in the oldest form."""
    text, kind = Metrics().text(accept)
    assert b"rackside_undelivered" in text
    assert kind.partition(";")[0] in ("text/plain", "application/openmetrics-text")


def test_a_secret_in_an_address_is_not_told() -> None:
    """Requests are timed under the pattern of their address, what is unknown as one."""
    seen: list[tuple[str, int]] = []

    async def none(*_: object) -> None:
        return None

    async def health() -> Mapping[str, str]:
        return {"book": "down"}

    async def run() -> None:
        doors = Doors(health, none, watch=lambda where, status, _: seen.append((where, status)))
        async with TestClient(TestServer(application(doors))) as client:
            for path in ("/health", "/calendar/guess.ics", "/telegram/guess", "/x/secret-word"):
                await client.get(path)

    asyncio.run(run())
    assert seen == [
        ("/health", 503), ("/calendar/{secret}.ics", 404), ("other", 405), ("other", 404),
    ]  # fmt: skip


@pytest.mark.slow
def test_a_scraper_sees_a_message_go_by(owned: Serving, standin: StandIn) -> None:
    """Metrics of a running serve count its messages, and hold no name, chat or word of anybody."""
    standin.write(OWNER, "new female F31 leopard")
    wait_for(lambda: len(standin.said(OWNER)) == 2)
    text = ask(owned, "GET", "/health", Accept=SCRAPER)[1].decode()
    samples = {each.name: each for family in openmetrics(text) for each in family.samples}
    assert samples["rackside_messages_total"].labels == {"channel": "telegram"}
    assert samples["rackside_messages_total"].value == 2
    assert samples["rackside_book_usable"].value == 1
    assert samples["rackside_last_delivery_timestamp_seconds"].value > 1e9
    for private in (str(OWNER), "Ines", "F31", owned.settings["TELEGRAM_TOKEN"], "household"):
        assert private not in text
    told = json.loads(ask(owned, "GET", "/health?delivery")[1])
    assert told["oldest_undelivered"] is None and told["last_delivery"].startswith("20")
    assert set(json.loads(ask(owned, "GET", "/health")[1])) == {"ok", "book", "telegram", "sms"}
