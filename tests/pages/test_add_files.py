"""Files: what is dragged in, and what was understood of it."""

import tomllib

import pytest

from routeprep.current import current_of
from routeprep.home import home

NAME = "Bluestem Road and Alder Street (invented)"
JOB = home() / "data" / "demo" / "job"
LIST = b"""LEG A
wheeled by R. Sample, 2026-05-04
12+40 MH 6 ft RT, 24 in
"""


@pytest.fixture
def page(office):
    """The page of the demo."""
    return office.turned(office.named().button(key="demo").click().run(), "files")


def added(page, *files, **said):
    """The page after files were handed over and added."""
    given = [(name, content, "application/octet-stream") for name, content in files]
    page.file_uploader(key="files to add").set_value(given).run()
    for name, what in said.items():
        page.selectbox(key=f"as {name.replace('_', '.')}").set_value(what).run()
    return page.button(key="add files").click().run()


def current(office):
    """The job as the store has it."""
    return current_of(office.store().entries(NAME))


def test_what_was_understood_of_each_file_is_listed(page):
    """Each with what was taken."""
    listed = page.dataframe[0].value

    assert set(listed["File"]) >= {"drives/a-1-up.gpx", "walk-b.txt"}
    assert listed.loc[listed["File"] == "drives/a-1-up.gpx", "Taken"].iloc[0].endswith("waypoints")
    assert not page.error


def test_a_list_is_known_for_what_it_is_and_named_by_the_job(office, page):
    """The TOML names it, since no pattern did; the rest of the job is as it was."""
    shown = added(page, ("again.txt", LIST))
    now = current(office)
    toml = tomllib.loads(office.store().blob(now.toml_sha256).decode())

    assert [one.value for one in shown.success] == ["Added\\."]
    assert office.store().blob(now.files["marks/again.txt"]) == LIST
    assert toml["inputs"]["marks"] == ["walk-b.txt", "marks/again.txt"]
    assert "marks/again.txt" in set(shown.dataframe[0].value["File"])


def test_a_drive_that_a_pattern_means_needs_no_naming(office, page):
    """The TOML stays as it was."""
    before = current(office).toml_sha256
    other = (JOB / "drives" / "a-1-up.gpx").read_bytes().replace(b"<name>", b"<name>other ")
    added(page, ("a-9-up.gpx", other))

    assert current(office).toml_sha256 == before
    assert "drives/a-9-up.gpx" in current(office).files


def test_the_person_says_what_a_file_is(office, page):
    """Whatever was guessed; a centerline is named by its leg."""
    shown = added(page, ("again.txt", LIST), again_txt="a centerline, named by its leg")

    assert not shown.error
    assert "lines/again.txt" in current(office).files


def test_what_cannot_be_read_is_refused_and_nothing_is_kept(office, page):
    """In a sentence that says which."""
    before = office.store().serial(NAME)
    shown = added(page, ("odd.gpx", b"<gpx><broken"))

    assert "odd" in shown.error[0].value
    assert office.store().serial(NAME) == before


def test_another_file_of_a_name_that_is_there_is_refused(office, page):
    """Nothing is written over; the same file again is the same."""
    same = (JOB / "walk-b.txt").read_bytes()
    added(page, ("walk.txt", same))
    before = office.store().serial(NAME)
    shown = added(page, ("walk.txt", LIST))

    assert "the job has another file" in shown.error[0].value
    assert office.store().serial(NAME) == before


def test_two_files_of_one_name_are_refused(page):
    """Folders do not tell them apart."""
    shown = added(page, ("a/x.txt", LIST), ("b/x.txt", LIST))

    assert "was handed over twice" in shown.error[0].value


def test_a_file_is_taken_out_and_stays_in_the_history(office, page):
    """Its entry is there, and one that takes it back."""
    page.selectbox(key="which file").set_value("walk-b.txt").run()
    shown = page.button(key="take out").click().run()
    kinds = [one.removed for one in office.store().entries(NAME) if one.thing == "walk-b.txt"]

    assert "walk-b.txt" not in current(office).files
    assert kinds == [False, True]
    assert "walk" in shown.error[0].value


def test_a_job_without_settings_asks_for_them(office):
    """Before anything is added."""
    page = office.named()
    page.text_input(key="new name").set_value("Third Street").run()
    shown = office.turned(page.button(key="start").click().run(), "files")

    assert len(shown.file_uploader) == 0


@pytest.mark.usefixtures("page")
def test_others_see_the_files_and_add_none(office):
    """The superintendent does."""
    other = office.signed_in("Cy", "crew")
    shown = office.turned(other.button(key=f"open {NAME}").click().run(), "files")

    assert len(shown.dataframe) == 1
    assert len(shown.file_uploader) == 0
    assert len(shown.button) == 0
