"""Landmarks: where named streets meet a leg, and what else people know a place by.

Roads are drawn in a plane by hand, so that every expected place is a plain sum; lengths there are
those of the ellipsoid at sea level to 1 mm a km (``geodesy.plane_at``).
"""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from builders import KINDS, PLANE, from_start, leg_settings
from hypothesis import given
from hypothesis import strategies as st
from strategies import line_from_xy, winding_xy

from routeprep import tables
from routeprep.landmarks import credits_of, with_landmarks
from routeprep.shapes import Leg
from routeprep.streets import Landmark, Street

NEAR_M = 0.01
NONE = tables.table((*tables.RECORDS, *tables.LOCATED), [])
NO_MARKS = tables.table((*tables.MARKS, *tables.LOCATED), [])


def leg(xy_m=((0, 0), (0, 1000)), **changes):
    """A leg along the vertices [m], two lanes of 3.66 m, its edges 3.66 m off the line."""
    line = line_from_xy(np.array(xy_m, dtype=float))
    settings = leg_settings(name="Main St", **changes)
    stationing = from_start(unit=settings.unit, start_value=0.0, zero="")
    return Leg(settings=settings, line=line, stationing=stationing, from_m=0.0, to_m=line.length_m)


def street(name, *xy_m, **changes):
    """A street through the points [m]."""
    lon, lat = PLANE.to_lonlat(np.array(xy_m, dtype=float))
    made = Street(name=name, lon_deg=lon, lat_deg=lat, source="town.osm", credit="")
    return replace(made, **changes)


def met(*streets, on=None, marks=NO_MARKS, records=NONE):
    """Name, along rounded to 0.01 m, and side of the landmarks of a leg."""
    (made,) = with_landmarks([on or leg()], streets, marks=marks, records=records, kinds=KINDS)
    return [(one.name, round(one.along_m, 2) + 0.0, one.side) for one in made.landmarks]


def test_a_street_across_is_met_where_the_lines_cross():
    """Square to the leg, 400 m up."""
    assert met(street("Elm St", (-80, 400), (80, 400))) == [("Elm St", 400.0, "")]


def test_a_skewed_street_is_met_on_the_line():
    """From 50 m left at 350 to 50 m right at 450: on the line at 400."""
    assert met(street("Elm St", (-50, 350), (50, 450))) == [("Elm St", 400.0, "")]


@pytest.mark.parametrize(
    ("begins_at", "far_m", "side"),
    [(0.0, -90, "L"), (0.0, 90, "R"), (-7.0, -90, "L"), (7.0, 90, "R"), (-2.0, 90, "R")],
)
def test_a_street_that_ends_at_the_leg_meets_it_from_one_side(begins_at, far_m, side):
    """On the line, short of the curb by less than a lane (3.66 + 3.66 m), or just over the line."""
    elm = street("Elm St", (begins_at, 400), (far_m, 400))

    assert met(elm) == [("Elm St", 400.0, side)]


def test_a_street_that_ends_farther_off_does_not_meet_the_leg():
    """8 m is more than the edge and a lane, 7.3 m."""
    assert met(street("Elm St", (8.0, 400), (90, 400))) == []


def test_more_lanes_reach_farther():
    """With three lanes to the right, 14 m off is within a lane of the edge (10.97 + 3.66 m)."""
    elm = street("Elm St", (14.0, 400), (90, 400))

    assert met(elm, on=leg(lanes_right=3)) == [("Elm St", 400.0, "R")]


@pytest.mark.parametrize("off_m", [0.0, 3.0, 6.0, 9.0, 20.0])
def test_a_road_beside_the_leg_is_no_landmark(off_m):
    """A service road that never leaves it, wherever it begins."""
    assert met(street("Service Rd", (off_m, 300), (off_m, 700))) == []


def test_a_road_beside_the_leg_that_turns_into_it_is_met_there():
    """Parallel 30 m off, then square to the leg at 300."""
    assert met(street("Low Rd", (0, 300), (30, 300), (30, 700))) == [("Low Rd", 300.0, "R")]


@pytest.mark.parametrize("name", ["Main St", "MAIN STREET", "Main St.", "main  st"])
def test_the_legs_own_street_is_no_landmark(name):
    """However it is written, and where it turns off at the end too."""
    assert met(street(name, (0.4, -200), (-0.4, 500), (0.4, 1000), (200, 1010))) == []


def test_a_leg_that_says_from_where_to_where_knows_its_own_street():
    """The name of the leg goes on after the street's."""
    own = street("Main Street", (-80, 400), (80, 400))

    assert met(own, on=leg(code="A")) == []
    main = leg()
    named = replace(main, settings=replace(main.settings, name="Main St, Elm to Oak"))
    assert met(own, on=named) == []


def test_a_street_in_many_pieces_is_met_once():
    """Cut at the crossing, and 5 m and 20 m beside it."""
    pieces = [(-90, -20), (-20, -5), (-5, 0), (0, 5), (5, 90)]
    ways = [street("Elm St", (a, 400), (b, 400)) for a, b in pieces]

    assert met(*ways) == [("Elm St", 400.0, "")]


def test_two_carriageways_are_one_street():
    """At 394 and 406: in the middle, 400."""
    ways = [street("Elm St", (-90, y), (90, y)) for y in (394, 406)]

    assert met(*ways) == [("Elm St", 400.0, "")]


def test_the_two_arms_of_an_offset_crossing_are_one():
    """From the left at 390, from the right at 410."""
    ways = [street("Elm St", (0, 390), (-90, 390)), street("Elm St", (0, 410), (90, 410))]

    assert met(*ways) == [("Elm St", 400.0, "")]


def test_a_street_that_comes_back_is_met_twice():
    """A crescent meets the leg at 300 and at 600."""
    assert met(street("Elm Cir", (0, 300), (90, 300), (90, 600), (0, 600))) == [
        ("Elm Cir", 300.0, "R"),
        ("Elm Cir", 600.0, "R"),
    ]


@pytest.mark.parametrize("level", [1, -1])
def test_what_passes_over_or_under_is_no_intersection(level):
    """A bridge over the leg, a tunnel under it."""
    assert met(street("Elm St", (-90, 400), (90, 400), level=level)) == []


def test_on_a_viaduct_the_street_below_is_none_and_the_one_on_it_is():
    """The leg's own street says that it is one up there."""
    own = street("Main St", (0, 300), (0, 500), level=1)
    below, on_it = (street(name, (-90, 400), (90, 400)) for name in ("Elm St", "Oak St"))

    assert met(own, below, replace(on_it, level=1)) == [("Oak St", 400.0, "")]


def test_where_the_own_street_is_on_the_ground_again_the_crossing_counts():
    """The bridge ends at 300, the street crosses at 400."""
    bridge, ground = (
        street("Main St", (0, 0), (0, 300), level=1),
        street("Main St", (0, 300), (0, 1000)),
    )

    assert met(bridge, ground, street("Elm St", (-90, 400), (90, 400))) == [("Elm St", 400.0, "")]


@pytest.mark.parametrize(("y_m", "found"), [(-6.0, -6.0), (1012.0, 1012.0), (-40.0, None)])
def test_a_street_just_outside_an_end_is_a_landmark_too(y_m, found):
    """A cut that begins at the curb is past the street's own line; 40 m outside is too far."""
    elm = street("Elm St", (-90, y_m), (90, y_m))

    assert met(elm) == ([] if found is None else [("Elm St", found, "")])


def test_on_a_hairpin_the_right_arm_is_met():
    """Two arms 30 m apart; the street ends at the second one, 1030 + 600 m along."""
    hairpin = leg([(0, 0), (0, 1000), (30, 1000), (30, 0)])

    assert met(street("Elm St", (30, 400), (120, 400)), on=hairpin) == [("Elm St", 1630.0, "L")]


def test_landmarks_stand_in_order_along():
    """Whatever the order of the file."""
    ways = [street(f"Elm{y} St", (-90, y), (90, y)) for y in (700, 100, 400)]

    assert met(*ways) == met(*reversed(ways))
    assert [along_m for _, along_m, _ in met(*ways)] == [100.0, 400.0, 700.0]


def test_a_point_and_a_name_of_no_letters_are_no_streets():
    """Nothing to draw, nothing to say."""
    assert met(street("Elm St", (0, 400)), street("--", (-90, 400), (90, 400))) == []
    assert met() == []


def test_who_must_be_named_is_kept():
    """Each once; a file without any adds none."""
    ways = [
        street("Elm St", (-90, 100), (90, 100), credit="© B"),
        street("Oak St", (-90, 200), (90, 200), credit="© A"),
        street("Ash St", (-90, 300), (90, 300), credit="© A"),
        street("Fir St", (-90, 400), (90, 400)),
    ]
    legs = with_landmarks([leg()], ways, marks=NO_MARKS, records=NONE, kinds=KINDS)

    assert credits_of(legs) == ("© A", "© B")
    assert credits_of([leg()]) == ()


def record(name, kind, along_m, **changes):
    """A located record on leg A."""
    usual = {
        "record_id": f"r {name}", "kind": kind, "name": name, "source": "covers.geojson",
        "geometry": shapely.Point(0, 0), "leg": "A", "along_m": along_m, "travel": 0,
    }  # fmt: skip
    return usual | changes


def records(*rows):
    """A table of located records."""
    return tables.table((*tables.RECORDS, *tables.LOCATED), rows)


def test_side_streets_crossings_and_joints_of_a_file_are_landmarks():
    """With what they are, where the name does not say it; a valve and what has no name are none."""
    made = records(
        record("Elm St", "SST", 100.0, lane="L1"),
        record("Mill Creek", "BJ", 200.0),
        record("Old railroad crossing", "RRX", 300.0, lane="R1"),
        record("W-12", "WV", 400.0),
        record("", "SST", 500.0),
        record("Oak St", "SST", 600.0, leg="B"),
        record("Ash St", "SST", math.nan),
    )

    assert met(records=made) == [
        ("Elm St", 100.0, "L"),
        ("Mill Creek bridge joint", 200.0, ""),
        ("Old railroad crossing", 300.0, ""),
    ]


def test_a_record_of_a_street_that_the_map_has_adds_nothing():
    """The map's place stands; one of the same name 200 m on is another."""
    made = records(record("ELM STREET", "SST", 430.0), record("Elm St", "SST", 630.0))

    assert met(street("Elm St", (-90, 400), (90, 400)), records=made) == [
        ("Elm St", 400.0, ""),
        ("Elm St", 630.0, ""),
    ]


def mark(note, along_m, **changes):
    """A located mark of a side street on leg A."""
    usual = {
        "mark_id": f"m {along_m}", "kind": "SST", "words": f"side street, {note}", "note": note,
        "across_frame": "as driven", "method": "vehicle", "source": "d.gpx",
        "leg": "A", "along_m": along_m, "travel": 1,
    }  # fmt: skip
    return usual | changes


def test_a_side_street_that_was_called_by_name_is_a_landmark_once():
    """Two drives marked it 20 m apart: in the middle; a note that is no street's name is none."""
    rows = [
        mark("Elm St", 410.0, lane="L1"),
        mark("Elm Street", 390.0, lane="L1"),
        mark("watch kids", 500.0),
        mark("Oak St", 600.0, kind="RRX"),
        mark("a very long story about what happened at Oak St", 700.0),
    ]
    made = tables.table((*tables.MARKS, *tables.LOCATED), rows)

    assert [(name[:4], along_m, side) for name, along_m, side in met(marks=made)] == [
        ("Elm ", 400.0, "L")
    ]


def test_legs_keep_all_else():
    """Only the landmarks are new."""
    before = leg()
    (after,) = with_landmarks([before], [], marks=NO_MARKS, records=NONE, kinds=KINDS)

    assert replace(after, landmarks=()).line is before.line
    assert after.landmarks == ()


@given(xy_m=winding_xy(), share=st.floats(0.05, 0.95), turn=st.floats(0.6, 2.5))
def test_a_street_across_a_winding_leg_is_met_where_geometry_says(xy_m, share, turn):
    """Law, checked with shapely: it is where both lines cross."""
    road = shapely.LineString(xy_m)
    at = road.interpolate(share, normalized=True)
    ahead = road.interpolate(min(share * road.length + 1.0, road.length))
    heading = math.atan2(ahead.y - at.y, ahead.x - at.x) + turn
    step = np.array([math.cos(heading), math.sin(heading)]) * 90.0
    across = shapely.LineString([np.array([at.x, at.y]) - step, np.array([at.x, at.y]) + step])
    crossings = shapely.get_parts(road.intersection(across))
    found = met(street("Elm St", *across.coords), on=leg(xy_m))

    if len(crossings) == 1:
        assert len(found) == 1
        assert abs(found[0][1] - road.project(at)) < NEAR_M + road.length * 2e-6


def test_a_landmark_is_plain_data():
    """Its credit is empty unless somebody must be named."""
    assert Landmark(name="x", along_m=0.0, side="", source="y").credit == ""
