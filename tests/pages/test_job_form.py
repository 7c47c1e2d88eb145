"""The job's forms: all that a TOML has is asked for, kept, and left alone where nothing changed."""

import ast
import inspect
import tomllib

import pandas as pd
import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from routeprep.current import current_of
from routeprep.errors import JobError
from routeprep.home import home
from routeprep.kinds import ACTIONS
from routeprep.pages.job_fields import TABLES, Field, fields_of
from routeprep.pages.job_values import (
    edited_rows,
    put,
    rows_frame,
    shown_value,
    tables_of,
    typed_value,
)
from routeprep.readers import jobleg, jobrecords, jobtoml, jobwork

NAME = "Bluestem Road and Alder Street (invented)"
DEMO = (home() / "data" / "demo" / "job" / "job.toml").read_text()


def table(name):
    """The declared table of a name."""
    return next(one for one in TABLES if one.name == name)


def keys(name, units="us"):
    """The keys that a form asks for, those of a table within by its own name."""
    return {one.key.partition(".")[0] for one in fields_of(table(name), units)}


def texts_in(module):
    """Every text that a reader's module holds."""
    tree = ast.parse(inspect.getsource(module))
    return {one.value for one in ast.walk(tree)
            if isinstance(one, ast.Constant) and isinstance(one.value, str)}  # fmt: skip


def test_the_forms_ask_for_all_that_the_reader_knows():
    """What a reader lists as known, with sections apart from their leg."""
    assert keys("job") == set(vars(jobtoml)["_JOB"])
    assert keys("inputs") == set(vars(jobtoml)["_INPUTS"])
    assert keys("leg") | keys("leg", "metric") == set(vars(jobleg)["_KEYS"]) - {"section"}
    assert keys("records") == set(vars(jobrecords)["_KEYS"])
    assert {one.name.partition(".")[0] for one in TABLES} == set(vars(jobtoml)["_TOP"]) - {"format"}


@pytest.mark.parametrize("units", ["us", "metric"])
def test_no_form_asks_for_what_the_reader_refuses(units):
    """A table of each, with every field filled, has no unknown key."""
    filled = {"number": 2.5, "whole": 1, "text": "x", "texts": ["x"], "place": [1.0, 2.0]}
    document = tomlkit.parse(f'format = 1\n[job]\nname = "x"\nunits = "{units}"\n')
    for one in TABLES:
        values = {}
        for field in fields_of(one, units):
            if field.sort == "rows":
                values[field.key] = [{c.key: filled.get(c.sort, "x") for c in field.columns}]
            else:
                values[field.key] = filled.get(field.sort, "x")
        if one.name == "job":
            values["units"] = units
        put(document, one, 0, values)
    with pytest.raises(JobError, match=r"\[job\]") as caught:
        jobtoml.read_settings(tomlkit.dumps(document).encode(), name="j", kinds_text="")

    assert [fault for fault in caught.value.facts["faults"] if "is not known; the n" in fault] == []


def test_the_words_to_choose_from_are_those_of_the_readers():
    """Edges, ways and sides; what else is chosen comes from where it is declared."""
    known = {
        word
        for name in ("leg.section", "machine", "leg")
        for field in table(name).fields
        for one in (field, *field.columns)
        if one.sort == "choice"
        for word in one.known
    }
    said = texts_in(jobwork) | texts_in(jobleg) | set(jobleg.STATION_UNITS) | set(jobwork.PARTS)

    assert known - said - {"true", "false", "mile marker"} == set()
    assert table("kind").fields[8].known == ACTIONS


def test_a_table_shown_and_kept_as_it_is_changes_nothing():
    """Not a comment, not a blank."""
    commented = DEMO.replace('units = "us"', 'units = "us" # feet')
    document = tomlkit.parse(commented)
    for one in TABLES:
        several = tables_of(document, one.name)
        for at, found in enumerate(several):
            values = {}
            for field in fields_of(one, "us"):
                said = shown_value(found, field)
                if field.sort == "rows":
                    said = edited_rows(rows_frame(found, field), {})
                values[field.key] = typed_value(field, said)
            put(document, one, at, values)

    assert tomllib.loads(tomlkit.dumps(document)) == tomllib.loads(DEMO)
    assert "# feet" in tomlkit.dumps(document)


def test_tables_are_added_and_taken_out():
    """Of a leg, what lies across it too."""
    document = tomlkit.parse(DEMO)
    put(document, table("leg"), 2, {"code": "C", "name": "Third", "zero": "curb"})
    put(document, table("leg.section"), 0, {"left": [{"what": "lane", "width_ft": 12}]}, within=2)
    put(document, table("leg.section"), 1, {"from": "0+10"}, within=0)
    put(document, table("machine"), 0, None)
    put(document, table("map"), 0, {"tiles": "https://t/{z}/{x}/{y}"})
    got = tomllib.loads(tomlkit.dumps(document))

    assert got["leg"][2] == {
        "code": "C", "name": "Third", "zero": "curb",
        "section": [{"left": [{"what": "lane", "width_ft": 12}]}],
    }  # fmt: skip
    assert [len(leg["section"]) for leg in got["leg"]] == [2, 1, 1]
    assert got["machine"] == []
    assert got["map"] == {"tiles": "https://t/{z}/{x}/{y}"}


def test_a_centerline_may_be_a_text_or_a_table():
    """Both are shown as its file; nothing left of it takes it out."""
    file = next(one for one in table("leg").fields if one.key == "centerline.file")
    where = next(one for one in table("leg").fields if one.key == "centerline.where")
    document = tomlkit.parse('[[leg]]\ncenterline = "a.xml"\n[[leg]]\nname = "x"\n')
    first, second = tables_of(document, "leg")

    assert (shown_value(first, file), shown_value(first, where)) == ("a.xml", "")
    assert shown_value(second, file) == ""
    put(document, table("leg"), 0, {"centerline.file": None, "centerline.where": None})
    put(document, table("leg"), 1, {"centerline.file": "b.json", "centerline.where": "a = 1"})
    assert tomllib.loads(tomlkit.dumps(document))["leg"] == [
        {}, {"name": "x", "centerline": {"file": "b.json", "where": "a = 1"}},
    ]  # fmt: skip


def test_a_place_is_two_numbers():
    """Or it is refused in a sentence."""
    place = Field(key="p", label="", sort="place")

    assert typed_value(place, " -96.1, 41 ") == [-96.1, 41]
    assert typed_value(place, " ") is None
    for wrong in ("1", "1, x", "1, 2, 3"):
        with pytest.raises(JobError, match="write longitude, comma, latitude"):
            typed_value(place, wrong)


def test_rows_are_those_shown_with_what_was_edited_added_and_deleted():
    """Rows in which nothing is said are left out."""
    columns = (
        Field(key="number", label=""),
        Field(key="expires", label="", sort="date"),
        Field(key="n", label="", sort="number"),
    )
    field = Field(key="tickets", label="", sort="rows", columns=columns)
    frame = rows_frame({"tickets": [{"number": "1", "n": 2}, {"number": "2"}, {}]}, field)
    state = {
        "edited_rows": {0: {"expires": "2026-06-09"}, "2": {"n": None}},
        "deleted_rows": [1],
        "added_rows": [{"number": "3", "n": 1.5}, {}],
    }

    assert typed_value(field, edited_rows(frame, state)) == [
        {"number": "1", "expires": pd.Timestamp("2026-06-09").date(), "n": 2},
        {"number": "3", "n": 1.5},
    ]
    assert typed_value(field, edited_rows(frame.iloc[:0], {})) is None


@given(st.text(st.characters(codec="utf-8", exclude_characters="\r\x00"), max_size=200))
def test_any_text_is_kept_as_it_was_typed(text):
    """But for blanks around it; and is shown again."""
    field = Field(key="where", label="")
    document = tomlkit.parse("")
    put(document, table("briefing"), 0, {"where": typed_value(field, text)})
    back = tomlkit.parse(tomlkit.dumps(document))

    assert shown_value(back["briefing"], field) == text.strip()


# --- the page ----------------------------------------------------------------------------------


@pytest.fixture
def page(office):
    """The page of the demo."""
    return office.turned(office.named().button(key="demo").click().run(), "job")


def field_of(page, key):
    """The widget of a field of the form that is shown."""
    widgets = [*page.text_input, *page.number_input, *page.text_area, *page.selectbox,
               *page.date_input]  # fmt: skip
    return next(one for one in widgets if one.key.endswith(f" {key}"))


def keep(page):
    """The page after its form was kept."""
    return next(one for one in page.button if one.key.endswith(" keep")).click().run()


def toml(office, job=NAME):
    """The job's TOML as the store has it."""
    current = current_of(office.store().entries(job))
    return tomllib.loads(office.store().blob(current.toml_sha256).decode())


def part(page, title):
    """The page with another part of the job."""
    return page.segmented_control(key="part of the job").set_value(title).run()


def test_a_value_is_kept(office, page):
    """The rest is as it was."""
    field_of(page, "number").set_value("MG-26-099")
    shown = keep(page)

    assert [one.value for one in shown.success] == ["Kept\\."]
    before = tomllib.loads(DEMO)
    before["job"]["number"] = "MG-26-099"
    assert toml(office) == before


def test_what_cannot_be_read_is_refused_and_what_was_typed_stays(office, page):
    """All that is wrong is said."""
    field_of(page, "timezone").set_value("Nowhere/At All")
    shown = keep(page)

    assert "Nowhere" in shown.error[0].value
    assert field_of(shown, "timezone").value == "Nowhere/At All"
    assert toml(office) == tomllib.loads(DEMO)


def test_every_part_is_shown(page):
    """Without an error, whatever is in it."""
    for one in TABLES:
        shown = part(page, one.title)
        assert not shown.exception
        assert one.title in [sub.value for sub in shown.subheader]


def test_a_leg_is_changed_and_another_added_and_taken_out(office, page):
    """By the choice which."""
    legs = part(page, "Legs")
    field_of(legs, "depth_in").set_value(3.0)
    shown = keep(legs)
    shown.selectbox(key="which leg 0").set_value(2).run()
    for key, value in (("code", "C"), ("name", "Third"), ("zero", "the curb")):
        field_of(shown, key).set_value(value)
    field_of(shown, "start_near").set_value("-100.88, 41.43")
    shown = keep(shown)
    added = toml(office)["leg"]
    out = next(one for one in shown.button if one.key.endswith(" out"))
    out.click().run()

    assert added[0]["depth_in"] == 3
    assert added[2] == {"code": "C", "name": "Third", "zero": "the curb",
                        "start_near": [-100.88, 41.43]}  # fmt: skip
    assert len(toml(office)["leg"]) == 2


def test_a_new_job_is_kept_part_by_part(office):
    """What is still to be given is said each time."""
    page = office.named()
    page.text_input(key="new name").set_value("Third Street").run()
    page = keep(office.turned(page.button(key="start").click().run(), "job"))
    assert office.store().jobs() == ("Third Street",)
    assert "date is missing" in page.error[0].value
    field_of(page, "date").set_value(pd.Timestamp("2026-06-01").date())
    page = keep(page)
    assert "has no leg" in page.error[0].value
    page = part(page, "Legs")
    for key, value in (("code", "C"), ("name", "Third"), ("zero", "the curb")):
        field_of(page, key).set_value(value)
    field_of(page, "start_near").set_value("-100.88, 41.43")

    assert [one.value for one in keep(page).error] == []
    assert toml(office, "Third Street")["leg"][0]["name"] == "Third"


def test_a_toml_takes_the_place_of_the_job_s(office, page):
    """One that cannot be read does not."""
    other = DEMO.replace("MG-26-014", "MG-26-077").encode()
    for content, said in ((b"\xff", "is no text"), (b"[job", "is not TOML"), (other, "")):
        page.file_uploader(key="toml in").set_value([("x.toml", content, "text/plain")]).run()
        page.button(key="put toml").click().run()
        assert [said in one.value for one in page.error] == ([True] if said else [])
    assert toml(office)["job"]["number"] == "MG-26-077"


@pytest.mark.usefixtures("page")
def test_others_see_the_job_and_cannot_keep_it(office):
    """The superintendent changes it."""
    other = office.signed_in("Cy", "crew")
    other.button(key=f"open {NAME}").click().run()
    shown = office.turned(other, "job")

    assert "The superintendent changes it." in [one.value for one in shown.markdown]
    assert all(one.disabled for one in shown.button)
