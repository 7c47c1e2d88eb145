"""The search list: what to look for, why and whose, with room for what was there."""

from dataclasses import replace

import pytest
from sheets.made_packs import NAN, leg, pack
from sheets.pdf_text import pages_of

from routeprep import tables
from routeprep.errors import OutputError
from routeprep.estimates import Missed
from routeprep.sheets import search_list


def row(along_m, **changes):
    """A cover of the city's file 9 ft right of the line."""
    usual = {
        "leg": "A", "from_m": along_m, "to_m": along_m, "along_m": along_m, "offset_m": 2.7432,
        "offset_sd_m": 2.0, "side": "R", "what": "WATER VALVE", "no": "A-9",
        "why": "in covers.geojson as WV-1; no drive saw it", "owner": "City of Elm (invented)",
        "record_id": "r1", "lon_deg": -96.1, "lat_deg": 41.2,
    }  # fmt: skip
    return usual | changes


STRETCH = {
    "to_m": 300.0, "offset_m": NAN, "offset_sd_m": NAN, "side": "", "what": "all of this stretch",
    "why": "driven once", "owner": "", "no": "", "record_id": "",
}  # fmt: skip
ESTIMATE = Missed(
    what="all things", looks=4, seen=50, estimate=60.0, low=54.0, high=80.0, method="Chao",
    text="all things: 50 seen; at least 4 more. A lower bound",
)  # fmt: skip


def searched(*rows, **changes):
    """A pack with these rows on its search list."""
    return replace(pack(**changes), search=tables.table(tables.SEARCH, list(rows)))


def text_of(*rows, **changes):
    """All text of the list."""
    return " ".join(pages_of(search_list.render(searched(*rows, **changes))))


def test_a_row_says_where_what_why_and_whose():
    """100 m past 10+00 is 13+30 to the nearest 5 ft; ±13 ft is 1.96 x 2 m, rounded up."""
    text = text_of(row(100.0))

    assert "13+30 right 9 ft ±13 ft" in text
    assert "A-9 WATER VALVE in covers.geojson as WV-1; no drive saw it" in text
    assert "Owner: City of Elm (invented)" in text


def test_a_row_has_boxes_and_room_to_write():
    """One of each for each row."""
    text = text_of(row(100.0), row(200.0))

    assert text.count("not found size tape") == 2


def test_a_metric_job_is_in_metres():
    """2.7 m ±4.0 m: 1.96 x 2 m is 3.92."""
    assert "2.7 m ±4.0 m" in text_of(row(100.0), units="metric")


def test_an_offset_without_its_plus_minus_stands_alone():
    """Where a pipe was drawn nobody says how well."""
    assert "right 9 ft A-9" in text_of(row(100.0, offset_sd_m=NAN))


def test_a_stretch_says_from_and_to():
    """Whole stretches without a side, gaps with the words that the side is not sure."""
    text = text_of(
        row(100.0, **STRETCH), row(400.0, to_m=600.0, side="", what="a sewer manhole between")
    )

    assert "13+30 to 19+85 all of this stretch driven once" in text
    assert "23+10 to 29+70 side not sure A-9 a sewer manhole between" in text


def test_a_stretch_hidden_on_one_side_says_which():
    """Parked cars on the right."""
    assert "to 19+85 right all of this" in text_of(row(100.0, **(STRETCH | {"side": "R"})))


def test_a_place_of_unknown_offset_prints_none():
    """Only that its side is not sure."""
    assert "13+30 side not sure A-9" in text_of(row(100.0, side="", offset_m=NAN))


def test_how_many_were_missed_stands_at_the_head():
    """With its own words; or that too little was seen to tell."""
    told = replace(searched(row(100.0)), missed=(ESTIMATE,))

    assert ESTIMATE.text in " ".join(pages_of(search_list.render(told)))
    assert "too few were seen on more than one passing" in text_of(row(100.0))


def test_a_leg_with_nothing_to_look_for_says_what_that_does_not_mean():
    """Leg B has none."""
    text = text_of(row(100.0))

    assert "Nothing to look for on this leg. Expect iron that no file has" in text


def test_it_says_whom_it_is_for_and_how_to_walk():
    """Once, before the first leg."""
    text = text_of(row(100.0))

    assert text.count("For the superintendent: walk it before the sheet is issued") == 1
    assert "Walk it facing traffic" in text
    assert "high-visibility clothing" in text


def test_rows_keep_together_over_many_pages():
    """A hundred rows: each page begins with the head of the table and no row is parted."""
    pages = pages_of(search_list.render(searched(*(row(9.0 * at) for at in range(100)))))

    assert len(pages) > 8
    assert all(page.count("Station, side") == 1 for page in pages[:-2])
    assert all(page.count("WATER VALVE") == page.count("tape") - page.count("tape it")
               for page in pages)  # fmt: skip


def test_the_same_pack_gives_the_same_bytes():
    """On A4, twice."""
    made = searched(row(100.0), row(200.0, **STRETCH))

    assert search_list.render(made, paper="a4") == search_list.render(made, paper="a4")


def test_another_paper_is_refused():
    """A paper that the sheet is not made for is named."""
    with pytest.raises(OutputError, match="paper 'legal'"):
        search_list.render(searched(row(100.0)), paper="legal")


def test_hostile_words_are_only_words():
    """What would be source or markup prints as typed."""
    nasty = "=1+1 {{ x }} #sys.version $1$ *bold* 工"

    assert "=1+1 {{ x }} #sys.version $1$ *bold*" in text_of(row(100.0, why=nasty, owner=nasty))


def test_a_leg_from_a_named_zero_has_no_plan_stations():
    """Feet from the curb, and the head says which."""
    text = " ".join(pages_of(search_list.render(searched(
        row(100.0), things=(), legs=(leg("A", zero="Elm St north curb"),)
    ))))  # fmt: skip

    assert "3+30 right" in text
    assert "from Elm St north curb" in text
