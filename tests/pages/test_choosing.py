"""Jobs: bringing one in, opening it, taking it along."""

import pytest

from routeprep.access import SUPERINTENDENT, Person
from routeprep.home import home
from routeprep.pages.choosing import job_file
from routeprep.store import read_job_file

JOB = home() / "data" / "demo" / "job"
NAME = "Bluestem Road and Alder Street (invented)"
ANN = Person(name="Ann", role=SUPERINTENDENT)


def handed(page, files):
    """The page after files were handed over."""
    given = [(name, content, "application/octet-stream") for name, content in files]
    page.file_uploader(key="handed").set_value(given).run()
    return page.button(key="bring").click().run()


def demo_files():
    """The demo's files without their folders."""
    return [(path.name, path.read_bytes()) for path in sorted(JOB.rglob("*.*"))]


@pytest.fixture
def demo(office):
    """The pages with the demo brought in."""
    return office.named().button(key="demo").click().run()


def test_it_opens_with_its_title_and_no_job(office):
    """Nothing is made before anything was brought in."""
    page = office.named()

    assert [one.value for one in page.title] == ["Before the drum comes"]
    assert page.subheader[0].value == "No jobs yet"
    assert office.store().jobs() == ()


def test_the_demo_is_brought_in_once_and_opened(office, demo):
    """Brought in again it is the same job."""
    assert [one.value for one in demo.success] == ["The demo is open\\."]
    assert office.store().jobs() == (NAME,)
    before = office.store().serial(NAME)
    again = demo.button(key="demo").click().run()

    assert not again.error
    assert office.store().serial(NAME) == before


@pytest.mark.usefixtures("demo")
def test_somebody_else_who_brings_the_same_files_opens_what_is_there(office):
    """The job is one, whoever brings it."""
    before = office.store().serial(NAME)
    page = office.named("Ben").button(key="demo").click().run()

    assert [one.value for one in page.success] == [
        "All of these files are here already\\, and what was done with them since\\.",
        "The demo is open\\.",
    ]
    assert office.store().serial(NAME) == before


def test_files_without_folders_are_the_demo_as_well(office, demo):
    """Each is found by its name, whatever folder the job names."""
    had = {one.entry_id for one in office.store().entries(NAME)}
    page = handed(demo, demo_files())

    assert not page.error
    assert {one.entry_id for one in office.store().entries(NAME)} == had


def test_other_files_under_the_same_name_are_refused(office, demo):
    """They would change a job that nobody looked at."""
    files = [
        (name, content.replace(b"timezone = ", b"# other\ntimezone = "))
        for name, content in demo_files()
    ]
    before = office.store().serial(NAME)
    page = handed(demo, files)

    assert "there is a job" in page.error[0].value
    assert office.store().serial(NAME) == before


def test_files_that_are_no_job_are_one_sentence(office):
    """And nothing is kept."""
    page = handed(office.named(), [("a.gpx", b"<gpx/>")])

    assert page.error[0].value.startswith("none of the files ends in")
    assert office.store().jobs() == ()


def test_a_file_that_the_job_does_not_name_is_said(office):
    """It is not kept."""
    page = handed(office.named(), [*demo_files(), ("other.txt", b"x")])

    assert "The job does not name other\\.txt\\: not kept\\." in [one.value for one in page.success]


def test_a_job_is_taken_along_in_one_file_and_brought_in_elsewhere(office, demo, tmp_path):
    """With all its entries; brought in where it came from, nothing is new."""
    entries = office.store().entries(NAME)
    path = tmp_path / "taken.gpkg"
    path.write_bytes(job_file(entries))
    before = office.store().serial(NAME)
    page = handed(demo, [("taken.gpkg", path.read_bytes())])

    assert {one.entry_id for one in read_job_file(path)[0]} == {one.entry_id for one in entries}
    assert not page.error
    assert office.store().serial(NAME) == before


def test_a_job_that_is_not_there_yet_can_be_started(office):
    """It is kept once it has settings."""
    page = office.named()
    page.text_input(key="new name").set_value("Third Street").run()
    page.button(key="start").click().run()

    assert page.session_state["job"] == "Third Street"
    assert office.store().jobs() == ()
