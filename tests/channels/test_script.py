"""Conversation files: how they are read, how time passes in them, what counts as met."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from bot.channels.chatfile import ChatFileError, matches, move, parse
from bot.channels.script import FileClock, Player
from bot.messages import Message, Outgoing, Reply

LISBON = ZoneInfo("Europe/Lisbon")


class Parrot:
    """Repeats what it hears, and tells "ring" at the moments it was given."""

    def __init__(self, clock: Callable[[], datetime], rings: list[datetime]) -> None:
        self.clock, self.rings, self.done = clock, rings, []
        self.heard: list[Message] = []

    def handle(self, message: Message) -> list[Outgoing]:
        self.heard.append(message)
        return [self._out(Reply(f"You said: {message.text}"), message.address)]

    def tick(self) -> list[Outgoing]:
        due = [ring for ring in self.rings if ring <= self.clock() and ring not in self.done]
        self.done += due
        return [self._out(Reply(f"ring {r:%H:%M}", reminder=str(r)), "keeper") for r in due]

    def sent(self, outgoing_id: int) -> None:
        pass

    def next_wake(self, after: datetime) -> datetime | None:
        return min((ring for ring in self.rings if ring > after), default=None)

    def _out(self, reply: Reply, who: str) -> Outgoing:
        return Outgoing(1, "script", who, who, reply)


class Hall:
    """A household that notes who joined and where it is."""

    def __init__(self) -> None:
        self.zone, self.joined = "UTC", []

    def set_zone(self, zone: str) -> None:
        self.zone = zone

    def join(self, name: str, role: str, now: datetime) -> None:
        self.joined.append((name, role))


def played(text: str, *rings: datetime) -> tuple[Player, list[str]]:
    clock, lines = FileClock(datetime(2026, 3, 1, 18, 30, tzinfo=UTC)), []
    player = Player(Parrot(clock, list(rings)), Hall(), clock, lines.append)
    player.play(parse(text))
    return player, lines


def test_the_exchange_is_printed() -> None:
    """What is said and what comes back stand under each other."""
    player, lines = played("# a first evening\n> F3 laid 2\n< You said: F3 laid 2")
    assert lines == ["> F3 laid 2", "< You said: F3 laid 2"]
    assert not player.failures


def test_an_expectation_that_is_not_met_is_told() -> None:
    """The line, what was expected and what came instead are named."""
    player, _ = played("> hello\n< ...goodbye...")
    assert player.failures == ['line 2: expected "...goodbye...", and "You said: hello" came']


def test_an_expectation_with_nothing_to_meet_fails() -> None:
    """A second < fails where only one message came."""
    player, _ = played("> hello\n< ...\n< ...")
    assert player.failures == ['line 3: expected "...", and nothing came']


def test_what_falls_due_on_the_way_is_sent_at_its_moment() -> None:
    """A ring at nine is told at nine, though the clock is moved past it."""
    ring = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
    player, lines = played("> hello\n@clock +2d 08:00\n< ring 09:00\n", ring)
    assert not player.failures
    assert any("[02 Mar 09:00] ring" in line for line in lines)


def test_what_falls_due_at_the_very_moment_is_sent() -> None:
    """A ring at the moment that the clock is set to comes; one a minute later does not."""
    ring = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
    assert not played("> hello\n@clock 2026-03-02 09:00\n< ring...", ring)[0].failures
    assert played("> hello\n@clock 2026-03-02 08:59\n< ring...", ring)[0].failures


def test_the_next_message_must_be_the_expected_one() -> None:
    """An expectation does not look past the message that came next."""
    rings = [datetime(2026, 3, 2, hour, 0, tzinfo=UTC) for hour in (9, 10)]
    assert played("> hello\n@clock +1d\n< ring 10:00", *rings)[0].failures


def test_another_member_speaks() -> None:
    """The owner begins the household; a new name joins it in the role that is given."""
    player, lines = played("@as Ines helper\n> fed F3\n@as keeper\n> thanks")
    assert player.household.joined == [("keeper", "owner"), ("Ines", "helper")]
    assert [m.address for m in player.talker.heard] == ["Ines", "keeper"]
    assert lines[0] == "Ines > fed F3"


def test_a_message_may_have_several_lines() -> None:
    """An indented line goes on with the message above it."""
    player, _ = played("> F3 laid 2\n  F7 shed")
    assert [m.text for m in player.talker.heard] == ["F3 laid 2\nF7 shed"]


@pytest.mark.parametrize(
    ("said", "moment"),
    [
        ("2026-03-01 18:30", "2026-03-01T18:30+00:00"),
        ("2026-03-01", "2026-03-01T09:00+00:00"),
        ("+2d 09:00", "2026-03-29T09:00+01:00"),
        ("+2d", "2026-03-29T12:00+01:00"),
        ("+1w", "2026-04-03T12:00+01:00"),
        ("+48h", "2026-03-29T13:00+01:00"),
        ("+1d3h", "2026-03-28T15:00+00:00"),
    ],
)
def test_the_clock_moves(said: str, moment: str) -> None:
    """Days keep the wall time over a clock change (29 March in Lisbon); hours are real hours."""
    now = datetime(2026, 3, 27, 12, 0, tzinfo=LISBON)
    assert move(now, said).isoformat(timespec="minutes") == moment


def test_the_zone_decides_the_clock() -> None:
    """A clock set in a zone is that zone's wall time."""
    player, _ = played("@zone Asia/Tokyo\n@clock 2026-03-01 18:30\n> hello")
    assert player.talker.heard[0].at == datetime(2026, 3, 1, 9, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("expected", "said", "met"),
    [
        ("...pull M2...", "Late, since yesterday:\nPull M2 from F3.", True),
        ("F3 laid 2.", "F3 laid 2.", True),
        ("F3 laid 2", "F3 laid 2.", False),
        ("...F3", "F3 laid 2.", False),
        ("...B4...B5...", "B4 and B5", True),
        ("...B5...B4...", "B4 and B5", False),
        ("...", "", True),
        ("a.c", "abc", False),
    ],
)
def test_what_an_expectation_matches(expected: str, said: str, met: bool) -> None:
    """Three dots are anything, line ends too; the rest must stand there."""
    assert matches(expected, said) is met


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("> hi\nF3 laid 2", 'line 2: "F3 laid 2" is none of'),
        ("@zone Europe/Lisbonn", 'line 1: no time zone "Europe/Lisbonn"'),
        ("@clock soon", 'line 1: "soon" is no moment'),
        ("@as", "line 1: @as needs a name"),
        ("  hello", "line 1: an indented line"),
    ],
)
def test_a_line_that_does_not_read_is_named(text: str, reason: str) -> None:
    """The line and what was expected there are told before anything is played."""
    with pytest.raises(ChatFileError) as caught:
        parse(text)
    assert str(caught.value).startswith(reason)


def test_a_season_without_rings_passes_at_once() -> None:
    """Only the moments at which something may be due cost anything."""
    start = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
    rings = [start + timedelta(days=day) for day in range(200)]
    player, lines = played("> hello\n@clock +200d", *rings)
    assert sum("ring" in line for line in lines) == 200
    assert player.clock.moment == datetime(2026, 9, 17, 18, 30, tzinfo=UTC)
