"""While the keeper is away: the stand-in's hello, reminders, account, and going back."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from tests.house import House, paired

PULL = "Pull M2 from F3"
TUESDAY_EVENING = "2026-03-03T20:00"


@pytest.fixture
def house() -> House:
    """M2 is in with F3 until Tuesday at nine; Mina stands in for Ann until that evening."""
    made = House()
    made.join("Mina", "helper")
    made.join("Lia", "helper")
    paired(made)
    stand_in(made)
    return made


def stand_in(house: House, **settings: Any) -> None:
    house.asks("Ann", "standin", **({"who": "mina", "until": TUESDAY_EVENING} | settings))


def told(sent: list[tuple[str, str]], words: str = PULL) -> list[str]:
    return [name for name, text in sent if words in text]


def test_hello_says_what_is_coming_once(house: House) -> None:
    """At the start, to the stand-in alone."""
    ((name, text),) = house.look()
    assert (name, text.splitlines()) == (
        "Mina",
        [
            "You stand in for Ann until Tue 3 Mar at 20:00. I'll say what is to be done when it is"
            ' time, where and how. Answer "done", or say what happened.',
            "Coming up:",
            "Tue 3 Mar: Pull M2 from F3",
        ],
    )
    assert house.look() == []


def test_hello_waits_for_the_morning(house: House) -> None:
    """Not in her quiet hours."""
    house.set("Mina", quiet_from="18:00", quiet_to="08:00")
    assert house.wait(hours=12, minutes=59) == []
    assert [name for name, _ in house.wait(minutes=1)] == ["Mina"]


def test_what_begins_or_ends_with_a_day_is_said_in_the_morning(house: House) -> None:
    """Nobody is written to at midnight; the reminders change hands then all the same."""
    house.asks("Ann", "standin", until="now")
    stand_in(house, **{"from": "2026-03-03", "until": "2026-03-03"})
    assert house.wait(days=1, hours=12, minutes=59) == []
    ((name, text),) = house.wait(minutes=1)
    assert (name, text[:20]) == ("Mina", "You stand in for Ann")
    assert told(house.wait(hours=1)) == ["Mina"]
    assert told(house.wait(hours=22, minutes=59), "While you were away") == []
    assert told(house.wait(minutes=1), "While you were away, 3 Mar:") == ["Ann"]


def test_reminders_go_to_the_stand_in_instead(house: House) -> None:
    """With where, how, what to look for, when to ring whom, and the hygiene line."""
    house.look()
    ((name, text),) = house.wait(days=1, hours=14)
    assert (name, text.splitlines()[:2]) == ("Mina", [f"{PULL}.", "Where: tub 3."])
    for part in ("Look for: bites", "Ring Ann if", "Wash hands with soap"):
        assert part in text


def test_what_was_told_before_is_in_the_hello(house: House) -> None:
    """It is hers now: numbered, so that "done 1" means it; Ann hears that she did it."""
    house.asks("Ann", "standin", until="now")
    house.wait(days=1, hours=14)
    stand_in(house)
    ((name, text),) = house.look()
    assert name == "Mina"
    assert "To do now:\n1 Pull M2 from F3" in text
    assert told(house.says("Mina", "done 1"), "Mina has done it") == ["Ann"]


def test_at_the_end_there_is_an_account_and_it_goes_back(house: House) -> None:
    """Once, at the minute; the next reminder is Ann's again."""
    house.wait(days=1, hours=15)
    house.says("Mina", "pulled M2")
    house.says("Mina", "F3 shed")
    house.says("Mina", "undo")
    house.says("Ann", "note F3: call Mina")
    assert house.wait(hours=9, minutes=59) == []
    sent = house.wait(minutes=1)
    assert sent[0] == (
        "Ann",
        "While you were away, 1 to 3 Mar:\nToday, Mina: M2 out from F3.\nNothing is left to do.",
    )
    assert told(sent, "Thank you") == ["Mina"]
    later = house.wait(days=3)
    assert told(later, "Put M2 in with F3 again") == ["Ann"]
    assert told(later, "While you were away") == []


def test_the_account_waits_for_the_keepers_quiet_hours(house: House) -> None:
    """She comes back asleep, and reads it in the morning."""
    house.set("Ann", quiet_from="19:00", quiet_to="07:00")
    assert told(house.wait(days=2, hours=11, minutes=59), "While you were away") == []
    assert told(house.wait(minutes=1), "While you were away") == ["Ann"]


def test_at_the_hour_of_the_digest_the_keeper_hears_so_far(house: House) -> None:
    """Instead of what is due today, which is not theirs now."""
    house.set("Ann", digest="21:00")
    house.says("Mina", "F3 shed")
    sent = house.wait(hours=2)
    assert (
        "Ann",
        "While you are away, so far:\nToday, Mina: F3 shed.\nNothing is left to do.",
    ) in sent


def test_the_stand_in_who_does_not_answer_is_passed_over(house: House) -> None:
    """To the next helper, and at the very last to who is away."""
    sent = house.wait(days=1, hours=16)
    assert told(sent) == ["Mina", "Mina", "Lia"]  # the hello names it, too
    assert sent[-1][1].startswith("Passed on from Mina, no answer so far.")


def test_the_last_in_line_is_who_is_away(house: House) -> None:
    """Better disturbed than a male left in."""
    house.set("Lia", quiet_from="06:00", quiet_to="22:00")
    assert told(house.wait(days=1, hours=16)) == ["Mina", "Mina", "Ann"]


def test_a_stand_in_who_leaves_the_book_gives_it_back(house: House) -> None:
    """Ann hears it, and reminders come to her."""
    house.look()
    house.set("Mina", gone=house.now)
    sent = house.wait(days=1, hours=14)
    assert sent[0] == ("Ann", "Mina can't stand in for you any more. Reminders come to you again.")
    assert told(sent) == ["Ann"]


def test_several_at_once_carry_the_hygiene_line_once_and_the_steps_once(house: House) -> None:
    """More than three fold into one message: places, steps by kind of work, one hygiene line."""
    for number in (4, 5, 6, 7):
        house.says("Ann", f"new female F{number} picta hatched 2024-05-09, tub {number}")
        house.says("Ann", f"new male M{number} picta hatched 2024-05-02")
        house.says("Ann", f"M{number} in with F{number}")
    house.says("Ann", "pulled M2")
    house.look()
    house.wait(days=1)  # until Monday evening
    ((name, text),) = house.wait(hours=14)
    assert name == "Mina"
    assert "Pull M4 from F4, tub 4" in text
    assert text.count("never hold him by the tail") == 1
    assert text.count("Wash hands with soap") == 1
    second = next(line[2:].split(",")[0] for line in text.splitlines() if line[:2] == "2 ")
    assert house.asks("Mina", "done", task=2).text.startswith(f"Done: {second}.")


def test_two_keepers_and_only_one_away(house: House) -> None:
    """The other keeper goes on being told."""
    house.join("Bo", "keeper")
    assert sorted(set(told(house.wait(days=1, hours=14)))) == ["Bo", "Mina"]


def test_a_restart_greets_and_reports_no_second_time(house: House) -> None:
    """What went out is in the book."""
    from bot.service import Rackside

    house.look()
    house.rackside = Rackside(house.book, lambda: house.now)
    assert house.look() == []
    house.wait(days=3)
    house.now -= timedelta(hours=30)
    house.rackside = Rackside(house.book, lambda: house.now)
    assert told(house.wait(days=3), "While you were away") == []
