"""Sends what `odd` makes to what `house` serves, and says where something went wrong."""

from __future__ import annotations

import asyncio
import json
import random
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import yarl
from aiohttp import ClientTimeout
from twilio.request_validator import RequestValidator

from tests.fuzz import odd
from tests.fuzz.house import INES, NOBODY, NUMBERS, OTTO, SECRET, UNOWNED, URL, Under, hook, house

SLOW = 10.0  # seconds in which every request has to be answered
PATHS = (
    "/", "/health?delivery=%00", "/health/", "//health", "/healthz", "/sms/", "/sms/../health",
    "/telegram/", "/telegram/%00", "/telegram/%ed%a0%80", "/telegram/..%2f..%2f", "/calendar/.ics",
    "/calendar/%00.ics", "/calendar/%27%20OR%201=1--.ics", "/calendar/%f0%9f%a6%8e.ics", "/metrics",
    "/calendar/" + "a" * 3000 + ".ics", "/%2e%2e/%2e%2e/etc/passwd", "/calendar/x.ics?" + "z" * 900,
)  # fmt: skip
METHODS = ("GET", "POST", "PUT", "DELETE", "PATCH", "OPTIONS", "HEAD", "TRACE", "BREW")
RAW = (
    b"GET /health HTTP/1.1\r\nHost: x\r\nX: " + b"a" * 20_000 + b"\r\n\r\n",
    b"POST /sms HTTP/1.1\r\nHost: x\r\nContent-Length: -5\r\n\r\n",
    b"POST /sms HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\nxx",
    b"POST /sms HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\nZZ\r\nboo\r\n0\r\n\r\n",
    b"GET /health HTTP/9.9\r\n\r\n", b"\0\0\0\0\r\n\r\n", b"GET\r\n\r\n", b"\x16\x03\x01\x02\0\x01",
    b"POST /sms HTTP/1.1\r\nHost: x\r\nContent-Encoding: gzip\r\nContent-Length: 4\r\n"
    b"Content-Type: application/x-www-form-urlencoded\r\nConnection: close\r\n\r\nabcd",
    b"GET /health HTTP/1.1\r\nHost: x\r\n: empty\r\n\r\n",
)  # fmt: skip


@dataclass
class Found:
    """What came of it: how many requests of each kind by answer, and everything that was wrong."""

    counts: Counter[tuple[str, str]] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    slowest: tuple[float, str] = (0.0, "")

    def took(self, seconds: float, what: str) -> None:
        """A request was answered; all have to be in time."""
        if seconds > self.slowest[0]:
            self.slowest = seconds, what[:200]
        if seconds > SLOW:
            self.wrong.append(f"answered after {seconds:.1f} s: {what[:300]}")


@dataclass
class Request:
    """One request. `may` are the households whose rows it may write; None: it may write nothing."""

    kind: str
    method: str
    path: str
    body: bytes | list[bytes] = b""
    headers: dict[str, str] = field(default_factory=dict)
    may: set[int] | None = None
    refused: bool = False


class Attacker:
    """Makes requests from a seed."""

    def __init__(self, seed: int, homes: dict[int, int]) -> None:
        self.chance = random.Random(seed)
        self.homes = homes
        self.number = 1000

    def next(self) -> Request:
        """The next one."""
        self.number += 1
        kinds = (self.update, self.update, self.update, self.odd_update, self.odd_update, self.sms,
                 self.odd_sms, self.unsigned, self.address, self.large)  # fmt: skip
        return self.chance.choice(kinds)()

    def _who(self) -> int:
        return self.chance.choice([INES, INES, OTTO, NOBODY])

    def _update(self) -> dict[str, Any]:
        now = int(time.time()) + self.chance.choice([0, 0, 0, -86_400, -10_000_000, 86_400])
        said = odd.text(self.chance)
        return odd.update(self.chance, self.number, self._who(), said, now)

    def update(self) -> Request:
        """A well-made update, whatever its words."""
        body = json.dumps(self._update(), ensure_ascii=False).encode("utf-8", "surrogatepass")
        path, header = hook()
        return Request("update", "POST", path, body, header, self._owners(body))

    def odd_update(self) -> Request:
        """An update that is not as it should be, with the secrets right or wrong."""
        body = odd.as_json(odd.mutated(self._update(), self.chance), self.chance)
        path, header = hook()
        if self.chance.random() < 0.7:
            return Request("odd update", "POST", path, body, header, self._owners(body))
        path, header = self.chance.choice(
            [
                (path, {}),
                ("/telegram/guess", header),
                (path[:-1], header),
                (path, {**header, "x": "y"}),
            ]
        )
        good = "x" in header
        may = self._owners(body) if good else None
        return Request("odd update", "POST", path, body, header, may, refused=not good)

    def sms(self) -> Request:
        """A signed text."""
        made = odd.form(self.chance, self.number, NUMBERS[self._who()], self._words())
        return self._form("text", made, signed=True)

    def odd_sms(self) -> Request:
        """A signed form that is not as it should be."""
        made = odd.form(self.chance, self.number, NUMBERS[self._who()], self._words())
        return self._form("odd text", odd.mutated_form(made, self.chance), signed=True)

    def unsigned(self) -> Request:
        """A text that nobody signed, or signed for something else."""
        made = odd.form(self.chance, self.number, NUMBERS[INES], self._words())
        return self._form("unsigned text", made, signed=False)

    def _words(self) -> str:
        return odd.text(self.chance).encode("utf-8", "replace").decode()

    def _form(self, kind: str, made: dict[str, str], signed: bool) -> Request:
        sign = RequestValidator(SECRET).compute_signature
        headers = {"Content-Type": "application/x-www-form-urlencoded"}
        if signed:
            headers["X-Twilio-Signature"] = sign(f"{URL}/sms", made)
        else:
            others = ["", "x", "é", sign(f"{URL}/", made), sign(f"{URL}/sms", made | {"Body": "x"})]
            headers["X-Twilio-Signature"] = self.chance.choice(others)
        body = urlencode(made).encode()
        ours = signed and made.get("AccountSid") == "AC1"
        may = {self.homes[who] for who in self.homes if self._names(made, NUMBERS[who])}
        return Request(kind, "POST", "/sms", body, headers, may if ours else None, refused=not ours)

    @staticmethod
    def _names(made: dict[str, str], number: str) -> bool:
        return number[1:] in "".join(filter(str.isdigit, made.get("From", "")))

    def address(self) -> Request:
        """Some other address, method or header."""
        method = self.chance.choice(METHODS)
        path = self.chance.choice(PATHS)
        headers = {"Accept": self.chance.choice(["*/*", "text/plain;version=9", ";;;", "é"])}
        return Request(
            "address", method, path, headers=headers, refused=not path.startswith("/health?")
        )

    def large(self) -> Request:
        """More than a body may have, at once or in pieces."""
        path, header = hook()
        path = self.chance.choice([path, "/sms"])
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        size = self.chance.choice([65_537, 80_000, 300_000])
        body: bytes | list[bytes] = b"x" * size
        if self.chance.random() < 0.5:
            body = [b"y" * 9000] * (size // 9000 + 1)
        return Request("large", "POST", path, body, header | kind, refused=True)

    def _owners(self, body: bytes) -> set[int]:
        """The households of those whose number stands in the body, escaped or as text."""
        return {home for who, home in self.homes.items() if str(who).encode() in body}


async def attack(
    folder: Path, seed: int, seconds: float | None = None, most: int | None = None
) -> Found:
    """Send odd requests for so long, or so many, one after the other; a few also as raw bytes."""
    found = Found()
    async with house(folder) as under:
        made = Attacker(seed, under.homes)
        end = time.monotonic() + seconds if seconds else None
        sent = 0
        while (most is None or sent < most) and (end is None or time.monotonic() < end):
            if found.slowest[0] > SLOW:  # it hangs: whatever comes next would wait, too
                return found
            await _one(under, made.next(), found)
            sent += 1
            if sent % 50 == 0:
                await _raw(under, made.chance.choice(RAW), found)
        await _slow(under, found)
        found.wrong += [f"the book disagrees with its ledger: {e}" for e in under.disagreements()]
    return found


async def _one(under: Under, request: Request, found: Found) -> None:
    told = f"{request.kind} {request.method} {request.path[:60]} {request.body[:700]!r}"
    body: Any = request.body
    if isinstance(body, list):
        body = _pieces(body)
    began = time.monotonic()
    try:
        async with under.client.session.request(
            request.method, _address(under, request.path), data=body,
            headers=request.headers, allow_redirects=False, timeout=ClientTimeout(2 * SLOW),
        ) as answer:  # fmt: skip
            status = answer.status
            await answer.read()
    except (OSError, ValueError, asyncio.IncompleteReadError) as error:
        # The server may hang up on a body that is too long while it is still being sent.
        status = 400 if request.kind == "large" else 599
        told += f" {type(error).__name__}"
    found.took(time.monotonic() - began, told)
    found.counts[request.kind, f"{status // 100}xx"] += 1
    if status >= 500:
        found.wrong.append(f"status {status}: {told}")
    if request.refused and not 400 <= status < 500:
        found.wrong.append(f"status {status}, not refused: {told}")
    _judge(under, request, status, told, found)


def _judge(under: Under, request: Request, status: int, told: str, found: Found) -> None:
    """No error in the log, and no row written but of who may."""
    found.wrong += [f"{line}: {told}" for line in under.errors()]
    for table, household in under.written():
        if request.may is None or status >= 400:
            found.wrong.append(f"wrote {table} of {household}, status {status}: {told}")
        elif household is None and table not in UNOWNED:
            found.wrong.append(f"wrote {table} of nobody: {told}")
        elif household is not None and household not in request.may:
            found.wrong.append(f"wrote {table} of {household}, not of {request.may}: {told}")


def _address(under: Under, path: str) -> yarl.URL:
    """The address as it is written, however odd."""
    return yarl.URL(f"http://127.0.0.1:{under.client.port}{path}", encoded=True)


async def _pieces(parts: list[bytes]) -> Any:
    for part in parts:
        yield part


async def _raw(under: Under, raw: bytes, found: Found) -> None:
    """Bytes that are no request, or hardly one: refused or hung up on, and nothing else."""
    reader, writer = await asyncio.open_connection("127.0.0.1", under.client.port)
    writer.write(raw)
    try:
        first = await asyncio.wait_for(reader.readline(), 0.3)
    except (TimeoutError, OSError):
        first = b""
    writer.close()
    answer = f"{first[9:10].decode()}xx" if first else "none"
    found.counts["raw bytes", answer] += 1
    if answer not in ("none", "4xx"):
        found.wrong.append(f"raw {raw[:80]!r}: {first!r}")
    _judge(under, Request("raw", "", ""), 400, repr(raw[:80]), found)


async def _slow(under: Under, found: Found) -> None:
    """Somebody who never finishes holds up nobody else."""
    head = b"POST /sms HTTP/1.1\r\nHost: x\r\nContent-Length: 100\r\n"
    kind = b"Content-Type: application/x-www-form-urlencoded\r\n\r\nBody="
    lines = [await asyncio.open_connection("127.0.0.1", under.client.port) for _ in range(30)]
    for _, writer in lines:
        writer.write(head + kind)
    began = time.monotonic()
    async with under.client.get("/health") as answer:
        await answer.read()
    if answer.status != 200 or time.monotonic() - began > 2:
        found.wrong.append("thirty who never finish hold up /health")
    found.counts["never finished", "open"] += len(lines)
    for _, writer in lines:
        writer.close()
    await asyncio.sleep(0.2)
    found.wrong += [f"{line}: somebody hung up" for line in under.errors()]
