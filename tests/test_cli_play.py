"""Conversation files from the outside: the demos, a failing one, a whole season."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from bot import cli

DEMOS = sorted((Path(__file__).parents[1] / "demo_conversations").glob("*.chat"))


def played(file: Path) -> int:
    try:
        cli.main(["play", str(file)])
    except SystemExit as end:
        return int(end.code or 0)
    return 0


@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.stem)
def test_a_demo_goes_as_written(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every demo conversation meets its own expectations."""
    status = played(file)
    unmet = [line for line in capsys.readouterr().out.splitlines() if line.startswith("! ")]
    assert (status, unmet) == (0, [])


def test_there_are_demos() -> None:
    """The folder holds the conversations that are demo, documentation and test at once."""
    assert len(DEMOS) >= 6


def test_an_unmet_expectation_is_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The exchange is printed whole, the unmet line is named, and the status is 1."""
    file = tmp_path / "wrong.chat"
    file.write_text("@clock 2026-03-01 18:30\n> hello\n< ...no such answer...\n> thanks\n")
    assert played(file) == 1
    out, err = capsys.readouterr()
    assert "! line 3: expected" in out and "> thanks" in out
    assert err.startswith("rackside: wrong.chat: 1 expectation was not met")


def test_a_line_that_does_not_read_is_two(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file that does not read is wrong usage, told by line."""
    file = tmp_path / "wrong.chat"
    file.write_text("@zone Nowhere/Land\n")
    assert played(file) == 2
    assert capsys.readouterr().err.startswith("rackside: wrong.chat line 1: no time zone")
    assert played(tmp_path / "missing.chat") == 2


@pytest.mark.slow
def test_a_season_plays_in_seconds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two hundred days of a small colony, each with what falls due, take seconds."""
    file = tmp_path / "season.chat"
    file.write_text(
        "@zone Europe/Dublin\n@clock 2026-02-01 19:00\n"
        "> new box A, 3 by 4, incubator 1\n> new female F21 picta hatched 2024-05-18\n"
        "> new male M22 picta hatched 2024-04-11\n> M22 in with F21\n"
        "@clock +30d\n> pulled M22\n> F21 laid 2 A1 A2\n@clock +170d\n"
    )
    began = time.perf_counter()
    assert played(file) == 0
    assert time.perf_counter() - began < 20
    assert capsys.readouterr().out.count("\n< [") > 5
