"""What is due, and how a record makes it vanish: told as short histories."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from colonies import LISBON, Story, day, of_kind

from scheduler.colony import DUE_KINDS, Due, Plan, Watering
from scheduler.development import egg_window
from scheduler.laying import clutch_window
from scheduler.reminders import due, outstanding


def on(story: Story, kind: str, first: int, last: int | None = None) -> list[Due]:
    """What is due of a kind as worked out on a day, up to a later one."""
    return of_kind(due(story.colony, day(first), day(first if last is None else last)), kind)


def dates(items: list[Due]) -> list[date]:
    return [each.due.date() for each in items]


def pair() -> Story:
    return Story().animal("M2").animal("F3").paired("M2", "F3", 0)


# Pairing


def test_pull_him_on_the_last_day_of_a_session() -> None:
    """A male put in on day 0 is to be pulled on day 2 at nine, and the reason gives the figure."""
    [pull] = on(pair(), "pull-male", 0, 14)
    assert pull.due == datetime(2026, 3, 3, 9, tzinfo=LISBON)
    assert pull.text == "Pull M2 from F3."
    assert pull.why == "In since 1 Mar; sessions last 2 to 3 days (common practice)."
    assert pull.about == ("M2", "F3")
    assert pull.until is not None and pull.until.date() == day(3)


def test_a_male_forgotten_in_her_tub_stays_due_at_its_true_day() -> None:
    """Ten days later the same reminder is still due, with the same key and the same day."""
    [then], [now] = on(pair(), "pull-male", 0, 14), on(pair(), "pull-male", 10)
    assert (now.key, now.due) == (then.key, then.due)


def test_parted_answers_pull_male() -> None:
    """Once he is out, nobody is told to pull him."""
    assert not on(pair().pulled("M2", 2), "pull-male", 2, 20)


def test_put_him_in_again_after_the_pause() -> None:
    """Two days after he came out the second session of three is due, in the evening."""
    [again] = on(pair().pulled("M2", 2), "put-male-in", 2, 14)
    assert again.due == datetime(2026, 3, 5, 19, tzinfo=LISBON)
    assert again.text == "Put M2 in with F3 again, session 2."
    assert "1 of 3 sessions done" in again.why


def test_three_sessions_are_enough() -> None:
    """After the third session no other is due; before it, one is."""
    two = pair().pulled("M2", 2).paired("M2", "F3", 4, 6)
    assert dates(on(two, "put-male-in", 6, 30)) == [day(8)]
    assert not on(two.paired("M2", "F3", 8, 10), "put-male-in", 10, 30)


def test_a_bite_pulls_him_at_once_and_another_day_is_tried() -> None:
    """A bite makes pulling due the same day, and the next try a day after he is out."""
    bitten = pair().seen("F3", 0, "biting")
    assert dates(on(bitten, "pull-male", 0, 5)) == [day(0)]
    assert dates(on(bitten.pulled("M2", 0), "put-male-in", 0, 14)) == [day(1)]


def test_three_refusals_in_a_row_bring_a_rest() -> None:
    """After the third refusal he is not tried again for two weeks."""
    story = Story().animal("M2").animal("F3")
    for start in (0, 1, 2):
        story.paired("M2", "F3", start, start).seen("F3", start, "unreceptive")
    assert dates(on(story, "put-male-in", 2, 30)) == [day(16)]


def test_a_session_cut_short_does_not_count() -> None:
    """Pulled the next day without mating, he still has three sessions to go; seen mating, two."""
    short = pair().pulled("M2", 1)
    assert "0 of 3 sessions done" in on(short, "put-male-in", 1, 9)[0].why
    assert "1 of 3 sessions done" in on(short.seen("F3", 0, "mating"), "put-male-in", 1, 9)[0].why


def test_no_male_in_two_tubs_on_one_day() -> None:
    """While he is in with F5, F3's next session waits until the day after he comes out of there."""
    story = pair().pulled("M2", 2).animal("F5").paired("M2", "F5", 3)
    by_female = {each.about[1]: each for each in on(story, "put-male-in", 3, 20)}
    assert by_female["F3"].due.date() == day(6)  # out of F5's tub on day 5
    assert "M2 is with F5 until 6 Mar" in by_female["F3"].why


def test_a_female_seen_gravid_needs_no_other_session() -> None:
    """Gravid since the course began: nothing more is due of the male."""
    assert not on(pair().pulled("M2", 2).seen("F3", 3, "gravid"), "put-male-in", 3, 20)


def test_a_course_that_lapsed_is_not_brought_up_again() -> None:
    """Sixteen days after the last session it still is; from the seventeenth it no longer is."""
    story = pair().pulled("M2", 2)
    assert on(story, "put-male-in", 18)
    assert not on(story, "put-male-in", 19)


def test_look_whether_she_is_gravid_three_weeks_after_the_first_session() -> None:
    """Counted from the first session, not the last; a sign or a clutch answers it."""
    story = pair().pulled("M2", 2).paired("M2", "F3", 4, 6)
    assert dates(on(story, "check-gravid", 6, 40)) == [day(21)]
    assert not on(story.seen("F3", 20, "gravid"), "check-gravid", 20, 40)
    assert not on(pair().laid("F3", 20, "B4"), "check-gravid", 20, 40)


def test_a_sold_female_needs_nothing() -> None:
    """Once she has left, nothing of hers is due but the male still noted in her tub."""
    story = pair().change("F3", status="sold")
    assert {d.kind for d in due(story.colony, day(0), day(60))} <= {"pull-male"}


# Laying


def test_search_from_the_start_of_her_window() -> None:
    """The search is due in the evening of the first day of her window."""
    story = Story().animal("F3").laid("F3", -42, eggs=2).laid("F3", -21, eggs=2).laid("F3", 0)
    window = clutch_window(story.colony, "F3", day(1))
    [search] = on(story, "search-eggs", 1, 40)
    assert window is not None
    assert search.due == datetime.combine(window.start, time(19), tzinfo=LISBON)
    assert search.text == "Search F3's sand for eggs."
    assert "80% window" in search.why


def test_laying_answers_the_search_and_opens_the_next() -> None:
    """After she laid, the search due is that for the clutch after."""
    story = Story().animal("F3").laid("F3", -21).laid("F3", 0)
    [before] = on(story, "search-eggs", 10, 60)
    [after] = on(story.laid("F3", 20), "search-eggs", 20, 60)
    assert after.key != before.key and after.due > before.due


def test_a_search_that_found_nothing_is_repeated() -> None:
    """Two days after an empty search another is due; one well before the window answers nothing."""
    story = Story().animal("F3").laid("F3", -21).laid("F3", 0)
    [first] = on(story, "search-eggs", 1, 60)
    start = (first.due.date() - day(0)).days
    early = Story().animal("F3").laid("F3", -21).laid("F3", 0).searched("F3", start - 3)
    assert dates(on(early, "search-eggs", start, start + 30)) == [day(start)]
    [again] = on(story.searched("F3", start), "search-eggs", start, start + 30)
    assert again.due.date() == day(start + 2) and again.key != first.key


def test_a_late_female_searched_yesterday_is_not_searched_today() -> None:
    """Past her window too, a search answers for two days."""
    story = Story().animal("F3").laid("F3", -21).laid("F3", 0)
    assert dates(on(story, "search-eggs", 40))
    assert dates(on(story.searched("F3", 39), "search-eggs", 40, 60)) == [day(41)]


def test_slim_after_gravid_with_no_eggs_opens_a_search_now() -> None:
    """A female gone slim has laid somewhere: search today, whatever the window says."""
    story = pair().pulled("M2", 2).seen("F3", 20, "gravid").seen("F3", 24, "slim")
    [search] = on(story, "search-eggs", 24)
    assert search.due.date() == day(24)
    assert "slim on 25 Mar" in search.why
    assert day(24) not in dates(on(story.laid("F3", 24), "search-eggs", 24, 24))


def test_digging_opens_a_search_the_next_day() -> None:
    """Seen digging, she is searched the day after."""
    story = pair().pulled("M2", 2).seen("F3", 12, "digging")
    assert dates(on(story, "search-eggs", 12, 13)) == [day(13)]


# Eggs


def clutch() -> Story:
    return Story().animal("F3").box("B").laid("F3", 0, "B4", "B5").read(0)


def test_candle_one_reminder_for_a_clutch() -> None:
    """Both eggs of a clutch are candled together, ten days after laying."""
    [candle] = on(clutch(), "candle", 0, 20)
    assert candle.due == datetime(2026, 3, 11, 9, tzinfo=LISBON)
    assert candle.about == ("B4", "B5")
    assert candle.text == "Candle B4 and B5."
    assert candle.why == "Laid 1 Mar; veins usually show at 7 to 14 days (memory)."


def test_checked_answers_candle_for_that_egg() -> None:
    """One egg seen fertile leaves the other to candle; both seen leave nothing."""
    one = clutch().egg("B4", state="fertile", checked=day(10))
    assert on(one, "candle", 10)[0].about == ("B5",)
    assert not on(one.egg("B5", state="infertile", checked=day(10)), "candle", 10, 30)


def test_too_early_is_candled_again() -> None:
    """Too early to say at ten days: again four days later."""
    story = clutch().egg("B4", state="too-early", checked=day(10))
    story.egg("B5", state="too-early", checked=day(10))
    assert dates(on(story, "candle", 10, 30)) == [day(14)]


def test_a_dent_seen_early_does_not_answer_the_candle() -> None:
    """A dent at three days says nothing of veins; one seen at ten days was a look inside."""
    early = clutch().egg("B5", state="fertile").egg("B4", state="dented", checked=day(3))
    assert on(early, "candle", 3, 20)
    assert not on(early.egg("B4", checked=day(10)), "candle", 10, 20)


def test_watch_for_the_hatch_then_look_at_what_is_overdue() -> None:
    """Watching is due at the start of the window, a look the day after its end."""
    story = clutch().egg("B4", state="fertile").egg("B5", state="fertile")
    window = egg_window(story.colony, story.colony.eggs[0], day(1))
    items = due(story.colony, day(1), day(120))
    assert dates(of_kind(items, "watch-hatch")) == [window.start]
    assert dates(of_kind(items, "overdue-egg")) == [window.end + timedelta(1)]
    assert of_kind(items, "watch-hatch")[0].text.startswith("Watch B4 and B5 for hatching: about")


def test_eggs_of_a_clutch_in_two_incubators_are_watched_from_the_first_window() -> None:
    """One egg warm, one cool: watching begins with the warm one's window, ends with the other's."""
    story = Story().animal("F3").box("B").box("C", "2").laid("F3", 0, "B4", "C1")
    story.read(0, 29.0).read(0, 25.0, "incubator 2")
    warm, cool = (egg_window(story.colony, egg, day(1)) for egg in story.colony.eggs)
    assert warm.start < cool.start
    items = due(story.colony, day(1), day(200))
    assert dates(of_kind(items, "watch-hatch")) == [warm.start]
    assert dates(of_kind(items, "overdue-egg")) == [cool.end + timedelta(1)]


def test_past_the_window_only_overdue_is_told() -> None:
    """Never two reminders for one thing: overdue takes the place of watching."""
    story = clutch()
    end = egg_window(story.colony, story.colony.eggs[0], day(100)).end
    late = due(story.colony, end + timedelta(1), end + timedelta(1))
    assert of_kind(late, "overdue-egg") and not of_kind(late, "watch-hatch")
    assert not of_kind(late, "candle")


@pytest.mark.parametrize(
    "fact",
    [
        {"end": "hatched", "ended": day(60)},
        {"end": "discarded", "ended": day(20)},
        {"pipped": day(60)},
        {"state": "mould"},
    ],
)
def test_a_hatched_pipping_or_lost_egg_is_not_watched(fact: dict[str, object]) -> None:
    """What has hatched, pips, was thrown away or is mouldy is not waited for."""
    assert on(clutch(), "watch-hatch", 60, 90)
    gone = clutch().egg("B4", **fact).egg("B5", **fact)
    assert not on(gone, "watch-hatch", 60, 90) and not on(gone, "overdue-egg", 60, 120)


def test_moisture_of_a_box_weekly_while_eggs_are_in_it() -> None:
    """A week after laying, then a week after each watering; an empty box needs none."""
    story = clutch()
    assert dates(on(story, "wet-box", 0, 14)) == dates(on(story, "wet-box", 13)) == [day(7)]
    assert dates(on(story, "wet-box", 14)) == [day(14)]
    story._add("waterings", Watering("Box b", day(7)))
    assert dates(on(story, "wet-box", 7, 20)) == [day(14)]
    gone = {"end": "hatched", "ended": day(8)}
    assert not on(story.egg("B4", **gone).egg("B5", **gone), "wet-box", 8, 30)


def test_an_incubator_with_eggs_is_read_every_day() -> None:
    """The evening after the last reading the next is due; unanswered, 2, 4 and 8 days after it."""
    [read] = on(clutch(), "read-incubator", 0, 5)
    assert read.due == datetime(2026, 3, 2, 19, tzinfo=LISBON)
    assert read.why == "Last read 1 Mar (27.2 C, 75%); a reading a day is common practice."
    turns = [dates(on(clutch(), "read-incubator", n, n)) for n in (2, 3, 4, 7, 8)]
    assert turns == [[day(2)], [day(2)], [day(4)], [day(4)], [day(8)]]
    assert dates(on(clutch().read(3), "read-incubator", 3, 9)) == [day(4)]
    assert dates(on(clutch().read(3, place="box B"), "read-incubator", 3, 9)) == [day(4)]


# Ages and weights


def young() -> Story:
    facts = {"hatched": day(0), "dam": "F3", "place": "nursery 1"}
    return Story().animal("H1", **facts).animal("H2", **facts)


def test_separate_young_that_share_a_tub() -> None:
    """At 75 days young of unknown sex are to be parted; apart, or all female, they are not."""
    [apart] = on(young(), "separate-sexes", 0, 90)
    assert apart.due == datetime(2026, 5, 15, 9, tzinfo=LISBON)
    assert apart.about == ("H1", "H2")
    assert not on(young().change("H2", place="nursery 2"), "separate-sexes", 0, 90)
    sisters = young().change("H1", sex="female")
    assert on(sisters, "separate-sexes", 0, 90)
    assert not on(sisters.change("H2", sex="female"), "separate-sexes", 0, 90)


def test_sex_the_young_of_a_clutch_together() -> None:
    """At 120 days one reminder names the siblings still unsexed, under one key throughout."""
    [both] = on(young(), "sex-young", 100, 130)
    assert both.due.date() == day(120) and both.text == "Sex H1 and H2."
    [one] = on(young().change("H1", sex="male"), "sex-young", 100, 130)
    assert one.about == ("H2",) and one.key == both.key


def test_young_are_weighed_every_two_weeks() -> None:
    """Two weeks after hatching, then two weeks after each weighing, until they are grown."""
    assert dates(on(young(), "weigh", 0, 30)) == [day(14), day(14)]
    story = young().weighed("H1", 15, 0.9)
    assert {d.about[0]: d.due.date() for d in on(story, "weigh", 15, 40)} == {
        "H1": day(29),
        "H2": day(14),
    }
    assert not on(young(), "weigh", 140)


def test_a_weighing_that_was_forgotten_comes_round_again() -> None:
    """Unanswered, the turn of day 14 stays due until that of day 28 takes its place: never two."""
    [first], [same] = (on(young().change("H2", status="sold"), "weigh", n) for n in (14, 27))
    assert (same.key, same.due) == (first.key, first.due)
    [second] = on(young().change("H2", status="sold"), "weigh", 28)
    assert second.due.date() == day(28) and second.key != first.key


def test_a_breeding_female_is_weighed_monthly() -> None:
    """From her first session on, thirty days after each weighing; others not at all."""
    assert dates(on(pair(), "weigh", 0, 40)) == [day(0)]
    assert dates(on(pair().weighed("F3", 0, 14), "weigh", 0, 40)) == [day(30)]
    assert not on(Story().animal("F3"), "weigh", 0, 40)


def test_rest_after_the_third_clutch_in_a_row() -> None:
    """The third clutch calls for a rest, the second and fourth do not, a long pause resets it."""
    story = Story().animal("F3").laid("F3", 0).laid("F3", 21)
    assert not on(story, "rest-female", 21, 30)
    story.laid("F3", 42)
    [rest] = on(story, "rest-female", 42)
    assert rest.text == "Rest F3 until 11 Jun: feed her up, no male."
    assert rest.why.startswith("3 clutches in a row since 1 Mar")
    assert not on(story, "rest-female", 42 + 61)
    assert not on(story.laid("F3", 63), "rest-female", 63)


def test_rest_after_a_tenth_of_her_weight_is_lost() -> None:
    """10% off her recent peak calls for a rest, 9% does not."""
    peak = pair().weighed("F3", 0, 20.0)
    assert not on(peak.weighed("F3", 20, 18.2), "rest-female", 20)
    [rest] = on(peak.weighed("F3", 21, 18.0), "rest-female", 21)
    assert "20 g on 1 Mar to 18 g" in rest.why and "10%" in rest.why


def test_the_weight_of_the_eggs_is_not_weight_lost() -> None:
    """A drop that her clutch explains calls for no rest; the same drop without a clutch does."""
    drop = pair().weighed("F3", 0, 16.0).weighed("F3", 25, 14.3)
    assert on(drop, "rest-female", 25)
    laid = pair().weighed("F3", 0, 16.0).laid("F3", 24, eggs=2).weighed("F3", 25, 14.3)
    assert not on(laid, "rest-female", 25)


def test_no_male_for_a_female_who_should_rest() -> None:
    """A rest called for withdraws her next session."""
    story = pair().pulled("M2", 2).weighed("F3", -5, 20.0)
    assert on(story, "put-male-in", 3, 9)
    assert not on(story.weighed("F3", 3, 17.0), "put-male-in", 3, 9)


def test_a_young_female_reaches_the_age_of_first_pairing() -> None:
    """At 270 days, if she has never been paired; a pairing answers it for good."""
    story = Story().animal("F5", hatched=day(-200)).animal("M2")
    [first] = on(story, "first-pairing", 0, 100)
    assert first.due.date() == day(70)
    assert "240 to 300 days (common practice)" in first.why
    assert not on(story.paired("M2", "F5", 71, 73), "first-pairing", 73, 200)


def test_a_first_pairing_waits_for_her_weight() -> None:
    """A leopard of age at 44 g is not offered, at 45 g she is, from the day she was weighed."""
    story = Story().animal("F5", species="leopard", hatched=day(-420)).weighed("F5", 0, 44)
    assert not on(story, "first-pairing", 0, 30)
    assert dates(on(story.weighed("F5", 10, 45), "first-pairing", 10, 30)) == [day(10)]


def test_a_female_still_growing_waits() -> None:
    """With no weight known for the species, her own weight must have held for four weeks."""
    story = Story().animal("F5", hatched=day(-280)).weighed("F5", 0, 9.0)
    assert not on(story.weighed("F5", 28, 9.6), "first-pairing", 28, 40)
    assert on(story.weighed("F5", 56, 9.7), "first-pairing", 56, 57)


# Plans, and the whole


def test_a_plan_is_due_at_the_hour_the_keeper_set() -> None:
    """At six in the evening as said, or in the morning where no hour was."""
    story = Story()._add("plans", Plan("1", "order roaches", day(3), time(18)))
    story._add("plans", Plan("2", "clean rack A", day(4)))
    assert [(d.due, d.text) for d in on(story, "plan", 0, 9)] == [
        (datetime(2026, 3, 4, 18, tzinfo=LISBON), "Order roaches"),
        (datetime(2026, 3, 5, 9, tzinfo=LISBON), "Clean rack A"),
    ]


def whole() -> Story:
    """A household in which every kind falls due within half a year."""
    story = pair().pulled("M2", 2).animal("M1").animal("F7").paired("M1", "F7", 3)
    story.box("B").laid("F7", -40, "B1").laid("F7", -20).laid("F7", -1, "B4").read(0)
    facts = {"hatched": day(-20), "dam": "F7", "place": "nursery 1"}
    story.animal("H1", **facts).animal("H2", **facts).animal("F9", hatched=day(-250))
    return story._add("plans", Plan("1", "order roaches", day(3)))


def test_every_kind_of_the_table_occurs_with_a_reason() -> None:
    """All fifteen kinds come up, each with a text, a reason and a key of its own, in order."""
    items = due(whole().colony, day(0), day(180))
    assert {each.kind for each in items} == set(DUE_KINDS)
    assert all(each.text and each.why.endswith(".") for each in items)
    assert len({each.key for each in items}) == len(items)
    assert [d.due for d in items] == sorted(d.due for d in items)


def test_what_is_not_asked_about_is_left_out() -> None:
    """A question about next week leaves out what falls due before it, and what comes after."""
    now = datetime.combine(day(0), time(12), tzinfo=LISBON)
    week = due(whole().colony, day(7), day(13), now)
    assert week and all(day(7) <= each.due.date() <= day(13) for each in week)


def test_outstanding_is_what_is_due_by_now() -> None:
    """A minute before nine pulling is not outstanding, at nine it is."""
    before = datetime(2026, 3, 3, 8, 59, tzinfo=LISBON)
    kinds = [
        [d.kind for d in outstanding(pair().weighed("F3", 0, 14).colony, now)]
        for now in (before, before + timedelta(minutes=1))
    ]
    assert kinds == [[], ["pull-male"]]


def test_asking_twice_gives_the_same() -> None:
    """Pure: the same colony and days give the same answer, however often it is asked."""
    colony = whole().colony
    assert due(colony, day(0), day(30)) == due(colony, day(0), day(30)) != ()


def test_an_empty_household_has_nothing_due() -> None:
    """No facts, nothing due."""
    assert due(Story().colony, day(0), day(365)) == ()


# Clock changes


SPRING_AND_AUTUMN = [
    ("Europe/Lisbon", date(2026, 3, 29)),
    ("Europe/Lisbon", date(2026, 10, 25)),
    ("Australia/Sydney", date(2026, 4, 5)),
    ("Australia/Sydney", date(2026, 10, 4)),
    ("America/Santiago", date(2026, 4, 5)),
    ("America/Santiago", date(2026, 9, 6)),
]


@pytest.mark.parametrize(("name", "change"), SPRING_AND_AUTUMN)
def test_a_due_hour_stays_the_same_wall_time_over_a_clock_change(name: str, change: date) -> None:
    """Put in before the change and due after it: nine o'clock on the wall, another hour in UTC."""
    zone = ZoneInfo(name)
    first = (change - timedelta(1) - day(0)).days
    story = Story(zone).animal("M2").animal("F3").paired("M2", "F3", first)
    [pull] = on(story, "pull-male", first, first + 5)
    assert (pull.due.date(), pull.due.time()) == (change + timedelta(1), time(9))
    before = datetime.combine(change - timedelta(1), time(9), tzinfo=zone)
    assert pull.due.utcoffset() != before.utcoffset()
    assert pull.due.tzinfo is zone
