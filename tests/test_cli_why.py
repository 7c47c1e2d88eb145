"""``why``: what one thing rests on, printed in lines that fit a laptop."""

import pytest
from click.testing import CliRunner
from made_evidence import evident_pack

from routeprep.cli import main, why
from routeprep.home import home

JOB = home() / "data" / "demo" / "job"


@pytest.fixture
def asked(monkeypatch):
    """What the command does for a number of an invented pack."""
    monkeypatch.setattr(why, "prepared", lambda _inputs, _files: evident_pack())
    return lambda no: CliRunner().invoke(main, ["why", str(JOB / "job.toml"), no])


def test_it_prints_the_evidence_in_lines_that_fit(asked):
    """All that is known, wrapped at 96, what follows two deeper."""
    done = asked("a1")
    lines = done.stdout.splitlines()

    assert (done.exit_code, done.stderr) == (0, "")
    assert lines[0] == "A-1 sewer manhole 24 in: seen twice or more"
    assert max(map(len, lines)) <= 96
    at = lines.index("What gives the place: 2")
    assert lines[at + 1].startswith("  J. Doe, ")
    assert lines[at + 2].startswith("    ")


def test_a_number_that_is_not_on_the_list_ends_with_1(asked):
    """One sentence on stderr that names the nearest."""
    done = asked("A-9")

    assert (done.exit_code, done.stdout) == (1, "")
    assert "the nearest are A-1, A-2" in done.stderr


def test_the_demos_first_thing_is_explained():
    """From the files as they are; nothing is written."""
    done = CliRunner().invoke(main, ["why", str(JOB / "job.toml"), "A-1"])

    assert done.exit_code == 0
    assert done.stdout.startswith("A-1 ")
