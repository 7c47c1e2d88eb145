"""What stands on a leg's pages, and in what order."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets.made_packs import UNDECIDED, leg, pack, rows, thing

from routeprep.lines import StationEquation
from routeprep.shapes import Leg
from routeprep.sheets.leg_pages import leg_page
from routeprep.streets import Landmark
from routeprep.units import STATION_UNITS, to_m


def items(
    things: Sequence[dict[str, object]],
    *,
    on: Leg | None = None,
    withdrawn: Sequence[Sequence[str]] = (),
    units: str = "us",
) -> list[Any]:
    """All that stands on the pages of one leg."""
    made = pack(things, legs=[on or leg()], withdrawn=withdrawn, units=units)
    page: Any = leg_page(made.legs[0], rows(made, made.legs[0].settings.code), made)
    return [item for block in page["blocks"] for item in block]


def texts(found: Sequence[Any], *types: str) -> list[str]:
    """Texts, or numbers, of the items of these types."""
    return [one.get("text") or one["no"] for one in found if one["type"] in types]


def gaps(found: Sequence[Any]) -> list[str]:
    """The ways from each thing or band to the next, in order."""
    return [one["gap"] for one in found if one.get("gap")]


def only(**changes: object) -> Any:
    """How a single thing is shown."""
    (found,) = [one for one in items([thing("A-1", 50.0, **changes)]) if one["type"] == "thing"]
    return found


@given(st.lists(st.floats(0.0, 1000.0), max_size=30))
def test_ways_between_add_up_to_the_leg(places_m: list[float]) -> None:
    """From limit to limit, the ways between things are the leg's length within their rounding."""
    found = items([thing(f"A-{i}", at_m) for i, at_m in enumerate(sorted(places_m))])
    said = gaps(found)
    total_ft = sum(0 if gap == "beside it" else int(gap.split()[0].replace(",", ""))
                   for gap in said)  # fmt: skip

    assert len(said) == len(places_m) + 1
    assert total_ft == pytest.approx(1000.0 / to_m(1.0, "ft"), abs=2.5 * len(said) + 1e-6)


@given(st.lists(st.floats(0.0, 1000.0), max_size=30))
def test_things_rules_and_limits_stand_in_station_order(places_m: list[float]) -> None:
    """No thing is lost and none stands on the wrong side of a rule."""
    found = items([thing(f"A-{i}", at_m) for i, at_m in enumerate(sorted(places_m))])
    at_ft = 1000.0
    for one in found:
        if one["type"] == "rule":
            at_ft = float(one["text"].partition(" ")[0].replace("+", ""))
        elif one["type"] == "thing":
            value_ft = float(one["station"].replace("+", ""))
            assert value_ft >= at_ft - 2.5

    assert texts(found, "thing") == [f"A-{i}" for i in range(len(places_m))]


def test_rules_stand_every_500_feet() -> None:
    """With the station, but not again where a limit of the cut is."""
    found = items([thing("A-1", to_m(700.0, "ft"))], on=leg(length_m=to_m(1500.0, "ft")))

    assert texts(found, "band", "rule", "thing") == [
        "CUT BEGINS 10+00", "15+00", "A-1", "20+00", "CUT ENDS 25+00",
    ]  # fmt: skip


def test_metric_rules_stand_every_100_metres() -> None:
    """Stations of 1000 m."""
    road = leg(unit=STATION_UNITS["1000 m"], start_value=12050.0, length_m=250.0)

    assert texts(items([], on=road, units="metric"), "rule") == ["12+100", "12+200"]


def test_a_long_run_of_rules_is_one() -> None:
    """Where nothing is known for long, one rule says from where to where."""
    assert texts(items([]), "rule") == ["15+00 to 40+00: nothing on this list"]


def test_a_named_zero_never_looks_like_plan_stations() -> None:
    """Every rule and limit carries the zero's name."""
    road = leg(zero="Elm St north curb", length_m=200.0)
    found = texts(items([], on=road), "band", "rule")

    assert found == [
        "CUT BEGINS 0+00 from Elm St north curb",
        "5+00 from Elm St north curb",
        "CUT ENDS 6+56.2 from Elm St north curb",
    ]


def test_things_past_the_ends_stand_outside_the_limits() -> None:
    """Nothing clamps."""
    found = items([thing("A-1", -10.0), thing("A-2", 1010.0)])

    assert texts(found, "band", "thing") == ["A-1", "CUT BEGINS 10+00", "CUT ENDS 42+80.8", "A-2"]


def test_withdrawn_numbers_stand_in_their_order() -> None:
    """A number that was issued is seen on every later sheet, also before and after all others."""
    gone = [(no, "A", "removed") for no in ("A-9", "A-2A", "A-1")] + [("B-1", "B", "removed")]
    found = items([thing("A-2", 10.0), thing("A-3", 20.0)], withdrawn=gone)

    assert texts(found, "thing", "withdrawn") == ["A-1", "A-2", "A-2A", "A-3", "A-9"]


@pytest.mark.parametrize(
    ("changes", "boxed"),
    [
        ({"action": "STOP"}, True),
        (UNDECIDED, True),
        ({"action": "LIFT"}, False),
        ({"action": "STOP", "status": "gone (J. Doe, 2026-05-30)"}, False),
    ],
)
def test_stops_are_boxed(changes: dict[str, object], boxed: bool) -> None:  # noqa: FBT001
    """What is not decided is a STOP too; what is gone stops nobody."""
    assert only(**changes)["boxed"] is boxed


def test_what_is_gone_is_struck() -> None:
    """It stays on the sheet, struck through, with the words that say why."""
    found = only(status="gone (J. Doe, 2026-05-30)")

    assert found["struck"] is True
    assert found["remarks"] == ["gone (J. Doe, 2026-05-30)"]


def test_what_is_not_decided_shows_the_proposal() -> None:
    """The crew reads STOP, the superintendent what is proposed."""
    found = only(**UNDECIDED, proposed="LIFT")

    assert (found["do"], found["sub"]) == ("NOT DECIDED: STOP", ["proposed: LIFT"])


def test_a_file_nobody_checked_is_said_in_words() -> None:
    """Ordinary sightings need no words, a thing known from a file alone does."""
    assert only(status="in a file, not seen")["remarks"] == ["in a file, not seen"]
    assert only(status="seen once")["remarks"] == []


@pytest.mark.parametrize(
    ("changes", "crossed", "striped", "curb_on_right"),
    [
        ({"lane": "R1", "across": "curb or edge"}, [0], False, True),
        ({"lane": "L1", "across": "inner wheel path"}, [3], False, False),
        ({"lane": "", "across": "", "doubt": "lane not sure"}, [], True, False),
        ({"lane": "R1", "across": "right side"}, [], True, True),
        ({"lane": "R1", "across": "whole road"}, [0, 1, 2, 3, 4], False, True),
        ({"across": "on the line"}, [4], False, False),
        ({"across": "outer wheel path", "doubt": "near tie; lane not sure"}, [1], True, True),
    ],
)
def test_where_across_the_road_is_drawn(
    changes: dict[str, object],
    crossed: list[int],
    striped: bool,  # noqa: FBT001
    curb_on_right: bool,  # noqa: FBT001
) -> None:
    """An X in the one box, stripes where nobody knows, the curb on the side it is on."""
    where = only(**changes)["where"]

    assert (where["crossed"], where["striped"], where["curb_on_right"]) == (
        crossed, striped, curb_on_right,
    )  # fmt: skip


def test_a_long_thing_has_both_ends_rounded_away_from_it() -> None:
    """Nobody raises a bed too early because of rounding."""
    found = only(from_m=to_m(101.0, "ft"), to_m=to_m(221.0, "ft"))

    assert found["under_station"] == ["11+00 to 12+25"]
    assert found["plus_minus"] == "±20 ft"


def test_things_beside_each_other_are_said_in_words() -> None:
    """Two things on one spot are not 0 ft apart."""
    found = items([thing("A-1", 50.0), thing("A-2", 50.1)])

    assert gaps(found)[1] == "beside it"


def with_equation(back_value: float, ahead_value: float, **changes: object) -> Leg:
    """A leg of 3,281 ft from 10+00 with one station equation."""
    road = leg()
    equations = (StationEquation(back_value=back_value, ahead_value=ahead_value),)
    stationing = replace(road.stationing, equations=equations, length_m=road.line.length_m)
    return replace(road, stationing=stationing, **changes)  # type: ignore[arg-type]


def test_a_station_equation_stands_across_the_sheet() -> None:
    """Where the stations jump; rules and limits beyond count ahead of it."""
    found = items([thing("A-1", 450.0), thing("A-2", 500.0)], on=with_equation(2543.2, 3067.43))

    assert texts(found, "band", "rule", "thing") == [
        "CUT BEGINS 10+00", "15+00", "20+00", "A-1", "25+00",
        "STATION EQUATION 25+43.20 BK = 30+67.43 AH", "A-2", "35+00", "40+00", "45+00",
        "CUT ENDS 48+05.1",
    ]  # fmt: skip


def test_where_stations_stand_twice_every_one_says_its_region() -> None:
    """Rules, limits and things."""
    road = with_equation(1500.0, 1200.0, from_m=to_m(300.0, "ft"), to_m=to_m(800.0, "ft"))
    found = items([thing("A-1", to_m(310.0, "ft")), thing("A-2", to_m(610.0, "ft"))], on=road)

    assert texts(found, "band", "rule") == [
        "CUT BEGINS 13+00 BK", "STATION EQUATION 15+00.00 BK = 12+00.00 AH", "CUT ENDS 15+00 AH",
    ]  # fmt: skip
    assert [one["station"] for one in found if one["type"] == "thing"] == ["13+10 BK", "13+10 AH"]


def test_an_equation_outside_what_is_shown_is_left_out() -> None:
    """The crew does not go there."""
    road = with_equation(2543.2, 3067.43, to_m=to_m(800.0, "ft"))

    assert texts(items([], on=road), "band") == ["CUT BEGINS 10+00", "CUT ENDS 18+00"]


def test_the_ends_of_a_long_thing_are_stations_that_exist() -> None:
    """From 1 ft before the gap to 1 ft after it, rounded away from it."""
    ends_m = {"from_m": to_m(1542.2, "ft"), "to_m": to_m(1544.2, "ft") + 1.0}
    row = thing("A-1", to_m(1543.0, "ft"), **ends_m)
    found = items([row], on=with_equation(2543.2, 3067.43))
    (shown,) = [one for one in found if one["type"] == "thing"]

    assert shown["under_station"][0] == "25+40 to 30+75"


def test_the_mile_marker_s_reading_stands_under_the_station() -> None:
    """Where the leg has markers."""
    road = replace(leg(), markers=((0.0, 14.0), (1609.344, 15.0)))
    (shown,) = [
        one for one in items([thing("A-1", to_m(320.0, "ft"))], on=road) if one["type"] == "thing"
    ]

    assert shown["under_station"] == ["MM 14 + 320 ft"]


ELM = Landmark(name="Elm St", along_m=100.0, side="", source="streets.geojson")
OAK = Landmark(name="Oak Av", along_m=to_m(500.0, "ft"), side="R", source="streets.geojson")


def test_a_rule_with_its_name_stands_at_every_cross_street() -> None:
    """With station and side, in its place among the things; no 500-ft rule beside it."""
    road = replace(leg(length_m=to_m(1500.0, "ft")), landmarks=(ELM, OAK))
    found = items([thing("A-1", 110.0)], on=road)
    order = [one.get("text") or one["no"] for one in found]

    assert order == [
        "CUT BEGINS 10+00", "Elm St", "A-1", "Oak Av, on the right", "20+00", "CUT ENDS 25+00",
    ]  # fmt: skip
    assert [one["station"] for one in found if one["type"] == "landmark"] == ["13+30", "15+00"]


def test_a_landmark_beyond_what_is_shown_is_left_out() -> None:
    """The crew does not get there."""
    road = replace(leg(), landmarks=(replace(ELM, along_m=-5.0),))

    assert texts(items([], on=road), "landmark") == []


def test_every_row_says_how_far_past_the_last_landmark_it_is() -> None:
    """Under the station, before all else that stands there."""
    road = replace(leg(), landmarks=(ELM, OAK))
    found = items([thing("A-1", 126.0)], on=road)

    assert [one["under_station"] for one in found if one["type"] == "thing"] == [
        ["85 ft past Elm St"]
    ]


@pytest.mark.parametrize(
    ("kind", "along_m", "bands"),
    [
        ("DCH", 100.0, ["DEPTH CHANGE 13+30"]),
        ("BUTT", 100.0, ["DEPTH CHANGE 13+30"]),
        ("BCUT", 100.0, ["DEPTH CHANGE 13+30"]),
        ("BCUT", 10.0, []),
        ("ECUT", 990.0, []),
        ("RAMP", 100.0, []),
        ("SMH", 100.0, []),
    ],
)
def test_a_change_of_the_cut_is_a_band(kind: str, along_m: float, bands: list[str]) -> None:
    """Just before its own row; the begin and the end of the leg have theirs already."""
    found = items([thing("A-1", along_m, kind=kind, name="depth change", size="")])
    types = [one["type"] for one in found]

    assert texts(found, "change") == bands
    assert "change" not in types or types[types.index("change") + 1] == "thing"


def test_a_change_that_is_gone_is_no_band() -> None:
    """Its row stays, struck."""
    gone = {"kind": "DCH", "status": "gone (J. Doe, 2026-05-30)"}

    assert texts(items([thing("A-1", 100.0, **gone)]), "change") == []


def test_things_lifted_over_as_one_are_said_before_the_first() -> None:
    """From where to where, which, and who takes the ground between; each row repeats it."""
    found = items([thing("A-1", 100.0), thing("A-2", 105.0), thing("A-3", 200.0)])

    assert texts(found, "lift", "thing") == [
        "ONE LIFT 13+25 to 13+45: A-1, A-2. Ground between: the small machine.",
        "A-1", "A-2", "A-3",
    ]  # fmt: skip
    assert [one["sub"] for one in found if one["type"] == "thing"] == [
        ["ONE LIFT 13+25 to 13+45"], ["ONE LIFT 13+25 to 13+45"], [],
    ]  # fmt: skip
    assert [one["lifted"] for one in found if one["type"] == "thing"] == [True, True, False]


@given(st.lists(st.floats(0.0, 1000.0), max_size=30))
def test_a_page_never_ends_on_a_rule(places_m: list[float]) -> None:
    """Each block but the last ends with a thing, or holds as many rows as are kept together."""
    made = pack([thing(f"A-{i}", m) for i, m in enumerate(sorted(places_m))], legs=[leg()])
    page: Any = leg_page(made.legs[0], rows(made, "A"), made)
    ends = [block[-1]["type"] for block in page["blocks"][:-1] if len(block) < 5]

    assert set(ends) <= {"thing"}


def test_a_lowered_casting_stays_on_the_sheet() -> None:
    """The paver needs it: with how deep it is, who lowered it and when."""
    found = only(status="lowered 4 in (J. Doe, 2026-05-27)", action="MILL OVER")

    assert (found["do"], found["struck"]) == ("MILL OVER", False)
    assert found["remarks"] == ["lowered 4 in (J. Doe, 2026-05-27)"]


def test_whoever_made_the_street_map_is_named() -> None:
    """Once, where its streets are printed; nobody where nobody asks for it."""
    credited = replace(ELM, credit="© OpenStreetMap contributors")
    made = pack([], legs=[replace(leg(), landmarks=(credited, replace(credited, along_m=200.0)))])
    page: Any = leg_page(made.legs[0], [], made)
    plain: Any = leg_page(leg(), [], made)

    assert page["line"].endswith(". Cross streets: © OpenStreetMap contributors.")
    assert "Cross streets" not in plain["line"]
