"""Each request of the contract is answered once over a small colony."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from bot.book import households
from bot.desk.answers import ANSWERS
from bot.language.reading import Outcome, Reading, Request
from tests.desk.conftest import TODAY, Desk, rec


@pytest.fixture
def busy(desk: Desk) -> Desk:
    """M2 is in with F7; F3 laid two on the first of March; some weights and a note."""
    desk.log(rec("paired", male="M2", female="F7", on=date(2026, 3, 8)))
    desk.log(rec("laid", dam="F3", eggs=2, slots=("B4", "B5"), on=date(2026, 3, 1)))
    desk.log(
        rec("weighed", tag="F3", grams=20.9, on=date(2026, 2, 20)),
        rec("weighed", tag="F3", grams=21.4, on=date(2026, 3, 9)),
    )
    desk.log(rec("note", about=("F3",), text="kink in tail tip"))
    return desk


def test_hatching_lists_clutches_whose_window_touches_the_days(busy: Desk) -> None:
    """Both eggs of a clutch stand in one line; a week without any says so."""
    week = busy.ask("hatching", **{"from": TODAY, "to": TODAY + timedelta(6)})
    assert week == "Nothing is expected to hatch, 10 to 16 Mar. Next: B4 and B5, about 4 May."
    may = busy.ask("hatching", **{"from": date(2026, 5, 1), "to": date(2026, 5, 31)})
    assert may.startswith("Hatching, 1 to 31 May:\nB4 and B5 from F3, laid 1 Mar: about ")


def test_an_egg_past_its_window_is_still_listed(busy: Desk) -> None:
    """It is said to be late; one that is pipping is said to be."""
    busy.log(rec("laid", dam="F7", eggs=1, slots=("B7",), on=date(2025, 11, 20)))
    week = {"from": TODAY, "to": TODAY + timedelta(6)}
    assert busy.ask("hatching", **week).endswith(", past its window")
    busy.log(rec("pipped", slots=("B7",)))
    assert busy.ask("hatching", **week).endswith(", B7 pipping")


def test_the_card_says_who_where_and_what_is_known(busy: Desk) -> None:
    """Name, age, place, last weight and last laying in a few lines."""
    card = busy.ask("animal", tag="F3")
    assert card.startswith("F3: female picta, hatched 2 Apr 2024 (23 months).\nIn tub 3.\n")
    assert "21.4 g on 9 Mar." in card
    assert "Last laid 2 on 1 Mar." in card
    assert "Note of 10 Mar: kink in tail tip" in card


def test_an_animal_who_left_keeps_its_card(busy: Desk) -> None:
    """What became of it, and when, and nothing about what is next."""
    busy.log(rec("left", tag="F7", how="sold"))
    assert busy.ask("animal", tag="F7").endswith("Sold on 10 Mar.")


def test_history_is_newest_first(busy: Desk) -> None:
    """A line a happening, each with its own day."""
    lines = busy.ask("history", tag="F3").splitlines()
    assert lines[:3] == [
        "10 Mar: Note on F3: kink in tail tip.",
        "9 Mar: F3 21.4 g.",
        "1 Mar: F3 laid 2 in B4 and B5.",
    ]
    assert busy.ask("history", tag="rack Z") == "Nothing is written about rack Z yet."


def test_where_an_animal_is(busy: Desk) -> None:
    """A male who is in with a female is where she is."""
    assert busy.ask("where", tag="F3") == "F3 is in tub 3."
    assert busy.ask("where", tag="M2") == "M2 is in with F7, in tub 7, since 8 Mar."


def test_the_box_is_a_map(busy: Desk) -> None:
    """Rows of slots with the dam's tag where an egg lies, and a mark for its state."""
    busy.log(rec("checked", slots=("B4",), state="fertile"))
    lines = busy.ask("box", box="B").splitlines()
    assert lines[0] == "Box B, incubator 1: 2 of 12 taken"
    assert lines[1].split() == ["B1", ".", "B2", ".", "B3", ".", "B4", "F3+"]
    assert lines[2].split()[:2] == ["B5", "F3"]


def test_one_slot_tells_its_egg(busy: Desk) -> None:
    """The dam, the day, the state, the window; an empty slot says that it is empty."""
    told = busy.ask("box", slot="B4")
    assert told.startswith("B4: from F3, laid 1 Mar, not candled yet. Hatch about ")
    assert busy.ask("box", slot="B6") == "B6 is empty."


def test_free_slots_are_said_in_runs(busy: Desk) -> None:
    """Neighbouring slots are not listed one by one."""
    assert busy.ask("free") == "Box B: 10 free: B1 to B3, B6 to B12"


def test_pairs_say_until_when(busy: Desk) -> None:
    """Who is in with whom, since when, and the day he comes out."""
    said = busy.ask("pairs").splitlines()
    assert said[0] == "M2 in with F7 since 8 Mar; out by Tue 10 Mar"


def test_next_clutch_gives_a_window_and_what_it_rests_on(busy: Desk) -> None:
    """A male is told apart kindly."""
    assert busy.ask("next_clutch", tag="F3").startswith("F3 may lay about ")
    assert "That rests on: " in busy.ask("next_clutch", tag="F3")
    assert busy.ask("next_clutch", tag="M2") == "M2 is not a female in the book."


def test_ready_says_who_and_why_not(busy: Desk) -> None:
    """The ready ones first; for the others the reason."""
    assert busy.ask("ready", sex="female").startswith("Ready: F3.\nF7: not yet")
    assert busy.ask("ready", sex="male") == "No male is free now."


def test_ready_of_one_says_all_that_stands_in_the_way(busy: Desk) -> None:
    """Of F7 alone: not yet, and when she is next with M2; of F3: yes, and how to find a mate."""
    said = busy.ask("ready", tag="F7")
    assert said.startswith("F7: not yet, not before 11 Mar. M2 is in with F7 now. No weight")
    assert "Plan:\n12 to 14 Mar: M2 with F7." in said and "F3" not in said
    assert busy.ask("ready", tag="F3").startswith("F3: yes. ")
    assert busy.ask("ready", tag="M2").startswith("M2 is in with F7 since 8 Mar.")
    assert busy.ask("ready", tag="F9") == "There is no F9 in the book."


def test_ready_of_a_pair_is_of_both(busy: Desk) -> None:
    """Whichever is named first; of two females each is answered by herself."""
    for first, second in (("F3", "M2"), ("M2", "F3")):
        assert busy.ask("ready", tag=first, mate=second).startswith("F3 with M2: not yet")
    assert busy.ask("match", tag="F3", mate="M2").startswith("F3 with M2: not yet")
    assert "\nF7: not yet" in busy.ask("ready", tag="F3", mate="F7")


def test_match_ranks_mates(busy: Desk) -> None:
    """Each mate with whether it may be, how related, and why."""
    assert "F3: not yet, not before 11 Mar" in busy.ask("match", tag="M2")
    busy.log(rec("parted", male="M2", female="F7", on=date(2026, 3, 9)))
    assert busy.ask("match", tag="M2").startswith("Mates for M2, best first:\nF3: yes, not related")


def test_a_chart_fits_forty_columns(busy: Desk) -> None:
    """Weights of an animal, eggs a month, temperatures of a place."""
    for fields in (
        {"of": "weight", "tag": "F3"},
        {"of": "laying"},
        {"of": "temperature", "place": "incubator 1"},
    ):
        lines = busy.ask("chart", **fields).splitlines()
        assert len(lines) > 1
        assert max(map(len, lines)) <= 40
    assert busy.ask("chart", of="weight", tag="F7").startswith("No weight of F7 is written yet.")


def test_labels(busy: Desk) -> None:
    """For an animal, a box and an egg."""
    assert busy.ask("label", of="F3").splitlines()[:2] == ["F3", "Paroedura picta"]
    assert busy.ask("label", of="B").splitlines()[0] == "Box B, incubator 1"
    assert busy.ask("label", of="B4") == "B4: F3, laid 1 Mar"


def test_undo_takes_the_last_message_back(busy: Desk) -> None:
    """All of it, and the message before is next."""
    assert busy.ask("undo") == "Undone: Note on F3: kink in tail tip."
    assert busy.ask("undo").startswith("Undone: F3 20.9 g on Fri 20 Feb.\nUndone: F3 21.4 g")
    assert busy.state.eggs_in("B4")


def test_a_correction_puts_one_field_right(busy: Desk) -> None:
    """The record is said again as it stands now."""
    busy.log(rec("laid", dam="F7", eggs=1, slots=("B6",)))
    text = busy.ask("correct", slots=("B7",))
    assert text.startswith("Put right: F7 laid 1 in B7.")
    assert not busy.state.eggs_in("B6")
    assert busy.state.eggs_in("B7")[0].dam == "F7"
    assert busy.ask("correct", on=date(2026, 3, 9)).startswith("Put right: F7 laid 1 in B7 on Mon")


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"dam": "F99"}, "There is no F99 in the book."),
        ({"dam": "M2"}, "M2 is not a female in the book."),
        ({"slots": ("B4",)}, "B4 is taken."),
        ({"slots": "B4"}, "B4 is taken."),
        ({"slots": ("Z1",)}, "There is no slot Z1."),
        ({"slots": ("B13",)}, "There is no slot B13."),
        ({"on": date(2026, 3, 11)}, "That day is still to come; nothing is changed."),
        ({"grams": 4.0}, 'That doesn\'t fit what was written last. Say it in full, or "undo".'),
    ],
)
def test_a_correction_that_cannot_be_changes_nothing(
    busy: Desk, fields: dict[str, object], said: str
) -> None:
    """What is wrong is said, and the record stays as it was."""
    laid = rec("laid", dam="F7", eggs=1, slots=("B6",))
    busy.log(laid)
    assert busy.ask("correct", **fields) == said
    assert busy.last_written() == [laid]


def test_share_makes_a_code_alone_on_a_line(busy: Desk) -> None:
    """Eight letters and digits; with no role it asks which."""
    code = busy.ask("share", role="helper").splitlines()[-1]
    assert len(code) == 8
    assert set(code) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZ23456789")
    assert busy.ask("share").startswith("For whom?")


def test_export_hands_over_the_tables(busy: Desk) -> None:
    """The files are there and named in the reply."""
    reply = busy.take(Reading(Outcome.REQUEST, request=Request("export")))
    assert {Path(each).name for each in reply.files} >= {"animals.csv", "eggs.csv"}
    assert all(each.exists() for each in reply.files)


def test_the_calendar_has_one_address(busy: Desk) -> None:
    """Asked twice, it is the same secret."""
    assert "/calendar/" in busy.ask("calendar")
    assert busy.ask("calendar") == busy.ask("calendar")
    busy.url = "https://rackside.example"
    assert "https://rackside.example/calendar/" in busy.ask("calendar")


def test_settings_change_and_are_said(busy: Desk) -> None:
    """What is not understood says how to say it."""
    assert busy.ask("settings", set="quiet", to="22:00-07:00").startswith("Quiet from 22:00 to")
    assert busy.ask("settings", set="zone", to="Mars/Olympus").startswith("I don't know the time")
    assert busy.ask("settings", set="digest", to="8:00") == "The morning digest comes at 08:00."
    assert "Quiet hours: 22:00 to 07:00" in busy.ask("settings")


def test_a_helper_keeps_their_own_time_and_the_owner_the_books(busy: Desk) -> None:
    """Whoever helps from another country sleeps by their own clock; the book's days stay."""
    busy.member = replace(busy.member, role="helper")
    assert busy.ask("settings", set="zone", to="Europe/Madrid").startswith("Your quiet hours and")
    assert "Time zone: Europe/Madrid" in busy.ask("settings")
    busy.member = replace(busy.member, role="owner")
    with busy.book.reading() as conn:
        assert households.household(conn, busy.member.household).zone == "Europe/Lisbon"
    assert busy.ask("settings", set="zone", to="Europe/Berlin").startswith("The book keeps Europe")
    with busy.book.reading() as conn:
        assert households.household(conn, busy.member.household).zone == "Europe/Berlin"


def test_help_lists_topics_and_cautions(busy: Desk) -> None:
    """Safety lists each caution with its source."""
    assert "Help about: animals" in busy.ask("help")
    assert "F3 laid 2, box B slot 4" in busy.ask("help", about="eggs")
    assert "Wash hands with soap" in busy.ask("help", about="safety")


def test_every_request_of_the_contract_has_an_answer() -> None:
    """None of the words that can be asked falls through."""
    words = (
        "hatching tasks animal history where box free pairs next_clutch ready rates match odds "
        "feeders chart label undo correct done snooze skip share export calendar settings help"
    )
    assert set(words.split()) <= ANSWERS.keys()


@pytest.mark.parametrize("ask", ["animal", "where", "next_clutch", "match"])
def test_a_tag_that_is_not_in_the_book_is_said(busy: Desk, ask: str) -> None:
    """No request fails on it."""
    assert busy.ask(ask, tag="F99") == "There is no F99 in the book."


def test_odds_say_what_the_young_may_be(busy: Desk) -> None:
    """With no trait defined it says what is missing, and names the pair."""
    busy.log(rec("animal", tag="M5", sex="male", species="picta", traits=("stripe",)))
    assert busy.ask("odds", male="M5", female="F3") == (
        "Young of M5 x F3: stripe is not defined: say how it is inherited. "
        'Say "note: stripe is recessive", or dominant, incomplete dominant, sex-linked or '
        "polygenic."
    )
    assert busy.ask("odds", male="M2", female="F3").startswith("Young of M2 x F3: neither")


def test_rates_count_eggs_in_the_box_as_waiting(busy: Desk) -> None:
    """Few eggs are too few to say; a word it can't go by is asked about."""
    busy.log(rec("checked", slots=("B4",), state="fertile"))
    assert busy.ask("rates", by="female").splitlines() == [
        "Rates by female, with 95% intervals:",
        "F3: fertile 1 of 1, too few to say; 2 in the box",
    ]
    assert busy.ask("rates", by="moon").startswith("By what?")


def test_a_new_tag_is_not_put_right_to_one_that_exists(busy: Desk) -> None:
    """Nothing is overwritten; a tag that is free is taken."""
    busy.log(rec("animal", tag="F20", sex="female", species="picta"))
    assert busy.ask("correct", tag="F3").startswith("F3 is in the book already.")
    assert busy.ask("correct", tag="F21") == "Put right: New female F21, picta."
    assert "F20" not in busy.state.animals


def test_yesterday_puts_every_record_of_the_message_right(busy: Desk) -> None:
    """A day given alone is the day of all that was said."""
    busy.log(rec("shed", tag="F3"), rec("watered", place="box B"))
    busy.ask("correct", on=date(2026, 3, 9))
    assert {each.on for each in busy.last_written()} == {date(2026, 3, 9)}


@pytest.mark.parametrize(
    ("ask", "fields"),
    [("chart", {"of": "weight", "tag": "F3"}), ("label", {"of": "F3"}), ("box", {"box": "B"})],
)
def test_a_picture_goes_along_where_it_can_be_seen(
    busy: Desk, ask: str, fields: dict[str, str]
) -> None:
    """On the phone, not by SMS; the words are the same."""
    reading = Reading(Outcome.REQUEST, request=Request(ask, fields))
    busy.channel = "sms"
    plain = busy.take(reading)
    busy.channel = "telegram"
    (picture,) = busy.take(reading).files
    assert plain.files == ()
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_feeders_are_added_up_from_what_was_fed(busy: Desk) -> None:
    """With no number ever said, it asks for one; with one, heads times days."""
    week = {"from": TODAY, "to": TODAY + timedelta(6)}
    assert "say how many you give" in busy.ask("feeders", **week)
    busy.log(rec("fed", who=("everyone",), food="crickets", count=5, dusted=True))
    lines = busy.ask("feeders", **week).splitlines()
    assert lines[0] == "Feeders, 10 to 16 Mar:"
    assert lines[1].startswith("105 crickets, 100% of feedings dusted. From 1 feeding since")


def test_a_long_list_says_how_many_more(busy: Desk) -> None:
    """Twenty clutches are listed; the rest is counted."""
    busy.log(
        rec("box", box="C", rows=5, columns=5, incubator="1"),
        *(
            rec("laid", dam="F3", eggs=1, slots=(f"C{n}",), on=date(2026, 1, n))
            for n in range(1, 23)
        ),
    )
    lines = busy.ask("hatching", **{"from": TODAY, "to": date(2026, 4, 30)}).splitlines()
    assert len(lines) == 22
    assert lines[-1].startswith("And ")


@pytest.mark.parametrize(
    ("of", "code"),
    [
        ("F3", "https://t.me/rack_bot?start=F3"),
        ("B4", "https://t.me/rack_bot?start=B4"),
        ("box B", "https://t.me/rack_bot?start=box_20B"),
        ("B", "https://t.me/rack_bot?start=box_20B"),
    ],
)
def test_a_labels_code_is_a_link_to_us_where_our_name_is_known(
    busy: Desk, monkeypatch: pytest.MonkeyPatch, of: str, code: str
) -> None:
    """Unknown, it is the tag itself; what is linked fits into a link and says what it is about."""
    drawn: list[str] = []
    monkeypatch.setattr(
        "bot.pictures.labels.draw_label", lambda lines, code, file: drawn.append(code)
    )
    busy.channel = "telegram"
    reading = Reading(Outcome.REQUEST, request=Request("label", {"of": of}))
    for bot in ("", "rack_bot"):
        busy.bot = bot
        busy.take(reading)
    assert drawn == [of, code]


def test_help_finds_its_topic_in_the_words_typed(desk: Desk) -> None:
    """ "help eggs" is about eggs, also where the reading keeps no topic of it."""
    desk.typed = "help eggs"
    assert desk.ask("help").startswith("Eggs.")
    desk.typed = "how do I log a feeding"
    assert desk.ask("help", about="log feeding").startswith("Feeding.")
    desk.typed = "help"
    assert desk.ask("help").startswith("Just say what happened")
