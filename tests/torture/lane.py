"""One household, the channels it is on, and the processes that serve it, to be ill-treated."""

from __future__ import annotations

import json
import logging
import queue
import random
import shutil
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from bot.channels.telegram import secret
from tests.serve.conftest import Serving, wait_for
from tests.serve.nursery import Nursery
from tests.serve.standin import TOKEN, StandIn, status, too_many
from tests.torture.clock import Clock, shifted_nursery
from tests.torture.counting import Arrived, Said, ToTell, count, unfolded
from tests.torture.gateway import SMS, Gateway, broken, busy, health, post, text_to
from tests.torture.household import EVERYBODY, Person, Stream, write_book, written

logging.getLogger("asyncio").disabled = True  # requests that hang are left hanging at the end

SETTLES = 120.0  # seconds to answer and tell the rest in, once it is left in peace
ON_ITS_WAY = 30  # tenths of a second that a send may take
STILL = 15.0  # so long nothing has arrived: then nothing more will
FAULTS = ("lost", "lost", status(502), status(500), too_many(1), 1.5)
SMS_FAULTS = ("lost", busy(), broken(), 1.5)
NO_HOOK = "http://127.0.0.1:1"  # nobody calls there: the postman hands the updates over


class Lane:
    """Owns everything it starts. `database` None is a book in a file, served by one process.

    With a database, two serve it, and what people write on Telegram is handed to either, as a
    webhook is; else it is asked for.
    """

    def __init__(
        self, seed: int, database: str | None = None, *, zone: str = "Europe/Lisbon",
        shift: int | None = None, folder: Path | None = None,
        speakers: Sequence[Person] = EVERYBODY,
    ) -> None:  # fmt: skip
        self.chance = random.Random(seed)
        self.folder = folder or Path(tempfile.mkdtemp(prefix="rackside-torture-"))
        self.zone = zone
        self.clock = Clock(self.folder / "shift", shift or 0)
        self.nursery = Nursery() if shift is None else shifted_nursery(self.folder)
        self.standin = StandIn()
        self.gateway = Gateway(self.standin)
        self.book = database or str(self.folder / "book.sqlite")
        self.stream = Stream(self.chance, speakers)
        self.to_tell: list[ToTell] = []
        self.all = [self._serving(name, database) for name in ("ab" if database else "a")]
        self.postmen = {each: _Postman(self) for each in ("telegram", "sms")}
        self.talking = threading.Event()
        self.last_kill = 0.0
        self.kills = 0

    def _serving(self, name: str, database: str | None) -> Serving:
        home = self.folder / name
        home.mkdir()
        settings = {"SMS_API": self.gateway.url, "BACKUPS": "off", "ZONE": self.zone, **SMS}
        if database:
            settings["TELEGRAM_WEBHOOK"] = NO_HOOK
        made = Serving(home, self.standin, BOOK=self.book, **settings)
        made.nursery = self.nursery
        made.environment["SHIFT"] = str(self.clock.file)
        return made

    @property
    def hooked(self) -> bool:
        """Whether updates are handed over."""
        return len(self.all) > 1

    def fill(self, dues: Sequence[datetime], digest: str | None = None) -> None:
        """Write the book, with reminders for these moments."""
        self.to_tell = write_book(self.book, self.zone, self.clock.now(), dues, digest)

    # --- what people do ---------------------------------------------------------------------

    def say(self, plans: bool = True) -> Said:
        """Somebody writes, by their own channel."""
        now = self.clock.now()
        who, said = self.stream.next(now, plans)
        if who.channel == "sms" or self.hooked:
            self.postmen[who.channel].post(said)
        else:
            update = self.update(said)
            if said.edits:  # as the stand-in is told of an edit
                update["message"] = update.pop("edited_message")
            self.standin.put(update)
        return said

    def update(self, said: Said) -> dict[str, Any]:
        """As Telegram tells it."""
        number = 1000 + (said.edits or said.number)
        message = self.standin.message(int(said.address), number, said.text)
        message["date"] = int(said.at.timestamp())
        if said.edits:
            message["edit_date"] = message["date"]
        return {"edited_message" if said.edits else "message": message}

    @contextmanager
    def talk(self, most: float, plans: Callable[[], bool] = lambda: True) -> Iterator[None]:
        """While the block runs, somebody writes every now and then; at most so many s between.

        `plans` says whether they may ask to be reminded of more.
        """
        chance = random.Random(self.chance.random())
        self.talking.set()

        def speak() -> None:
            while self.talking.is_set():
                self.say(plans())
                time.sleep(chance.uniform(0.05, most))

        speaker = threading.Thread(target=speak, daemon=True)
        speaker.start()
        try:
            yield
        finally:
            self.talking.clear()
            speaker.join(5)

    def trouble(self) -> None:
        """Something goes wrong at a channel, some of the time."""
        if self.chance.random() < 0.5 and len(self.standin.faults) < 3:
            self.standin.faults.append(("sendMessage", self.chance.choice(FAULTS)))
        if self.chance.random() < 0.2 and len(self.gateway.faults) < 2:
            self.gateway.faults.append(self.chance.choice(SMS_FAULTS))
        if not self.hooked and self.chance.random() < 0.3 and len(self.standin.faults) < 5:
            fault = self.chance.choice(["lost", status(502), too_many(1)])
            self.standin.faults.append(("getUpdates", fault))

    # --- processes --------------------------------------------------------------------------

    def alive(self) -> list[Serving]:
        """The processes that run."""
        return [s for s in self.all if s.process is not None and s.process.poll() is None]

    def start(self) -> None:
        """Start what does not run, and wait until it serves."""
        for each in self.all:
            if each not in self.alive():
                each.start(ready=False)
        for each in self.all:
            wait_for(lambda each=each: health(each.listen)[0], 30)

    def kill(self, which: Serving) -> None:
        which.kill()
        self.kills += 1
        self.last_kill = time.monotonic()

    def health(self) -> tuple[int, dict[str, Any]]:
        """The worst that a process says: each knows of a channel what it has met with itself."""
        said = [health(each.listen) for each in self.all]
        return max(said, key=lambda each: (each[0] != 200, "down" in each[1].values()))

    # --- the end ----------------------------------------------------------------------------

    def settle(self, within: float = SETTLES) -> float:
        """Wait until everything that was said and fell due has arrived; how long that took.

        Where it does not come, the table says what is missing.
        """
        self.standin.faults.clear()
        self.gateway.faults.clear()
        self.start()
        began = time.monotonic()
        latest = max((each.due for each in self._all_to_tell()), default=self.clock.now())
        wait = max(0.0, (latest - self.clock.now()).total_seconds())
        with suppress(AssertionError):
            wait_for(self._complete, within + wait)
        time.sleep(1.5)  # what came too often would come now
        return time.monotonic() - began

    def _all_to_tell(self) -> list[ToTell]:
        return self.to_tell + self.stream.to_tell

    def _complete(self) -> bool:
        time.sleep(0.3)
        if any(not each.idle for each in self.postmen.values()):
            return False
        arrived = self.arrived()
        last = max((each.due for each in self._all_to_tell()), default=self.clock.now())
        past = self.clock.now() > last + timedelta(seconds=STILL)
        if past and arrived and time.monotonic() - arrived[-1].at > STILL:
            return True
        answered = {(each.address, each.answers) for each in arrived}
        told = {(each.address, word) for each in arrived for word in each.reminds}
        due = {(a, each.word) for each in self._all_to_tell() for a in each.addresses}
        return {(each.address, each.word) for each in self.stream.said} <= answered and due <= told

    def arrived(self) -> list[Arrived]:
        """What both channels took, in order."""
        found = [(c["chat_id"], c["text"], c["at"]) for c in self.standin.said()]
        found += [(c["to"], c["text"], c["at"]) for c in list(self.gateway.taken)]
        return sorted(
            (Arrived(str(a), text, at, self._told_at(at)) for a, text, at in found),
            key=lambda each: each.at,
        )

    def _told_at(self, at: float) -> datetime:
        """The latest that the clock showed while it was told: it may be set back on the way."""
        return max(self.clock.at(at - tenths / 10) for tenths in range(ON_ITS_WAY))

    def counts(self) -> dict[str, int]:
        """Stop everything and count."""
        for each in self.alive():
            each.stop()
        book = written(self.book)
        last = self.last_kill or float("inf")
        arrived = [unfolded(each, book.replies) for each in self.arrived()]
        found = count(self.stream.said, self._all_to_tell(), arrived, book, last)
        return {"kills": self.kills, **found}

    def close(self) -> None:
        """Leave nothing running."""
        for postman in self.postmen.values():
            postman.end()
        for each in self.alive():
            each.kill()
        self.gateway.close()
        self.standin.close()
        if self.nursery is not None:
            self.nursery.close()
        shutil.rmtree(self.folder, ignore_errors=True)


class _Postman:
    """Hands messages over in order: each until some process has taken it, a few of them twice."""

    def __init__(self, lane: Lane) -> None:
        self._lane = lane
        self._bag: queue.Queue[Said | None] = queue.Queue()
        self._chance = random.Random(lane.chance.random())
        self._carries = threading.Thread(target=self._run, daemon=True)
        self._carries.start()
        self._posted, self._done = 0, 0

    def post(self, said: Said) -> None:
        self._posted += 1
        self._bag.put(said)

    @property
    def idle(self) -> bool:
        return self._posted == self._done

    def end(self) -> None:
        self._bag.put(None)

    def _run(self) -> None:
        while (said := self._bag.get()) is not None:
            update = json.dumps({"update_id": said.number, **self._lane.update(said)}).encode()
            while not 200 <= self._hand(said, update) < 300:
                time.sleep(0.2)
            if self._chance.random() < 0.1:
                self._hand(said, update)
            self._done += 1

    def _hand(self, said: Said, update: bytes) -> int:
        to = self._chance.choice(self._lane.all)
        if said.address.startswith("+"):
            return text_to(to.listen, f"SM{said.number}", said.address, said.text)
        url = f"http://{to.listen}/telegram/{secret(TOKEN, 'path')}"
        header = {"X-Telegram-Bot-Api-Secret-Token": secret(TOKEN, "header")}
        return post(url, update, {"Content-Type": "application/json", **header})


def moments(
    chance: random.Random, begin: datetime, seconds: float,
    apart: tuple[float, float] = (0.3, 1.5),
) -> list[datetime]:  # fmt: skip
    """Moments at which reminders fall due, for so long from `begin`."""
    found, at = [], 2.0
    while at < seconds:
        found.append(begin + timedelta(seconds=round(at, 3)))
        at += chance.uniform(*apart)
    return found
