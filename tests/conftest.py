"""What every folder of tests may use: a PostgreSQL server, started where the first test asks."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.postgres import Server


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """One server for all tests of a run."""
    server = Server()
    yield server
    server.close()


@pytest.fixture
def database(postgres: Server) -> Iterator[str]:
    """The URL of an empty book in a database of its own."""
    url = postgres.lend()
    yield url
    postgres.give_back(url)
