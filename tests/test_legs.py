"""Legs from settings: line, stationing, limits, elevation."""

import dataclasses
import math

import numpy as np
import pytest
from builders import drive, leg_settings, lonlat, mark, settings, straight, survey
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from strategies import line_from_xy

from routeprep import legs as room
from routeprep.drives import clean
from routeprep.errors import JobError, LineError
from routeprep.legs import build_legs
from routeprep.lines import Alignment, StationEquation
from routeprep.shapes import TieSettings
from routeprep.smoothing import smooth
from routeprep.stationing import label
from routeprep.units import STATION_UNITS, format_station

UP = drive([[2, 0], [2, 1000]])
FOOT_M = 0.3048
GAP = (StationEquation(back_value=1500.0, ahead_value=2000.0),)
OVERLAP = (StationEquation(back_value=1500.0, ahead_value=1200.0),)


def built(*legs, drives=(), lines=None, marks=(), alignments=None, **changes):
    """Legs and findings of a small job."""
    read = survey(*drives, lines=lines, marks=marks)
    read = dataclasses.replace(read, alignments=alignments or {})
    job = settings(*legs, **changes)
    cleaned = clean(read.fixes, names=read.drive_names, defaults=job.defaults).fixes
    smoothed = smooth(cleaned, job.defaults)
    return build_legs(read, job, smoothed.fixes, smoothed.tracks)


def designed(**changes):
    """An alignment of one straight line, 1,000 m long, in survey feet from 20+00."""
    one = np.zeros(1)
    usual = {
        "name": "MAIN", "what": ("line",), "x_m": one, "y_m": one, "heading_deg": one,
        "curvature_start_per_m": one, "curvature_end_per_m": one, "length_m": one + 1000.0,
        "unit": "ftUS", "crs": "", "start_value": 2000.0, "equations": (), "profile": (),
    }  # fmt: skip
    return Alignment(**(usual | changes))


@pytest.fixture
def laid(monkeypatch):
    """What a designed alignment's line was asked for; the line itself is made up."""
    asked = {}

    def line(alignment, **given):
        asked.update(given, alignment=alignment)
        north = line_from_xy([[0.0, 0.0], [0.0, 1000.0]])
        return dataclasses.replace(north, made_from="designed alignment"), ()

    monkeypatch.setattr(room, "designed_line", line)
    return asked


def texts(findings, level):
    """What the findings of one level say."""
    return [one.text for one in findings if one.level == level]


def test_a_leg_with_a_file_has_its_line_and_its_stations():
    """From end to end where no limits are given."""
    (leg,), _ = built()

    assert leg.line.made_from == "file"
    assert (leg.stationing.known_value[0], leg.stationing.zero) == (1000.0, "")
    assert (leg.from_m, leg.to_m) == (0.0, leg.line.length_m)


def test_a_leg_without_a_file_is_made_from_the_drives():
    """And is called so."""
    (leg,), findings = built(drives=[UP], lines={})

    assert leg.line.made_from == "path driven"
    assert any("path driven, not plan centerline" in text for text in texts(findings, "note"))


def test_a_named_zero_starts_at_0():
    """Its settings have no plan station."""
    (leg,), _ = built(leg_settings(start_value=math.nan, zero="Elm St north curb"))

    assert (leg.stationing.known_value[0], leg.stationing.zero) == (0.0, "Elm St north curb")


def test_limits_are_stations():
    """12+00 on a line from 10+00 is 200 ft along."""
    (leg,), findings = built(leg_settings(from_station="12+00", to_station="20+00"))

    assert (leg.from_m, leg.to_m) == pytest.approx((200 * FOOT_M, 1000 * FOOT_M))
    assert texts(findings, "doubt") == []


def test_limits_past_both_ends_are_said_with_their_amounts():
    """Nothing was surveyed there."""
    _, findings = built(leg_settings(from_station="9+00", to_station="44+00"))

    assert texts(findings, "doubt") == [
        "from is 100.0 ft before the line begins: nothing is placed there",
        "to is 119.2 ft after it ends: nothing is placed there",
    ]


def test_limits_out_of_order_are_refused_with_the_stations_there_are():
    """The cut would end before it begins."""
    with pytest.raises(JobError, match=r"from 0.0 ft to -100.0 ft .* 10\+00.0 to 42\+80.8"):
        built(leg_settings(to_station="9+00"))


@pytest.mark.parametrize(
    ("given_m", "heights", "expected_m", "level", "sentence"),
    [
        (300.0, 900.0, 300.0, "note", "at the elevation given, 984.3 ft"),
        (math.nan, 900.04, 900.0, "note", "2,952.8 ft taken from 101 fixes"),
        (math.nan, math.nan, 0.0, "doubt", "lengths are at sea level"),
    ],
)
def test_elevation_as_given_else_from_the_drives_else_sea_level(
    given_m, heights, expected_m, level, sentence
):
    """And it is said which."""
    (leg,), findings = built(leg_settings(elevation_m=given_m), drives=[UP.assign(ele_m=heights)])

    assert leg.line.elevation_m == expected_m
    assert any(sentence in text for text in texts(findings, level))


def test_legs_stand_in_the_order_of_the_job():
    """B before A if the job says so."""
    codes = ("B", "A")
    legs, _ = built(
        *(leg_settings(code=code) for code in codes), lines=dict.fromkeys("AB", (straight(),))
    )

    assert tuple(leg.settings.code for leg in legs) == codes


def test_of_two_driven_legs_each_takes_the_drive_that_begins_near_its_start():
    """Side streets 500 m apart."""
    other = drive([[500, 0], [500, 400]], name="other")
    legs, _ = built(
        leg_settings(), leg_settings(code="B", start_near_deg=lonlat(500, 0)),
        drives=[UP, other], lines={},
    )  # fmt: skip

    assert [leg.line.length_m for leg in legs] == pytest.approx([1000.0, 400.0], abs=10.0)


def test_a_start_far_from_both_ends_of_a_file_is_doubted():
    """Longitude and latitude of another town would turn the stations round in silence."""
    (leg,), findings = built(leg_settings(start_near_deg=lonlat(0.0, 1400.0)))

    assert leg.line.lat_deg[0] > leg.line.lat_deg[-1]
    assert any("start_near is 400 m from the nearer end" in t for t in texts(findings, "doubt"))


def test_no_drive_and_no_file_is_refused():
    """A leg needs one or the other."""
    with pytest.raises(LineError, match="leg A: the job has 0 fixes"):
        built(lines={})


@given(st.integers(1, 30), st.integers(1, 30))
@examples(max_examples=25)
def test_limits_come_back_as_the_stations_that_were_given(first, more):
    """Along divided by the unit, on top of the start."""
    low, high = 1000.0 + 50 * first, 1000.0 + 50 * (first + more)
    unit = STATION_UNITS["100 ft"]
    (leg,), _ = built(
        leg_settings(from_station=format_station(low, unit), to_station=format_station(high, unit))
    )

    assert 1000.0 + leg.from_m / FOOT_M == pytest.approx(low)
    assert 1000.0 + leg.to_m / FOOT_M == pytest.approx(high)


def test_limits_count_through_equations():
    """15+00 BK = 20+00 AH: from 14+00 to 22+00 are 300 ft."""
    (leg,), findings = built(leg_settings(from_station="14+00", to_station="22+00", equations=GAP))

    assert (leg.to_m - leg.from_m) / FOOT_M == pytest.approx(300.0)
    assert texts(findings, "doubt") == []
    assert texts(findings, "note")[-1] == (
        "the cut from 14+00.00 to 22+00.00 is 300.00 ft long with its station equations (1), not "
        "the 800.00 ft between its labels"
    )


def test_limits_in_an_overlap_say_their_region():
    """13+00 AH is 600 ft from 10+00."""
    (leg,), _ = built(leg_settings(from_station="13+00 AH", equations=OVERLAP))

    assert leg.from_m / FOOT_M == pytest.approx(600.0)


@pytest.mark.parametrize(
    ("key", "text", "why"),
    [("from_station", "17+00", "leg A: from: station 17+00.00 does not exist"),
     ("to_station", "17+00", "leg A: to: station 17+00.00 does not exist"),
     ("to_station", "20+0", "leg A: to: '20\\+0' is not a station")],
)  # fmt: skip
def test_limits_that_do_not_exist_are_refused(key, text, why):
    """The key and the label are named."""
    with pytest.raises(JobError, match=why.replace("17+", r"17\+")):
        built(leg_settings(equations=GAP, **{key: text}))


def test_an_equation_past_the_end_is_doubted():
    """Nobody will ever stand there."""
    far = (StationEquation(back_value=5000.0, ahead_value=0.0),)
    _, findings = built(leg_settings(equations=far))

    assert texts(findings, "doubt") == [
        "station equation 50+00.00 BK = 0+00.00 AH is 719.2 ft past an end of the line"
    ]


def test_ties_make_the_stationing():
    """And travel with the leg."""
    lon_deg, lat_deg = lonlat(0.0, 100 * FOOT_M)
    tie = TieSettings(station="11+05", lon_deg=lon_deg, lat_deg=lat_deg, kind="plan", by="curb")
    (leg,), findings = built(leg_settings(ties=(tie,)))

    assert label(leg.stationing, 0.0) == "10+05.0"
    assert [one.by for one in leg.ties] == ["curb"]
    assert any("5.0 ft less than what the ties have" in text for text in texts(findings, "note"))


def test_marks_that_say_a_station_tie_their_leg():
    """Station paint ties, mile markers are read from, what is far is only said."""
    usual = {"method": "walked", "source": "walk.csv"}
    lon_deg, lat_deg = lonlat(3.0, 100 * FOOT_M)
    near = usual | {"lon_deg": lon_deg, "lat_deg": lat_deg}
    far = usual | {"lon_deg": lon_deg + 1.0, "lat_deg": lat_deg}
    marks = (
        mark(kind="STA", words="station paint", said_station="11+05", **near),
        mark(kind="MM", words="mile marker", said_station="14", **near),
        mark(kind="STA", words="painted station", said_station="12+00", **far),
    )
    (leg,), findings = built(marks=marks)

    assert [one.station for one in leg.ties] == ["11+05"]
    assert leg.markers == ((pytest.approx(100 * FOOT_M, abs=0.01), 14.0),)
    assert any("ties no stations, it is" in text for text in texts(findings, "doubt"))


def test_a_designed_alignment_brings_unit_start_and_equations(laid):
    """Where the job says nothing else."""
    equations = (StationEquation(back_value=2500.0, ahead_value=3000.0),)
    (leg,), findings = built(
        leg_settings(start_value=math.nan, elevation_m=300.0, crs="EPSG:2927"),
        lines={}, alignments={"A": designed(equations=equations)}, datum_operation="EPSG:1",
    )  # fmt: skip

    assert (leg.stationing.unit.name, leg.settings.unit.name) == ("100 ftUS", "100 ftUS")
    assert label(leg.stationing, 0.0) == "20+00.0"
    assert leg.stationing.equations == equations
    assert (laid["elevation_m"], laid["datum_operation"]) == (300.0, "EPSG:1")
    assert (laid["leg"].crs, laid["alignment"].name) == ("EPSG:2927", "MAIN")
    assert texts(findings, "doubt") == []


@pytest.mark.usefixtures("laid")
@pytest.mark.parametrize(
    ("unit", "job", "taken"),
    [("m", "100 ft", "1000 m"), ("m", "100 m", "100 m"), ("ft", "1000 m", "100 ft"),
     ("ft", "100 ft", "100 ft")],
)  # fmt: skip
def test_an_alignment_counts_in_its_own_unit(unit, job, taken):
    """In the job's where it is of the same length, else in the usual one."""
    (leg,), _ = built(
        leg_settings(start_value=math.nan, unit=STATION_UNITS[job]),
        lines={}, alignments={"A": designed(unit=unit)},
    )  # fmt: skip

    assert leg.stationing.unit.name == taken


@pytest.mark.usefixtures("laid")
def test_a_unit_that_contradicts_the_alignment_is_refused():
    """Both are named."""
    metric = leg_settings(unit=STATION_UNITS["1000 m"], unit_said=True)

    with pytest.raises(
        JobError, match=r"job's unit is '1000 m' but alignment 'MAIN' counts in ftUS; .* '100 ftUS'"
    ):
        built(metric, lines={}, alignments={"A": designed()})


@pytest.mark.usefixtures("laid")
def test_100_ft_in_the_job_means_the_foot_of_the_plans():
    """A job that says 100 ft counts an alignment in US survey feet in those."""
    (leg,), _ = built(leg_settings(unit_said=True), lines={}, alignments={"A": designed()})

    assert leg.stationing.unit.name == "100 ftUS"


def test_a_grade_between_typed_elevations_is_reckoned_through_equations():
    """10 ft in the 500 ft to 15+00, which is 20+00 ahead, and 20 ft in the 1,000 ft to 25+00."""
    heights = (("10+00", 100.0), ("15+00", 110.0), ("25+00", 130.0))
    typed = tuple((station, feet * FOOT_M) for station, feet in heights)
    (leg,), _ = built(leg_settings(equations=GAP, elevations=typed))
    (level,), _ = built(leg_settings(equations=GAP, elevations=(typed[0], typed[2])))

    assert [one.to_m / FOOT_M for one in leg.grades] == pytest.approx([500.0, 1000.0])
    assert [one.grade_share for one in leg.grades] == pytest.approx([0.02, 0.04])
    assert level.grades[0].grade_share == pytest.approx(0.03)


def test_an_elevation_at_a_station_that_is_not_is_refused():
    """It is said that it is an elevation's."""
    with pytest.raises(JobError, match=r"leg A: elevations: station 17\+00\.00 does not exist"):
        built(leg_settings(equations=GAP, elevations=(("17+00", 1.0), ("25+00", 2.0))))


@pytest.mark.usefixtures("laid")
@pytest.mark.parametrize(("near_m", "doubted"), [(100.0, False), (900.0, True)])
def test_a_start_near_that_would_turn_an_alignment_round_is_doubted(near_m, doubted):
    """Its stations run as the file has them, whatever the job says."""
    (leg,), findings = built(
        leg_settings(start_value=math.nan, start_near_deg=lonlat(0.0, near_m)),
        lines={}, alignments={"A": designed()},
    )  # fmt: skip
    said = texts(findings, "doubt")

    assert label(leg.stationing, 0.0) == "20+00.0"
    assert any("start_near lies nearer to the end" in text for text in said) == doubted


@pytest.mark.usefixtures("laid")
@pytest.mark.parametrize(("start", "doubts"), [(2000.009, 0), (2000.02, 1)])
def test_the_job_s_start_goes_before_the_alignment_s(start, doubts):
    """And is doubted where it is another by more than 0.01."""
    (leg,), findings = built(
        leg_settings(start_value=start), lines={}, alignments={"A": designed()}
    )
    said = texts(findings, "doubt")

    assert leg.stationing.known_value == (start,)
    assert len(said) == doubts
    assert all("start is 2,000.02 ftUS in the job and 2,000.00 in al" in one for one in said)


@pytest.mark.usefixtures("laid")
@pytest.mark.parametrize("same", [True, False])
def test_the_job_s_equations_go_before_the_alignment_s(same):
    """And it is said, where they are others."""
    own = (StationEquation(back_value=2500.0, ahead_value=3000.0),)
    (leg,), findings = built(
        leg_settings(start_value=math.nan, equations=own),
        lines={}, alignments={"A": designed(equations=own if same else ())},
    )  # fmt: skip
    said = [text for text in texts(findings, "note") if "equations are taken" in text]

    assert leg.stationing.equations == own
    assert said == (
        [] if same
        else ["the job's 1 station equations are taken, not the 0 of alignment 'MAIN'"]
    )  # fmt: skip


@pytest.mark.usefixtures("laid")
def test_a_named_zero_goes_before_the_alignment_s_stations():
    """And is doubted: its equations count for nothing."""
    (leg,), findings = built(
        leg_settings(start_value=math.nan, zero="ELM N CURB"),
        lines={}, alignments={"A": designed(equations=GAP)},
    )  # fmt: skip

    assert label(leg.stationing, 0.0) == "0+00.0 from ELM N CURB"
    assert leg.stationing.equations == ()
    assert texts(findings, "doubt") == [
        "stations count from 'ELM N CURB' as the job has it, not as in alignment 'MAIN'"
    ]


def test_a_file_without_stations_needs_a_start():
    """A centerline of a map file brings none."""
    with pytest.raises(JobError, match="leg A: nothing says where its stations begin"):
        built(leg_settings(start_value=math.nan))
