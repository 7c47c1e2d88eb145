"""A store in each kind of database."""

import itertools

import postgres_server
import psycopg
import pytest

from routeprep.store import open_store


@pytest.fixture(scope="session")
def server():
    """The URL of a PostgreSQL of the tests' own; skipped where none is installed."""
    with postgres_server.started() as url:
        yield url


_NAMES = (f"jobs_{number}" for number in itertools.count())


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request, tmp_path):
    """The address of a database that holds nothing; of PostgreSQL a schema stands for it."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'jobs.db'}"
    whole = request.getfixturevalue("server")
    name = next(_NAMES)
    with psycopg.connect(whole.replace("+psycopg", ""), autocommit=True) as connection:
        connection.execute(f"CREATE SCHEMA {name}")
    return f"{whole}?options=-csearch_path%3D{name}"


@pytest.fixture
def store(url):
    """An empty store."""
    with open_store(url) as opened:
        yield opened
