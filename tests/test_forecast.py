"""The forecast commands' answers, as JSON objects."""

import json
from datetime import date, timedelta

import pytest

from bot.forecast import ForecastError, clutch, hatch, lines

KEYS = ["days", "low", "high", "coverage", "hatch", "from", "to", "basis"]


def test_a_hatch_answer_has_the_fixed_keys_in_order():
    """Days as numbers, dates as ISO dates, the basis in words."""
    answer = hatch("picta", "2026-03-10", 27.0)
    assert list(answer) == KEYS
    assert answer["coverage"] == 0.8
    assert date.fromisoformat(answer["hatch"]) == date(2026, 3, 10) + timedelta(
        round(answer["days"])
    )
    assert answer["low"] < answer["days"] < answer["high"]
    json.dumps(answer)


def test_readings_and_own_hatches_come_from_csv_files(tmp_path):
    """Files with the columns at,celsius and laid,hatched,celsius are read."""
    readings, own = tmp_path / "readings.csv", tmp_path / "own.csv"
    rows = [f"2026-03-{day}T19:30:00+00:00,26.0" for day in range(10, 31)]
    readings.write_text("at,celsius\n" + "\n".join(rows) + "\n")
    own.write_text("laid,hatched,celsius\n2025-11-05,2026-01-12,26.0\n2025-12-01,2026-02-07,26\n")
    logged = hatch("picta", "2026-03-10", readings=str(readings))
    assert logged["days"] == pytest.approx(hatch("picta", "2026-03-10", 26)["days"], abs=0.05)
    moved = hatch("picta", "2026-03-10", readings=str(readings), own=str(own))
    assert moved["days"] < logged["days"] - 2
    assert "2 own hatches from 2 clutches" in moved["basis"]


def test_a_clutch_answer_counts_from_the_last_laying(tmp_path):
    """Laying dates may come in any order; the household's others come from a file."""
    own = tmp_path / "own.csv"
    own.write_text("female,laid\nF2,2025-12-01\nF2,2025-12-27\nF4,2025-12-03\nF4,2025-12-29\n")
    answer = clutch("picta", "2026-01-22,2026-01-01", "2026-01-25", str(own))
    assert list(answer) == KEYS
    assert date.fromisoformat(answer["hatch"]) == date(2026, 1, 22) + timedelta(
        round(answer["days"])
    )
    assert answer["days"] > clutch("picta", "2026-01-01,2026-01-22", "2026-01-25")["days"]


def test_lines_are_answered_in_order_and_errors_in_their_place():
    """Each line gets one line back; one that cannot be answered says why and stops nothing."""
    asked = [
        {"species": "picta", "laid": "2026-03-10", "celsius": 27.0},
        {"species": "nosuch", "laid": "2026-03-10", "celsius": 27.0},
        {"species": "picta", "laid": ["2026-03-01", "2026-03-22"], "on": "2026-03-25"},
        {"species": "picta", "laid": "2026-03-01,2026-03-22", "on": "2026-03-25"},
    ]
    answers = [json.loads(line) for line in lines([*map(json.dumps, asked), "", "not json"])]
    assert [list(each) == KEYS for each in answers] == [True, False, True, True, False]
    assert "no species" in answers[1]["error"]
    assert answers[2] == answers[3]


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (lambda: hatch("picta", "10 March", 27), "laid: '10 March' is not a date"),
        (lambda: hatch("picta", "2026-03-10", "warm"), "celsius: 'warm' is not a temperature"),
        (lambda: hatch("picta", "2026-03-10", 81), "between 0 and 50 C"),
        (lambda: hatch("picta", "2026-03-10", readings="none.csv"), "no file none.csv"),
        (lambda: hatch("picta", "2026-03-10", readings=[]), "at least one reading"),
        (lambda: hatch("picta", "2026-03-10", 27, own=[["2026-03-10", "2026-03-01", 27]]),
         "own, line 1: hatched"),
        (lambda: clutch("picta", "", "2026-03-10"), "at least one laying date"),
        (lambda: clutch("picta", "2026-03-11", "2026-03-10"), "is after 2026-03-10"),
        (lambda: clutch("picta", "2025-03-11", "2026-03-10"), "run of clutches is over"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_in_one_sentence(asked, says):
    """The error names the option (or file and line) and what was expected."""
    with pytest.raises(ForecastError) as error:
        asked()
    assert says in str(error.value)
    assert "\n" not in str(error.value)


def test_a_bad_row_is_named_by_file_and_line(tmp_path):
    """A reading that is not a time is found by its line."""
    path = tmp_path / "r.csv"
    path.write_text("at,celsius\n2026-03-10T10:00+00:00,27\nyesterday,27\n")
    with pytest.raises(ForecastError, match=r"^r\.csv, line 3: at: 'yesterday'"):
        hatch("picta", "2026-03-10", readings=str(path))
