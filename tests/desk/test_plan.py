"""Asked who is in with whom, the desk also says where each male goes in the coming two weeks."""

from __future__ import annotations

from datetime import date

from tests.desk.conftest import Desk, rec


def was_with_m2(desk: Desk, *females: str) -> None:
    """Each female had M2 for two days last autumn, so that she counts with him."""
    for tag in females:
        if tag not in desk.state.animals:
            desk.log(
                rec("animal", tag=tag, sex="female", species="picta", hatched=date(2024, 4, 2),
                    on=date(2025, 1, 5))
            )  # fmt: skip
        desk.log(rec("paired", male="M2", female=tag, on=date(2025, 9, 1)))
        desk.log(rec("parted", male="M2", female=tag, on=date(2025, 9, 3)))


def plan(desk: Desk) -> list[str]:
    """The lines after the head of the plan."""
    lines = desk.ask("pairs").splitlines()
    return lines[lines.index("Plan:") + 1 :]


def test_with_no_pair_ever_together_there_is_no_plan(desk: Desk) -> None:
    """Who should go with whom is the keeper's to say first."""
    assert desk.ask("pairs") == "No pairs are together now."


def test_the_next_session_of_a_course_under_way_is_planned(desk: Desk) -> None:
    """The days, the pair, and why then."""
    desk.log(rec("paired", male="M2", female="F3", on=date(2026, 3, 6)))
    desk.log(rec("parted", male="M2", female="F3", on=date(2026, 3, 8)))
    assert desk.ask("pairs").splitlines() == [
        "No pairs are together now.",
        "Plan:",
        "10 to 12 Mar: M2 with F3. Session 2 of 3 is next.",
        "14 to 16 Mar: M2 with F3. 2 days after the session before.",
    ]


def test_a_male_wanted_twice_is_in_one_tub_at_a_time(desk: Desk) -> None:
    """The second line says whom she waits for."""
    was_with_m2(desk, "F3", "F7")
    assert plan(desk)[0].startswith("10 to 12 Mar: M2 with F3.")
    assert "M2 with F7" in plan(desk)[1]
    assert "M2 goes to F3 first" in plan(desk)[1]


def test_a_long_plan_is_cut_after_six_lines_and_says_so(desk: Desk) -> None:
    """Two males with two females each make more sessions than that."""
    was_with_m2(desk, "F3", "F7")
    desk.log(rec("animal", tag="M4", sex="male", species="picta", hatched=date(2023, 8, 1)))
    for tag in ("F8", "F9"):
        desk.log(
            rec("animal", tag=tag, sex="female", species="picta", hatched=date(2024, 4, 2),
                on=date(2025, 1, 5))
        )  # fmt: skip
        desk.log(rec("paired", male="M4", female=tag, on=date(2025, 9, 1)))
        desk.log(rec("parted", male="M4", female=tag, on=date(2025, 9, 3)))
    lines = plan(desk)
    assert len(lines) == 7
    assert lines[-1].startswith("And ") and lines[-1].endswith(" more.")


def test_what_could_not_be_fitted_in_is_said(desk: Desk) -> None:
    """Seven females are more than one male has days for: nothing is left out in silence."""
    was_with_m2(desk, "F3", "F7", "F8", "F9", "F10", "F11", "F12")
    *sessions, missed = plan(desk)
    assert {each.split(" with ")[1].split(".")[0] for each in sessions} == {"F3", "F7"}
    assert missed == "M2 has no days left for F8, F9, F10, F11 and F12 in these 14 days."


def test_ready_says_who_is_planned_where(desk: Desk) -> None:
    """Asked who is ready, the desk also says what to do next: the sessions of two weeks."""
    was_with_m2(desk, "F3")
    lines = desk.ask("ready", sex="female").splitlines()
    assert lines[0] == "Ready: F3 and F7."
    assert "10 to 12 Mar: M2 with F3. She may be paired." in lines[lines.index("Plan:") :]
    assert lines[-1] == 'For a mate, say "match F7".'


def test_of_equals_f3_comes_before_f10(desk: Desk) -> None:
    """Two females that nothing tells apart are planned by number, not by letters."""
    was_with_m2(desk, "F10", "F3")
    assert plan(desk)[0].startswith("10 to 12 Mar: M2 with F3.")
