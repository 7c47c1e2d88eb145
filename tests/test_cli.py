"""The commands: what they print, where they write, and how they end."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click import Context
from click.testing import CliRunner

from routeprep import __version__
from routeprep.cli import main
from routeprep.home import home
from routeprep.packing import FILES

JOB = home() / "data" / "demo" / "job"
HEAVY = (
    "folium",
    "geopandas",
    "numpy",
    "pandas",
    "pyproj",
    "scipy",
    "shapely",
    "streamlit",
    "typst",
)
COMMANDS = main.list_commands(Context(main))


def run(*arguments):
    """A command run in this process: its exit code, output and errors."""
    return CliRunner().invoke(main, [str(one) for one in arguments])


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demo, laid out and packed once, with what was printed."""
    target = tmp_path_factory.mktemp("demo") / "out"
    done = run("demo", "-o", target)
    assert (done.exit_code, done.stderr) == (0, "")
    return target, done.stdout


@pytest.mark.parametrize("arguments", [["--help"], ["-h"], ["--version"], []])
def test_help_and_version_load_nothing_heavy(arguments):
    """The group answers without loading a command, so at once."""
    code = (
        f"import sys\nfrom routeprep.cli import main\n"
        f"try:\n    main({arguments!r})\nfinally:\n"
        f"    print(sorted(set({HEAVY!r}) & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)

    assert done.stderr.splitlines()[-1] == "[]"


@pytest.mark.parametrize(("given", "threads"), [(None, "1"), ("3", "3")])
def test_linear_algebra_runs_on_one_thread_unless_told(monkeypatch, given, threads):
    """Set before a command loads the library that reads it."""
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", given or "")
    if given is None:
        monkeypatch.delenv("OPENBLAS_NUM_THREADS")
    main.get_command(Context(main), "locate")

    assert os.environ["OPENBLAS_NUM_THREADS"] == threads


def test_version_is_the_packages():
    """One version."""
    assert run("--version").stdout == f"routeprep, version {__version__}\n"


@pytest.mark.parametrize("name", COMMANDS)
def test_the_listing_says_what_the_commands_help_says(name):
    """The list of commands repeats the first line of each command's own help."""
    command = main.get_command(Context(main), name)
    assert command is not None
    first = (command.help or "").splitlines()[0]

    assert f"{name} {first}" in re.sub(r" +", " ", run("--help").stdout)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["survey"], "No such command 'survey'"),
        (["check"], "Missing argument 'JOB'"),
        (["check", "nowhere.toml"], "'nowhere.toml' does not exist"),
        (["why", JOB / "job.toml"], "Missing argument 'NO'"),
        (["brief", JOB / "numbers.csv", "-o", "x"], "is no job; give the job's .toml file"),
        (["brief", JOB / "job.toml"], "Missing option '-o'"),
        (["brief", JOB / "job.toml", "-o", "x", "--paper", "a3"], "'a3' is not one of"),
        (["locate", JOB / "numbers.csv", "-o", "x.csv"], "no line: give a file with --line"),
    ],
)
def test_what_was_not_understood_ends_with_2(arguments, told):
    """A usage error says what is wrong on stderr and writes nothing."""
    done = run(*arguments)

    assert done.exit_code == 2
    assert told in re.sub(r"\s+", " ", done.stderr)


@pytest.mark.parametrize("command", [["check"], ["brief", "-o", "pack"]])
def test_data_that_cannot_be_used_ends_with_1_and_one_sentence(command, tmp_path, monkeypatch):
    """A job with an unknown key is refused in one line on stderr; nothing is written."""
    shutil.copytree(JOB, tmp_path / "job")
    text = (tmp_path / "job" / "job.toml").read_text()
    (tmp_path / "job" / "job.toml").write_text(text.replace("revision =", "revison ="))
    monkeypatch.chdir(tmp_path)
    done = run(command[0], "job/job.toml", *command[1:])

    assert done.exit_code == 1
    assert done.stdout == ""
    assert "revison" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["job"]


def test_demo_lays_out_the_job_and_its_pack(demo):
    """The job is the demo's, file by file, and the pack is whole."""
    target, printed = demo
    laid = {p.relative_to(target / "job"): p.read_bytes() for p in (target / "job").rglob("*.*")}
    shipped = {path.relative_to(JOB): path.read_bytes() for path in JOB.rglob("*.*")}

    assert laid == shipped
    assert sorted(path.name for path in (target / "pack").iterdir()) == sorted(FILES)
    assert re.findall(r"^  ([\w.-]+) +[\d,.]+ kB$", printed, re.MULTILINE) == list(FILES)
    assert "DRAFT, NOT FOR CUTTING" in printed


def test_demo_again_is_the_same(demo):
    """A second run over the first changes no byte and refuses nothing."""
    target, printed = demo
    before = {path: path.read_bytes() for path in target.rglob("*.*")}

    assert run("demo", "-o", target).stdout == printed
    assert {path: path.read_bytes() for path in target.rglob("*.*")} == before


def test_demo_never_writes_over_what_a_person_changed(tmp_path):
    """A file of the job that was changed by hand is named and kept."""
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "decisions.csv").write_text("mine")
    done = run("demo", "-o", tmp_path)

    assert done.exit_code == 1
    assert "decisions.csv is there and is not the demo's own" in done.stderr
    assert [path.name for path in (tmp_path / "job").iterdir()] == ["decisions.csv"]


def test_brief_of_the_laid_out_job_is_the_demos_pack(demo, tmp_path):
    """``demo`` is laying out and ``brief``: the same pack comes out of both."""
    target, _ = demo
    done = run("brief", target / "job" / "job.toml", "-o", tmp_path / "pack")
    made = {path.name: path.read_bytes() for path in (tmp_path / "pack").iterdir()}

    assert done.exit_code == 0
    assert made == {path.name: path.read_bytes() for path in (target / "pack").iterdir()}


def test_check_writes_nothing_and_lists_what_is_doubtful(tmp_path, monkeypatch):
    """Files, legs, doubts, unsorted marks and what nobody decided, and exit 0."""
    monkeypatch.chdir(tmp_path)
    done = run("check", JOB / "job.toml")

    assert (done.exit_code, done.stderr) == (0, "")
    assert list(tmp_path.iterdir()) == []
    for title in ("Files", "Legs", "Sort before issue", "Not decided", "Draft because"):
        assert re.search(rf"^{title}: \d+$", done.stdout, re.MULTILINE), title
    assert re.search(r"drives/a-1-up.gpx: drive\n +took [\d,]+ ", done.stdout)
    assert re.search(r"\n  A Bluestem Road .*\n.* path driven, not plan centerline", done.stdout)


def test_app_serves_the_homes_page_on_this_machine_only(monkeypatch):
    """The server is started with the home's app.py, 127.0.0.1 and what was asked for."""
    started = []
    monkeypatch.setattr("runpy.run_module", lambda name, run_name: started.append((name, run_name)))
    monkeypatch.setattr(sys, "argv", [])
    done = run("app", "--server.port", "8600")

    assert done.exit_code == 0
    assert started == [("streamlit", "__main__")]
    assert sys.argv[:5] == [
        "streamlit",
        "run",
        str(home() / "app.py"),
        "--server.address",
        "127.0.0.1",
    ]
    assert sys.argv[-2:] == ["--server.port", "8600"]


def test_home_holds_what_the_page_and_the_demo_need():
    """In a checkout the home is the top folder."""
    assert home() == Path(__file__).resolve().parent.parent
    assert (home() / ".streamlit" / "config.toml").is_file()
