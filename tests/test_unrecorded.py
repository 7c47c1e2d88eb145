"""What was seen and stands in no file, for those who keep the files."""

import csv
import io

import pytest
import shapely
from builders import KINDS
from maps.example_pack import example_legs, example_settings, pack_of, thing
from pyproj import Geod

from routeprep import exports, tables
from routeprep.exports.unrecorded import UNRECORDED, unrecorded

LEGS = example_legs()
ROAD = LEGS[0]


def at(along_m, **record):
    """A record on the road, in the city's file."""
    there = thing(ROAD, "A-1", "SMH", along_m)
    usual = {"record_id": str(along_m), "source": "covers.geojson", "kind": "SMH", "travel": 0}
    return usual | {"geometry": shapely.Point(there["lon_deg"], there["lat_deg"])} | record


def rows(*things, records):
    """The rows for these things and records, by number."""
    table = tables.table((*tables.RECORDS, *tables.LOCATED), records)
    settings = example_settings(LEGS, kinds=KINDS)
    made = pack_of(LEGS, list(things), settings=settings, records=table)
    return {row["no"]: row for row in unrecorded(made)}


def test_a_thing_that_was_seen_among_records_of_its_owner_is_listed() -> None:
    """With the file, how many records it has of the sort, and the nearest with its distance."""
    seen = thing(ROAD, "A-1", "SMH", 200.0)
    records = [at(150.0, name="S-7"), at(300.0), at(190.0, kind="WV", name="V-1")]
    (row,) = rows(seen, records=records).values()
    _, _, away_m = Geod(ellps="WGS84").inv(
        seen["lon_deg"], seen["lat_deg"], *records[0]["geometry"].coords[0]
    )

    assert tuple(row) == UNRECORDED
    assert (row["kind"], row["owner"], row["files"]) == ("SMH", "sewer", "covers.geojson")
    assert row["why"] == (
        "covers.geojson: none of its 2 records of this sort is at this place, the nearest (SMH "
        f"S-7) is {away_m:.1f} m away"
    )


@pytest.mark.parametrize(
    ("code", "more"),
    [
        ("SMH", {"record_ids": ("r",)}),
        ("SMH", {"mark_ids": (), "record_ids": ("r",)}),
        ("SMH", {"status": "gone (A. Sample, 2026-05-30)"}),
        ("HUMP", {}),
        ("WV", {}),
    ],
)
def test_what_has_a_record_is_gone_or_is_of_another_owner_is_not(code: str, more: dict) -> None:
    """Nor what nobody owns, and a file of sewers says nothing of water."""
    seen = thing(ROAD, "A-1", code, 200.0, **more)

    assert rows(seen, records=[at(150.0), at(300.0)]) == {}


def test_a_cover_that_may_be_of_any_owner_stands_beside_all_their_files() -> None:
    """A plain manhole; each file that covers the place is named."""
    records = [at(150.0), at(260.0, kind="DMH", source="storm.geojson"), at(210.0, kind="HYD",
               source="hydrants.geojson")]  # fmt: skip
    found = rows(thing(ROAD, "A-1", "SMH", 200.0, kind="MH"), records=records)

    assert found["A-1"]["files"] == "covers.geojson; storm.geojson"
    assert found["A-1"]["owner"] == ""


def test_a_file_covers_the_ground_between_its_records_and_500_ft_around() -> None:
    """500 ft is 152.4 m; the road runs nearly straight there."""
    inside, beyond = thing(ROAD, "A-1", "SMH", 450.0), thing(ROAD, "A-2", "SMH", 470.0)

    assert set(rows(inside, beyond, records=[at(100.0), at(300.0)])) == {"A-1"}
    assert set(rows(inside, beyond, records=[at(100.0), at(900.0)])) == {"A-1", "A-2"}


def test_records_of_no_kind_or_none_at_all_cover_nothing() -> None:
    """What is not understood cannot be missing."""
    seen = thing(ROAD, "A-1", "SMH", 200.0)

    assert rows(seen, records=[]) == {}
    assert rows(seen, records=[at(150.0, kind="")]) == {}
    assert rows(records=[at(150.0)]) == {}


def test_lines_and_areas_are_measured_to_their_nearest_point() -> None:
    """A vault drawn as an area."""
    here = at(200.0)["geometry"]
    found = rows(thing(ROAD, "A-1", "SMH", 200.0), records=[at(0.0, geometry=here.buffer(1e-4))])

    assert found["A-1"]["why"].endswith("is 0.0 m away")


def test_the_table_is_read_back_by_another_reader() -> None:
    """The columns in their order; an empty one has only its header."""
    table = tables.table((*tables.RECORDS, *tables.LOCATED), [at(150.0, name="=1+1")])
    made = pack_of(
        LEGS, [thing(ROAD, "A-1", "SMH", 200.0)], records=table,
        settings=example_settings(LEGS, kinds=KINDS),
    )  # fmt: skip
    (row,) = csv.DictReader(io.StringIO(exports.unrecorded_text(made)))

    assert tuple(row) == UNRECORDED
    assert row["no"] == "A-1"
    assert "(SMH =1+1)" in row["why"]
    assert exports.unrecorded_text(pack_of(LEGS, [])) == ",".join(UNRECORDED) + "\n"
