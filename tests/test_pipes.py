"""Recorded pipes on a leg that runs north from the origin of the tests' plane."""

import numpy as np
import pytest
import shapely
from builders import KINDS, PLANE, leg_settings, lonlat, settings, straight, survey
from hypothesis import given
from hypothesis import strategies as st
from sheets.made_packs import thing

from routeprep import tables
from routeprep.legs import build_legs
from routeprep.pipes import MOST_APART_M, missing_at, pipes_of

FT_M = 0.3048


def leg(length_m=1000.0):
    """One straight leg."""
    job = settings(leg_settings())
    read = survey(lines={"A": (straight(length_m),)})
    return build_legs(read, job, read.fixes, {})[0][0]


LEG = leg()


def line(*xy_m):
    """A line through points of the plane [m]."""
    return shapely.LineString(np.column_stack(PLANE.to_lonlat(np.array(xy_m, dtype=np.float64))))


def record(geometry, record_id="p1", **changes):
    """A record of a sewer."""
    usual = {"record_id": record_id, "source": "records/sewers.geojson", "geometry": geometry}
    return usual | changes


def manhole(along_m, offset_m=1.0, **changes):
    """A known sewer manhole."""
    lon_deg, lat_deg = lonlat(offset_m, along_m)
    return thing(f"A-{along_m:g}", along_m, offset_m=offset_m, along_sd_m=2.0, offset_sd_m=1.0,
                 lon_deg=lon_deg, lat_deg=lat_deg) | changes  # fmt: skip


def missing(*records, known=(), edge_m=8.0, on=LEG):
    """What is missing: what it is, from, to and offset [m], length [m]."""
    places = missing_at(
        pipes_of(tables.table(tables.RECORDS, list(records)), KINDS),
        tables.table(tables.OBSTRUCTIONS, list(known)),
        on,
        kinds=KINDS,
        edge_m=edge_m,
    )
    return [(one.what, round(one.from_m), round(one.to_m), round(one.offset_m)) for one in places]


def test_an_end_without_a_manhole_is_missing_one():
    """A pipe of 100 m: one end has a manhole, the other has none."""
    assert missing(record(line((1, 200), (1, 300))), known=[manhole(203.0)]) == [
        ("end", 300, 300, 1)
    ]


def test_a_bend_is_missing_one_and_a_wobble_is_not():
    """It turns by 14 degrees at 300 m; 0.3 m at 250 m is the drawing's."""
    pipe = line((1, 200), (1.3, 250), (1, 300), (3.5, 310), (6, 320))

    assert missing(record(pipe), known=[manhole(200.0), manhole(320.0, 6.0)]) == [
        ("bend", 300, 300, 1)
    ]


def test_ends_that_meet_are_one_place():
    """Two pipes that touch, and nothing known: three places."""
    pipes = [record(line((1, 200), (1, 300))), record(line((1, 301), (1, 400)), "p2")]

    assert missing(*pipes) == [("end", 200, 200, 1), ("end", 300, 300, 1), ("end", 400, 400, 1)]


def test_a_pipe_too_long_to_have_none_is_a_gap():
    """More than 400 ft between two known manholes; with one between there is none."""
    pipe = record(line((1, 200), (1, 400)))
    ends = [manhole(200.0), manhole(400.0)]

    assert missing(pipe, known=ends) == [("gap", 200, 400, 1)]
    assert missing(pipe, known=[*ends, manhole(300.0)]) == []


def test_400_ft_is_the_most():
    """Recommended Standards for Wastewater Facilities, from memory."""
    assert pytest.approx(400 * FT_M) == MOST_APART_M


def test_a_gap_is_on_the_road_only_as_far_as_the_pipe_is():
    """It comes in at 45 degrees: 8 m beside the line it is at 292 m; looked for every 5 m."""
    pipe = record(line((-200, 100), (0, 300), (0, 500)))

    assert missing(pipe) == [
        ("gap", 293, 300, -4), ("bend", 300, 300, 0), ("gap", 300, 500, 0), ("end", 500, 500, 0),
    ]  # fmt: skip


def test_what_lies_beside_the_road_is_left_out():
    """A pipe in a yard, one past the end, one across with its ends in the yards."""
    pipes = [line((40, 200), (40, 600)), line((0, 1100), (0, 1300)), line((-50, 500), (50, 500))]

    assert missing(*(record(one, f"p{at}") for at, one in enumerate(pipes))) == []


def test_a_pipe_far_away_is_not_looked_at():
    """More than 500 ft from the leg's frame."""
    assert missing(record(line((5000, 200), (5000, 400)))) == []


@pytest.mark.parametrize(
    ("changes", "carries"),
    [
        ({}, "sewer"),
        ({"name": "sanitary main 4"}, "sewer"),
        ({"source": "storm-sewers.gpkg"}, "storm"),
        ({"source": "pipes.gpkg", "name": "drain 12"}, "storm"),
        ({"source": "pipes.gpkg", "kind": "SMH"}, "sewer"),
        ({"kind": "WV"}, ""),
        ({"name": "lateral 12"}, ""),
        ({"source": "water-mains.geojson"}, ""),
    ],
)
def test_a_pipe_says_what_it_carries(changes, carries):
    """By its kind, its name or its file's name; a house's own pipe and water are none."""
    pipes = pipes_of(tables.table(tables.RECORDS, [record(line((0, 0), (0, 9)), **changes)]), KINDS)

    assert [one.carries for one in pipes] == [carries] * bool(carries)


def test_each_part_of_a_line_is_a_pipe_and_a_point_is_none():
    """A line of two parts, and a cover of the same file."""
    two = shapely.MultiLineString([line((0, 0), (0, 9)), line((0, 20), (0, 30))])
    records = [record(two, owner="City"), record(shapely.Point(*lonlat(0, 0)), "m1")]
    pipes = pipes_of(tables.table(tables.RECORDS, records), KINDS)

    assert [(one.record_id, one.owner) for one in pipes] == [("p1", "City")] * 2


def test_an_inlet_is_a_storm_pipes_and_a_manhole_of_unknown_owner_is_anybodys():
    """A catch basin ends a storm pipe and no sewer; "manhole" ends either."""
    storm = record(line((1, 200), (1, 300)), source="storm.geojson")
    basin, unknown = manhole(200.0, kind="CB"), manhole(300.0, kind="MH")

    assert missing(storm, known=[basin, unknown]) == []
    assert missing(record(line((1, 200), (1, 300))), known=[basin, unknown]) == [
        ("end", 200, 200, 1)
    ]


def test_records_and_lists_may_be_empty():
    """No records, no list."""
    assert missing() == []


@given(st.permutations(range(3)))
def test_the_order_of_the_file_changes_nothing(order):
    """Pipes that meet, in any order."""
    pipes = [record(line((1, 100 + 90 * at), (1, 190 + 90 * at)), f"p{at}") for at in range(3)]

    assert missing(*(pipes[at] for at in order)) == missing(*pipes)


def test_a_gap_knows_its_length_and_pipe():
    """200 m of pipe, of a record."""
    pipes = pipes_of(tables.table(tables.RECORDS, [record(line((1, 200), (1, 400)))]), KINDS)
    known = tables.table(tables.OBSTRUCTIONS, [manhole(200.0), manhole(400.0)])
    (gap,) = missing_at(pipes, known, LEG, kinds=KINDS, edge_m=8.0)

    assert gap.length_m == pytest.approx(200.0, abs=0.05)
    assert gap.pipe.record_id == "p1"
