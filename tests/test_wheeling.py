"""Walks with a wheel: each place once, from the nearest physical thing, in the order met."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from builders import from_start
from hypothesis import given
from hypothesis import strategies as st
from sheets.made_packs import leg, pack, rows, thing

from routeprep import wheeling
from routeprep.lines import StationEquation, Stationing, Tie
from routeprep.units import STATION_UNITS, to_m
from routeprep.wheeling import walks


def tie(along_m, station, *, kind="plan", by="a bridge joint"):
    """A tie as the leg's stationing used it."""
    return Tie(
        along_m=along_m, station=station, kind=kind, by=by, residual_m=np.nan,
        stretch_share=np.nan, forced_by="",
    )  # fmt: skip


def test_a_bare_start_label_is_no_physical_thing():
    """A leg whose line alone bears the start has nothing to wheel from."""
    assert walks(leg("A"), rows(pack(), "A"), every=100.0) == ()


def test_feet_are_from_the_nearer_tie_in_the_order_met():
    """Back from a tie comes first, then ahead of it to the half way, then the next tie."""
    ties = (tie(100.0, "13+28", by="joint 1"), tie(300.0, "19+84", by="joint 2"))
    road = leg("A", length_m=400.0)
    made = pack([thing("A-1", 90.0), thing("A-2", 190.0), thing("A-3", 210.0)], legs=(road,))
    back, ahead, back_2, ahead_2 = walks(replace(road, ties=ties), rows(made, "A"), every=1000.0)

    assert [(one.tie, one.ahead) for one in (back, ahead, back_2, ahead_2)] == [
        ("joint 1", False), ("joint 1", True), ("joint 2", False), ("joint 2", True),
    ]  # fmt: skip
    assert [(stop.row["no"], stop.wheel_m) for stop in back.stops if stop.row] == [("A-1", 10.0)]
    assert [(stop.tie or stop.row["no"], pytest.approx(stop.wheel_m)) for stop in ahead.stops] == [
        ("A-2", 90.0), ("joint 2", 200.0),
    ]  # fmt: skip
    assert [(stop.row["no"], pytest.approx(stop.wheel_m)) for stop in back_2.stops] == [
        ("A-3", 90.0)
    ]


def test_plan_stations_are_painted_from_a_plan_tie_only():
    """Paint and a wheel's word bring a person to the place, and paint no plan station."""
    ties = tuple(
        tie(100.0 * (k + 1), f"{k}", kind=kind) for k, kind in enumerate(("plan", "paint", "wheel"))
    )
    made = walks(replace(leg("A", length_m=400.0), ties=ties), (), every=100.0)

    assert {one.tie + str(one.paints) for one in made if one.station.startswith("13")} == {
        "a bridge jointTrue"
    }
    assert [one.paints for one in made] == [True, True, False, False, False, False]


def test_stations_from_a_named_zero_are_painted_from_it():
    """A leg without plan stations counts from its zero, a thing on the road."""
    (walk,) = walks(leg("B", length_m=200.0, zero="Elm St north curb"), (), every=100.0)

    assert (walk.tie, walk.ahead, walk.paints) == ("Elm St north curb", True, True)
    feet = [round(stop.wheel_m / 0.3048) for stop in walk.stops]

    assert feet == [0, 100, 200, 300, 400, 500, 600]


def test_a_designed_alignment_is_wheeled_on_the_ground(monkeypatch):
    """Feet on the wheel are the plan's divided by the combined factor (here a made-up 0.5)."""
    monkeypatch.setattr(wheeling, "factors", lambda _line: SimpleNamespace(combined=0.5))
    (walk,) = walks(leg("B", length_m=100.0, zero="curb"), (), every=100.0)

    assert walk.stops[-1].wheel_m == pytest.approx(2 * to_m(300.0, "ft"))


def test_feet_are_those_of_the_stations_and_at_the_next_tie_the_line_s_beside_them():
    """800 ft of stations on 803 ft of line, with 500 ft of labels left out by an equation."""
    foot_m, unit = to_m(1.0, "ft"), STATION_UNITS["100 ft"]
    known_m = (100.0 * foot_m, 903.0 * foot_m)
    counting = Stationing(
        unit=unit, zero="", known_m=known_m, known_value=(2200.0, 3000.0),
        equations=(StationEquation(back_value=2350.0, ahead_value=2850.0),),
    )  # fmt: skip
    ties = (tie(known_m[0], "22+00", by="joint 1"), tie(known_m[1], "35+00", by="joint 2"))
    road = replace(leg("A", length_m=1000.0 * foot_m), stationing=counting, ties=ties)
    ahead = next(one for one in walks(road, (), every=100.0) if one.tie == "joint 1" and one.ahead)
    read = [(stop.station, round(stop.wheel_m / foot_m, 6)) for stop in ahead.stops]

    assert read == [
        ("22+00", 0.0), ("23+00", 100.0), ("29+00", 200.0), ("30+00", 300.0), ("31+00", 400.0),
        ("35+00.0", 800.0),
    ]  # fmt: skip
    assert ahead.stops[-1].line_m == pytest.approx(803.0 * foot_m)


@given(
    st.lists(st.floats(0.0, 900.0), max_size=8),
    st.lists(st.integers(0, 900), min_size=1, max_size=4, unique=True),
)
def test_each_place_is_in_one_walk_and_never_nearer_to_another_tie(places_m, ties_m):
    """Whatever the ties, every thing is walked to once, from a tie that none is nearer than."""
    ties_m = sorted(ties_m)
    things = [thing(f"A-{k}", at_m) for k, at_m in enumerate(sorted(places_m))]
    road = leg("A", length_m=900.0)
    road = replace(
        road,
        ties=tuple(tie(float(at_m), f"{at_m}", by=f"tie {at_m}") for at_m in ties_m),
        stationing=from_start(unit=STATION_UNITS["100 ft"], start_value=0.0, zero=""),
    )
    made = walks(road, rows(pack(things, legs=(road,)), "A"), every=1e6)
    met = [(walk, stop) for walk in made for stop in walk.stops if stop.row is not None]

    assert sorted(stop.row["no"] for _, stop in met) == sorted(one["no"] for one in things)
    for walk, stop in met:
        nearest_m = min(abs(stop.row["along_m"] - at_m) for at_m in ties_m)
        assert stop.wheel_m == pytest.approx(nearest_m)
        assert stop.wheel_m == pytest.approx(
            (stop.row["along_m"] - float(walk.tie[4:])) * (1 if walk.ahead else -1)
        )
