"""A real street: a city's hydrants, signals and poles against invented drives along it."""

import numpy as np
import pytest
import shapely
from city_job import CORRIDOR_M, FILES, PLANE, city, city_job, drive, moved, points, street

from routeprep.job import prepare


@pytest.fixture(scope="module")
def line():
    """The street in the state's plane."""
    return street()


@pytest.fixture(scope="module")
def beside(line):
    """For each file: places in the plane, distance from the line and along it [m]."""
    found = {}
    for name in FILES:
        xy, properties = points(city(name))
        dots = shapely.points(xy)
        along_m = shapely.line_locate_point(line, dots)
        found[name] = (xy, shapely.distance(dots, line), along_m, properties)
    return found


def taps(beside, line, *, every):
    """Every so many-th hydrant beside the street, as it is called: rows of the file and taps."""
    _, away_m, along_m, _ = beside["hydrants"]
    inside = (away_m < CORRIDOR_M) & (along_m > 0) & (along_m < line.length)
    rows = np.flatnonzero(inside)
    rows = rows[np.argsort(along_m[rows])][::every]
    return rows, [("hydrant", along_m[row]) for row in rows]


@pytest.fixture(scope="module")
def pack(beside, line):
    """Every other hydrant was seen by two drives."""
    rng, (_, seen) = np.random.default_rng(1), taps(beside, line, every=2)
    drives = [drive(line, seen, rng, way=way, day=day) for day, way in enumerate((1, -1))]
    made = city_job(drives)
    return prepare(made.survey, made.settings, made.decisions, made.numbers)


def test_records_on_the_leg_are_those_within_the_corridor(pack, beside) -> None:
    """By shapely in the state's plane; none lies within a decimetre of the corridor's edge."""
    expected = {}
    for name, (_, away_m, _, properties) in beside.items():
        assert np.abs(away_m - CORRIDOR_M).min() > 0.1
        known = [one.get("TYPE") != "UNKNOWN" for one in properties]
        expected[f"{name}.geojson"] = int(((away_m < CORRIDOR_M) & known).sum())
    on = pack.records[(pack.records["leg"] == "A") & (pack.records["kind"] != "")]

    assert on["source"].value_counts().to_dict() == expected
    assert expected == {"hydrants.geojson": 17, "signals.geojson": 29, "utility-poles.geojson": 3}


def test_matched_and_not_seen_are_what_was_tapped_and_what_was_not(pack, beside, line) -> None:
    """Each tapped hydrant has its own record, by the city's number; the others are not seen."""
    rows, _ = taps(beside, line, every=2)
    properties = beside["hydrants"][3]
    tapped = {properties[row]["HYDRANT_ID"] for row in rows}
    things = pack.obstructions[pack.obstructions["kind"] == "HYD"]
    name_of = dict(zip(pack.records["record_id"], pack.records["name"], strict=True))
    seen = things[things["times_seen"] > 0]
    matched = {name_of[one] for ids in seen["record_ids"] for one in ids}
    unseen = things[things["status"] == "in a file, not seen"]

    assert len(seen) == len(tapped) == 8
    assert matched == tapped
    assert len(unseen) == 17 - 8
    others = pack.obstructions[pack.obstructions["kind"].isin(["SIG", "POLE"])]
    assert set(others["status"]) == {"in a file, not seen"}
    assert len(others) == 29 + 3


def test_what_is_outside_says_how_far(pack, beside) -> None:
    """To the metre, and what is not understood says that."""
    why_of = dict(zip(pack.elsewhere["id"], pack.elsewhere["why"], strict=True))
    far = unknown = 0
    for name, (_, away_m, _, properties) in beside.items():
        records = pack.records[pack.records["source"] == f"{name}.geojson"]
        order = np.lexsort(points_of(records).T)
        mine = np.lexsort(beside[name][0].T)
        for at, row in zip(order, mine, strict=True):
            why = why_of.get(records["record_id"].iloc[at], "")
            if properties[row].get("TYPE") == "UNKNOWN":
                unknown += why == "kind not understood"
            elif away_m[row] > CORRIDOR_M:
                said = float(why.split(" m from leg A")[0].split()[-1])
                far += abs(said - away_m[row]) <= 0.6

    assert far == (48 - 17) + (36 - 29) + (42 - 3)
    assert unknown == 57


def points_of(records):
    """Places of records in the state's plane (n, 2) [m]."""
    lonlat = shapely.get_coordinates(records["geometry"].to_numpy())
    return np.column_stack(PLANE.transform(*lonlat.T))


@pytest.mark.parametrize("toward", [(2.2, 2.0), (-2.2, -2.0)])
def test_a_planted_shift_of_3_m_is_found_within_its_doubt(beside, line, toward) -> None:
    """Eight drives tapped every hydrant; the file lies off along the road, one way or the other.

    What is square to the road no vehicle tells.
    """
    rng, (_, seen) = np.random.default_rng(2), taps(beside, line, every=1)
    drives = [drive(line, seen, rng, way=1 - 2 * (day % 2), day=day) for day in range(8)]
    made = city_job(drives, hydrants=moved(city("hydrants"), *toward))
    pack = prepare(made.survey, made.settings, made.decisions, made.numbers)
    shift = {one.source: one for one in pack.shifts}["hydrants.geojson"]
    covariance = np.array(
        [[shift.east_sd_m**2, shift.east_north_m2], [shift.east_north_m2, shift.north_sd_m**2]]
    )
    ends = np.array([line.interpolate(one).coords[0] for one in (0.0, line.length)])
    along = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    sd_m = np.sqrt(along @ covariance @ along)
    told_m, planted_m = (along @ one for one in ((shift.east_m, shift.north_m), toward))

    assert abs(told_m - planted_m) < 1.96 * sd_m < 2.2
    assert shift.applied
    assert shift.pairs == 16
    assert "its records are moved back" in shift.text


def test_the_city_s_own_hydrants_lie_where_they_are(beside, line) -> None:
    """The drives were made from them: what is found is chance, and nothing is moved."""
    rng, (_, seen) = np.random.default_rng(3), taps(beside, line, every=1)
    drives = [drive(line, seen, rng, way=1 - 2 * (day % 2), day=day) for day in range(4)]
    made = city_job(drives)
    pack = prepare(made.survey, made.settings, made.decisions, made.numbers)

    assert [one.pairs for one in pack.shifts] == [16, 0, 0]
    assert not any(one.applied for one in pack.shifts)
