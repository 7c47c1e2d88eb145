"""The plan of work as data: all of it, metres and nulls, and read by other programs."""

import json
from dataclasses import fields, replace

import geopandas
import numpy as np
import pyogrio
import pytest
import shapely
from maps.example_pack import curve, example_pack
from maps.example_pack import leg as bent_leg
from sheets.made_packs import HOSTILE, NAN
from sheets.made_plans import FT, IN, plan, planned, run, strip

from routeprep import exports
from routeprep.exports.plan import pass_columns, passes_text, plan_text
from routeprep.geodesy import plane_at
from routeprep.plans import HandWork, Meeting, Pass, Plan, Quantity, Ramp, Strip


def written(pack=None):
    """The plan as read back."""
    return json.loads(plan_text(pack or planned()))


@pytest.mark.parametrize(
    ("name", "shape"),
    [
        ("strips", Strip),
        ("passes", Pass),
        ("meetings", Meeting),
        ("ramps", Ramp),
        ("hand_work", HandWork),
        ("quantities", Quantity),
    ],
)
def test_every_field_of_every_part_is_there(name, shape):
    """By its own name, which says its unit."""
    held, made = written()[name], getattr(plan(), name)

    assert len(held) == len(made)
    assert {item.name for item in fields(shape)} <= set(held[0])


def test_edges_and_depths_are_lists_of_metres():
    """7.25 ft is 2.2098 m; 1.5 in is 0.0381 m."""
    one = written()["passes"][0]

    assert one["right_m"] == [2.2098, 2.2098]
    assert one["depth_right_m"] == [0.0381, 0.0381]
    assert one["against"] is False


def test_what_lies_along_has_its_stations():
    """From and to, or the one station."""
    made = written()

    assert (made["passes"][0]["from_station"], made["passes"][0]["to_station"]) == (
        "10+00.0", "42+80.8",
    )  # fmt: skip
    assert made["meetings"][0]["station"] == "10+65.6"
    assert made["ramps"][1]["station"] == "42+80.8"
    assert made["hand_work"][2]["to_station"] == "3+28.1 from Elm St north curb"


def test_meetings_bear_the_number_of_the_thing():
    """Beside its anchor; empty for one that the list has no more."""
    lost = replace(plan().meetings[0], anchor_id="gone")
    made = written(planned(plan(meetings=(lost, plan().meetings[0]))))["meetings"]

    assert [one["no"] for one in made] == ["", "A-1"]


def test_loads_are_not_rounded_and_what_is_not_known_is_null():
    """As reckoned: 70.4."""
    made = written()

    assert made["quantities"][0]["loads_by_weight"] == 70.4
    assert made["meetings"][7]["from_left_m"] is None
    assert made["haul"]["ramp_slope"] is None


def test_a_job_without_a_machine_has_empty_lists():
    """The file is there all the same."""
    made = written(planned(Plan()))
    names = ("machines", "strips", "passes", "meetings", "ramps", "hand_work", "quantities")

    assert [made[name] for name in (*names, "flags")] == [[]] * 8
    assert (made["format"], made["job"]["revision"]) == (1, "C")
    assert json.loads(passes_text(planned(Plan())))["features"] == []


def test_hostile_words_are_only_words():
    """They come back as they were."""
    made = planned(plan(passes=(run(flags=(HOSTILE,)),), meetings=()))

    assert written(made)["passes"][0]["flags"] == [HOSTILE]
    assert json.loads(passes_text(made))["features"][0]["properties"]["flags"] == HOSTILE


def test_the_same_pack_gives_the_same_text():
    """Twice."""
    assert plan_text(planned()) == plan_text(planned())
    assert passes_text(planned()) == passes_text(planned())


def test_other_programs_read_the_passes(tmp_path):
    """GDAL finds a polygon for each, counter-clockwise, with its columns."""
    path = tmp_path / "passes.geojson"
    path.write_text(passes_text(planned()), encoding="utf-8")
    read = geopandas.read_file(path)

    assert read["code"].tolist() == ["A R1", "A R2", "B L1"]
    assert read.crs.to_epsg() == 4326
    assert all(shapely.is_valid(read.geometry))
    assert all(one.exterior.is_ccw for one in read.geometry)


def test_a_pass_on_a_bending_road_has_the_area_of_its_strip():
    """Against length times width in a plane; a turn adds 2 m x its angle at most."""
    road = bent_leg("A", "Bent Road", *curve())
    length_m = road.line.length_m
    wide = {"left_m": np.full(2, 1.0), "right_m": np.full(2, 3.0)}
    along_m = np.array([0.0, length_m])
    one = run(along_m=along_m, **wide)
    pack = planned(plan(passes=(one,), strips=(strip(along_m=along_m, **wide),), meetings=()),
                   things=(), legs=(road,))  # fmt: skip
    (feature,) = json.loads(passes_text(pack))["features"]
    lon_deg, lat_deg = np.array(feature["geometry"]["coordinates"][0]).T
    plane = plane_at(float(lon_deg.mean()), float(lat_deg.mean()))

    assert shapely.Polygon(plane.to_xy(lon_deg, lat_deg)).area == pytest.approx(
        2.0 * length_m, rel=0.005
    )


def test_columns_say_least_and_most_and_unknown_depths():
    """Of widths and depths along the pass."""
    road = planned().legs[0]
    narrow = run(right_m=np.array([7.0 * FT, 7.25 * FT]))
    unknown = run(depth_left_m=np.full(2, NAN), depth_right_m=np.full(2, NAN))

    columns = pass_columns(narrow, road)
    assert columns["least_width_m"] == pytest.approx(7.0 * FT)
    assert columns["width_m"] == pytest.approx(7.25 * FT)
    assert (columns["least_depth_m"], columns["depth_m"]) == pytest.approx((1.5 * IN, 2.0 * IN))
    assert np.isnan(pass_columns(unknown, road)["depth_m"])


def test_the_geopackage_has_a_layer_of_passes_where_there_are_some(tmp_path):
    """As many as the plan has, with their areas; none without a machine."""
    made = plan(passes=plan().passes[:2], meetings=())
    exports.write_gpkg(replace(example_pack(), plan=made), tmp_path / "some.gpkg")
    exports.write_gpkg(example_pack(), tmp_path / "none.gpkg")
    layers = [name for name, _ in pyogrio.list_layers(tmp_path / "some.gpkg")]
    read = geopandas.read_file(tmp_path / "some.gpkg", layer="passes")

    assert layers[-1] == "passes"
    assert read["machine"].tolist() == ["Big One"] * 2
    assert read["against_traffic"].tolist() == [False, True]
    assert "passes" not in {name for name, _ in pyogrio.list_layers(tmp_path / "none.gpkg")}
