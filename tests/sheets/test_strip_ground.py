"""The ground of a strip: curbs, stations, limits, cross streets, what was poorly looked at."""

import dataclasses
import itertools

import pytest
from maps.example_pack import leg, pack_of
from sheets.made_strips import busy, road

from routeprep.sheets.strip_drawing import road_of
from routeprep.sheets.strip_ground import ground_parts, search_parts
from routeprep.sheets.strip_labels import Stretch
from routeprep.streets import Landmark

ROAD = road()


def ground(from_m, to_m, *, on_leg=ROAD, pack=None):
    """What lies under the things of a stretch."""
    on = road_of(Stretch(from_m=from_m, to_m=to_m, rows=()), on_leg)
    return ground_parts(on_leg, on, pack or pack_of((on_leg,), []), top_pt=0.0, bottom_pt=200.0)


def texts(parts):
    """Texts with their sizes, in order."""
    return [(one["text"], one["size"]) for one in parts if one["is"] == "writing"]


def test_stations_are_written_each_500_ft_in_large_and_each_100_in_small():
    """150 to 400 m along are 14+92 to 23+12 from 10+00."""
    assert texts(ground(150.0, 400.0))[:-1] == [
        ("15+00", 16.0), *((f"{k}+00", 11.0) for k in range(16, 20)), ("20+00", 16.0),
        *((f"{k}+00", 11.0) for k in range(21, 24)),
    ]  # fmt: skip


def test_each_station_has_a_tick_on_both_curbs():
    """Nine round hundreds: nine ticks above, nine below."""
    on = road_of(Stretch(from_m=150.0, to_m=400.0, rows=()), ROAD)
    ticks = [
        one for one in ground(150.0, 400.0)
        if one["is"] == "line" and one["wide"] == 1.2 and one["at"][0] == one["at"][2]
    ]  # fmt: skip

    assert len(ticks) == 18
    assert min(one["at"][0] for one in ticks) == pytest.approx(on.x_pt(152.4), abs=0.01)


@pytest.mark.parametrize(
    ("from_m", "to_m", "found"),
    [(20.0, 100.0, ["CUT BEGINS 10+98.4"]), (100.0, 200.0, []), (3100.0, 3229.0, ["CUT ENDS"])],
)
def test_limits_of_the_cut_are_named_where_they_are(from_m, to_m, found):
    """30 m are 98.4 ft."""
    said = [text for text, _ in texts(ground(from_m, to_m)) if text.startswith("CUT")]

    assert len(found) == len(said)
    assert all(one.startswith(start) for one, start in zip(said, found, strict=True))


def test_a_small_station_gives_way_to_a_limit():
    """11+00 is 1.6 ft from where the cut begins: its label would be read at another tick."""
    said = [text for text, _ in texts(ground(0.0, 300.0))]

    assert "11+00" not in said
    assert "13+00" in said


def test_texts_that_have_no_room_are_left_out():
    """Sixty cross streets on one strip: the band holds what it can, and nothing overlaps."""
    many = tuple(
        Landmark(name=f"Invented Street {k}", along_m=100.0 + k, side="", source="x")
        for k in range(60)
    )
    crowded = dataclasses.replace(ROAD, landmarks=many)
    shown = [one for one in ground(50.0, 250.0, on_leg=crowded) if one["is"] == "writing"
             and one["text"].startswith("Invented")]  # fmt: skip

    assert 3 < len(shown) < 60
    places = sorted((one["at"][0], one["at"][2]) for one in shown)
    assert all(b >= a + wide - 0.02 for (a, wide), (b, _) in itertools.pairwise(places))


def test_cross_streets_are_drawn_and_named_on_their_side():
    """Elm on both sides, Oak on the left alone: above."""
    on = road_of(Stretch(from_m=100.0, to_m=400.0, rows=()), ROAD)
    parts = ground(100.0, 400.0)
    stubs = [one["at"] for one in parts if one["is"] == "line" and one["wide"] == 1.6]

    assert [text for text, _ in texts(parts) if text.endswith("St")] == ["Elm St", "Oak St"]
    assert len(stubs) == 6
    assert sum(y < on.middle_pt for _, y, *_ in stubs) == 4


def test_what_was_poorly_looked_at_is_striped():
    """400 to 520 m, as far as the strip shows it."""
    on = road_of(Stretch(from_m=450.0, to_m=750.0, rows=()), ROAD)
    pack = busy(0)
    (stripes,) = [
        one for one in ground(450.0, 750.0, pack=pack)
        if one["is"] == "area" and one["fill"] == "striped"
    ]  # fmt: skip

    assert stripes["at"][0] == 0.0
    assert stripes["at"][2] == pytest.approx(on.x_pt(520.0), abs=0.01)


def test_curbs_are_heavy_within_the_cut_alone():
    """30 m of 60 lie in the cut."""
    heavy = [one for one in ground(0.0, 60.0) if one["is"] == "line" and one["wide"] == 2.2]

    assert [one["at"][0] for one in heavy] == [582.0, 582.0]
    outside = dataclasses.replace(ROAD, from_m=100.0)
    assert not [one for one in ground(0.0, 60.0, on_leg=outside) if one.get("wide") == 2.2]


def search(from_m, to_m, signs=()):
    """Where to search on a stretch."""
    on = road_of(Stretch(from_m=from_m, to_m=to_m, rows=()), ROAD)
    return on, list(search_parts(ROAD, on, busy(0), signs))


def test_a_place_to_search_has_a_sign_and_a_stretch_a_line():
    """What has a number is on the list, and needs none."""
    on, parts = search(600.0, 1000.0)

    assert [one["is"] for one in parts] == ["search"]
    assert parts[0]["at"] == [pytest.approx(on.x_pt(700.0)), pytest.approx(18.03 + 44.0, abs=0.1)]
    assert [one["is"] for one in search(1350.0, 1500.0)[1]] == ["line"]


def test_a_place_to_search_lies_over_no_sign():
    """It moves to the road's edge on its side."""
    on, _ = search(600.0, 1000.0)
    _, parts = search(600.0, 1000.0, [(on.x_pt(700.0), 60.0), (5.0, 5.0)])

    assert parts[0]["at"][1] == on.bottom_pt


def test_metric_stations_stand_each_100_m():
    """Ticks each 20 m; a start of 10+00 on a leg of 1000 m stations is 1,000 m."""
    made = leg("A", "Metric Road", [-96.1, -96.095], [41.2, 41.2], unit="1000 m")
    shown = texts(ground(30.0, 250.0, on_leg=made))

    assert [text for text, size in shown if size == 16.0 and "+" in text and text[0] != "C"] == [
        "1+100", "1+200",
    ]  # fmt: skip
    assert ("1+120", 11.0) in shown
