"""A leg on the map: its line, ticks, limits, landmarks, and which station stands where."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from maps.example_pack import example_legs, leg

from routeprep.geodesy import segment_lengths_m
from routeprep.lines import StationEquation, Stationing
from routeprep.maps.roads import place, road, stretch
from routeprep.shapes import Leg
from routeprep.stationing import along_at, along_of, label, stations_every
from routeprep.streets import Landmark
from routeprep.units import parse_station


def unpacked(steps: list[int]) -> np.ndarray:
    """Latitude and longitude of a packed line [deg], as the script unpacks it."""
    return np.cumsum(np.array(steps).reshape(-1, 2), axis=0) / 1e6


def drawn(one: Leg) -> dict:
    """What the map has of a leg of a US job."""
    return road(one, units="us")


def straight(**more: object) -> Leg:
    """A leg due east, about 1.68 km."""
    return leg("A", "Example Road", [-96.1, -96.09, -96.08], [41.2, 41.2, 41.2], **more)


def stationed(*equations: tuple[float, float], known: tuple[tuple[float, float], ...] = ()) -> Leg:
    """The straight leg with station equations, and places along whose value is known."""
    one = straight()
    known_m, values = zip(*(known or ((0.0, 1000.0),)), strict=True)
    stationing = Stationing(
        unit=one.stationing.unit,
        zero="",
        known_m=known_m,
        known_value=values,
        equations=tuple(
            StationEquation(back_value=back, ahead_value=ahead) for back, ahead in equations
        ),
        length_m=one.line.length_m,
    )
    return dataclasses.replace(one, stationing=stationing)


def read(pieces: list[list[float]], value: float) -> list[float]:
    """Where a written value stands [m], read off the pieces as the script does."""
    places = []
    for from_m, to_m, first, last, _ in pieces:
        along_m = from_m + (value - first) / (last - first) * (to_m - from_m)
        if from_m - 1e-3 <= along_m <= to_m + 1e-3:
            places.append(along_m)
    return places


def test_centerline_is_drawn_where_it_is() -> None:
    """The packed line ends where the centerline ends, within a micro-degree."""
    one, _ = example_legs()
    line = unpacked(drawn(one)["line"])

    assert line[0] == pytest.approx([one.line.lat_deg[0], one.line.lon_deg[0]], abs=1e-6)
    assert line[-1] == pytest.approx([one.line.lat_deg[-1], one.line.lon_deg[-1]], abs=1e-6)


def test_each_drawn_vertex_knows_how_far_along_it_is() -> None:
    """To a centimetre: the place of each distance along is the vertex."""
    one, _ = example_legs()
    shown = drawn(one)
    line, along_m = unpacked(shown["line"]), np.cumsum(shown["along_cm"]) / 100

    assert len(line) == len(along_m) < len(one.line.along_m)
    assert along_m[-1] == pytest.approx(one.line.length_m, abs=0.005)
    assert line == pytest.approx(np.array([place(one.line, m) for m in along_m]), abs=2e-6)


def test_cut_is_as_long_as_its_limits_say() -> None:
    """The drawn cut's length on the ground is to - from, within 1 m."""
    one = straight()
    cut = unpacked(drawn(one)["cut"])
    length_m = segment_lengths_m(cut[:, 1], cut[:, 0], elevation_m=360.0).sum()

    assert length_m == pytest.approx(one.to_m - one.from_m, abs=1.0)


def test_a_stretch_off_the_line_is_nothing() -> None:
    """It is not moved to the line's end."""
    assert stretch(straight().line, 5000.0, 6000.0) == []


def test_ticks_stand_each_100_ft_at_their_station() -> None:
    """Labels are whole 100 ft, and each stands where its station is."""
    one = straight()
    ticks = drawn(one)["ticks"]

    assert [text for text, *_ in ticks][:3] == ["10+00", "11+00", "12+00"]
    assert [bearing for *_, bearing, _ in ticks] == pytest.approx([90.0] * len(ticks), abs=0.1)
    for text, _, lon_deg, _, _ in ticks:
        along_m = along_at(one.stationing, parse_station(text, one.stationing.unit))
        start = np.array([one.line.lon_deg[0], lon_deg])
        walked_m = segment_lengths_m(start, np.full(2, 41.2), elevation_m=360.0)[0]
        assert walked_m == pytest.approx(along_m, abs=0.2)


def test_ticks_of_a_metric_leg_stand_each_20_m() -> None:
    """And may be thinned to the sheet's own rules, each 100 m."""
    shown = drawn(straight(unit="1000 m"))

    assert [text for text, *_ in shown["ticks"]][:3] == ["1+000", "1+020", "1+040"]
    assert shown["tick_m"] * shown["tick_every"][1] == 100.0


@pytest.mark.parametrize(
    ("ahead", "texts"),
    [
        (2800.0, ["23+00", "24+00", "28+00", "29+00"]),
        (2300.0, ["23+00 BK", "24+00 BK", "23+00 AH", "24+00 AH", "25+00 AH", "26+00"]),
    ],
)
def test_ticks_stand_only_at_stations_that_exist(ahead: float, texts: list[str]) -> None:
    """25+00 BK = 28+00 AH has no tick in its gap; in an overlap each says its region."""
    shown = [text for text, *_ in drawn(stationed((2500.0, ahead)))["ticks"]]
    at = shown.index(texts[0])

    assert texts == shown[at : at + len(texts)]


def test_a_tick_says_which_multiple_of_its_step_it_is() -> None:
    """So that thinning keeps round stations."""
    assert {
        count == int(text.partition("+")[0]) for text, *_, count in drawn(straight())["ticks"]
    } == {True}


@pytest.mark.parametrize(
    ("made_from", "path_driven", "designed"),
    [("file", False, False), ("path driven", True, False), ("designed alignment", False, True)],
)
def test_what_the_line_is_made_from_is_told(
    made_from: str, *, path_driven: bool, designed: bool
) -> None:
    """Only what drives made is drawn as such, only the plan's line is called so."""
    shown = drawn(straight(made_from=made_from))

    assert (path_driven, designed) == (shown["path_driven"], shown["designed"])


def test_a_leg_with_a_zero_names_it() -> None:
    """Its labels never look like plan stations."""
    shown = drawn(straight(zero="ELM N CURB"))

    assert shown["zero"] == "from ELM N CURB"
    assert shown["cut_from"].endswith(" from ELM N CURB")
    assert drawn(straight())["zero"] == ""


def test_limit_beyond_the_line_is_said_but_not_drawn() -> None:
    """Nothing is moved to the line's end in silence."""
    shown = drawn(dataclasses.replace(straight(), from_m=-10.0, to_m=500.0))

    assert [limit["text"] for limit in shown["limits"]] == ["CUT TO 26+40.4"]
    assert shown["cut_from"] == "9+67.2"


def test_a_landmark_stands_where_its_street_meets_the_leg() -> None:
    """With its station to 5 ft and its side; past an end it is listed and not drawn."""
    marks = (
        Landmark(name="Elm St", along_m=304.8, side="R", source="streets.osm"),
        Landmark(name="Oak St", along_m=1700.0, side="", source="streets.osm"),
    )
    one = dataclasses.replace(straight(), landmarks=marks)
    elm, oak = drawn(one)["landmarks"]

    assert (elm["text"], elm["station"], elm["side"]) == ("Elm St", "20+00", "on the right")
    assert elm["at"] == place(one.line, 304.8)
    assert (oak["at"], oak["side"]) == ([], "")


@given(value=st.floats(1000.0, 6000.0))
def test_a_station_stands_where_the_line_has_it(value: float) -> None:
    """Read off the pieces as the script does, with ties that stretch the stations."""
    one = stationed(known=((0.0, 1000.0), (400.0, 2320.0), (1200.0, 4940.0)))
    expected_m = along_at(one.stationing, value)
    places_m = read(drawn(one)["pieces"], value)

    assert places_m == [
        pytest.approx(expected_m, abs=0.01) for _ in places_m
    ]  # twice at a place between two pieces
    assert bool(places_m) == (expected_m <= one.line.length_m + 1e-3)


def test_a_station_in_a_gap_stands_nowhere_and_one_in_an_overlap_twice() -> None:
    """2500 BK = 2800 AH, then 4000 BK = 3700 AH."""
    one = stationed((2500.0, 2800.0), (4000.0, 3700.0))
    pieces = drawn(one)["pieces"]

    assert read(pieces, 2600.0) == []
    assert read(pieces, 3900.0) == [
        pytest.approx(along_of(one.stationing, f"39+00 {side}"), abs=0.01) for side in ("BK", "AH")
    ]
    assert [region for *_, region in pieces] == [1, 2, 3]


def test_each_printed_tick_is_found_again() -> None:
    """The label of a tick, read off the pieces, leads back to it."""
    one = stationed((2500.0, 2800.0), known=((0.0, 1000.0), (400.0, 2320.0)))
    pieces = drawn(one)["pieces"]
    ends_m = stations_every(one.stationing, 100.0, to_m=one.line.length_m)
    texts = [label(one.stationing, along_m, decimals=0) for along_m in ends_m]
    unit = one.stationing.unit

    assert [read(pieces, parse_station(text, unit))[0] for text in texts] == pytest.approx(
        ends_m, abs=0.01
    )
