"""A keeper's own species files, in the folder "species" beside the book."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from scheduler import species
from tests.test_cli import Terminal, rackside

__all__ = ["rackside"]


@pytest.fixture
def folder(rackside: Terminal) -> Iterator[Path]:
    """The folder, with one file in it."""
    made = rackside.folder / "species"
    made.mkdir()
    (made / "example.toml").write_text('key = "example"\nname = "Exemplum parvum"\n')
    yield made
    species.add_own(made / "nothing")


def test_it_is_imported_and_written_back(rackside: Terminal, folder: Path) -> None:
    """An animal of that species comes in from a table, by key, and goes out again."""
    files = rackside.colony()
    with (files / "animals.csv").open("a") as file:
        file.write("P3,,example,male,,,,,,kept\n")
    assert rackside("import", str(files)).status == 0
    assert rackside("export", "out").status == 0
    assert "P3,,example,male" in (rackside.folder / "out" / "animals.csv").read_text()


def test_a_file_that_does_not_fit_is_told(rackside: Terminal, folder: Path) -> None:
    """The file and the place in it are named, and nothing starts."""
    (folder / "example.toml").write_text("key = 5\n")
    ended = rackside("check")
    assert (ended.status, ended.err.startswith("rackside: species/example.toml: ")) == (3, True)
