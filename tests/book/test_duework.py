"""After a message only what it can change is worked out again; the rows are the same as anew."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select

import scheduler.reminders
from bot.book import reminders, tables
from bot.book.households import Member
from bot.book.pages import Cache, Pages
from bot.book.store import Book
from bot.records import Record
from tests.book import test_replay
from tests.book.support import NOW, TODAY, new_book, rec
from tests.book.test_replay import FEMALES, MALES, days

late = days.map(lambda day: TODAY - timedelta(days=day.toordinal() % 40))
places = st.sampled_from(["incubator 1", "incubator 2", "box B"])
more = st.one_of(
    st.builds(lambda on, p, t: rec("reading", on, place=p, celsius=t), late, places,
              st.floats(20, 32)),
    st.builds(lambda on: rec("watered", on, place="box B"), late),
    st.builds(lambda on, tag: rec("searched", on, tag=tag, found=0), late,
              st.sampled_from(FEMALES)),
    st.builds(lambda on: rec("plan", on, text="order roaches"), late),
    st.builds(lambda n: rec("box", box="B", rows=2, columns=3, incubator=n),
              st.sampled_from(["1", "2"])),
)  # fmt: skip
histories = st.lists(
    st.one_of(test_replay._records(), more, st.just("undo"), st.tuples(st.just("correct"), late)),
    max_size=14,
)


class Household:
    """A book whose pages are opened once a message, as the service does, with what it keeps."""

    def __init__(self) -> None:
        self.book, self.keeper = new_book()
        self.cache: Cache = {}
        self.count = 0
        animals = [rec("animal", tag=t, species="picta", sex="female") for t in FEMALES]
        animals += [rec("animal", tag=t, species="picta", sex="male") for t in MALES]
        self.say([*animals, rec("box", box="B", rows=2, columns=3, incubator="1")])

    def say(self, move: object, fail: bool = False) -> None:
        """One message and the refresh after it; with `fail`, all of it comes to nothing."""
        self.count += 1
        with self.book.writing() as conn:
            pages = Pages(conn, self.keeper.household, self.cache)
            pages.view()  # the message is read first
            if isinstance(move, list):
                test_replay._say(pages, self.keeper, self.count, move)
            else:
                test_replay._do(pages, self.keeper, self.count, move)
            reminders.refresh(pages, NOW, reminders.Why.MESSAGE)
            kept = pages.keeps()
            if fail:
                raise RuntimeError("the power went")
        self.cache.update(kept)


def open_rows(book: Book, keeper: Member) -> list[tuple[object, ...]]:
    """What the rows say is due, whatever was told of it."""
    c = tables.reminders.c
    wanted = (c.key, c.kind, c.about, c.due, c.until, c.text, c.why, c.place)
    with book.reading() as conn:
        mine = select(*wanted).where(c.household == keeper.household, c.closed.is_(None))
        return sorted((tuple(row) for row in conn.execute(mine)), key=str)


def worked_out_anew(household: Household) -> list[tuple[object, ...]]:
    """The same once everything is worked out from what is on disk."""
    with household.book.writing() as conn:
        reminders.refresh(Pages(conn, household.keeper.household), NOW)
    return open_rows(household.book, household.keeper)


@given(histories)
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_part_worked_out_again_makes_the_same_rows_as_the_whole(history: list[object]) -> None:
    """Any talk of records, undos and corrections leaves the rows that a start would make."""
    household = Household()
    for move in history:
        household.say(move)
    rows = open_rows(household.book, household.keeper)
    assert rows == worked_out_anew(household)


@given(histories)
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_what_is_kept_is_what_the_book_shows(history: list[object]) -> None:
    """After any talk, reading sees what it would see of the book opened anew; so does thinking."""
    household = Household()
    for move in history:
        household.say(move)
    with household.book.reading() as conn:
        kept = Pages(conn, household.keeper.household, household.cache)
        anew = Pages(conn, household.keeper.household)
        assert kept.view() == anew.view()
        ours, theirs = kept.colony(), anew.colony()
        assert (ours.animals, ours.traits, ours.weights, ours.readings) == (
            theirs.animals, theirs.traits, theirs.weights, theirs.readings
        )  # fmt: skip


def test_a_message_that_failed_leaves_nothing_behind() -> None:
    """Rows worked out in a transaction that came to nothing are worked out again after it."""
    household = Household()
    household.say(rec("paired", male="M1", female="F1"))
    with pytest.raises(RuntimeError):
        household.say(rec("parted", male="M1", female="F1"), fail=True)
    household.say(rec("weighed", tag="F2", grams=20.0))
    rows = open_rows(household.book, household.keeper)
    assert any(row[1] == "pull-male" for row in rows)
    assert rows == worked_out_anew(household)


def parts_asked(monkeypatch: pytest.MonkeyPatch, household: Household, *said: Record) -> set[str]:
    """The parts that are worked out while these are said."""
    asked: set[str] = set()
    plain = scheduler.reminders._of_part

    def noting(about: object, part: str) -> object:
        asked.add(part)
        return plain(about, part)  # type: ignore[arg-type]

    monkeypatch.setattr(scheduler.reminders, "_of_part", noting)
    for each in said:
        household.say(each)
    return asked


def test_a_weight_asks_only_about_that_animal(monkeypatch: pytest.MonkeyPatch) -> None:
    """After F1 is weighed nothing is worked out but what hangs on F1."""
    household = Household()
    asked = parts_asked(monkeypatch, household, rec("weighed", tag="F1", grams=21.0))
    assert asked == {"animal F1", "female F1", "male F1"}


def test_nothing_said_works_nothing_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """A record that no reminder rests on asks about nothing."""
    household = Household()
    assert parts_asked(monkeypatch, household, rec("shed", tag="F1")) == set()


def test_an_undo_asks_only_about_what_it_takes_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """Taking back a weight works out that animal again, and no other."""
    household = Household()
    household.say(rec("weighed", tag="F1", grams=21.0))
    asked = parts_asked(monkeypatch, household, "undo")  # type: ignore[arg-type]
    assert asked == {"animal F1", "female F1", "male F1"}
