"""What the cover shows of what was poorly looked at, of sight, and of files left out."""

from dataclasses import replace

import pytest
from sheets.made_packs import pack, rows
from sheets.surveyed_pack import surveyed_pack, tied_leg

from routeprep import tables
from routeprep.shapes import Source
from routeprep.sheets.front_page import front_page


def shown(made):
    """The cover of a pack."""
    return front_page(made, {one.settings.code: rows(made, one.settings.code) for one in made.legs})


def poor(*lengths_m):
    """Stretches end to end that nobody drove, parted by good ones of 1 m."""
    at_m, found = 0.0, []
    for length_m in lengths_m:
        ends_m = (at_m, at_m + length_m, at_m + length_m + 1.0)
        found += [
            {"leg": "A", "from_m": ends_m[0], "to_m": ends_m[1], "reason": "not driven"},
            {"leg": "A", "from_m": ends_m[1], "to_m": ends_m[2]},
        ]
        at_m += length_m + 1.0
    none = {"looks_up": 0, "looks_down": 0, "looks_day": 0, "looks_night": 0}
    return tables.table(tables.COVERAGE, [one | none for one in found])


def test_what_was_poorly_looked_at_stands_on_the_cover():
    """Leg, stations and why, and how much of the cut it is."""
    found = shown(surveyed_pack())["poor"]

    assert found["title"] == "2,790 ft of 5,575 ft"
    assert found["rows"][0] == ["A", "16+60 to 21+50", "driven once; only at night"]
    assert len(found["rows"]) == 3
    assert found["more"] == ""


def test_a_long_list_keeps_the_longest_and_says_how_many_more():
    """Six stand on the cover in the order along; the shorter ones are on the back pages."""
    made = replace(pack(), coverage=poor(60, 10, 70, 80, 20, 90, 100, 110))
    found = shown(made)["poor"]

    assert len(found["rows"]) == 6
    assert "10+00 to 11+95" in found["rows"][0][1]
    assert found["more"] == "and 2 more stretches, all shorter, on the back pages"
    assert [row[1] for row in found["rows"]] == sorted(row[1] for row in found["rows"])


def test_places_to_look_at_come_with_their_caution():
    """That it is a hint, and that nothing is said of crests."""
    found = shown(surveyed_pack())["sight"]

    assert found["rows"][0][:5] == [
        "A",
        "17+00 to 19+00",
        "stations counting up",
        "210 ft",
        "250 ft",
    ]
    assert "A hint, no design check" in found["caution"]
    assert "Sight over crests is not judged" in found["caution"]


def test_many_places_to_look_at_are_cut():
    """Six, and how many more."""
    road = tied_leg()
    made = pack([], legs=(replace(road, sight=road.sight * 4),), withdrawn=())

    assert shown(made)["sight"]["more"] == "and 2 more places on the back pages"


def test_files_set_aside_are_named_on_the_cover():
    """By name; the rest of many on the back pages."""
    made = surveyed_pack()
    many = tuple(
        Source(name=f"{no}.gpx", what="set aside", sha256="0" * 64, taken={}, skipped={})
        for no in range(9)
    )

    assert shown(made)["aside"] == {"rows": [["drives/bad.gpx"]], "more": ""}
    assert shown(replace(made, sources=many))["aside"]["more"] == (
        "and 3 more files on the back pages"
    )


@pytest.mark.parametrize("name", ["poor", "sight", "aside"])
def test_a_job_without_any_shows_none(name):
    """Empty ones print nothing."""
    assert shown(pack())[name]["rows"] == []
