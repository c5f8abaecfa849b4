"""The systemd unit, verified by systemd; when it is restarted; how often the clock is looked at."""

from __future__ import annotations

import configparser
import shutil
import subprocess
from pathlib import Path

import pytest

import bot.serve
from bot.serve.run import NO_BOOK, RING, WRONG_SETTING

UNIT = Path(bot.serve.__file__).with_name("rackside.service")


def test_systemd_finds_nothing_wrong_with_the_unit() -> None:
    """`systemd-analyze verify` says nothing and ends with 0."""
    verify = shutil.which("systemd-analyze")
    if verify is None:
        pytest.skip("no systemd-analyze here to verify the unit with")
    found = subprocess.run(
        [verify, "verify", "--man=no", str(UNIT)], capture_output=True, text=True, timeout=60
    )
    assert (found.returncode, found.stderr) == (0, "")


def test_what_a_restart_can_not_mend_is_not_restarted() -> None:
    """A fault is tried again, a wrong setting and a book that does not open are not."""
    unit = configparser.ConfigParser(strict=False, interpolation=None)
    unit.optionxform = str  # type: ignore[assignment, method-assign]
    unit.read(UNIT)
    assert unit["Service"]["Restart"] == "on-failure"
    prevented = {int(each) for each in unit["Service"]["RestartPreventExitStatus"].split()}
    assert {WRONG_SETTING, NO_BOOK} <= prevented
    assert not prevented & {0, 1}


def test_the_wall_clock_is_looked_at_often_enough() -> None:
    """At least every five seconds, with as much to spare as one slow look may take."""
    assert RING <= 2.5
