"""The tables of the back pages: each is there when something is known, and only then."""

from dataclasses import replace

import pytest
from sheets.made_packs import leg, pack
from sheets.surveyed_pack import surveyed_pack

from routeprep.sheets.back_pages import back_pages

OF_LINES_AND_DRIVES = {
    "How often each stretch was looked at": 5,
    "Drives": 2,
    "Plan and ground": 1,
    "Ties": 3,
    "Station equations and mile markers": 3,
    "Curves": 4,
    "Grades": 3,
    "Where a driver may see less than it takes to stop": 2,
}


def sections(made):
    """The sections of a pack's back pages by their titles."""
    return {str(one["title"]): one for one in back_pages(made, [])}


@pytest.mark.parametrize(("title", "count"), OF_LINES_AND_DRIVES.items())
def test_a_table_has_a_row_for_all_that_is_known(title, count):
    """As wide as its head and its shares, with the words that explain it."""
    found = sections(surveyed_pack())[title]

    assert len(found["rows"]) == count
    assert {len(row) for row in found["rows"]} == {len(found["head"])} == {len(found["shares"])}


@pytest.mark.parametrize("title", OF_LINES_AND_DRIVES)
def test_nothing_known_prints_no_table(title):
    """Neither title nor words."""
    assert title not in sections(pack())


def test_ties_say_what_they_stretch():
    """Leg, station, kind, what and who, off from the tie before, stretch."""
    assert sections(surveyed_pack())["Ties"]["rows"][1] == (
        "A", "22+03.2", "paint", "plan paint at the culvert, J. Doe",
        "3.2 ft longer than the line", "+0.320 %",
    )  # fmt: skip


def test_plan_and_ground_has_eight_decimals():
    """Both lengths, three factors, system and datum in one cell."""
    (row,) = sections(surveyed_pack())["Plan and ground"]["rows"]

    assert row[0] == "C"
    assert [len(one.partition(".")[2]) for one in row[4:7]] == [8, 8, 8]
    assert row[7] == "EPSG:26914; NAD83, taken as WGS 84"


def test_stations_of_a_plan_keep_its_lengths_is_said_where_there_is_one():
    """Ground length is what all other legs have."""
    title = "Lengths, and how they were measured"
    texts = [" ".join(sections(made)[title]["text"]) for made in (surveyed_pack(), pack())]

    assert ["keep the plan's lengths" in text for text in texts] == [True, False]
    assert all("horizontal ground distance" in text for text in texts)


@pytest.mark.parametrize(
    ("operation", "said", "not_said"),
    [
        ("", "NAD83 and WGS84 are taken as one: they differ by about a metre", "as the job says"),
        ("EPSG:1515", "brought to WGS84 by EPSG:1515, as the job says", "taken as one"),
    ],
)
def test_datums_are_one_only_where_nothing_else_is_named(operation, said, not_said):
    """The convention of the sheet is the one that was used."""
    made = pack()
    made = replace(made, settings=replace(made.settings, datum_operation=operation))
    text = " ".join(sections(made)["Conventions"]["text"])

    assert said in text
    assert not_said not in text


def test_a_leg_with_a_named_zero_never_looks_like_plan_stations():
    """Its stretches carry the zero's name on the back pages too."""
    rows = sections(surveyed_pack())["How often each stretch was looked at"]["rows"]

    assert [row[1].endswith(" from Elm St north curb") for row in rows] == [
        row[0] == "B" for row in rows
    ]


def test_sections_stand_in_one_order():
    """What is to be done before issue first, the input files last."""
    titles = list(sections(pack([], legs=(leg(),), withdrawn=())))

    assert titles[0] == "Sort before issue"
    assert titles[-1] == "Input files"
