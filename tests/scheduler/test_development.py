"""Hatch windows: from constant warmth, readings, swings, power cuts and moves."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduler.colony import Animal, Box, ClimateReading, Colony, Egg, Stay
from scheduler.curve import fitted
from scheduler.development import egg_window, hatch_window
from scheduler.figures import incubation_points
from scheduler.own import own_hatch
from scheduler.species import Duration, Species, load

LAID = date(2026, 3, 10)
NOON = datetime(2026, 3, 10, 12, tzinfo=UTC)
PICTA = load("picta")


def species(*durations):
    rows = (Duration(t, d, 20, source="Author 1985", status="published") for t, d in durations)
    return Species("example", "Genus species", tuple(rows))


def readings(*steps, every=timedelta(days=1)):
    """Readings from (days, celsius) steps, one `every` so often from laying on."""
    rows, at = [], NOON
    for days, celsius in steps:
        end = at + timedelta(days=days)
        while at < end:
            rows.append((at, celsius))
            at += every
    return rows


def width(window):
    return window.high / window.low


def test_warmer_eggs_hatch_sooner():
    """Each degree more brings the middle of the window forward."""
    days = [hatch_window(PICTA, LAID, celsius).days for celsius in (23, 25, 27, 29, 31)]
    assert days == sorted(days, reverse=True)


def test_dates_are_the_days_counted_from_laying():
    """The three dates lie the stated days after the laying, the middle between the ends."""
    window = hatch_window(PICTA, LAID, 27.0)
    assert window.centre == LAID + timedelta(round(window.days))
    assert window.start <= window.centre <= window.end
    assert window.coverage == 0.8


def test_the_window_covers_both_the_published_line_and_practice():
    """At 81 F picta's window holds keepers' 60 days and the 65.6 of the published line."""
    window = hatch_window(PICTA, LAID, 27.2)
    assert window.low <= 60 <= window.high
    assert window.low <= 65.6 <= window.high


def test_constant_readings_say_the_same_as_a_constant_temperature():
    """Logging 26 C every day is the same as saying 26 C throughout."""
    logged = hatch_window(PICTA, LAID, readings((120, 26.0)))
    said = hatch_window(PICTA, LAID, 26.0)
    assert logged.days == pytest.approx(said.days, rel=1e-6)
    assert logged.low == pytest.approx(said.low, rel=1e-6)


def test_half_done_then_moved_adds_up():
    """Ten days at 26 C and the rest at 30 C: the shares of development sum to one."""
    cool, warm = (hatch_window(PICTA, LAID, celsius).days for celsius in (26.0, 30.0))
    moved = hatch_window(PICTA, LAID, [(NOON, 26.0), (NOON + timedelta(days=10), 30.0)])
    assert 10 / cool + (moved.days - 10) / warm == pytest.approx(1.0, abs=1e-6)


def test_a_power_cut_delays():
    """Two days at 18 C cost nearly two days."""
    steady = hatch_window(PICTA, LAID, readings((100, 27.0)))
    cut = hatch_window(PICTA, LAID, readings((20, 27.0), (2, 18.0), (78, 27.0)))
    assert 1.0 < cut.days - steady.days < 2.0


@pytest.mark.parametrize(("cool", "warm"), [(22.0, 32.0), (25.0, 37.0)])
def test_a_daily_swing_is_averaged_by_rate_and_goes_on_in_the_forecast(cool, warm):
    """Twenty days of a swing are taken to go on: one day does the mean of both rates."""
    half_day = timedelta(hours=12)
    swing = [(NOON + i * half_day, cool if i % 2 else warm) for i in range(2 * 20)]
    curve = fitted(incubation_points(PICTA))
    mean_rate = (1 / curve.days(cool) + 1 / curve.days(warm)) / 2
    assert hatch_window(PICTA, LAID, swing).days == pytest.approx(1 / mean_rate, rel=0.01)


def test_a_swing_into_the_heat_is_slower_than_its_mean():
    """Where heat slows development, the mean temperature would promise too early a hatch."""
    half_day = timedelta(hours=12)
    swing = [(NOON + i * half_day, 25.0 if i % 2 else 37.0) for i in range(2 * 20)]
    assert hatch_window(PICTA, LAID, swing).days > 1.05 * hatch_window(PICTA, LAID, 31.0).days


def test_the_order_of_readings_does_not_matter():
    """Readings brought in late, in any order, count the same."""
    rows = readings((30, 26.0), (40, 28.5))
    assert hatch_window(PICTA, LAID, rows[::-1]) == hatch_window(PICTA, LAID, rows)


def test_a_gap_is_bridged_openly():
    """A week without a reading is filled with the reading before it, and the basis says so."""
    rows = [*readings((10, 27.0)), (NOON + timedelta(days=20), 27.0)]
    window = hatch_window(PICTA, LAID, rows)
    assert "gap of 11 days bridged with the reading next to it" in window.basis
    assert "bridged" not in hatch_window(PICTA, LAID, readings((90, 27.0))).basis


def test_readings_after_the_day_asked_about_are_not_known_yet():
    """What was read later does not change what could be said on the day."""
    rows = readings((20, 27.0), (60, 22.0))
    then = hatch_window(PICTA, LAID, rows, asof=LAID + timedelta(19))
    assert then.days == pytest.approx(hatch_window(PICTA, LAID, 27.0).days, rel=1e-6)


def test_no_temperature_means_a_wider_window_that_says_so():
    """With nothing logged the usual temperature is assumed, openly, and the window is wider."""
    assumed = hatch_window(PICTA, LAID, None)
    known = hatch_window(PICTA, LAID, 27.2)
    assert assumed.assumed and "27.2 C assumed" in assumed.basis
    assert not known.assumed
    assert width(assumed) > width(known)


def test_wider_beyond_the_temperatures_known():
    """Two degrees outside the fitted range the window is wider than inside, and says so."""
    known = species((24.0, 86.0), (26.0, 69.0), (28.0, 57.0))
    inside, outside = (hatch_window(known, LAID, celsius) for celsius in (26.0, 31.0))
    assert width(outside) > width(inside)
    assert "beyond the temperatures known (24 to 28 C)" in outside.basis
    assert "beyond" not in inside.basis


@pytest.mark.parametrize(
    "durations", [((24.0, 86.0), (28.0, 57.0)), ((26.0, 69.0),), ()], ids=["two", "one", "none"]
)
def test_few_points_still_give_a_sane_answer(durations):
    """Two points, one or none: days within reason, falling with warmth, the window around them."""
    windows = [hatch_window(species(*durations), LAID, celsius) for celsius in (24, 26, 28, 30)]
    days = [window.days for window in windows]
    assert days == sorted(days, reverse=True)
    assert all(20 < window.low < window.days < window.high < 200 for window in windows)


def test_fewer_points_make_wider_windows():
    """What is known narrows the window: three points, then one, then none."""
    three = species((24.0, 86.0), (26.0, 69.0), (28.0, 57.0))
    widths = [
        width(hatch_window(each, LAID, 27.0)) for each in (three, species((24.0, 86.0)), species())
    ]
    assert widths == sorted(widths)


def test_cold_that_stops_development_is_said_so():
    """At 8 C nothing is to be expected: the days stop at a thousand, and the basis says why."""
    window = hatch_window(PICTA, LAID, 8.0)
    assert (window.days, window.high) == (1000, 1000)
    assert "nothing is to be expected" in window.basis


@pytest.mark.parametrize(("celsius", "warned"), [(32.0, False), (32.5, True), (21.5, True)])
def test_heat_and_cold_that_eggs_may_not_bear_are_named(celsius, warned):
    """Past the temperatures to avoid (picta: below 22, above 32 C) the basis warns."""
    assert ("eggs may die (memory)" in hatch_window(PICTA, LAID, celsius).basis) is warned


def test_a_file_of_durations_only_says_what_else_it_rests_on():
    """The basis names the general gecko values for what a keeper's file leaves out."""
    assert "general gecko values" in hatch_window(species((26.0, 69.0)), LAID, 27.0).basis


def test_own_hatches_move_the_window_more_with_each():
    """A household whose eggs take 58 days at 27.2 C is believed more with every clutch."""
    first = date(2025, 1, 1)
    own = [
        own_hatch(first + timedelta(10 * i), first + timedelta(10 * i + 58), 27.2)
        for i in range(30)
    ]
    middles = [hatch_window(PICTA, LAID, 27.2, own=own[:n]).days for n in (0, 1, 3, 10, 30)]
    assert middles == sorted(middles, reverse=True)
    assert middles[-1] == pytest.approx(58, abs=0.5)
    assert middles[0] - middles[1] < middles[0] - 58  # one clutch is not believed outright


def test_eggs_of_one_clutch_count_less_than_clutches():
    """Six eggs of one clutch move the forecast less than six clutches do."""
    day = date(2025, 1, 1)
    one = [own_hatch(day, day + timedelta(56), 27.2)] * 6
    six = [own_hatch(day + timedelta(i), day + timedelta(i + 56), 27.2) for i in range(6)]
    assert hatch_window(PICTA, LAID, 27.2, own=one).days > (
        hatch_window(PICTA, LAID, 27.2, own=six).days
    )


def test_a_thermometer_that_reads_high_shows_up_as_a_shift_elsewhere_too():
    """Slow hatches at 27 C lengthen the forecast at 29 C as well."""
    day = date(2025, 1, 1)
    own = [own_hatch(day + timedelta(i), day + timedelta(i + 72), 27.0) for i in range(8)]
    plain, moved = (hatch_window(PICTA, LAID, 29.0, own=o).days for o in ((), own))
    assert 1.04 < moved / plain < 1.12


def test_a_date_gone_wrong_is_not_learnt_from():
    """A hatch written down a year late leaves the forecast alone."""
    slip = [own_hatch(date(2025, 1, 1), date(2026, 3, 1), 27.2)]
    assert hatch_window(PICTA, LAID, 27.2, own=slip).days == (hatch_window(PICTA, LAID, 27.2).days)


def test_scattered_hatches_make_wider_windows():
    """Clutches that scatter widely say that the next one may as well."""
    day = date(2025, 1, 1)

    def own(days):
        return [
            own_hatch(day + timedelta(9 * i), day + timedelta(9 * i + d), 27.2)
            for i, d in enumerate(days * 4)
        ]

    tidy = hatch_window(PICTA, LAID, 27.2, own=own([62, 63]))
    loose = hatch_window(PICTA, LAID, 27.2, own=own([55, 70]))
    assert width(loose) > width(tidy)


def colony(*rows, egg_in="B4", incubator="1", eggs=()):
    return Colony(
        zone=ZoneInfo("Europe/Lisbon"),
        animals={"F3": Animal("F3", "picta", "female")},
        boxes={
            "B": Box("B", 3, 4, incubator),
            "C": Box("C", 2, 5, "2"),
        },
        readings=tuple(ClimateReading(at, place, celsius) for at, place, celsius in rows),
        eggs=(egg(egg_in), *eggs),
    )


def egg(slot, *moves, **more):
    stays = (Stay(LAID, slot), *(Stay(since, to) for since, to in moves))
    return Egg("e1", "c1", "F3", LAID, stays[-1].slot, "picta", stays=stays, **more)


TODAY = LAID + timedelta(30)


def daily(place, celsius, days=31):
    return [(NOON + timedelta(days=i), place, celsius) for i in range(days)]


def test_an_egg_has_the_warmth_of_the_incubator_its_box_stands_in():
    """Box B in incubator 1: what was read there counts, however the place is written."""
    book = colony(*daily("Incubator 1", 26.0), *daily("incubator 2", 30.0))
    window = egg_window(book, book.eggs[0], TODAY)
    assert window.days == pytest.approx(hatch_window(PICTA, LAID, 26.0).days, rel=1e-3)
    assert not window.assumed


def test_a_reading_of_the_box_itself_counts():
    """A reading taken in box B counts for its eggs."""
    book = colony(*daily("box B", 29.0))
    assert egg_window(book, book.eggs[0], TODAY).days == pytest.approx(
        hatch_window(PICTA, LAID, 29.0).days, rel=1e-3
    )


def test_a_move_to_another_incubator_counts_from_that_day():
    """Ten days in box B at 26 C, then box C at 30 C: the shares add up to one."""
    book = colony(*daily("incubator 1", 26.0), *daily("incubator 2", 30.0))
    moved = egg("B4", (LAID + timedelta(10), "C1"))
    window = egg_window(book, moved, TODAY)
    cool, warm = (hatch_window(PICTA, LAID, celsius).days for celsius in (26.0, 30.0))
    assert 10 / cool + (window.days - 10) / warm == pytest.approx(1.0, abs=2e-3)
    assert "moved 1 time" in window.basis


def test_an_egg_nobody_measured_is_assumed_and_says_so():
    """Readings of another incubator are not taken for this one's."""
    book = colony(*daily("incubator 2", 30.0))
    window = egg_window(book, book.eggs[0], TODAY)
    assert window.assumed
    assert "no temperature logged" in window.basis


def test_the_households_only_incubator_is_taken_where_a_box_names_none():
    """With one incubator read and the box put in none, that one is meant."""
    book = colony(*daily("incubator", 29.0), incubator=None)
    assert egg_window(book, book.eggs[0], TODAY).days == pytest.approx(
        hatch_window(PICTA, LAID, 29.0).days, rel=1e-3
    )


def test_later_readings_are_not_used_before_their_day():
    """Asked as of day 30, a heat wave on day 40 is not known."""
    book = colony(*daily("incubator 1", 26.0), (NOON + timedelta(days=40), "incubator 1", 33.0))
    known = colony(*daily("incubator 1", 26.0))
    assert egg_window(book, book.eggs[0], TODAY).days == (
        egg_window(known, known.eggs[0], TODAY).days
    )


def hatched(number, days):
    laid = LAID - timedelta(90 + 8 * number)
    return Egg(
        f"h{number}", f"h{number}", "F3", laid, None, "picta", stays=(Stay(laid, "B1"),),
        end="hatched", ended=laid + timedelta(days),
    )  # fmt: skip


def test_the_households_hatches_in_the_book_move_the_window():
    """Eight earlier clutches that came early bring the next window forward."""
    rows = [(NOON + timedelta(days=i), "incubator 1", 27.2) for i in range(-200, 31)]
    early = colony(*rows, eggs=[hatched(i, 58) for i in range(8)])
    plain = colony(*rows)
    moved = egg_window(early, early.eggs[0], TODAY)
    assert moved.days < egg_window(plain, plain.eggs[0], TODAY).days - 3
    assert "8 own hatches from 8 clutches" in moved.basis


def test_readings_of_long_ago_still_count_for_eggs_of_long_ago():
    """An egg laid two years back is answered from the readings of its time."""
    then = LAID + timedelta(730)
    book = colony(*daily("incubator 1", 26.0), (NOON + timedelta(days=729), "incubator 1", 30.0))
    assert egg_window(book, book.eggs[0], then).days == pytest.approx(
        hatch_window(PICTA, LAID, 26.0).days, rel=0.01
    )
