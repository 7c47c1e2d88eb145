"""The demo and the simulations: true roads, honest noise, late taps, the same bytes."""

import csv
import io
import itertools
import json
import math
import tomllib
from collections import Counter
from collections.abc import Sequence
from importlib import resources
from pathlib import Path

import gpxpy
import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented.drives import TrueMark
from invented.motion import motion, wander
from invented.roads import Road, curve, ground_plane, lay_road, tangent
from invented.things import COVERS, NAMES, PLACES, Thing, words_for
from invented.truth import Made
from make_demo import Plan, demo, demo_files, planted_demo, simulate
from pyproj import Geod
from shapely.geometry import LineString, Point

from routeprep.deciding import check_decisions
from routeprep.kinds import parse_kinds
from routeprep.readers.gpx import read_gpx
from routeprep.shapes import Decision

Floats = npt.NDArray[np.float64]

FOLDER = Path(__file__).resolve().parents[1] / "data" / "demo"
MADE = demo()
KINDS = parse_kinds(resources.files("routeprep").joinpath("kinds.toml").read_text(encoding="utf-8"))
MANNERS = ("full", "short", "hands", "bare")
FT_M = 0.3048
MPH_MPS = 1609.344 / 3600
PLANE = ground_plane(-100.87, 41.43, elevation_m=884.0)

# Published curve problem (trade practice, arc definition): D = 4 deg, delta = 40 deg gives
# R 1432.394, T 521.349, L 1000.000, LC 979.816, M 86.384, E 91.928 ft, with R = 5729.578/D,
# T = R tan(delta/2), L = R delta, LC = 2R sin(delta/2), M = R(1 - cos(delta/2)),
# E = R(sec(delta/2) - 1).
RADIUS_FT, T_FT, L_FT, LC_FT, M_FT, E_FT = 1432.394, 521.349, 1000.0, 979.816, 86.384, 91.928
ROUND_FT = 0.001


def curved_road(turn: int) -> Road:
    """A tangent of 700, the published curve to the right (+1) or left (-1), a tangent of 300."""
    return lay_road(
        [tangent(700.0), curve(RADIUS_FT, turn * 40.0), tangent(300.0)],
        code="X", name="X", start_xy_m=(12.0, -7.0), heading_deg=25.0, plane=PLANE,
    )  # fmt: skip


def away(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Distance between two points of the plane."""
    return math.dist(one, other)


def marks_of(made: Made, name: str) -> list[TrueMark]:
    """The true marks of one file."""
    return [mark for mark in made.truth.marks if mark.file == name]


# --- the road


@pytest.mark.parametrize("turn", [1, -1])
def test_an_arc_has_the_published_length_and_chord(turn: int) -> None:
    """Length R times delta, chord 2R sin(delta/2), middle ordinate R(1 - cos(delta/2))."""
    road = curved_road(turn)
    begin, end = road.point(700.0, 0.0), road.point(700.0 + L_FT, 0.0)
    middle = road.point(700.0 + L_FT / 2, 0.0)
    chord_middle = ((begin[0] + end[0]) / 2, (begin[1] + end[1]) / 2)

    assert pytest.approx(L_FT, abs=ROUND_FT) == road.length_m - 1000.0
    assert pytest.approx(LC_FT, abs=ROUND_FT) == away(begin, end)
    assert pytest.approx(M_FT, abs=ROUND_FT) == away(middle, chord_middle)


@pytest.mark.parametrize("turn", [1, -1])
def test_both_tangents_meet_at_the_published_distances(turn: int) -> None:
    """T = R tan(delta/2) from either end of the arc, E from its middle."""
    road = curved_road(turn)
    past_begin = road.point(700.0, 0.0)
    heading = math.radians(25.0)
    meet = (past_begin[0] + T_FT * math.sin(heading), past_begin[1] + T_FT * math.cos(heading))
    end, ahead = road.point(700.0 + L_FT, 0.0), road.point(800.0 + L_FT, 0.0)
    back = (end[0] - T_FT * (ahead[0] - end[0]) / 100, end[1] - T_FT * (ahead[1] - end[1]) / 100)

    assert pytest.approx(0.0, abs=2 * ROUND_FT) == away(meet, back)
    assert pytest.approx(E_FT, abs=ROUND_FT) == away(meet, road.point(700.0 + L_FT / 2, 0.0))


@given(
    along_m=st.floats(-50.0, 2050.0), offset_m=st.floats(-20.0, 20.0), turn=st.sampled_from([1, -1])
)
def test_an_offset_is_square_to_the_road_and_right_is_positive(
    along_m: float, offset_m: float, turn: int
) -> None:
    """Anywhere, also past both ends: the rest of the way from the line lies across it."""
    road = curved_road(turn)
    x, y = road.point(along_m, offset_m)
    (x0, y0), heading = road.point(along_m, 0.0), float(road.heading_at(np.array([along_m]))[0])
    right = (x - x0) * math.cos(heading) - (y - y0) * math.sin(heading)
    forward = (x - x0) * math.sin(heading) + (y - y0) * math.cos(heading)

    assert pytest.approx(offset_m, abs=1e-9) == right
    assert pytest.approx(0.0, abs=1e-9) == forward


@pytest.mark.parametrize("leg", ["A", "B"])
def test_along_is_geodesic_length_raised_to_the_ground(leg: str) -> None:
    """Within 1 mm a km of pyproj's geodesics times 1 + h/R, an independent reckoning."""
    line = MADE.truth.lines[leg]
    geodesic_m = Geod(ellps="WGS84").line_length(line.lon_deg, line.lat_deg)
    ground_m = geodesic_m * (1 + 2900 * FT_M / 6_371_008.8)

    assert pytest.approx(line.along_m[-1], rel=1e-6) == ground_m


def test_the_long_leg_is_about_4_km_and_the_short_one_350_m() -> None:
    """As the demo is described."""
    lengths_m = {leg: line.along_m[-1] for leg, line in MADE.truth.lines.items()}

    assert 3900 < lengths_m["A"] < 4100
    assert 340 < lengths_m["B"] < 360


# --- motion and noise


def test_a_drive_takes_the_time_that_constant_acceleration_gives() -> None:
    """L/v + v/2a + v/2b and the wait, and once more v/2a + v/2b for the stop (any physics text)."""
    speed = 15.0
    one_start_and_stop_s = speed / 2 / 1.2 + speed / 2 / 1.5
    moves = motion(2000.0, [(0.0, speed)], [(777.0, 20.0)])

    expected_s = 2000 / speed + 2 * one_start_and_stop_s + 20
    assert pytest.approx(expected_s, abs=0.2) == moves.time_s[-1]


def test_a_car_stands_at_its_stop() -> None:
    """Twenty seconds at one place, and nowhere else."""
    moves = motion(1000.0, [(0.0, 15.0)], [(400.0, 20.0)])

    assert moves.gone_m[:-1][np.diff(moves.gone_m) == 0].tolist() == [400.0]
    assert pytest.approx(20.0) == np.diff(moves.time_s)[np.diff(moves.gone_m) == 0][0]


@given(slow_mps=st.floats(6.0, 12.0), fast_mps=st.floats(12.0, 20.0))
def test_no_speed_limit_and_no_acceleration_is_exceeded(slow_mps: float, fast_mps: float) -> None:
    """Between points the mean speed keeps under the higher limit, as the stated rates allow."""
    moves = motion(900.0, [(0.0, fast_mps), (400.0, slow_mps)], [])
    speed = np.diff(moves.gone_m) / np.diff(moves.time_s)
    middle_s = (moves.time_s[1:] + moves.time_s[:-1]) / 2
    rate = np.diff(speed) / np.diff(middle_s)

    assert speed.max() <= fast_mps + 1e-9
    assert speed[401:].max() <= slow_mps + 1e-9
    assert -1.5 - 1e-6 <= rate.min() <= rate.max() <= 1.2 + 1e-6


def test_noise_has_the_stated_spread_and_correlation() -> None:
    """Sd 2.5 m, correlation 1/e after 60 s and 1/e^2 after 120 s.

    With 200,000 s and T = 60 s there are some 1,700 independent values (Bartlett): the standard
    error is 2 % of the sd and 0.025 of a correlation; three of those are allowed.
    """
    noise = wander(np.random.default_rng(5), 200_000, sd_m=2.5, time_s=60.0)
    correlation = [float(np.corrcoef(noise[:-lag], noise[lag:])[0, 1]) for lag in (60, 120)]

    assert pytest.approx(2.5, rel=0.06) == noise.std()
    assert pytest.approx([math.exp(-1), math.exp(-2)], abs=0.075) == correlation


def test_noise_is_as_large_at_the_start_as_later() -> None:
    """Over 2,000 drives the first value has the stated spread (standard error 1.6 %)."""
    rng = np.random.default_rng(6)
    first = [wander(rng, 2, sd_m=2.5, time_s=60.0)[0] for _ in range(2000)]

    assert pytest.approx(2.5, rel=0.05) == np.std(first)


def test_fixes_lie_on_the_lane_driven_within_the_noise() -> None:
    """Up-station drives right of the line by half a lane, down-station left, rms near 2.5 m."""
    made = simulate(3)
    offsets_m = {name: fix_offsets_m(made, name) for name in made.files if name.endswith("gpx")}
    errors_m = [
        off_m - (1 if int(name[-5]) % 2 else -1) * 6 * FT_M for name, off_m in offsets_m.items()
    ]

    assert 1.5 < math.sqrt(np.mean(np.concatenate(errors_m) ** 2)) < 3.5


def fix_offsets_m(made: Made, name: str) -> Floats:
    """Offset of every fix of a file, right of up-station positive, found with shapely."""
    line, points = plane_line(made), plane_points(track_points(made, name))
    at = np.array([line.project(point) for point in points])
    here = np.array([line.interpolate(a).coords[0] for a in at])
    ahead = np.array([line.interpolate(a + 1).coords[0] for a in at])
    way, rel = ahead - here, np.array([point.coords[0] for point in points]) - here
    return (rel[:, 0] * way[:, 1] - rel[:, 1] * way[:, 0]) / np.hypot(*way.T).clip(1e-9)


def plane_line(made: Made) -> LineString:
    """The true line of leg A in the plane."""
    line = made.truth.lines["A"]
    return LineString(np.c_[PLANE.transform(line.lon_deg, line.lat_deg)])


def plane_points(lonlat: Sequence[tuple[float, float]]) -> list[Point]:
    """Points in the plane."""
    lon, lat = np.array(lonlat).T
    return [Point(xy) for xy in np.c_[PLANE.transform(lon, lat)]]


def track_points(made: Made, name: str) -> list[tuple[float, float]]:
    """Longitude and latitude of a file's fixes, as gpxpy reads them."""
    track = gpxpy.parse(made.files[name].decode()).tracks[0]
    return [(fix.longitude, fix.latitude) for part in track.segments for fix in part.points]


# --- marks


def test_lateness_of_the_taps_is_as_planned() -> None:
    """Mean 1.1 s and spread 0.35 s over about 2,200 taps (three standard errors)."""
    late_s = [mark.late_s for seed in range(1, 6) for mark in simulate(seed).truth.marks]

    assert pytest.approx(1.1, abs=3 * 0.35 / math.sqrt(len(late_s))) == np.mean(late_s)
    assert pytest.approx(0.35, abs=3 * 0.35 / math.sqrt(2 * len(late_s))) == np.std(late_s)


def test_taps_lie_past_the_thing_by_speed_times_lateness_less_the_lead() -> None:
    """Found from the files alone: places of the taps on the true line against the true things."""
    made = simulate(4)
    line = plane_line(made)
    points = plane_points([(mark.lon_deg, mark.lat_deg) for mark in made.truth.marks])
    people = made.truth.people
    errors_m = [
        mark.travel * (line.project(point) - made.truth.things[mark.thing].along_m)
        - (mark.speed_mps * mark.late_s - people[mark.file].lead_m)
        for mark, point in zip(made.truth.marks, points, strict=True)
    ]

    # What is left is the receiver's error along the road: 2.5 m, four drives of some 6
    # independent minutes each, so its mean has a standard error of 0.5 m.
    assert abs(np.mean(errors_m)) < 1.5
    assert 1.5 < np.std(errors_m) < 3.5


def test_the_true_place_of_the_car_at_a_tap_agrees_with_its_lateness() -> None:
    """To 1 mm, in both directions and on both legs."""
    things, people = MADE.truth.things, MADE.truth.people
    errors_m = [
        mark.travel * (mark.along_m - things[mark.thing].along_m)
        - (mark.speed_mps * mark.late_s - people[mark.file].lead_m)
        for mark in MADE.truth.marks
        if mark.thing >= 0
    ]

    assert max(map(abs, errors_m)) < 1e-3


def test_a_file_names_its_marks_as_the_reader_does() -> None:
    """Ids, words and times of the truth are those that reading the GPX gives."""
    for name in sorted(MADE.truth.people):
        read = read_gpx(MADE.files[name], name=name, kinds=KINDS).marks
        true = marks_of(MADE, name)

        assert [mark.mark_id for mark in true] == read["mark_id"].tolist()
        assert [mark.words for mark in true] == read["words"].tolist()


def test_every_waypoint_is_understood_as_meant_and_junk_is_not() -> None:
    """Kind and across of each; nothing that says nothing becomes a thing."""
    for made in (MADE, simulate(1), simulate(2)):
        for mark in made.truth.marks:
            assert (mark.words, mark.said) == (mark.words, KINDS.understand(mark.words).kind)


@pytest.mark.parametrize("kind", sorted(NAMES))
def test_every_way_of_saying_a_thing_is_understood(kind: str) -> None:
    """At every place, from both directions, with and without a size, in every manner."""
    for place, size, travel, manner in itertools.product(PLACES, ("", "24 in"), (1, -1), MANNERS):
        thing = Thing(kind=kind, leg="A", along_m=1.0, side="R", place=place, visibility=1.0,
                      in_file=False, size=size)  # fmt: skip
        words = words_for(thing, travel=travel, manner=manner)
        said = KINDS.understand(words)

        assert (words, said.kind) == (words, kind)
        assert bool(said.across) == (place != "whole" and manner != "bare")


@given(
    side=st.sampled_from("RL"),
    place=st.sampled_from(sorted(PLACES)),
    manner=st.sampled_from(MANNERS),
)
def test_the_mirrored_thing_seen_the_other_way_is_said_alike(
    side: str, place: str, manner: str
) -> None:
    """As driven: what is on my side is on my side whichever way I go."""
    one, other = (
        Thing(kind="WV", leg="A", along_m=1.0, side=which, place=place, visibility=1.0,
              in_file=False)
        for which in (side, "L" if side == "R" else "R")
    )  # fmt: skip
    said = words_for(one, travel=1, manner=manner)

    assert said == words_for(other, travel=-1, manner=manner)


def test_eight_waypoints_say_nothing_that_can_be_read() -> None:
    """Junk, and one strange way of naming a real valve."""
    junk = [mark.words for mark in MADE.truth.marks if not mark.said]

    assert len(junk) == 8
    assert {"lunch", "call dispatch", "no manhole here", "asdf"} < set(junk)


def test_one_mark_has_a_wrong_kind() -> None:
    """A water valve is called a gas valve, once."""
    things = MADE.truth.things
    wrong = [
        (things[mark.thing].kind, mark.said)
        for mark in MADE.truth.marks
        if mark.said and not KINDS.same_thing(things[mark.thing].kind, mark.said)
    ]

    assert wrong == [("WV", "GASV")]


def test_the_hostile_note_stands_in_its_file_as_typed() -> None:
    """After the XML is read again, character for character."""
    waypoints = gpxpy.parse(MADE.files["drives/a-4-down.gpx"].decode()).waypoints
    note = "=1+1 {{ cycler }} {% low ${x} <script>alert(1)</script> #sys.version"
    said = [KINDS.understand(one.name) for one in waypoints if note in one.name]

    assert [(note, "SMH")] == [(one.note, one.kind) for one in said]


def test_one_drive_loses_reception_for_40_s() -> None:
    """One new segment in one file, 40 s later, and no mark in between."""
    gaps = []
    for name in sorted(MADE.truth.people):
        parts = gpxpy.parse(MADE.files[name].decode()).tracks[0].segments
        for before, after in itertools.pairwise(parts):
            gaps.append((before.points[-1].time, after.points[0].time))
    ((lost, found),) = gaps
    times = [one.time for one in gpxpy.parse(MADE.files["drives/a-3-up.gpx"].decode()).waypoints]

    assert (found - lost).total_seconds() == 40
    assert not [time for time in times if lost < time < found]


def test_the_side_street_is_driven_both_ways_in_one_file() -> None:
    """What is seen there is seen going up and coming down."""
    seen = Counter(
        (mark.thing, mark.travel) for mark in marks_of(MADE, "drives/b-there-and-back.gpx")
    )
    visible = [
        i for i, one in enumerate(MADE.truth.things) if one.leg == "B" and one.visibility == 1
    ]

    assert visible
    assert all(seen[i, way] == 1 for i in visible for way in (1, -1))


# --- records, ledger, decisions, job


def covers(made: Made, name: str) -> list[dict[str, str]]:
    """Properties of the city's covers."""
    return [one["properties"] for one in json.loads(made.files[name])["features"]]


def test_five_covers_of_the_city_were_never_seen() -> None:
    """Two under an overlay, three under parked cars, all in the city's file."""
    seen = {mark.thing for mark in MADE.truth.marks}
    hidden = [one for i, one in enumerate(MADE.truth.things) if one.visibility == 0]

    assert Counter(one.note for one in hidden) == {"under an overlay": 2, "under a parked car": 3}
    assert all(one.in_file for one in hidden)
    assert not [i for i in seen if i >= 0 and MADE.truth.things[i].visibility == 0]


def test_some_marks_have_no_record_and_some_records_no_leg() -> None:
    """Covers that the city does not know, and three far from the job."""
    known = [one for one in MADE.truth.things if one.in_file]
    unknown = [one for one in MADE.truth.things if one.note == "no record"]

    assert len(unknown) >= 4
    assert len(known) + 3 == len(covers(MADE, "records/city-covers.geojson"))


def test_every_word_of_the_citys_file_is_a_kind() -> None:
    """The reader can find the kind of each cover by what the city calls it."""
    named = {code: name.city for code, name in NAMES.items() if name.city}

    assert {code: code for code in named} == {
        code: found.code for code, city in named.items() if (found := KINDS.find(city))
    }


def test_the_ledger_has_a_gap_and_a_number_whose_mark_is_gone() -> None:
    """47 numbers hang on marks, A-7 on nothing, A-4 was never issued."""
    rows = list(csv.DictReader(io.StringIO(MADE.files["numbers.csv"].decode())))
    ids = {mark.mark_id for mark in MADE.truth.marks}

    assert [row["no"] for row in rows if row["anchor_id"] not in ids] == ["A-7"]
    assert "A-4" not in [row["no"] for row in rows]
    assert 48 == len({row["no"] for row in rows}) == len({row["anchor_id"] for row in rows})
    assert {"A"} == {row["first_revision"] for row in rows}


def test_numbers_of_revision_a_go_up_with_station() -> None:
    """As they were first issued."""
    along_m = {mark.mark_id: MADE.truth.things[mark.thing].along_m for mark in MADE.truth.marks}
    rows = list(csv.DictReader(io.StringIO(MADE.files["numbers.csv"].decode())))
    on_a = [along_m[row["anchor_id"]] for row in rows if row["no"].startswith("A")
            and row["anchor_id"] in along_m]  # fmt: skip

    assert sorted(on_a) == on_a


def test_decisions_are_about_marks_or_kinds_that_exist() -> None:
    """Each hangs on a mark of the demo or on a kind, and the package has nothing against them."""
    rows = list(csv.DictReader(io.StringIO(MADE.files["decisions.csv"].decode())))
    ids = {mark.mark_id for mark in MADE.truth.marks}
    on_marks = {row["anchor_id"] for row in rows if not row["anchor_id"].startswith("kind:")}

    assert on_marks <= ids
    check_decisions([Decision(**row) for row in rows], kinds=KINDS)
    assert {row["field"] for row in rows} == {"action", "kind", "status", "size", "note"}


def test_the_job_file_says_what_the_job_is() -> None:
    """Two legs: one with plan stations and no line, one with a zero and a line from a file."""
    job = tomllib.loads(MADE.files["job.toml"].decode())
    main, side = job["leg"]

    assert (job["format"], job["job"]["revision"], job["job"]["units"]) == (1, "B", "us")
    assert (main["start"], "centerline" in main) == ("10+00", False)
    assert (
        side["zero"], side["centerline"]["file"],
    ) == ("Bluestem Rd north curb", "lines/streets.geojson")  # fmt: skip


def test_the_side_streets_pieces_join_to_its_true_line() -> None:
    """Two pieces of the street file, one drawn backward, meet and have the true length."""
    streets = json.loads(MADE.files["lines/streets.geojson"])["features"]
    one, other = (
        feature["geometry"]["coordinates"] for feature in streets
        if feature["properties"]["street"] == "Alder Street"
    )  # fmt: skip
    joined = np.array([*one, *other[::-1][1:]])
    ground_m = Geod(ellps="WGS84").line_length(*joined.T) * (1 + 2900 * FT_M / 6_371_008.8)

    assert one[-1] == other[-1]
    assert pytest.approx(MADE.truth.lines["B"].along_m[-1], abs=0.05) == ground_m


def test_there_are_about_60_things_of_many_kinds() -> None:
    """A sensible mix on both legs."""
    legs = Counter(thing.leg for thing in MADE.truth.things)

    assert 55 <= sum(legs.values()) <= 75
    assert legs["B"] >= 8
    assert len({thing.kind for thing in MADE.truth.things}) >= 15


# --- the planted twelve


def test_twelve_covers_are_planted_within_1000_ft() -> None:
    """Three under parked cars, two paved over, one in the gap of a row; the rest may be seen."""
    truth = planted_demo(3).truth
    twelve = [
        one for one in truth.things if one.leg == "A" and 10_950 <= one.along_m / FT_M <= 12_050
    ]
    along_ft = [one.along_m / FT_M for one in twelve]

    assert len(twelve) == 12
    assert max(along_ft) - min(along_ft) <= 1000
    assert Counter(one.note for one in twelve if one.visibility == 0) == {
        "under a parked car": 3, "paved over": 2, "in the gap of a row": 1,
    }  # fmt: skip
    assert {one.in_file for one in twelve if one.note == "paved over"} == {True}
    assert {one.in_file for one in twelve if "parked" in one.note or "gap" in one.note} == {False}


def test_somebody_says_where_the_parked_cars_stood() -> None:
    """Two taps of the first drive, as late as its others; none when told not to."""
    said = [one.words for one in planted_demo(3).truth.marks if one.words.startswith("parked")]
    silent = planted_demo(3, parked_said=False).truth.marks

    assert said == ["parked cars begin", "parked cars end"]
    assert not [one for one in silent if one.words.startswith("parked")]


def test_the_planted_job_has_nothing_decided_or_issued() -> None:
    """Its files are those of the demo without decisions, numbers and the last issue."""
    assert set(MADE.files) - set(planted_demo(3).files) == {
        "decisions.csv", "numbers.csv", "issued/A/obstructions.csv", "issued/A/report.json",
    }  # fmt: skip


# --- simulations


def test_twenty_seeds_keep_to_the_plan() -> None:
    """Closest 10 ft, visibility 0.7, wrong kinds 5 %, speeds and leads in range, five unseen."""
    made = [simulate(seed).truth for seed in range(1, 21)]
    gaps_ft = [np.diff([one.along_m for one in truth.things]).min() / FT_M for truth in made]
    unseen = [len(truth.things) - len({mark.thing for mark in truth.marks}) for truth in made]
    leads_ft = [who.lead_m / FT_M for truth in made for who in truth.people.values()]
    marks = [(truth.things[mark.thing], mark) for truth in made for mark in truth.marks]

    assert 10 - 1e-6 <= min(gaps_ft) <= max(gaps_ft) < 15
    assert min(unseen) >= 5
    assert 0 <= min(leads_ft) <= max(leads_ft) <= 15
    assert pytest.approx(0.05, abs=0.01) == np.mean([one.kind != mark.said for one, mark in marks])
    visibility = [one.visibility for truth in made for one in truth.things]
    assert pytest.approx(0.7, abs=0.02) == np.mean(visibility)
    assert max(mark.speed_mps for _, mark in marks) <= 45 * MPH_MPS + 1e-9


def test_a_simulation_is_a_whole_job() -> None:
    """Four drives both ways, a line, records and a job file that names them."""
    made = simulate(9, plan=Plan(things=30, drives=4))
    job = tomllib.loads(made.files["job.toml"].decode())

    assert sum(name.startswith("drives/") for name in made.files) == 4
    assert {1, -1} == {mark.travel for mark in made.truth.marks}
    assert job["leg"][0]["centerline"] in made.files
    assert {one["asset_type"] for one in covers(made, "records/covers.geojson")} <= {
        NAMES[kind].city for kind in COVERS
    }


def test_another_seed_gives_another_job_and_the_same_seed_the_same() -> None:
    """Nothing but the seed and the plan counts."""
    assert simulate(5).files == simulate(5).files
    assert simulate(5).files != simulate(6).files


# --- what is committed


def test_the_demo_is_committed_as_it_is_made() -> None:
    """Every file of data/demo is made by the script, byte for byte, and no other lies there."""
    committed = {
        path.relative_to(FOLDER).as_posix(): path.read_bytes()
        for path in FOLDER.rglob("*") if path.is_file()
    }  # fmt: skip
    made = demo_files()

    assert sorted(made) == sorted(committed)
    assert [name for name in sorted(made) if made[name] != committed[name]] == []


def test_the_demo_is_small() -> None:
    """Under 1.5 MB."""
    assert sum(map(len, demo_files().values())) < 1_500_000


def test_the_written_truth_is_the_truth() -> None:
    """Things and marks of truth.json are those in memory, to the millimetre."""
    written = json.loads((FOLDER / "truth" / "truth.json").read_text(encoding="utf-8"))

    assert [round(one.along_m, 3) for one in MADE.truth.things] == [
        one["along_m"] for one in written["things"]
    ]
    assert [one.mark_id for one in MADE.truth.marks] == [one["mark_id"] for one in written["marks"]]
