"""A book, a stand-in for Telegram, and `rackside serve` as a process of its own."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.serve.nursery import SERVE, Forked, Nursery
from tests.serve.standin import TOKEN, StandIn

OWNER, STRANGER = 5_010_203_040, 7_070_605_040  # long, so that no time of day looks like one
CODE = "OWNERS-CODE-1"


def wait_for(what: Callable[[], Any], seconds: float = 10.0) -> Any:
    """What it gives, once that is something; fails when it takes too long."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = what()
        if found:
            return found
        time.sleep(0.03)
    raise AssertionError(f"nothing within {seconds} s")


class Serving:
    """`rackside serve` on a book; it can be killed and started again.

    Where the dynamic linker has to see its environment, it is started from scratch.
    """

    nursery: Nursery | None = None

    def __init__(self, folder: Path, standin: StandIn | None, **settings: str) -> None:
        self.folder = folder
        self.book = folder / "book.sqlite"
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.listen = f"127.0.0.1:{free.getsockname()[1]}"
        self.settings = {
            "BOOK": str(self.book),
            "ZONE": "Europe/Lisbon",
            "LISTEN": self.listen,
            "TELEGRAM_TOKEN": TOKEN,
            "TELEGRAM_API": standin.url if standin else "http://127.0.0.1:1",
            "OWNER_CODE": CODE,
            **settings,
        }
        self.environment: dict[str, str] = {}
        self.process: subprocess.Popen[str] | Forked | None = None

    def start(self, ready: bool = True) -> Serving:
        began = self.errors().count('"serving"') if (self.folder / "err").exists() else 0
        env = {k: v for k, v in os.environ.items() if not k.startswith("RACKSIDE_")}
        env |= {f"RACKSIDE_{k}": v for k, v in self.settings.items() if v} | self.environment
        (self.folder / "err").touch()
        if self.nursery is not None and "LD_PRELOAD" not in env:
            self.process = self.nursery.start(self.folder, env)
        else:
            out, err = ((self.folder / name).open("a") for name in ("out", "err"))
            self.process = subprocess.Popen(
                [sys.executable, "-c", SERVE], env=env, stdout=out, stderr=err, text=True,
                cwd=self.folder,
            )  # fmt: skip
        if ready:
            wait_for(lambda: self.errors().count('"serving"') > began, 15)
        return self

    def errors(self) -> str:
        return (self.folder / "err").read_text()

    def output(self) -> str:
        return (self.folder / "out").read_text()

    def logged(self) -> list[dict[str, Any]]:
        return [json.loads(line) for line in self.errors().splitlines()]

    def kill(self) -> None:
        assert self.process is not None
        self.process.kill()
        self.process.wait(10)

    def stop(self, how: int = signal.SIGTERM) -> int:
        assert self.process is not None
        if self.process.poll() is None:
            self.process.send_signal(how)
        return self.process.wait(12)


@pytest.fixture(scope="session", autouse=True)
def nursery() -> Iterator[None]:
    """What forks the processes, begun by the first that is started."""
    made = Serving.nursery = Nursery()
    yield
    Serving.nursery = None
    made.close()


@pytest.fixture
def standin() -> Iterator[StandIn]:
    made = StandIn()
    yield made
    made.close()


@pytest.fixture
def serving(tmp_path: Path, standin: StandIn) -> Iterator[Serving]:
    made = Serving(tmp_path, standin)
    yield made
    if made.process is not None and made.process.poll() is None:
        made.kill()


@pytest.fixture
def owned(serving: Serving, standin: StandIn) -> Serving:
    """Running, and the owner is in."""
    serving.start()
    standin.write(OWNER, f"/start {CODE}")
    wait_for(lambda: standin.said(OWNER))
    return serving
