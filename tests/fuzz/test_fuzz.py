"""A few seconds of what `make fuzz` does for a minute."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from bot.channels import sms
from bot.serve.intake import Intake
from tests.fuzz.attack import attack


@pytest.mark.slow
@pytest.mark.parametrize("number", [1, 2])
def test_odd_requests_break_nothing(tmp_path: Path, number: int) -> None:
    """Whatever is sent: no 5xx, no error, and no row written but by a member in their own book."""
    found = asyncio.run(attack(tmp_path, number, seconds=3))
    assert not found.wrong, "\n".join(found.wrong[:5])
    assert sum(found.counts.values()) > 30


@pytest.mark.slow
def test_a_fault_would_be_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a handler raises, or a signature is not looked at, the same requests say so."""
    with monkeypatch.context() as patch:
        patch.setattr(Intake, "take", lambda *_: 1 / 0)
        found = asyncio.run(attack(tmp_path / "one", 1, most=40))
    assert any("ZeroDivisionError" in line for line in found.wrong)
    with monkeypatch.context() as patch:
        patch.setattr(sms, "genuine", lambda *_: True)
        found = asyncio.run(attack(tmp_path / "two", 1, most=80))
    assert any("not refused" in line for line in found.wrong)
    assert any("wrote messages" in line for line in found.wrong)
