"""The command line: what each command prints, and how it ends."""

from __future__ import annotations

import io
import json
import socket
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from bot import cli
from bot.serve.hold import held

COLONY = {
    "animals.csv": "tag,name,species,sex,hatched,sire,dam,place,traits,status\n"
    "P1,Fern,picta,female,2024-05-01,,,tub 1,,kept\n"
    "P2,Reed,picta,male,2024-06-01,,,tub 2,,kept\n",
    "boxes.csv": "box,rows,columns,incubator\nA,2,3,1\n",
    "pairings.csv": "male,female,put_in,taken_out\nP2,P1,2026-03-08,\n",
}
AT = ("--at", "2026-03-10T19:30+00:00")


@dataclass
class Ended:
    """How a command ended: its status and what it printed."""

    status: int
    out: str
    err: str


class Terminal:
    """Runs commands in this process, in a folder and home of their own."""

    def __init__(
        self, folder: Path, patch: pytest.MonkeyPatch, capture: pytest.CaptureFixture[str]
    ):
        self.folder, self.patch, self.capture = folder, patch, capture
        self.book = folder / "book.sqlite"

    def __call__(self, *args: str, typed: str = "", book: bool = True) -> Ended:
        self.patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(typed.encode())))
        status = 0
        try:
            cli.main([*(("--book", str(self.book)) if book else ()), *args])
        except SystemExit as end:
            status = int(end.code or 0)
        return Ended(status, *self.capture.readouterr())

    def colony(self) -> Path:
        folder = self.folder / "colony"
        folder.mkdir()
        for name, text in COLONY.items():
            (folder / name).write_text(text, encoding="utf-8")
        return folder


@pytest.fixture
def rackside(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Terminal:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("RACKSIDE_ZONE", "Europe/Lisbon")
    return Terminal(tmp_path, monkeypatch, capsys)


def test_help_names_every_command(rackside: Terminal) -> None:
    """The help of the whole and of each command says what it does."""
    whole = rackside("--help")
    assert whole.status == 0
    for name in cli.rackside.commands:
        assert name in whole.out
        assert rackside(name, "--help").out.startswith("Usage: rackside")


@pytest.mark.parametrize(
    "args", [["nope"], ["read"], ["import"], ["due", "--from", "soon"], ["read", "--at", "x", "hi"]]
)
def test_wrong_usage_is_two(rackside: Terminal, args: list[str]) -> None:
    """Wrong usage ends with 2 and one sentence that says where the help is."""
    ended = rackside(*args)
    assert ended.status == 2
    assert ended.err.startswith("rackside: ") and "--help" in ended.err
    assert len(ended.err.splitlines()) == 1


def test_a_wrong_setting_is_three(rackside: Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    """Wrong settings are told a line each, and nothing is started."""
    monkeypatch.setenv("RACKSIDE_ZONE", "Europe/Lisbonn")
    monkeypatch.setenv("RACKSIDE_LOUD", "1")
    ended = rackside("chat", typed="hello\n")
    assert ended.status == 3
    assert 'rackside: RACKSIDE_ZONE: no time zone "Europe/Lisbonn"' in ended.err.splitlines()
    assert len(ended.err.splitlines()) == 2
    assert not rackside.book.exists()


def test_a_damaged_book_is_four(rackside: Terminal) -> None:
    """A file that is no book is told so, by every command that needs it."""
    rackside.book.write_bytes(b"not a book at all" * 100)
    for args in (["check"], ["export", "out"], ["backup", "copy"], ["due"], ["read", "hello"]):
        ended = rackside(*args)
        assert (ended.status, len(ended.err.splitlines())) == (4, 1), args
    assert not (rackside.folder / "out").exists()


def test_a_book_that_is_missing_is_not_made_by_looking(rackside: Terminal) -> None:
    """due and doctor look into nothing, and leave nothing behind; check has nothing to check."""
    assert rackside("due", "--json").out == ""
    assert rackside("doctor", "--offline").status == 0
    assert rackside("check").status == 4
    assert rackside("backup", "copy").status == 4
    assert not rackside.book.exists() and not (rackside.folder / "copy").exists()


def test_a_colony_comes_in_and_goes_out(rackside: Terminal) -> None:
    """import fills a new book, check finds it whole, export writes the same files."""
    folder = rackside.colony()
    assert "animals.csv: 2 rows" in rackside("import", str(folder)).out
    assert rackside("check").status == 0
    assert rackside("export", "out").status == 0
    for name, text in COLONY.items():
        assert (rackside.folder / "out" / name).read_text() == text


def test_a_refused_import_leaves_no_book(rackside: Terminal) -> None:
    """A bad row is told on stderr, the status is 1, and no book is left where none was."""
    folder = rackside.colony()
    with (folder / "animals.csv").open("a") as file:
        file.write("P3,,picta,lady,,,,,,kept\n")
    ended = rackside("import", str(folder))
    assert ended.status == 1
    assert ended.err.startswith('rackside: animals.csv line 4: "lady" is no sex')
    assert not rackside.book.exists()


def test_what_is_due_is_a_json_line_each(rackside: Terminal) -> None:
    """due gives kind, about, due, until, text and why; the male still in is to be pulled."""
    rackside("import", str(rackside.colony()))
    out = rackside("due", "--json", "--from", "2026-03-10", "--to", "2026-03-24", *AT).out
    lines = [json.loads(line) for line in out.splitlines()]
    assert "pull-male" in [line["kind"] for line in lines]
    assert all(set(x) == {"kind", "about", "due", "until", "text", "why"} for x in lines)
    assert rackside("due", "--from", "2026-03-10", "--to", "2026-03-01").status == 2


def test_a_backup_is_put_back_only_when_it_may(rackside: Terminal) -> None:
    """restore refuses where a book with anything in it stands, unless --replace."""
    rackside("import", str(rackside.colony()))
    assert rackside("backup", "copy.sqlite").status == 0
    assert rackside("restore", "copy.sqlite").status == 1
    assert rackside("restore", "--replace", "copy.sqlite").status == 0
    assert rackside("restore", "--replace", "nowhere.sqlite").status == 1
    rackside.book.unlink()
    assert rackside("restore", "copy.sqlite").status == 0
    assert rackside("check").status == 0


def test_a_book_in_use_is_not_replaced(rackside: Terminal) -> None:
    """restore is refused while serve holds the book, also with --replace."""
    rackside("import", str(rackside.colony()))
    rackside("backup", "copy.sqlite")
    with held(rackside.book):
        ended = rackside("restore", "--replace", "copy.sqlite")
        assert (ended.status, "Stop it" in ended.err) == (1, True)
    assert rackside("restore", "--replace", "copy.sqlite").status == 0


def test_doctor_asks_the_channels(
    rackside: Terminal, monkeypatch: pytest.MonkeyPatch, unused: str
) -> None:
    """A channel that does not answer is told, unless doctor is to ask none."""
    monkeypatch.setenv("RACKSIDE_TELEGRAM_TOKEN", "123456:notarealtoken")
    monkeypatch.setenv("RACKSIDE_TELEGRAM_API", unused)
    for name, value in (("ACCOUNT", "AC1"), ("SECRET", "x"), ("NUMBER", "+351900000000")):
        monkeypatch.setenv(f"RACKSIDE_SMS_{name}", value)
    monkeypatch.setenv("RACKSIDE_SMS_API", unused)
    assert rackside("doctor", "--offline").status == 0
    ended = rackside("doctor")
    assert ended.status == 1
    assert f"wrong telegram: no answer from {unused}" in ended.out
    assert f"wrong sms: no answer from {unused}" in ended.out


def test_serve_without_a_channel_is_three(rackside: Terminal) -> None:
    """serve says what to set where no channel is set up."""
    ended = rackside("serve")
    assert (ended.status, "RACKSIDE_TELEGRAM_TOKEN" in ended.err) == (3, True)


@pytest.fixture
def unused() -> str:
    """An address at which nobody listens."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return f"http://127.0.0.1:{taken.getsockname()[1]}"


def test_doctor_names_what_is_wrong(rackside: Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    """A line each, ok or wrong with what to do; 1 where anything is wrong."""
    assert "ok book" in rackside("doctor", "--offline").out.splitlines()
    rackside.book.write_bytes(b"not a book at all" * 100)
    ended = rackside("doctor", "--offline")
    assert ended.status == 1
    assert any(line.startswith("wrong book: ") for line in ended.out.splitlines())
    monkeypatch.setenv("RACKSIDE_LOG", "loud")
    ended = rackside("doctor", "--offline")
    assert (ended.status, ended.out.startswith("wrong RACKSIDE_LOG: ")) == (1, True)


def test_inbreeding_is_asked_of_a_file(rackside: Terminal) -> None:
    """The young of half siblings come out at one eighth; a loop or a stranger is refused."""
    file = rackside.folder / "pedigree.csv"
    file.write_text("tag,sire,dam\nA,S,X\nB,S,Y\n")
    ask = ("inbreeding", "--pedigree", str(file), "--sire", "A", "--dam")
    assert json.loads(rackside(*ask, "B").out) == {"inbreeding": 0.125}
    assert rackside(*ask, "Q").status == 2
    file.write_text("tag,sire,dam\nA,B,\nB,A,\n")
    assert rackside(*ask, "B").status == 2


def test_a_forecast_is_one_json_object(rackside: Terminal) -> None:
    """forecast hatch and clutch print a window; what they can't work with is told."""
    hatch = ("forecast", "hatch", "--species", "picta", "--laid", "2026-03-10")
    found = json.loads(rackside(*hatch, "--celsius", "27").out)
    assert found["from"] < found["hatch"] < found["to"]
    assert rackside(*hatch).status == 2
    clutch = ("forecast", "clutch", "--species", "picta", "--laid", "2026-02-01,2026-02-22")
    assert "days" in json.loads(rackside(*clutch, "--on", "2026-03-01").out)
    asked = json.dumps({"species": "picta", "laid": "2026-03-10", "celsius": 27})
    assert json.loads(rackside("forecast", "--lines", typed=asked).out) == found
    assert json.loads(rackside("forecast", "hatch", "--lines", typed=asked).out) == found


def test_reading_writes_nothing(rackside: Terminal) -> None:
    """read says what a message would be, also where there is no book yet."""
    ended = rackside("read", "--json", *AT, "new female F3 picta")
    assert json.loads(ended.out)["records"][0]["tag"] == "F3"
    assert not rackside.book.exists()


def test_reading_lines_answers_in_order(rackside: Terminal) -> None:
    """--lines answers a line each; a line that is no message is told by number."""
    rackside("import", str(rackside.colony()))
    lines = [{"text": "P1 shed", "at": "2026-03-10T19:30:00+00:00"}, {"text": "hello"}]
    typed = "\n".join(map(json.dumps, lines))
    answers = [json.loads(x) for x in rackside("read", "--lines", typed=typed).out.splitlines()]
    assert [answer["outcome"] for answer in answers] == ["records", "chat"]
    assert "line 1" in rackside("read", "--lines", typed="hello").err


def test_a_piped_conversation_is_plain(rackside: Terminal) -> None:
    """Lines piped in are answered, nothing is asked first, and the end of input ends it."""
    ended = rackside("chat", typed="new female F3 picta\nF3 shed\nundo\n")
    assert ended.status == 0
    assert "F3" in ended.out
    assert rackside("check").status == 0


@pytest.mark.slow
def test_a_cold_read_takes_under_a_second(tmp_path: Path) -> None:
    """From the start of the process to the answer; none of the heavy libraries is loaded."""
    began = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "bot.cli", "--book", "nowhere.sqlite", "read",
         "F3 laid 2, B4"],
        capture_output=True, text=True, check=True, cwd=tmp_path,
    )  # fmt: skip
    took = time.perf_counter() - began
    loaded = {line.split("|")[-1].strip().split(".")[0] for line in done.stderr.splitlines()}
    assert not loaded & {"alembic", "dateparser", "matplotlib", "scipy", "babel", "aiohttp"}
    assert took < 3, "an import trace and a busy machine take longer; well under a second without"
