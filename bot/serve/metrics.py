"""What `serve` counts, and how it is told: figures for Prometheus, and the two moments for /health.

No label or value holds a name, number, chat, household or word of anybody.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4, choose_encoder
from sqlalchemy import Connection, func, select

from bot.book.tables import addresses, outbox, usage
from bot.messages import Message, Outgoing
from bot.serve.sending import Delivered, Lost, Refused, RetryAfter, Sender, Sent, Shut, Unreachable
from bot.service import Rackside

OUTCOMES: Mapping[type, str] = {
    Delivered: "sent", RetryAfter: "retried", Unreachable: "retried", Lost: "lost",
    Refused: "refused", Shut: "shut",
}  # fmt: skip
WITHIN = (0.005, 0.02, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)  # seconds, of requests


@dataclass(frozen=True)
class Post:
    """What waits in the outbox: how many, since when the oldest; and when one was last sent."""

    undelivered: int
    oldest: datetime | None
    last: datetime | None


class Metrics:
    """The counters of one `serve`, in a registry of their own."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()

        def made(kind: Callable[..., Any], name: str, says: str, *labels: str, **more: Any) -> Any:
            return kind(f"rackside_{name}", says, labels, registry=self.registry, **more)

        self._messages = made(Counter, "messages", "Messages handled.", "channel")
        self._sends = made(Counter, "sends", "Sends, by what became of them.", "channel", "outcome")
        self._told = made(Counter, "told", "Messages put out because something fell due.")
        self._undelivered = made(Gauge, "undelivered", "Messages that wait to be sent.")
        self._oldest = made(Gauge, "oldest_undelivered_seconds", "How long the oldest has waited.")
        self._last = made(Gauge, "last_delivery_timestamp_seconds", "When one was last sent; or 0.")
        self._used = made(Gauge, "sms_used", "Texts sent this month.")
        self._cap = made(Gauge, "sms_cap", "Texts that may be sent in a month.")
        self._usable = made(Gauge, "book_usable", "1 where the book can be written.")
        self._seconds = made(
            Histogram, "request_seconds", "Time to answer a request.", "address", "status",
            buckets=WITHIN,
        )  # fmt: skip

    def message(self, channel: str) -> None:
        """A message was handled."""
        self._messages.labels(channel).inc()

    def told(self, messages: int) -> None:
        """So many messages were put out because something fell due."""
        self._told.inc(messages)

    def send(self, channel: str, answer: Sent) -> None:
        """A channel was given something to send, and answered."""
        self._sends.labels(channel, OUTCOMES[type(answer)]).inc()

    def request(self, address: str, status: int, seconds: float) -> None:
        """A request was answered. `address` is the pattern, never what stood in its place."""
        self._seconds.labels(address, str(status)).observe(seconds)

    def look(self, post: Post, now: datetime, used: int, cap: int) -> None:
        """The book as it is now."""
        waited = (now - post.oldest).total_seconds() if post.oldest else 0.0
        self._undelivered.set(post.undelivered)
        self._oldest.set(max(0.0, waited))
        self._last.set(post.last.timestamp() if post.last else 0)
        self._used.set(used)
        self._cap.set(cap)

    def usable(self, good: bool) -> None:
        """Whether the book can be written."""
        self._usable.set(good)

    def text(self, accept: str) -> tuple[bytes, str]:
        """Everything, in the form that the Accept header asks for; and its content type."""
        try:
            encode, kind = choose_encoder(accept)
            return encode(self.registry), kind
        except (TypeError, ValueError):  # a version that is no version
            return generate_latest(self.registry), CONTENT_TYPE_PLAIN_0_0_4


def post_now(conn: Connection, channels: Collection[str]) -> Post:
    """What waits for these channels. What a shut address waits for is not late: nobody sends it."""
    shut = select(addresses.c.id).where(
        addresses.c.channel == outbox.c.channel,
        addresses.c.address == outbox.c.address,
        addresses.c.shut.is_not(None),
    )
    waiting = select(func.count(), func.min(outbox.c.made)).where(
        outbox.c.sent.is_(None), outbox.c.given_up.is_(None),
        outbox.c.channel.in_(channels), ~shut.exists(),
    )  # fmt: skip
    count, oldest = conn.execute(waiting).one()
    # The newest row that went out: as good as the latest moment, and found without reading all.
    newest = select(outbox.c.sent).where(outbox.c.sent.is_not(None)).order_by(outbox.c.id.desc())
    return Post(int(count), oldest, conn.execute(newest.limit(1)).scalar())


def used_in(conn: Connection, channel: str, month: str) -> int:
    """How many messages a channel has sent in a month ("2026-03")."""
    row = select(usage.c.sent).where(usage.c.channel == channel, usage.c.month == month)
    return int(conn.execute(row).scalar() or 0)


class Counted:
    """A channel that sends, counted."""

    def __init__(self, channel: str, sender: Sender, metrics: Metrics) -> None:
        self._channel = channel
        self._sender = sender
        self._metrics = metrics

    async def send(self, outgoing: Outgoing) -> Sent:
        """Send, and count what became of it."""
        answer = await self._sender.send(outgoing)
        self._metrics.send(self._channel, answer)
        return answer


class CountedRackside(Rackside):
    """The assistant, counted."""

    def __init__(self, *parts: Any, metrics: Metrics, **named: Any) -> None:
        super().__init__(*parts, **named)
        self._metrics = metrics

    def handle(self, message: Message, name: str = "") -> list[Outgoing]:
        """As ever."""
        out = super().handle(message, name)
        self._metrics.message(message.channel)
        return out

    def tick(self) -> list[Outgoing]:
        """As ever."""
        out = super().tick()
        self._metrics.told(len(out))
        return out
