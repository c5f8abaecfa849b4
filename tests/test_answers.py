"""Answers to reminders from message to book: who was told, what was said, what stands."""

from __future__ import annotations

from datetime import timedelta

from bot.book.pages import Pages
from bot.messages import Message
from tests.house import House


def house_with_a_pair() -> House:
    """M2 is in with F3, in a book that Ann keeps."""
    house = House()
    for text in (
        "new female F3 picta hatched 2024-06-02",
        "new male M2 picta hatched 2024-04-11",
        "new box B, 3 by 4",
        "M2 in with F3",
    ):
        house.says("Ann", text)
    return house


def later(house: House, days: float) -> str:
    """What Ann is told in the days that pass."""
    house.now += timedelta(days=days)
    return "\n".join(out.reply.text for out in house.rackside.tick())


def history(house: House, tag: str) -> list[str]:
    with house.book.reading() as conn:
        pages = Pages(conn, house.people["Ann"].household, {})
        return [each.kind for each in pages.history(tag)]


def test_out_answers_the_reminder_told() -> None:
    """ "out" after "Pull M2 from F3" is written, and the reminder is not told again."""
    house = house_with_a_pair()
    assert "Pull M2 from F3" in later(house, 2)
    assert "M2 out from F3" in house.says("Ann", "out")[0][1]
    assert "Pull M2" not in later(house, 1)


def test_not_yet_has_it_told_again() -> None:
    """ "still in" puts the reminder off by a day."""
    house = house_with_a_pair()
    later(house, 2)
    assert "again tomorrow" in house.says("Ann", "still in")[0][1]
    assert "Pull M2" not in later(house, 0.9)
    assert "Pull M2 from F3" in later(house, 0.2)


def test_who_was_not_told_is_not_understood() -> None:
    """A helper who got no reminder leans on none: "out" is then nothing."""
    house = house_with_a_pair()
    house.join("Bea", "helper")
    later(house, 2)
    before = history(house, "M2")
    house.says("Bea", "out")
    assert history(house, "M2") == before
    house.says("Ann", "out")
    assert history(house, "M2") != before


def test_an_edited_answer_answers_anew() -> None:
    """ "2 eggs" edited to "3 eggs" is the same search answered otherwise."""
    house = house_with_a_pair()
    later(house, 2)
    house.says("Ann", "out")
    house.says("Ann", "no more sessions")
    house.says("Ann", "F3 looks gravid")
    for _ in range(40):
        if "Search F3's sand" in later(house, 1):
            break
    first = Message("telegram", "e1", "Ann", "2 eggs", house.now)
    house.rackside.handle(first)
    edited = Message("telegram", "e2", "Ann", "3 eggs", house.now, edits="e1")
    told = house.rackside.handle(edited)
    assert "F3 laid 3" in told[0].reply.text
    with house.book.reading() as conn:
        pages = Pages(conn, house.people["Ann"].household, {})
        laid = [each.fields["eggs"] for each in pages.history("F3") if each.kind == "laid"]
    assert laid == [3]


def test_a_reminder_of_long_ago_is_no_longer_leant_on() -> None:
    """ "out" ten days after the one reminder, with other talk since, is not taken."""
    house = house_with_a_pair()
    later(house, 2)
    house.says("Ann", "F3 shed")
    before = history(house, "M2")
    house.now += timedelta(days=10)
    house.says("Ann", "out")
    assert history(house, "M2") == before
