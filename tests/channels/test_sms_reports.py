"""What the gateway reports of a text afterwards: kept in order, and a dead number is shut."""

from __future__ import annotations

import json

import pytest
import structlog
from sqlalchemy import select, update

from bot.book import households, post
from bot.book.households import Member
from bot.book.tables import outbox
from bot.channels.sms_reports import STATES
from bot.messages import Reply
from tests.channels.sms_support import MINA, NOW, SETTINGS, Desk, desk, hand_over, sign, to_send


@pytest.fixture
def house() -> tuple[Desk, Member]:
    """A book whose owner Mina was sent one text, which the gateway calls SM7."""
    made, mina = desk()
    with made.book.writing() as conn:
        out = post.put_out(conn, Reply("F3 laid 2 in B4."), mina, "sms", MINA, NOW)
        change = update(outbox).where(outbox.c.id == out.id)
        conn.execute(change.values(sent=NOW, sent_as="SM7"))
    return made, mina


def report(to: Desk, state: str, code: str = "", sid: str = "SM7", **more: str) -> int:
    """The gateway reports; gives the status that it hears, and that it hears nothing else."""
    fields = {"AccountSid": "AC0001", "MessageSid": sid, "MessageStatus": state, "To": MINA}
    fields |= {"ErrorCode": code} if code else {}
    status, body = hand_over(to, fields | more, sign(fields | more))
    assert body == ""
    return status


def reported(of: Desk) -> list[str | None]:
    """The state of each text that was sent."""
    with of.book.reading() as conn:
        return list(conn.execute(select(outbox.c.report).order_by(outbox.c.id)).scalars())


def test_a_report_is_kept_beside_its_text(house: tuple[Desk, Member]) -> None:
    """Sent, then delivered: the last is kept with its moment, and nothing is answered."""
    made, _ = house
    assert [report(made, each) for each in ("sent", "delivered")] == [204, 204]
    with made.book.reading() as conn:
        row = conn.execute(select(outbox.c.report, outbox.c.reported)).one()
    assert row == ("delivered", NOW)
    assert made.handled == []


def test_a_state_never_goes_back(house: tuple[Desk, Member]) -> None:
    """Reports overtake each other: whatever comes after delivered, it stays delivered."""
    made, _ = house
    report(made, "delivered")
    for late in ("queued", "sent", "undelivered", "failed", "delivered"):
        assert report(made, late, "30005") == 204
        assert reported(made) == ["delivered"]
    assert len(to_send(made.book)) == 1


@pytest.mark.parametrize("state", ["", "teleported", "x" * 5000])
def test_an_unknown_state_has_no_effect(house: tuple[Desk, Member], state: str) -> None:
    """A state that we don't know is taken and forgotten."""
    made, _ = house
    assert report(made, state) == 204
    assert reported(made) == [None]


@pytest.mark.parametrize("sid", ["", "SM8", "SM7\0", "x" * 5000])
def test_a_text_that_is_not_ours_has_no_effect(house: tuple[Desk, Member], sid: str) -> None:
    """A report of a text that we did not send changes nothing, also where it names our member."""
    made, mina = house
    assert report(made, "failed", "21610", sid=sid) == 204
    assert reported(made) == [None]
    assert routes(made, mina) == [MINA]


def test_a_report_needs_its_signature(house: tuple[Desk, Member]) -> None:
    """An unsigned report is 403 and has no effect."""
    made, mina = house
    fields = {"AccountSid": "AC0001", "MessageSid": "SM7", "MessageStatus": "failed"}
    for signature in ("", sign(fields, secret="other")):
        assert hand_over(made, fields | {"ErrorCode": "21610"}, signature) == (403, "")
    assert (reported(made), routes(made, mina)) == ([None], [MINA])


@pytest.mark.parametrize("code", ["21610", "21614", "30004", "30005", "30006"])
def test_a_dead_number_is_shut_and_the_owner_told(house: tuple[Desk, Member], code: str) -> None:
    """Where the number can't be reached nothing more goes there; the owner hears it once."""
    made, mina = house
    with made.book.writing() as conn:
        households.add_address(conn, mina, "telegram", "77")
    for _ in range(2):
        report(made, "undelivered", code)
    assert reported(made)[0] == "undelivered"
    assert routes(made, mina) == ["77"]
    assert len(to_send(made.book)) == 2
    assert "Mina can't be reached by SMS" in to_send(made.book)[1]


@pytest.mark.parametrize("code", ["30003", "30007", "30008", "", "5" * 400, "²"])
def test_what_passes_shuts_nothing(house: tuple[Desk, Member], code: str) -> None:
    """A phone that is switched off is kept; it is logged without its number or a word of it."""
    made, mina = house
    with structlog.testing.capture_logs() as lines:
        report(made, "failed", code)
    assert routes(made, mina) == [MINA]
    (line,) = lines
    assert line["event"] == "a text was not delivered"
    assert MINA not in json.dumps(line) and "laid" not in json.dumps(line)


def test_a_report_that_repeats_the_words_is_no_message(house: tuple[Desk, Member]) -> None:
    """A gateway that sends our own words back with its report does not make them a message."""
    made, _ = house
    assert report(made, "delivered", Body="F3 laid 2 in B4.", From=SETTINGS.sms_number or "") == 204
    assert made.handled == []
    assert reported(made) == ["delivered"]


def test_a_message_that_came_in_is_no_report(house: tuple[Desk, Member]) -> None:
    """A message that a gateway marks as received is handled."""
    made, _ = house
    assert report(made, "received", sid="SM9", Body="F3 laid 2", From=MINA) == 204
    assert [each.text for each in made.handled] == ["F3 laid 2"]


def test_states_fit_their_column() -> None:
    """Every state fits in what the book has room for."""
    assert max(map(len, STATES)) <= outbox.c.report.type.length


def routes(made: Desk, mina: Member) -> list[str]:
    """Where something can be sent to."""
    with made.book.reading() as conn:
        return [where for _, _, where in households.routes(conn, mina.household)]
