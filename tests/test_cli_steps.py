"""The progress bar is patient and shows on a terminal only; a job is a .toml."""

import io
import sys

import click
import pytest

from routeprep.cli.arguments import JobFile
from routeprep.cli.steps import pack_listing, steps


class Screen(io.StringIO):
    """What is written, by something that says whether it is a terminal."""

    def __init__(self, *, terminal):
        super().__init__()
        self.terminal = terminal

    def isatty(self):
        """As asked for."""
        return self.terminal


@pytest.fixture
def clock(monkeypatch):
    """A clock that a test turns by hand."""
    now_s = [0.0]
    monkeypatch.setattr("routeprep.cli.steps.time.monotonic", lambda: now_s[0])
    return now_s


@pytest.mark.parametrize(
    ("terminal", "taken_s", "seen"),
    [(True, 0.4, False), (True, 3.0, True), (False, 3.0, False)],
    ids=["soon over", "slow on a terminal", "slow into a file"],
)
def test_a_bar_shows_past_one_second_on_a_terminal(monkeypatch, clock, terminal, taken_s, seen):
    """What is over at once does not flicker, and a file gets no bar."""
    screen = Screen(terminal=terminal)
    monkeypatch.setattr(sys, "stderr", screen)
    with steps(2) as done:
        clock[0] = taken_s
        done("map.html")
        done("report.json")

    assert ("map.html" in screen.getvalue()) == seen


def test_the_listing_names_files_with_their_sizes(tmp_path):
    """Sizes in kB of 1000 bytes, in one column."""
    for name, size in (("map.html", 123_456), ("report.json", 400)):
        (tmp_path / name).write_bytes(b"x" * size)

    assert pack_listing([tmp_path / "map.html", tmp_path / "report.json"]).splitlines() == [
        f"{tmp_path}/",
        "  map.html         123.5 kB",
        "  report.json        0.4 kB",
    ]


def test_a_job_is_called_by_its_file_or_as_a_stored_one(tmp_path):
    """The ending decides, whatever its case; a folder is no job either."""
    for name in ("JOB.TOML", "job.gpkg"):
        (tmp_path / name).write_text("")
        assert JobFile().convert(str(tmp_path / name), None, None) == str(tmp_path / name)
    (tmp_path / "x.toml").mkdir()

    assert JobFile().convert("store:Elm Street", None, None) == "store:Elm Street"
    with pytest.raises(click.BadParameter, match="is a directory"):
        JobFile().convert(str(tmp_path / "x.toml"), None, None)
    with pytest.raises(click.BadParameter, match="does not exist"):
        JobFile().convert(str(tmp_path / "nowhere.gpkg"), None, None)
    with pytest.raises(click.BadParameter, match=r"give the job's \.toml file, a job file"):
        JobFile().convert(str(tmp_path / "job.json"), None, None)
