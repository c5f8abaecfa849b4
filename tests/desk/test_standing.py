"""Standing in as it is asked for at the desk: who, from when until when, and back again."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from bot.book import standins
from bot.book.standins import StandIn
from bot.language.reading import Outcome, Reading
from tests.house import House, paired

FRIDAY, SUNDAY_EVENING = "2026-03-06T00:00", "2026-03-08T20:00"


@pytest.fixture
def house() -> House:
    """Ann owns the book, Mina helps, Wim watches."""
    made = House()
    made.join("Mina Roe", "helper")
    made.join("Wim", "watcher")
    return made


def agreed(house: House) -> list[StandIn]:
    with house.book.reading() as conn:
        return standins.unreported(conn, house.people["Ann"].household)


def weekend(house: House, who: str = "mina", by: str = "Ann") -> str:
    span = {"from": FRIDAY, "until": SUNDAY_EVENING}
    return house.asks(by, "standin", who=who, **span).text


def test_a_member_is_meant_by_name_or_first_name(house: House) -> None:
    """The span is said back, both ends; the book keeps it in the household's time."""
    text = weekend(house)
    assert text.startswith("Mina Roe stands in for you from Fri 6 Mar to Sun 8 Mar at 20:00.")
    (made,) = agreed(house)
    assert made.member == house.people["Mina Roe"].id
    assert (made.starts.isoformat(), made.ends.isoformat()) == (
        "2026-03-06T00:00:00+00:00", "2026-03-08T20:00:00+00:00",
    )  # fmt: skip
    assert weekend(house, "MINA ROE").startswith("Mina Roe stands in")
    assert len(agreed(house)) == 1


def test_whole_days_count_to_their_end(house: House) -> None:
    """ "Friday to Sunday" is over as Monday begins."""
    text = house.asks("Ann", "standin", who="mina", **{"from": "2026-03-06", "until": "2026-03-08"})
    assert "from Fri 6 Mar to Sun 8 Mar." in text.text
    assert agreed(house)[0].ends.isoformat() == "2026-03-09T00:00:00+00:00"


@pytest.mark.parametrize("answer", ["1", "Mina", "mina roe"])
def test_a_sister_is_asked_about_and_chosen(house: House, answer: str) -> None:
    """By number or name; a watcher is no choice; the span is that of the question."""
    text = weekend(house, "sister")
    assert text == (
        "I don't know sister here. Who stands in for you from Fri 6 Mar to Sun 8 Mar at 20:00? "
        "1 Mina Roe"
    )
    assert agreed(house) == []
    reply = house.reads("Ann", Reading(Outcome.UNCLEAR), typed=answer)
    assert reply.text.startswith("Mina Roe stands in for you from Fri 6 Mar")
    assert len(agreed(house)) == 1


def test_another_message_leaves_the_question_and_agrees_to_nothing(house: House) -> None:
    """Small talk is no name."""
    weekend(house, "sister")
    house.reads("Ann", Reading(Outcome.CHAT), typed="thanks")
    assert agreed(house) == []


def test_with_nobody_there_it_says_how_to_invite_and_waits(house: House) -> None:
    """Whoever joins as a helper stands in as was asked; Ann and the helper hear of it."""
    alone = House()
    text = weekend(alone, "sister")
    assert 'Say "add a helper" and give sister the code' in text
    alone.now += timedelta(hours=1)
    alone.join("Lia", "helper")
    sent = alone.look()
    assert [name for name, _ in sent] == ["Ann", "Lia"]
    assert sent[0][1].startswith("Lia has joined and stands in for you from Fri 6 Mar")
    assert len(agreed(alone)) == 1
    assert alone.look() == []


@pytest.mark.parametrize(
    ("who", "said"), [("ann", "That is you."), ("wim", "Wim is a watcher and can't log.")]
)
def test_who_cannot_stand_in(house: House, who: str, said: str) -> None:
    """Not oneself, and not a watcher."""
    assert weekend(house, who).startswith(said)
    assert agreed(house) == []


def test_only_keepers_ask_for_it(house: House) -> None:
    """A helper is sent to the owner."""
    assert "for a keeper of this book" in weekend(house, "ann", by="Mina Roe")


@pytest.mark.parametrize("until", ["2026-03-01T18:59", "2026-02-20"])
def test_a_time_that_is_over_is_refused(house: House, until: str) -> None:
    """Both a minute ago and last month."""
    assert house.asks("Ann", "standin", who="mina", until=until).text.startswith("That time is ov")
    assert agreed(house) == []


def test_with_no_end_it_lasts_until_back(house: House) -> None:
    """Four weeks at most."""
    house.asks("Ann", "standin", who="mina")
    (made,) = agreed(house)
    assert made.ends - made.starts == timedelta(days=28)


def test_back_before_it_began_calls_it_off(house: House) -> None:
    """Mina, who had been asked, hears that she isn't needed."""
    weekend(house)
    assert "Ann has asked you to stand in from Fri 6 Mar" in house.letters("Mina Roe")[-1]
    text = house.asks("Ann", "standin", until="now").text
    assert text == "Mina Roe doesn't stand in for you after all. Reminders come to you."
    assert "doesn't need you to stand in" in house.letters("Mina Roe")[-1]
    assert agreed(house) == []


def test_back_when_nobody_stands_in(house: House) -> None:
    """It is no error."""
    text = house.asks("Ann", "standin", until="now").text
    assert text == "Nobody stands in for you. Reminders come to you."


def test_back_early_ends_it_with_the_account(house: House) -> None:
    """What was done and what was not, at once; reminders come to Ann again."""
    paired(house)
    house.asks("Ann", "standin", who="mina", until=SUNDAY_EVENING)
    house.wait(days=1, hours=15)
    house.says("Mina Roe", "F3 shed")
    house.now += timedelta(hours=1)
    text = house.asks("Ann", "standin", until="now").text
    assert text.splitlines() == [
        "Welcome back. Reminders come to you again.",
        "While you were away, 1 to 3 Mar:",
        "Today, Mina Roe: F3 shed.",
        "Not done:",
        "Pull M2 from F3.",
    ]
    assert house.letters("Mina Roe")[-1].startswith("That was it: Ann's reminders go to Ann again.")
    assert [name for name, text in house.wait(days=9) if "M2" in text or "F3" in text] == []


def test_a_longer_stay_is_the_same_standing_in(house: House) -> None:
    """Another end for the same person: the account covers it from its start."""
    house.asks("Ann", "standin", who="mina", until="2026-03-03T20:00")
    began = agreed(house)[0].starts
    house.now += timedelta(days=1)
    house.asks("Ann", "standin", who="mina", until="2026-03-05T20:00")
    (made,) = agreed(house)
    assert (made.starts, made.ends.day) == (began, 5)
    said = "Ann has asked you to stand in until Thu 5 Mar at 20:00."
    assert house.letters("Mina Roe")[-1].startswith(said)
    assert [name for name, text in house.look() if "You stand in" in text] == ["Mina Roe"]


def test_another_after_one_was_called_off_is_greeted(house: House) -> None:
    """Each one who begins is told so, whoever was asked before."""
    house.join("Lia", "helper")
    house.asks("Ann", "standin", who="mina", until="2026-03-03T20:00")
    assert [name for name, _ in house.look()] == ["Mina Roe"]
    house.asks("Ann", "standin", until="now")
    house.now += timedelta(minutes=1)
    house.asks("Ann", "standin", who="lia", until="2026-03-03T20:00")
    assert [name for name, _ in house.look()] == ["Lia"]


def test_a_span_over_a_clock_change_keeps_its_wall_times(house: House) -> None:
    """Until Sunday 29 March at 20:00, when Lisbon is an hour ahead of UTC."""
    house.asks("Ann", "standin", who="mina", until=datetime(2026, 3, 29, 20, 0))
    assert agreed(house)[0].ends.isoformat() == "2026-03-29T19:00:00+00:00"
