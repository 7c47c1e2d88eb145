"""Marks that say their station: on which leg, where along and across, how sure, what is odd."""

import dataclasses
import math

import pytest
from builders import KINDS, SMH, leg_settings, lonlat, mark, settings, straight, survey
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st

from routeprep import tables
from routeprep.legs import build_legs
from routeprep.lines import StationEquation, Stationing
from routeprep.readers.stationlist import read_station_list
from routeprep.shapes import Defaults
from routeprep.units import STATION_UNITS, format_station
from routeprep.walked import lateral_of, said_places

FEET = STATION_UNITS["100 ft"]
FT_M, WIDTH_M = 0.3048, 3.6576
DEFAULTS = Defaults()


def legs_of(*legs, lines=None):
    """Legs that run north for a kilometre, or as their lines do."""
    read = survey(lines=lines or {leg.code: (straight(),) for leg in legs})
    return build_legs(read, settings(*legs), read.fixes, {})[0]


def at(x_m, y_m, **more):
    """A mark's own position."""
    lon, lat = lonlat(x_m, y_m)
    return {"lon_deg": lon, "lat_deg": lat} | more


ELM = legs_of(leg_settings())
TWO = legs_of(leg_settings(), leg_settings(code="B", name="Oak Ave", start_value=5000.0))


def said(station="12+40", *, legs=ELM, **more):
    """The place that one mark says, and its row."""
    usual = {"kind": SMH, "words": SMH, "method": "wheeled", "across_frame": "up-station"}
    one = mark(**(usual | {"said_station": station} | more))
    frame = tables.table(tables.MARKS, [one])
    (place,) = said_places(frame, legs, DEFAULTS).values()
    return place, frame.to_dict("records")[0]


def place_of(station="12+40", **more):
    """The place that one mark says."""
    return said(station, **more)[0]


def across_of(*, leg=None, **more):
    """Lane, position, offset [ft] and whether it is sure."""
    legs = legs_of(leg) if leg else ELM
    place, row = said(legs=legs, **more)
    lateral = lateral_of(row, place, legs[0].settings)
    feet = round(lateral.offset_m / FT_M, 2) if math.isfinite(lateral.offset_m) else None
    return lateral.lane, lateral.position, feet, lateral.sure


def test_a_mark_lies_at_the_station_that_it_says() -> None:
    """On the only leg, without a doubt."""
    place = place_of()

    assert (place.leg, place.doubts) == (0, ())
    assert (place.along_m, place.from_m, place.to_m) == pytest.approx((240 * FT_M,) * 3)
    assert place.past_end_m == 0.0


@pytest.mark.parametrize(("method", "sd_m"), [("taped", 0.13), ("wheeled", 1.3), ("walked", 7.5)])
def test_the_doubt_grows_from_the_nearest_known_place(method: str, sd_m: float) -> None:
    """200 m from the beginning: 0.05, 0.5 and 3 in a hundred, beside what is there at once."""
    station = format_station(1000 + 200 / FT_M, FEET, decimals=4)

    assert place_of(station, method=method).along_sd_m == pytest.approx(sd_m, abs=1e-3)


def test_a_tie_near_by_takes_the_doubt_away() -> None:
    """What is known halfway counts from there."""
    tied = Stationing(unit=FEET, zero="", known_m=(0.0, 200.0), known_value=(1000.0, 1656.2))
    legs = (dataclasses.replace(ELM[0], stationing=tied),)

    assert place_of("16+56.2", legs=legs).along_sd_m == pytest.approx(0.3, abs=1e-3)
    assert place_of("16+56.2").along_sd_m == pytest.approx(1.3, abs=1e-3)


def test_marks_that_were_driven_or_say_no_station_are_left_alone() -> None:
    """Theirs is another stage's work."""
    rows = [mark(said_station="12+40", words="a"), mark(method="wheeled", words="b")]

    assert said_places(tables.table(tables.MARKS, rows), ELM, DEFAULTS) == {}


def test_a_reach_lies_at_its_middle() -> None:
    """From its first to its last station."""
    place = place_of("12+40 to 13+00")

    assert (place.from_m, place.along_m, place.to_m) == pytest.approx(
        (240 * FT_M, 270 * FT_M, 300 * FT_M)
    )


def test_the_leg_is_the_one_said() -> None:
    """By code or street."""
    assert place_of("52+40", legs=TWO, said_leg="Oak Avenue").leg == 1
    assert place_of("52+40", legs=TWO, said_leg="B").leg == 1


def test_where_no_leg_is_said_the_one_that_has_the_station_is_meant() -> None:
    """50+00 is on Oak Avenue alone."""
    assert place_of("52+40", legs=TWO).leg == 1
    assert place_of("12+40", legs=TWO).leg == 0


SAME = legs_of(leg_settings(), leg_settings(code="B", name="Oak Ave"))


@pytest.mark.parametrize(
    ("station", "more", "doubt"),
    [
        ("12+40", {"legs": SAME}, "said station 12+40 is on legs A, B: which leg?"),
        ("99+00", {"legs": TWO}, "said station 99+00 is on none of legs A, B"),
        ("12+40", {"said_leg": "C"}, "said station 12+40 is on 'C', which is no leg of this job"),
        ("45+00", {}, "said station 45+00 lies 219 ft past an end of leg A"),
        ("5+00", {}, "said station 5+00 lies 500 ft past an end of leg A"),
        ("12+4", {}, "said station: '12+4' is not a station of the 100 ft kind, write it like"),
        ("12+40", {"said_offset": "300 ft LT"}, "said offset 300 ft LT is 300 ft from leg A"),
    ],
)
def test_what_is_no_place_says_why(station: str, more, doubt: str) -> None:
    """In the words that go on the sheet."""
    place = place_of(station, **more)

    assert place.leg == -1
    assert place.doubts[0].startswith(doubt)


def equations(*pairs):
    """Elm Street with station equations."""
    jumps = tuple(StationEquation(back_value=back, ahead_value=ahead) for back, ahead in pairs)
    stationing = dataclasses.replace(ELM[0].stationing, equations=jumps)
    return (dataclasses.replace(ELM[0], stationing=stationing),)


def test_a_station_in_a_gap_is_refused_with_the_reason() -> None:
    """13+00 back is 15+00 ahead: 14+00 does not exist."""
    place = place_of("14+00", legs=equations((1300.0, 1500.0)))

    assert place.leg == -1
    assert place.doubts[0].startswith("said station: station 14+00.00 does not exist: it lies in")
    assert "; " not in place.doubts[0]


def test_a_station_in_an_overlap_needs_its_region() -> None:
    """13+00 back is 12+00 ahead: 12+50 stands twice."""
    legs = equations((1300.0, 1200.0))

    assert "stands twice on this leg" in place_of("12+50", legs=legs).doubts[0]
    assert place_of("12+50 BK", legs=legs).along_m == pytest.approx(250 * FT_M)
    assert place_of("12+50 AH", legs=legs).along_m == pytest.approx(350 * FT_M)


def test_just_past_an_end_is_said_by_how_much() -> None:
    """20 ft before the beginning."""
    place = place_of("9+80")

    assert (place.leg, place.doubts) == (0, ("past an end",))
    assert place.past_end_m == pytest.approx(20 * FT_M)


def test_position_and_station_that_agree_say_nothing() -> None:
    """Across the road there is room; the position tells the offset that nobody said."""
    place = place_of(**at(-5.0, 240 * FT_M + 4.0))

    assert place.doubts == ()
    assert place.offset_m == pytest.approx(-5.0, abs=0.01)
    assert place.offset_sd_m == pytest.approx(4.9 / 1.5096, abs=0.01)


def test_position_and_station_that_disagree_are_both_said() -> None:
    """The station wins, and the position's offset is not used."""
    place = place_of(**at(3.0, 240 * FT_M + 100.0))

    assert place.doubts == ("said station and position disagree by 328 ft",)
    assert place.along_m == pytest.approx(240 * FT_M)
    assert math.isnan(place.offset_m)


def test_a_reported_accuracy_widens_what_agrees() -> None:
    """40 m at 68 % reach 79 m at three standard deviations."""
    assert place_of(**at(0.0, 240 * FT_M + 60.0, accuracy_m=40.0)).doubts == ()


def test_a_said_offset_is_held_against_the_position_too() -> None:
    """10 ft right is not 30 m right; what was said stays."""
    near, far = (place_of(said_offset="10 RT", **at(x_m, 240 * FT_M)) for x_m in (3.0, 30.0))

    assert (near.doubts, far.doubts) == ((), ("said station and position disagree by 88 ft",))
    assert far.offset_m == pytest.approx(10 * FT_M)


def test_an_offset_that_is_not_understood_is_said() -> None:
    """The place along stays."""
    place = place_of(said_offset="by the curb")

    assert place.doubts == ("said offset 'by the curb' is not understood",)
    assert math.isnan(place.offset_m)


@pytest.mark.parametrize(("across", "offset"), [("left side", "4 RT"), ("right side", "LT")])
def test_an_offset_on_another_side_than_the_words_is_said(across: str, offset: str) -> None:
    """One of them is wrong."""
    assert place_of(across=across, said_offset=offset).doubts == ("said offset and side disagree",)


@pytest.mark.parametrize(
    ("offset", "expected"),
    [
        ("2 RT", ("R1", "inner wheel path", 2.0, True)),
        ("6 LT", ("L1", "between wheel paths", -6.0, True)),
        ("9 RT", ("R1", "outer wheel path", 9.0, True)),
        ("12 RT", ("R1", "curb or edge", 12.0, True)),
        ("20 RT", ("R1", "curb or edge", 20.0, True)),
        ("1 LT", ("C", "on the line", -1.0, True)),
        ("CL", ("C", "on the line", 0.0, True)),
    ],
)
def test_an_offset_tells_lane_and_position(offset: str, expected) -> None:
    """On a road of two lanes of 12 ft."""
    assert across_of(said_offset=offset) == expected


@pytest.mark.parametrize(
    ("offset", "expected"),
    [
        ("6 RT", ("R1", "between wheel paths", 6.0, True)),
        ("12 RT", ("R", "", 12.0, False)),
        ("15 RT", ("R2", "inner wheel path", 15.0, True)),
        ("24 RT", ("R2", "curb or edge", 24.0, True)),
        ("3 LT", ("L", "", -3.0, False)),
    ],
)
def test_an_offset_near_a_lane_line_leaves_the_lane_open(offset: str, expected) -> None:
    """Two lanes on the right, none on the left."""
    assert across_of(leg=leg_settings(lanes_left=0, lanes_right=2), said_offset=offset) == expected


@pytest.mark.parametrize(
    ("across", "offset", "expected"),
    [
        ("outer wheel path", "8 RT", ("R1", "outer wheel path", 8.0, True)),
        ("right wheel path", "8 LT", ("L1", "inner wheel path", -8.0, True)),
        ("left side", "3 RT", ("R1", "inner wheel path", 3.0, True)),
        ("whole road", "3 RT", ("", "whole road", 0.0, True)),
        ("outer wheel path", "RT", ("R1", "outer wheel path", 9.0, True)),
        ("right wheel path", "RT", ("R1", "outer wheel path", 9.0, True)),
        ("left wheel path", "LT", ("L1", "outer wheel path", -9.0, True)),
        ("", "LT", ("L1", "", -6.0, True)),
        ("right side", "", ("R1", "", 6.0, True)),
        ("on the line", "", ("C", "on the line", 0.0, True)),
        ("right wheel path", "", ("", "", None, False)),
        ("outer wheel path", "", ("", "outer wheel path", None, False)),
        ("", "", ("", "", None, False)),
    ],
)
def test_words_and_side_tell_what_feet_do_not(across: str, offset: str, expected) -> None:
    """The words give the position, the side the lane; alone a wheel path may be either side's."""
    assert across_of(across=across, said_offset=offset) == expected


def test_on_a_one_way_leg_a_wheel_path_needs_no_side() -> None:
    """All lanes lie on one side; on the other there is none."""
    one_way = leg_settings(lanes_left=0, lanes_right=1)

    assert across_of(leg=one_way, across="right wheel path") == (
        "R1", "outer wheel path", 9.0, True,
    )  # fmt: skip
    assert across_of(leg=one_way, across="curb or edge", said_offset="LT")[3] is False


offsets = st.integers(5, 300).map(lambda tenths: tenths / 10)
stations = st.integers(0, 32_000).map(lambda tenths: 1000 + tenths / 10)


@given(st.lists(st.tuples(stations, offsets, st.sampled_from("RL")), min_size=1, max_size=8))
@examples(max_examples=60)
def test_a_list_that_was_written_is_read_back_to_its_places(rows) -> None:
    """Stations to 0.1 ft and offsets to 0.1 ft, through the reader, on the leg that is said."""
    lines = [
        f"{format_station(value, FEET, decimals=1)} MH {offset:g} ft {side}T"
        for value, offset, side in rows
    ]
    text = "\n".join(["LEG A", "taped by R. Sample, 2026-05-04", *lines])
    marks = read_station_list(text.encode(), name="walk.txt", kinds=KINDS).marks
    places = [said_places(marks, TWO, DEFAULTS)[one] for one in marks["mark_id"]]

    assert [place.leg for place in places] == [0] * len(rows)
    assert [place.along_m for place in places] == pytest.approx(
        [(value - 1000) * FT_M for value, _, _ in rows], abs=1e-9
    )
    assert [place.offset_m for place in places] == pytest.approx(
        [offset * FT_M * (1 if side == "R" else -1) for _, offset, side in rows], abs=1e-9
    )
