"""The first page, pressed and read without a browser."""

import pytest
from streamlit.testing.v1 import AppTest

from routeprep.home import home

PAGE = home() / "routeprep" / "pages" / "main.py"
JOB = home() / "data" / "demo" / "job"
TITLE = "Before the drum comes"


def page():
    """The page as it opens."""
    return AppTest.from_file(PAGE, default_timeout=60).run()


@pytest.fixture(scope="module")
def demo():
    """The page with the demo asked for."""
    return page().toggle(key="demo").set_value(True).run()


def handed(names):
    """The page with these files of the demo's job handed over, without their folders."""
    paths = [path for path in sorted(JOB.rglob("*.*")) if path.name in names or names == "all"]
    files = [(path.name, path.read_bytes(), "application/octet-stream") for path in paths]
    return page().file_uploader(key="files").set_value(files).run()


def test_it_opens_with_its_title_and_asks_for_files():
    """Nothing is made before anything was handed over."""
    opened = page()

    assert [title.value for title in opened.title] == [TITLE]
    assert not opened.exception
    assert len(opened.dataframe) == 0


def test_the_demo_shows_state_lists_and_pack(demo):
    """A draft says so first; each leg has its list; the pack can be taken."""
    assert not demo.exception
    assert demo.warning[0].value.startswith("**DRAFT, NOT FOR CUTTING**")
    assert [len(frame.value) > 0 for frame in demo.dataframe] == [True, True]
    assert list(demo.dataframe[0].value.columns) == [
        "No.",
        "Station",
        "What",
        "Do this",
        "Where",
        "?",
    ]
    assert len(demo.get("download_button")) == 1
    assert len(demo.get("iframe")) == 1


def test_files_handed_over_without_folders_are_the_same_job(demo):
    """The page finds each file by its name, whatever folder the job names."""
    shown = handed("all")

    assert not shown.exception
    assert [error.value for error in shown.error] == []
    assert [frame.value.equals(other.value) for frame, other in
            zip(shown.dataframe, demo.dataframe, strict=True)] == [True, True]  # fmt: skip


def test_files_without_a_job_are_told_so():
    """One sentence, and nothing is made."""
    shown = handed({"a-1-up.gpx"})

    assert [error.value for error in shown.error] == [
        "none of the files ends in \\.toml\\; hand over one job with its files"
    ]
    assert len(shown.dataframe) == 0


def test_a_job_that_cannot_be_used_is_one_sentence():
    """A job whose files are missing is refused in the words of the command line."""
    shown = handed({"job.toml"})

    assert not shown.exception
    assert len(shown.error) == 1
    assert len(shown.dataframe) == 0


def test_imported_it_does_nothing():
    """The module is a script only when it is run."""
    text = PAGE.read_text(encoding="utf-8")

    assert text.endswith('if __name__ == "__main__":\n    main()\n')
