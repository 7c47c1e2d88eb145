"""Ramps at transverse joints, and what lies at the ends of a cut."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_work import ft, leg, machine, part, section, strip
from sheets.made_plans import run

from routeprep import tables
from routeprep.ramps import PUBLISHED_SLOPES, end_flags, ramp_flags, ramps_of
from routeprep.roadway import Haul
from routeprep.streets import Landmark
from routeprep.strips import strips_of
from routeprep.units import STATION_UNITS, to_m

LANE = part("lane", 3.5)
STEEP = Haul(ramp_slope=48.0)


def ramps(*sections, haul=STEEP, **changes):
    """Place [ft along], depth [in] and length [ft] of the ramps of a leg, and what they are for."""
    road = leg(*sections, length_m=ft(3000), **changes)
    return [
        (
            round(one.along_m / ft(1), 1),
            round(one.depth_m / to_m(1, "in"), 3),
            round(one.length_m / ft(1), 3),
            one.text.partition(", ")[2].partition(":")[0],
        )
        for one in ramps_of(strips_of(road), road, haul)
    ]


def lane(depth_in):
    """A lane cut to a depth."""
    return replace(LANE, depth_in_m=to_m(depth_in, "in"), depth_out_m=to_m(depth_in, "in"))


# trade.md 5.3: length = depth x ratio; 1 1/2, 2 and 3 in are Louisiana section 509's own examples.
@pytest.mark.parametrize(
    ("depth_in", "slope", "length_ft"),
    [
        (1.5, 48, 6.0), (2, 48, 8.0), (3, 48, 12.0), (1.5, 36, 4.5), (1.5, 30, 3.75),
        (1.5, 120, 15.0), (1.5, 12, 1.5),
    ],
)  # fmt: skip
def test_a_ramp_is_as_long_as_published(depth_in: float, slope: float, length_ft: float) -> None:
    """At the beginning and at the end of the cut."""
    got = ramps(section(right=(lane(depth_in),)), haul=Haul(ramp_slope=slope))

    assert got == [
        (0.0, depth_in, length_ft, "beginning of the cut"),
        (3000.0, depth_in, length_ft, "end of the cut"),
    ]


def test_a_ramp_says_where_it_is_and_how_long() -> None:
    """In the units of the leg's stations."""
    road = leg(section(right=(lane(2),)), length_m=ft(3000))
    metric = leg(section(right=(lane(2),)), unit=STATION_UNITS["1000 m"])

    first = ramps_of(strips_of(road), road, STEEP)[0]
    last = ramps_of(strips_of(metric), metric, STEEP)[1]
    assert first.text == "RAMP at 10+00, beginning of the cut: 2 in deep, 8.00 ft long (48:1)"
    assert last.text == "RAMP at 2+000, end of the cut: 50.8 mm deep, 2.44 m long (48:1)"


def test_a_change_of_depth_has_a_ramp_of_its_step() -> None:
    """2 in, then 3 in: 1 in, 4 ft at 48:1, by hand; whichever way it steps."""
    shallow, deep = section(end="20+00", right=(lane(2),)), section(begin="20+00", right=(lane(3),))

    assert ramps(shallow, deep)[1] == (1000.0, 1.0, 4.0, "change of depth")
    assert ramps(
        replace(deep, from_station="", to_station="20+00"),
        replace(shallow, from_station="20+00", to_station=""),
    )[1] == (1000.0, 1.0, 4.0, "change of depth")


def test_where_a_strip_goes_on_as_another_there_is_no_face() -> None:
    """A curb begins; then with 1 in more, of which the deeper one has the face."""
    shoulder = section(end="20+00", right=(lane(2),), edge_right="shoulder")
    curb = section(begin="20+00", right=(lane(2),), edge_right="curb")

    assert [one[0] for one in ramps(shoulder, curb)] == [0.0, 3000.0]
    assert ramps(shoulder, replace(curb, right=(lane(3),)))[1] == (
        1000.0, 1.0, 4.0, "change of depth",
    )  # fmt: skip


def test_a_strip_that_goes_on_in_part_has_its_whole_face() -> None:
    """Two lanes end at one: the outer lane's face is 2 in."""
    one = strip([0.0, 50.0], [0.0] * 2, [7.0] * 2)
    two = strip([50.0, 99.0], [0.0] * 2, [3.5] * 2, name="other", curb_right=True)
    far = replace(two, name="far", left_m=two.left_m + 3.6, right_m=two.right_m + 3.5)
    got = ramps_of([one, two], leg(), STEEP)
    parted = ramps_of([one, two, far], leg(), STEEP)

    assert [(ramp.strip, ramp.along_m) for ramp in got] == [
        ("right lane", 0.0), ("right lane", 50.0), ("other", 99.0),
    ]  # fmt: skip
    assert sum(ramp.along_m == 50.0 for ramp in parted) == 1


def test_a_width_that_jumps_leaves_a_face_and_a_taper_none() -> None:
    """Parking begins at once, and ends in a taper to nothing."""
    parking = replace(lane(2), what="parking")
    got = ramps(
        section(end="20+00", right=(lane(2),)),
        section(begin="20+00", right=(lane(2), replace(parking, width_end_m=0.0))),
    )

    assert got[1] == (1000.0, 2.0, 8.0, "change of width")
    assert len(got) == 3


def test_a_strip_that_begins_with_no_width_has_no_face() -> None:
    """A turn lane that opens."""
    assert [one[0] for one in ramps(section(right=(replace(lane(2), width_m=0.0),)))] == [3000.0]


def test_without_a_slope_there_is_no_ramp_but_the_published_range() -> None:
    """The agency's is asked for."""
    road = leg(section(right=(LANE,)))
    strips = strips_of(road)

    assert ramps_of(strips, road, Haul()) == ()
    (flag,) = ramp_flags(strips, road, Haul())
    assert "2 transverse joints and no ramp_slope" in flag
    assert PUBLISHED_SLOPES in flag


@pytest.mark.parametrize(
    ("slope", "words"), [(12, "steeper"), (29, "steeper"), (30, ""), (120, ""), (150, "flatter")]
)
def test_a_slope_outside_what_is_published_is_said(slope: float, words: str) -> None:
    """30:1 to 120:1 is within; a 1 in 12 was struck."""
    road = leg(section(right=(LANE,)))
    got = ramp_flags(strips_of(road), road, Haul(ramp_slope=slope))

    assert [one for one in got if words and words in one] == list(got)
    assert bool(got) == bool(words)


def test_a_depth_that_nobody_gave_makes_no_ramp_and_is_said() -> None:
    """All of it, on one side of a joint, and on both sides of one."""
    nobody = leg(section(right=(LANE,)), depth_m=math.nan)
    first, then = section(end="15+00", right=(LANE,)), section(begin="15+00", right=(lane(2),))
    half = leg(first, then, depth_m=math.nan)
    both = leg(
        replace(first, edge_right="shoulder"),
        replace(then, right=(LANE,), edge_right="curb"),
        depth_m=math.nan,
    )

    assert ramps_of(strips_of(nobody), nobody, STEEP) == ()
    assert "its depth is not given" in ramp_flags(strips_of(nobody), nobody, STEEP)[0]
    assert [one.along_m for one in ramps_of(strips_of(half), half, STEEP)] == [half.to_m]
    assert len(ramp_flags(strips_of(both), both, STEEP)) == 2


@given(
    st.lists(st.floats(0.0, 0.3), min_size=1, max_size=6),
    st.floats(1.0, 120.0),
)
def test_a_lane_has_a_ramp_wherever_its_depth_jumps(depths: list[float], slope: float) -> None:
    """Reckoned from the depths alone: from 0 to 0 through all of them."""
    labels = ["", *(f"{at + 11}+00" for at in range(len(depths) - 1)), ""]
    road = leg(
        *(
            section(begin=one, end=two, right=(replace(LANE, depth_in_m=m, depth_out_m=m),))
            for one, two, m in zip(labels, labels[1:], depths, strict=False)
        )
    )
    steps = np.abs(np.diff([0.0, *depths, 0.0]))
    got = ramps_of(strips_of(road), road, Haul(ramp_slope=slope))

    assert [one.depth_m for one in got] == pytest.approx(steps[steps >= 0.001], abs=1e-9)
    assert [one.length_m for one in got] == pytest.approx(slope * steps[steps >= 0.001])


NOTHING = tables.table(tables.OBSTRUCTIONS, [])


def track(along_m, sd_m=1.0, **changes):
    """The table of one track across the leg."""
    usual = {
        "anchor_id": "t", "no": "A-1", "leg": "A", "kind": "RRX", "name": "rail crossing",
        "from_m": along_m - 2.0, "to_m": along_m + 2.0, "along_m": along_m, "offset_m": 0.0,
        "along_sd_m": sd_m, "offset_sd_m": 1.0, "times_seen": 1, "method": "vehicle",
        "mark_ids": ("t",), "record_ids": (), "status": "seen", "action": "STOP",
        "proposed": "STOP", "lon_deg": 0.0, "lat_deg": 0.0,
    }  # fmt: skip
    return tables.table(tables.OBSTRUCTIONS, [usual | changes])


def at_ends(things=NOTHING, *, landmarks=(), machines=None, **changes):
    """What is said of the ends of a cut from 100 m to 900 m of 1000 m."""
    road = leg(from_m=100.0, to_m=900.0, landmarks=landmarks, **changes)
    return end_flags(road, [machine()] if machines is None else machines, things)


def test_ends_in_the_open_are_not_spoken_of() -> None:
    """Room on both sides; nor without a machine."""
    assert at_ends() == ()
    assert at_ends(track(900.0), machines=()) == ()


# The machine needs 20 m ahead; the middle of a cross street is up to 15 m within its curb return.
@pytest.mark.parametrize(
    ("along_m", "which"),
    [
        (79.0, ""), (81.0, "beginning"), (114.0, "beginning"), (116.0, ""), (884.0, ""),
        (886.0, "end"), (919.0, "end"), (921.0, ""),
    ],
)  # fmt: skip
def test_an_end_at_a_cross_street_is_said(along_m: float, which: str) -> None:
    """With its name and the room that is needed."""
    elm = Landmark(name="Elm St", along_m=along_m, side="", source="streets.geojson")
    got = at_ends(landmarks=(elm,))

    assert len(got) == bool(which)
    assert all(f"the {which} of the cut" in one and "lies at Elm St" in one for one in got)
    assert all("need 65.6 ft beyond it" in one for one in got)


@pytest.mark.parametrize(
    ("along_m", "sd_m", "said"), [(921.0, 0.1, True), (925.0, 0.1, False), (925.0, 3.0, True)]
)
def test_an_end_at_a_track_is_said_with_its_doubt(along_m: float, sd_m: float, said: bool) -> None:  # noqa: FBT001 - a table's column
    """A track within its ± of the room counts: 923 - 1.96 x 3 m is within 920."""
    got = at_ends(track(along_m, sd_m))

    assert bool(got) == said
    assert all("lies at a track, rail crossing" in one for one in got)


def test_things_of_other_legs_and_kinds_are_no_tracks() -> None:
    """A track across leg B, a manhole on this one."""
    assert at_ends(track(900.0, leg="B")) == ()
    assert at_ends(track(900.0, kind="MH")) == ()


def signal(along_m, kind="SIG", name="signal"):
    """The table of one signal, or of a side street."""
    return track(along_m, kind=kind, name=name)


@pytest.mark.parametrize(("kind", "name"), [("SIG", "signal"), ("SST", "side street")])
def test_an_end_at_a_signal_or_side_street_is_said_unless_a_landmark_names_it(kind, name):
    """A cross street that is named is said once."""
    (said,) = at_ends(signal(905.0, kind, name))
    (named,) = at_ends(
        signal(905.0, kind, name),
        landmarks=(Landmark(name="Oak", along_m=906.0, side="", source=""),),
    )

    assert said.startswith("leg A: the end of the cut at 39+53")
    assert f"lies at a {name} (39+69): plan for its traffic" in said
    assert "lies at Oak" in named
    assert at_ends(signal(500.0, kind, name)) == ()


def test_a_pass_that_ends_within_the_cut_has_its_end_looked_at_too():
    """Several that end at one place are said once; those at the limits with the limits."""
    road = leg(from_m=100.0, to_m=900.0)
    ends = {"along_m": np.array([100.0, 500.0]), "machine": "one"}
    passes = [run("A R1", **ends), run("A R2", **ends, travel=-1), run("A R3", **ends)]
    flags = end_flags(road, [machine()], track(505.0), passes)

    assert [one.partition(" at 26+40")[0] for one in flags] == [
        "leg A: the beginning of A R2", "leg A: the end of A R1 and A R3",
    ]  # fmt: skip
    assert all("lies at a track" in one for one in flags)
    assert end_flags(road, [machine()], NOTHING, passes) == ()


def test_the_end_of_the_line_within_the_room_may_be_a_dead_end() -> None:
    """10 m are left at the end, nothing at the beginning; 20 m are needed."""
    road = leg(from_m=0.0, to_m=990.0)
    begin, end = end_flags(road, [machine()], NOTHING)

    assert "the beginning of the cut at 10+00 has 0.0 ft of road beyond it" in begin
    assert "has 32.8 ft of road beyond it" in end
    assert "dead end" in end


def test_room_that_nobody_gave_is_asked_for() -> None:
    """What is known of the others is used."""
    unknown = machine(ahead_m=math.nan, behind_m=math.nan, name="two")

    assert len(at_ends(machines=[unknown])) == 1
    assert "not given for two" in at_ends(machines=[machine(), unknown])[0]
    assert len(at_ends(track(915.0), machines=[machine(), unknown])) == 2
