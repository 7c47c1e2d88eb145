"""The small picture of the drum: where the thing lies, in words and at its share of the drum."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets.made_packs import NAN
from sheets.made_plans import FT, meeting, reverse, run

from routeprep.sheets.drum_picture import drum_picture, is_taped

ROW = {"across": "outer wheel path", "method": "vehicle", "offset_sd_m": 2.0}
TAPED = ROW | {"method": "taped", "offset_sd_m": 0.1}


def shown(row=ROW, one=None, *, units="us", **changes):
    """The picture of a thing 2 ft from the left edge of 7.25 ft."""
    return drum_picture(meeting("A-1", 20.0, **changes), one or run(), row, units=units)


def test_a_taped_thing_says_feet_from_the_nearer_edge():
    """2 ft of 7.25 ft from the left; turned, from the right."""
    up, down = shown(TAPED), shown(TAPED, reverse(run()))

    assert (up["kind"], up["words"]) == ("x", "2 ft from YOUR LEFT edge")
    assert up["at"] == pytest.approx(2.0 / 7.25)
    assert (down["words"], down["at"]) == ("2 ft from YOUR RIGHT edge", pytest.approx(5.25 / 7.25))


def test_a_metric_job_says_metres():
    """2 ft is 0.6 m."""
    assert shown(TAPED, units="metric")["words"] == "0.6 m from YOUR LEFT edge"


@pytest.mark.parametrize(
    ("method", "sd_m", "expected"),
    [("taped", 0.3, True), ("taped", 0.32, False), ("wheeled", 0.1, False), ("file", 0.1, False)],
)
def test_feet_are_for_taped_offsets_alone(method, sd_m, expected):
    """1.96 x 0.3 m is 0.59 m, within 2 ft; anything else is told in words."""
    assert is_taped({"method": method, "offset_sd_m": sd_m}) is expected


def test_what_is_not_taped_says_its_third_and_no_feet():
    """2 ft of 7.25 ft is in the first third."""
    words = shown()["words"]

    assert words == "outer wheel path, about YOUR LEFT third, not taped"
    assert shown(one=reverse(run()))["words"].endswith("about YOUR RIGHT third, not taped")


def test_left_and_right_of_another_frame_are_not_said():
    """What a person called left looking some other way is not the operator's."""
    assert shown(ROW | {"across": "left wheel path"})["words"] == "about YOUR LEFT third, not taped"


def test_what_may_be_under_the_drum_is_striped_where_it_may_be():
    """3.9 m to either side is all of it; 0.2 m is a part of it."""
    wide = shown(touch="maybe")
    narrow = shown(ROW | {"offset_sd_m": 0.1}, touch="maybe")

    assert (wide["kind"], wide["from"], wide["to"]) == ("striped", 0.0, 1.0)
    assert 0.0 < narrow["from"] < 2.0 / 7.25 < narrow["to"] < 1.0
    assert wide["words"] == "outer wheel path, may be under the drum: not sure"


def test_what_is_likeliest_beside_is_still_striped_on_the_drum():
    """A foot outside, and it may be under it."""
    one = shown(ROW | {"offset_sd_m": 0.05}, touch="maybe", from_left_m=-FT, from_right_m=8.25 * FT)

    assert (one["from"], one["to"]) == (0.0, pytest.approx(0.2))


@pytest.mark.parametrize("touch", ["cut", "maybe"])
def test_a_place_that_nobody_knows_stripes_the_whole_drum(touch):
    """Without an offset."""
    one = shown(touch=touch, from_left_m=NAN, from_right_m=NAN)

    assert (one["kind"], one["from"], one["to"]) == ("striped", 0.0, 1.0)


def test_a_thing_beside_the_drum_says_on_which_hand():
    """A foot outside the left edge looking up-station."""
    outside = {"touch": "side", "from_left_m": -FT, "from_right_m": 8.25 * FT}

    assert shown(TAPED, **outside)["words"] == "1 ft outside YOUR LEFT edge"
    assert shown(**outside)["words"] == "just outside YOUR LEFT edge, not taped"
    assert shown(one=reverse(run()), **outside)["kind"] == "right"


def test_a_thing_beside_on_no_known_side_is_drawn_on_both():
    """Rather than on the wrong one."""
    one = shown(touch="side", from_left_m=NAN, from_right_m=NAN)

    assert (one["kind"], one["words"]) == ("beside", "just outside the drum, side not known")


@pytest.mark.parametrize(
    ("across", "words"), [("whole road", "whole width of the road"), ("", "over the drum")]
)
def test_what_spans_the_drum_is_a_bar(across, words):
    """Overhead, or across the road."""
    one = shown(ROW | {"across": across}, touch="over", from_left_m=NAN, from_right_m=NAN)

    assert (one["kind"], one["words"]) == ("over", words)


def test_the_alternative_text_says_what_is_drawn_and_where_the_curb_is():
    """For who hears it read."""
    assert shown(TAPED)["alt"] == "Drum, X: 2 ft from YOUR LEFT edge; curb side on YOUR RIGHT"
    assert shown(touch="maybe")["alt"].startswith("Drum, stripes: ")


def test_across_the_line_no_curb_is_drawn():
    """Both sides are lanes."""
    one = shown(one=run(left_m=-run().right_m))

    assert (one["curb"], "curb" in one["alt"]) == ("", False)


@given(
    st.sampled_from(["cut", "maybe", "side", "over"]),
    st.floats(-0.6, 3.0),
    st.booleans(),
)
def test_reversing_a_pass_swaps_left_and_right_and_nothing_else(touch, left_m, taped):
    """Picture and words are those of the other hand."""
    row = TAPED if taped else ROW
    met = {"touch": touch, "from_left_m": left_m, "from_right_m": 7.25 * FT - left_m}
    up, down = shown(row, **met), shown(row, reverse(run()), **met)
    swap = {"LEFT": "RIGHT", "RIGHT": "LEFT", "left": "right", "right": "left"}
    mirrored = {
        name: " ".join(swap.get(word, word) for word in str(value).split(" "))
        for name, value in up.items()
        if name in ("kind", "words", "alt", "curb")
    }

    assert mirrored == {name: down[name] for name in mirrored}
    if "at" in up:
        assert up["at"] + down["at"] == pytest.approx(1.0)
