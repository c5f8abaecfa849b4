"""What one `serve` takes: from its start to the first answer, and its memory when nothing happens.

    python -m tests.bench.serve_at_rest

Both channels are set up, against a stand-in on this machine. The answer counts when the gateway has
it. Memory is what the process holds itself (RSS) three seconds after its start is over.
"""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import suppress
from http.client import HTTPConnection
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from statistics import median
from urllib.parse import urlencode

from twilio.request_validator import RequestValidator

from bot.book import households
from bot.serve.run import STARTING
from tests.bench.many_households import made

STARTS = 3
NUMBER, OURS, SECRET = "+351912345678", "+351210000000", "bench-secret"


class StandIn(BaseHTTPRequestHandler):
    """Telegram and an SMS gateway: takes everything, has nothing to say."""

    answered = threading.Event()
    protocol_version = "HTTP/1.1"

    def do_POST(self) -> None:
        """Take it."""
        self.rfile.read(int(self.headers.get("Content-Length") or 0))
        if self.path.endswith("/getUpdates"):
            time.sleep(2)
        if self.path.endswith("/Messages.json"):
            self.answered.set()
            return self._say(201, {"sid": "SM1"})
        empty: list[object] = []
        result = empty if self.path.endswith("/getUpdates") else True
        me = {"id": 1, "is_bot": True, "first_name": "bench", "username": "bench_bot"}
        return self._say(200, {"ok": True, "result": me if "getMe" in self.path else result})

    def _say(self, status: int, body: object) -> None:
        raw = json.dumps(body).encode()
        self.send_response(status)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(raw)))
        with suppress(BrokenPipeError, ConnectionResetError):  # it was stopped while it waited
            self.end_headers()
            self.wfile.write(raw)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


def start(folder: Path, api: str) -> tuple[subprocess.Popen[bytes], str]:
    """`serve` on the book in a folder; and where it listens."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        listen = f"127.0.0.1:{free.getsockname()[1]}"
    told = {
        "BOOK": str(folder / "book.sqlite"), "ZONE": "Europe/Lisbon", "LISTEN": listen,
        "TELEGRAM_TOKEN": "123456:bench", "TELEGRAM_API": api, "SMS_API": api,
        "SMS_ACCOUNT": "AC1", "SMS_SECRET": SECRET, "SMS_NUMBER": OURS, "BACKUPS": "off",
        "OWNER_CODE": "bench-owner-code",
    }  # fmt: skip
    env = {**os.environ, **{f"RACKSIDE_{name}": value for name, value in told.items()}}
    run = [sys.executable, "-c", "from bot.cli import main; main(['serve'])"]
    quiet = subprocess.DEVNULL
    return subprocess.Popen(run, env=env, stdout=quiet, stderr=quiet), listen


def ask(listen: str, number: int) -> None:
    """A text comes in as soon as anybody listens."""
    form = {"AccountSid": "AC1", "MessageSid": f"SM{number}", "From": NUMBER, "To": OURS,
            "Body": "what's due today"}  # fmt: skip
    signed = RequestValidator(SECRET).compute_signature(f"http://{listen}/sms", form)
    headers = {
        "X-Twilio-Signature": str(signed), "Content-Type": "application/x-www-form-urlencoded",
    }  # fmt: skip
    while True:
        line = HTTPConnection(listen, timeout=10)
        try:
            line.request("POST", "/sms", urlencode(form), headers)
            status = line.getresponse().status
        except ConnectionRefusedError:
            time.sleep(0.01)
            continue
        assert status in (200, 204), status
        return


def memory(process: int) -> float:
    """Megabytes that a process holds."""
    status = Path(f"/proc/{process}/status").read_text()
    line = next(line for line in status.splitlines() if line.startswith("VmRSS"))
    return int(line.split()[1]) / 1024


def worked(process: int) -> float:
    """Seconds of processor time that a process has had."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def once(folder: Path, api: str, number: int) -> tuple[float, float, float]:
    """Seconds to the first answer, those that the processor worked, and megabytes at rest."""
    StandIn.answered.clear()
    began = time.perf_counter()
    process, listen = start(folder, api)
    try:
        ask(listen, number)
        assert StandIn.answered.wait(20)
        took, work = time.perf_counter() - began, worked(process.pid)
        time.sleep(STARTING + 3)
        return took, work, memory(process.pid)
    finally:
        process.terminate()
        process.wait(12)


def main() -> None:
    """Print both."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), StandIn)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    with tempfile.TemporaryDirectory() as where:
        folder = Path(where)
        book = made(str(folder / "book.sqlite"), 1, folder / "colony")
        with book.writing() as conn:
            (owner,) = households.of_household(conn, 1)
            households.add_address(conn, owner, "sms", NUMBER)
        book.close()
        api = f"http://127.0.0.1:{server.server_address[1]}"
        found = [once(folder, api, number) for number in range(STARTS)]
    server.shutdown()
    took, work, held = (median(each) for each in zip(*found, strict=True))
    print(f"\n{'serve, from start to first answer':34}{took:10.2f} s")
    print(f"{'  of that, processor time':34}{work:10.2f} s")
    print(f"{'serve, memory at rest':34}{held:10.0f} MB")


if __name__ == "__main__":
    main()
