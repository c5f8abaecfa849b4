"""The next clutch: a female's own rhythm, the household's, the species', and what was seen."""

from datetime import date, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from scheduler.colony import Animal, Clutch, Colony, Pairing, Sign
from scheduler.laying import Herself, clutch_window, next_clutch
from scheduler.species import load

PICTA = load("picta")
FIRST = date(2026, 1, 1)


def every(days, clutches, first=FIRST):
    return [first + timedelta(days * i) for i in range(clutches)]


def after(days):
    return FIRST + timedelta(days)


def width(window):
    return window.high / window.low


def test_a_female_with_no_interval_gets_the_species_figure():
    """After a first clutch the window is the species' 14 to 30 days around about 21."""
    window = next_clutch(PICTA, [FIRST], on=after(3))
    assert window.days == pytest.approx(21, abs=1)
    assert window.low == pytest.approx(14, abs=1.5)
    assert window.high == pytest.approx(30, abs=2)
    assert "no interval of her own yet" in window.basis


def test_days_count_from_her_last_clutch():
    """The dates lie the stated days after her last laying."""
    window = next_clutch(PICTA, every(20, 4), on=after(65))
    assert window.centre == after(60) + timedelta(round(window.days))
    assert window.start <= window.centre <= window.end


def test_her_own_rhythm_counts_more_with_each_clutch():
    """A female who lays every 28 days is believed more with each interval."""
    middles = [next_clutch(PICTA, every(28, n), on=every(28, n)[-1]).days for n in (1, 2, 4, 8)]
    assert middles == sorted(middles)
    assert middles[-1] == pytest.approx(28, abs=1.5)


def test_a_steady_female_gets_a_narrower_window():
    """Eight even intervals leave less doubt than none."""
    assert width(next_clutch(PICTA, every(24, 9), on=after(195))) < (
        width(next_clutch(PICTA, [FIRST], on=after(3)))
    )


def test_the_household_counts_for_a_female_with_no_interval():
    """Where the other females lay every 28 days, a new one is expected nearer to that."""
    others = {f"F{i}": every(28, 5) for i in range(6)}
    window = next_clutch(PICTA, [FIRST], others, on=after(3))
    assert 24 < window.days < 28
    assert "24 of 6 other females" in window.basis


def test_a_female_is_not_counted_among_the_others():
    """Her own intervals enter once: naming her again under others would not be her."""
    book = colony(clutches={"F1": every(28, 6), "F2": every(18, 6)})
    direct = next_clutch(PICTA, every(28, 6), {"F2": every(18, 6)}, on=after(150))
    assert clutch_window(book, "F1", after(150)).days == pytest.approx(direct.days)


def test_eggs_found_a_day_apart_are_one_clutch():
    """A second egg found the next day does not make an interval of one day."""
    split = [FIRST, after(1), after(22)]
    assert next_clutch(PICTA, split, on=after(23)).days == pytest.approx(
        next_clutch(PICTA, [FIRST, after(22)], on=after(23)).days, rel=0.02
    )


def test_a_winter_break_is_not_an_interval():
    """Five months between two runs of clutches say nothing of her rhythm."""
    spring = every(21, 4, first=after(210))
    with_break = next_clutch(PICTA, every(21, 4) + spring, on=spring[-1])
    assert with_break.days == pytest.approx(next_clutch(PICTA, every(21, 7), on=after(126)).days)


def test_late_but_in_her_run_begins_where_it_began():
    """Past her window the end moves on, the beginning stays, and it says since when she is late."""
    usual = next_clutch(PICTA, every(21, 4), on=after(63 + 1))
    late = next_clutch(PICTA, every(21, 4), on=after(63 + 36))
    assert late.start == usual.start
    assert usual.end < after(63 + 36) < late.end
    assert after(63 + 36) <= late.centre <= late.end
    assert "late: her window ended on 1 Apr" in late.basis


def test_while_she_is_waited_for_the_middle_moves_with_the_days():
    """What has not happened by today lies ahead: day by day the middle and the end move on."""
    windows = [next_clutch(PICTA, every(21, 4), on=after(63 + n)) for n in range(1, 50)]
    assert all(one.days <= other.days + 1e-9 for one, other in pairwise(windows))
    assert all(one.high <= other.high + 1e-9 for one, other in pairwise(windows))
    assert {one.start for one in windows} == {windows[0].start}


def test_a_rested_female_with_no_mating_since_has_no_window():
    """Long after her last clutch, with no male since, nothing says that she will lay."""
    assert next_clutch(PICTA, every(21, 4), on=after(63 + 61)) is None
    assert next_clutch(PICTA, every(21, 4), on=after(63 + 60)) is not None


def test_a_first_clutch_is_counted_from_the_mating():
    """A female with no clutch is expected three to five weeks after the male went in."""
    window = next_clutch(PICTA, Herself(mated=FIRST, last_with=FIRST), on=after(5))
    assert (window.start, window.end) == (after(22), after(36))
    assert "21 to 35 days from mating" in window.basis


def test_several_sessions_make_the_first_clutch_less_sure():
    """Mating may have been at any of three sessions: the window reaches from first to last."""
    once = next_clutch(PICTA, Herself(mated=FIRST, last_with=FIRST), on=after(10))
    thrice = next_clutch(PICTA, Herself(mated=FIRST, last_with=after(8)), on=after(10))
    assert thrice.start == once.start
    assert thrice.end == once.end + timedelta(8)


def test_nothing_known_gives_no_window():
    """A female that never met a male, nor laid, has none."""
    assert next_clutch(PICTA, [], on=FIRST) is None


def test_gravid_brings_the_end_of_the_window_in():
    """Seen gravid two weeks after her last clutch, she lays within the time that eggs show."""
    plain = next_clutch(PICTA, Herself((FIRST,)), on=after(12))
    gravid = next_clutch(PICTA, Herself((FIRST,), gravid=after(10)), on=after(12))
    assert gravid.end < plain.end
    assert "seen gravid" in gravid.basis


def test_gravid_alone_makes_a_window():
    """A new female seen gravid, of unknown past, is searched within two weeks."""
    window = next_clutch(PICTA, Herself(gravid=FIRST), on=after(1))
    assert window.start == FIRST
    assert window.end == after(14)


def test_slim_after_gravid_opens_the_search_now():
    """Gravid, then slim, and no eggs found: she has laid, and the search is on."""
    seen = Herself((FIRST,), gravid=after(12), slim=after(18))
    window = next_clutch(PICTA, seen, on=after(18))
    assert window.start == window.centre == after(18)
    assert "search now" in window.basis


def test_slim_before_gravid_opens_nothing():
    """Slim first and gravid later is a female filling up, not one that has laid."""
    seen = Herself((FIRST,), gravid=after(18), slim=after(12))
    assert "search now" not in next_clutch(PICTA, seen, on=after(18)).basis


def colony(clutches=None, pairings=(), signs=(), sex="female", status="kept"):
    tags = {*(clutches or {}), *(p[1] for p in pairings), *(s[0] for s in signs), "F1"}
    return Colony(
        zone=ZoneInfo("UTC"),
        animals={tag: Animal(tag, "picta", sex, status=status) for tag in tags},
        clutches=tuple(
            Clutch(f"{tag}-{day}", tag, day, 2)
            for tag, days in (clutches or {}).items()
            for day in days
        ),
        pairings=tuple(Pairing(f"{m}-{f}-{day}", m, f, day) for m, f, day in pairings),
        signs=tuple(Sign(tag, day, sign) for tag, day, sign in signs),
    )


def test_signs_before_her_last_clutch_are_over():
    """Gravid and slim before the eggs were found do not open another search."""
    seen = [("F1", after(15), "gravid"), ("F1", after(20), "slim")]
    window = clutch_window(colony({"F1": [FIRST, after(21)]}, signs=seen), "F1", after(25))
    assert "search now" not in window.basis
    assert window.days == pytest.approx(21, abs=1)


def test_a_new_mating_counts_once_the_old_run_is_over():
    """A female put to a male after her rest is counted from that."""
    book = colony({"F1": every(21, 3)}, pairings=[("M1", "F1", after(200))])
    window = clutch_window(book, "F1", after(205))
    assert window.start == after(222)


def test_what_happened_after_the_day_is_not_known():
    """As of the day before the second clutch, only the first is counted from."""
    book = colony({"F1": [FIRST, after(21)]})
    assert clutch_window(book, "F1", after(20)).start < after(21)
    assert clutch_window(book, "F1", after(21)).start > after(21)


def test_a_male_or_a_sold_female_has_no_window():
    """Only females in the household's care are waited for."""
    assert clutch_window(colony({"F1": [FIRST]}, status="sold"), "F1", after(5)) is None
    assert clutch_window(colony({"F1": [FIRST]}, sex="male"), "F1", after(5)) is None
