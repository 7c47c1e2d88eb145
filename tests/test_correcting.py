"""What persons correct by hand: the place, where across, the height."""

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import from_start, leg_settings
from hypothesis import given
from hypothesis import strategies as st
from strategies import line_from_xy

from routeprep.correcting import (
    CORRECTIONS,
    POSITIONS,
    SIDES,
    corrected,
    correction_fault,
    with_doubts,
)
from routeprep.locating import place
from routeprep.shapes import Decision, Defaults, Leg
from routeprep.units import STATION_UNITS

FT = 0.3048
WIDTH_M = 3.6
USUAL = Defaults()
FT_100 = STATION_UNITS["100 ft"]


def leg(code="A", *, xy_m=((0.0, 0.0), (0.0, 400.0)), **changes):
    """A straight leg of 400 m to the north with two lanes each way; ``changes`` of its settings."""
    settings = leg_settings(
        code=code, unit=FT_100,
        **({"lanes_left": 2, "lanes_right": 2, "lane_width_m": WIDTH_M} | changes),
    )  # fmt: skip
    line = line_from_xy(xy_m)
    stationing = from_start(unit=FT_100, start_value=1000.0, zero="")
    return Leg(settings=settings, line=line, stationing=stationing, from_m=0.0, to_m=line.length_m)


LEG = leg()


def row(**changes):
    """A thing 100 m along, 1.5 m right of the line, in the first lane's outer wheel path."""
    usual = {
        "anchor_id": "a", "mark_ids": ("a", "b"), "record_ids": ("r",), "leg": "A",
        "along_m": 100.0, "from_m": 98.0, "to_m": 104.0, "offset_m": 2.7, "along_sd_m": 2.0,
        "offset_sd_m": 0.54, "lane": "R1", "across": "outer wheel path", "method": "vehicle",
        "past_end_m": 0.0, "height_m": math.nan, "height_by": "", "doubt": "",
    }  # fmt: skip
    made = usual | changes
    lon, lat = place(LEG.line, np.array([made["along_m"]]), np.array([made["offset_m"]]))
    return {"lon_deg": float(lon[0]), "lat_deg": float(lat[0])} | made


def said(field, value, item="a", **changes):
    """One correction."""
    usual = {"by": "Ana", "when": "2026-05-20", "why": ""}
    return Decision(anchor_id=item, field=field, value=value, **(usual | changes))


def at(along_m, offset_m, on=LEG):
    """A place beside a leg, as a page writes it."""
    lon, lat = place(on.line, np.array([along_m]), np.array([offset_m]))
    return f"{lon[0]:.9f} {lat[0]:.9f}"


def mended(*decisions, on=LEG, defaults=USUAL, **changes):
    """The row with corrections."""
    (one,) = corrected([row(**changes)], decisions, legs=[on], defaults=defaults)
    return one


def doubts(made):
    """The doubts of a row."""
    return [part for part in made["doubt"].split("; ") if part]


# --- what may be said ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("place", "-100.87 41.43"), ("place", "180 90"), ("place", "-100.8700000 -41.4300000"),
        ("across", "curb or edge"), ("across", "right side, lane 2, outer wheel path"),
        ("across", "lane 1"), ("across", "left  side"), ("across", "outer wheel path, right side"),
        ("across", "whole road"), ("across", "on the line"),
        ("height", "15.5 ft posted"), ("height", "14 ft 6 in measured"), ("height", "4.72 m guess"),
        ("height", "4.72m guess"), ("note", "anything"),
    ],
)  # fmt: skip
def test_what_is_understood_is_no_fault(field, value):
    """As pages write it, and as a person may type it into the table."""
    assert correction_fault(field, value) == ""


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("place", ""), ("place", "41.43, -100.87"), ("place", "181 0"), ("place", "0 91"),
        ("place", "nan 0"), ("place", "1e5 0"), ("place", "٣ 4"), ("place", "0 0 "),
        ("across", ""), ("across", "other side"), ("across", "lane 0"), ("across", "lane 10"),
        ("across", "right side, left side"), ("across", "lane 1, lane 2"),
        ("across", "curb or edge, outer wheel path"), ("across", "right side, whole road"),
        ("across", "on the line, lane 1"), ("across", "right side,"), ("across", "somewhere"),
        ("height", ""), ("height", "15.5 ft"), ("height", "15.5 posted"), ("height", "0 ft posted"),
        ("height", "-4 m guess"), ("height", "14 ft in posted"), ("height", "15.5 ft maybe"),
    ],
)  # fmt: skip
def test_what_is_not_understood_is_said_with_how_to_write_it(field, value):
    """The value as typed."""
    fault = correction_fault(field, value)

    assert fault.startswith(f"{field} {value!r} is not ")
    assert " such as " in fault or " write it like " in fault


@given(st.sampled_from(["", *SIDES]), st.sampled_from(["", *(f"lane {k}" for k in range(1, 10))]),
       st.sampled_from(["", *POSITIONS]))  # fmt: skip
def test_each_part_of_across_may_stand_alone_or_with_the_others(side, lane, position):
    """What lies where it lies whatever the side stands alone."""
    parts = [part for part in (side, lane, position) if part]
    alone = position in {"on the line", "whole road"}
    good = bool(parts) and (len(parts) == 1 or not alone)

    assert (correction_fault("across", ", ".join(parts)) == "") is good


# --- doubts ----------------------------------------------------------------------------------


def test_doubts_are_told_once_each_and_some_are_answered():
    """A semicolon in what somebody wrote makes no second doubt."""
    had = {"doubt": "near tie; lane not sure"}

    assert with_doubts(had, "lane not sure", "", "by A; B") == "near tie; lane not sure; by A, B"
    assert with_doubts(had, "new", without=("near",)) == "lane not sure; new"
    assert with_doubts({"doubt": ""}) == ""


# --- the place -------------------------------------------------------------------------------


def test_without_corrections_nothing_changes():
    """Nor where what was decided is about another thing."""
    assert mended() == row()
    assert mended(said("place", at(50.0, 0.0), "x"), said("action", "LIFT")) == row()


def test_a_place_by_hand_gives_along_and_offset_with_its_reach():
    """What reaches along moves with it; the doubt says who put it there."""
    got = mended(said("place", at(120.0, 3.0), "b"))

    assert got["along_m"] == pytest.approx(120.0, abs=1e-3)
    assert got["offset_m"] == pytest.approx(3.0, abs=1e-3)
    assert (got["from_m"], got["to_m"]) == pytest.approx((118.0, 124.0), abs=1e-3)
    assert (got["along_sd_m"], got["offset_sd_m"]) == (USUAL.hand_placed_sd_m,) * 2
    assert f"{got['lon_deg']:.9f} {got['lat_deg']:.9f}" == at(120.0, 3.0)
    assert doubts(got) == ["placed by hand: Ana, 2026-05-20"]
    assert (got["lane"], got["across"]) == ("R1", "outer wheel path")


def test_what_asked_where_it_is_has_been_answered():
    """Past an end and a near tie are settled; what else was doubted stays."""
    got = mended(said("place", at(120.0, 3.0)), past_end_m=7.0, along_m=400.0,
                 doubt="past an end by 7 m; near tie; poor accuracy")  # fmt: skip

    assert got["past_end_m"] == 0.0
    assert doubts(got)[0] == "poor accuracy"
    assert not any(one.startswith(("past an end", "near tie")) for one in doubts(got))


def test_a_place_far_from_the_looks_is_said():
    """More than 100 ft."""
    assert "131 ft from where its looks have it" in doubts(mended(said("place", at(140.0, 2.7))))
    assert "looks" not in mended(said("place", at(130.0, 2.7)))["doubt"]


@pytest.mark.parametrize("method", ["taped", "wheeled"])
def test_what_was_measured_is_not_moved_in_silence(method):
    """A tape is surer than a finger on a map."""
    assert f"moved from a {method} place" in doubts(mended(said("place", at(101.0, 2.7)),
                                                           method=method))  # fmt: skip


def test_a_place_past_an_end_or_off_the_road_is_not_taken():
    """The row stays as it was, and says who wanted what and why it is not so."""
    lon, lat = place(LEG.line, np.array([0.0]), np.array([0.0]))
    past = mended(said("place", f"{lon[0]:.7f} {lat[0] - 0.0003:.7f}"))
    off = mended(said("place", at(120.0, 45.0)))

    assert doubts(past) == [
        "place by Ana, 2026-05-20 is not taken: it lies 109 ft past an end of leg A"
    ]
    assert doubts(off) == ["place by Ana, 2026-05-20 is not taken: it lies 148 ft from leg A"]
    assert (past | {"doubt": ""}, off | {"doubt": ""}) == (row(), row())


def test_a_place_between_two_parts_of_one_leg_is_a_near_tie():
    """The road comes back beside itself."""
    there_and_back = leg(xy_m=[(0.0, 0.0), (0.0, 300.0), (18.0, 300.0), (18.0, 0.0)])
    got = mended(said("place", at(100.0, 8.0, there_and_back)), on=there_and_back)

    assert "near tie" in doubts(got)


@pytest.mark.parametrize(
    ("offset_m", "changes", "lane", "sure"),
    [
        (9.0, {}, "R", False),
        (-9.0, {}, "L", False),
        (2.0, {}, "", False),
        (12.0, {"lanes_right": 1}, "R1", True),
        (12.0, {"lanes_right": 0}, "L", False),
        (12.0, {"lanes_left": 0, "lanes_right": 0}, "R", False),
        (-2.0, {"lanes_left": 0, "lanes_right": 1}, "R1", True),
    ],
)
def test_where_nobody_said_across_the_place_tells_as_far_as_its_plus_minus(
    offset_m, changes, lane, sure
):
    """A finger on a map is good to some 20 ft: it tells the side, seldom the lane."""
    got = mended(said("place", at(120.0, offset_m)), on=leg(**changes), lane="", across="")

    assert (got["lane"], "lane not sure" not in doubts(got)) == (lane, sure)


def test_a_sure_place_tells_the_lane():
    """As far from each lane's line as it may be off."""
    sure = replace(USUAL, hand_placed_sd_m=0.5)
    got = mended(said("place", at(120.0, 5.4)), defaults=sure, lane="", across="")

    assert (got["lane"], "lane not sure" in doubts(got)) == ("R2", False)


@pytest.mark.parametrize(
    ("lane", "across", "offset_m", "outside_ft"),
    [
        ("R1", "outer wheel path", 2.0, None),
        ("R1", "outer wheel path", -0.5, None),
        ("R1", "outer wheel path", -2.0, 7),
        ("R1", "outer wheel path", 9.0, 18),
        ("R", "curb or edge", 5.0, None),
        ("L", "", 5.0, 16),
        ("L2", "outer wheel path", -5.0, None),
        ("C", "on the line", 0.5, None),
        ("C", "on the line", 5.0, 13),
        ("", "whole road", 5.0, None),
    ],
)
def test_a_place_that_contradicts_the_lane_said_is_doubted(lane, across, offset_m, outside_ft):
    """What was said stays, and every pass must list it."""
    got = mended(said("place", at(120.0, offset_m)), lane=lane, across=across)
    expected = [] if outside_ft is None else [
        f"the lane said lies {outside_ft} ft from the place", "lane not sure",
    ]  # fmt: skip

    assert (got["lane"], got["across"]) == (lane, across)
    assert doubts(got)[1:] == expected


def test_a_lane_that_was_not_sure_stays_so():
    """A place by hand alone does not settle what was said."""
    assert "lane not sure" in doubts(mended(said("place", at(120.0, 2.7)), doubt="lane not sure"))


# --- where across ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "lane", "across", "offset_m"),
    [
        ("right side, lane 2, outer wheel path", "R2", "outer wheel path", 6.3),
        ("left side, lane 1, inner wheel path", "L1", "inner wheel path", -0.9),
        ("left side, lane 2, curb or edge", "L2", "curb or edge", -7.2),
        ("lane 2, between wheel paths", "R2", "between wheel paths", 5.4),
        ("left side, curb or edge", "L2", "curb or edge", -7.2),
    ],
)
def test_where_across_by_hand_gives_lane_position_and_offset(value, lane, across, offset_m):
    """Without a side it is the side that it lies on."""
    got = mended(said("across", value))

    assert (got["lane"], got["across"]) == (lane, across)
    assert got["offset_m"] == pytest.approx(offset_m, abs=0.01)
    assert f"{got['lon_deg']:.9f} {got['lat_deg']:.9f}" == at(100.0, got["offset_m"])
    assert got["along_m"] == 100.0


def test_on_the_line_is_the_middle_where_there_is_one_line_alone():
    """Between four lanes there are three: which, nobody said."""
    one = mended(said("across", "on the line"), on=leg(lanes_left=1, lanes_right=1))
    three = mended(said("across", "on the line"))

    assert (one["lane"], one["across"], one["offset_m"]) == ("C", "on the line", 0.0)
    assert (three["lane"], three["across"], three["offset_m"]) == ("", "on the line", 2.7)
    assert "lane not sure" in doubts(three)


def test_what_moves_it_far_across_is_said():
    """Beyond both their ±; less is a correction like any other."""
    far, near = (mended(said("across", f"right side, lane {k}, outer wheel path")) for k in (2, 1))

    assert doubts(far) == ["across by hand, 12 ft from where it was: Ana, 2026-05-20"]
    assert doubts(near) == []


def test_a_surer_offset_that_agrees_is_kept():
    """A tape goes before words; the words' lane and position stand."""
    got = mended(said("across", "right side, lane 1, between wheel paths"), offset_m=2.0,
                 offset_sd_m=0.1)  # fmt: skip

    assert (got["offset_m"], got["offset_sd_m"]) == (2.0, 0.1)
    assert (got["lane"], got["across"]) == ("R1", "between wheel paths")


def test_what_does_not_tell_the_lane_leaves_it_open():
    """On a side of two lanes; by whom is said, and the offset stays where it was."""
    got = mended(said("across", "right side, outer wheel path"))

    assert got["lane"] == "R"
    assert doubts(got) == ["across by Ana, 2026-05-20 does not tell the lane", "lane not sure"]
    assert (got["offset_m"], got["offset_sd_m"]) == (2.7, 0.54)


def test_what_asked_where_across_has_been_answered():
    """Words that drives gave apart, a lane that lay elsewhere."""
    got = mended(
        said("across", "right side, lane 1, outer wheel path"),
        doubt="lane not sure; called inner wheel path once; the lane said lies 7 ft from the "
        "place; called GAS VALVE once",
    )

    assert doubts(got) == ["called GAS VALVE once"]


@pytest.mark.parametrize(
    ("value", "why"),
    [
        ("right side, lane 3", "leg A has 2 lanes right of its line"),
        ("left side, lane 4, outer wheel path", "leg A has 2 lanes left of its line"),
        ("right side, lane 1, curb or edge", "the curb or edge of leg A is beside lane 2"),
    ],
)
def test_where_across_that_the_leg_does_not_have_is_not_taken(value, why):
    """The row stays, and says why."""
    got = mended(said("across", value))

    assert doubts(got) == [f"across by Ana, 2026-05-20 is not taken: {why}"]
    assert got | {"doubt": ""} == row()


@pytest.mark.parametrize(
    ("changes", "on", "lane"),
    [
        ({"lane": "L1", "offset_m": -1.8}, LEG, "L2"),
        ({"lane": "", "offset_m": -6.0}, LEG, "L2"),
        ({"lane": "C", "offset_m": 0.1}, leg(lanes_left=0), "R2"),
    ],
)
def test_without_a_side_it_is_the_one_that_it_lies_on(changes, on, lane):
    """By its lane, else its offset, else the leg's only side."""
    assert mended(said("across", "lane 2"), on=on, **changes)["lane"] == lane


def test_a_side_that_nobody_knows_stays_open():
    """A lane of one of two sides is no lane."""
    got = mended(said("across", "lane 2"), lane="", across="", offset_m=0.1, offset_sd_m=3.0)

    assert got["lane"] == ""
    assert "lane not sure" in doubts(got)


def test_a_row_without_an_offset_takes_the_one_of_the_words():
    """Nobody knew it."""
    got = mended(said("across", "right side, lane 2"), lane="", across="",
                 lon_deg=-100.0, lat_deg=41.0, offset_m=0.0, offset_sd_m=9.0)  # fmt: skip

    assert got["offset_m"] == pytest.approx(5.4, abs=0.01)


def test_where_across_goes_before_a_place_by_hand():
    """Whoever drags a point means along first; along stays as dragged."""
    got = mended(said("across", "left side, lane 1, outer wheel path"),
                 said("place", at(140.0, 3.0)))  # fmt: skip

    assert (got["lane"], got["across"]) == ("L1", "outer wheel path")
    assert got["along_m"] == pytest.approx(140.0, abs=1e-3)
    assert got["offset_m"] == pytest.approx(-2.7, abs=0.01)


# --- the height ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "height_m", "by"),
    [
        ("15.5 ft posted", 15.5 * FT, "posted"),
        ("14 ft 6 in measured", 14.5 * FT, "measured"),
        ("4.72 m guess", 4.72, "guess"),
    ],
)
def test_a_height_has_its_size_and_how_it_is_known(value, height_m, by):
    """In metres inside."""
    got = mended(said("height", value))

    assert got["height_m"] == pytest.approx(height_m)
    assert (got["height_by"], got["doubt"]) == (by, "")


@pytest.mark.parametrize(
    ("value", "is_said"),
    [("16 ft measured", True), ("15 ft measured", False), ("15 ft guess", True)],
)
def test_a_firm_height_is_not_raised_or_made_a_guess_in_silence(value, is_said):
    """The lower firm one is the careful one; what it was is rounded down, as heights are."""
    got = mended(said("height", value), height_m=15.49 * FT, height_by="posted")
    expected = ["height by Ana, 2026-05-20; it was 15.4 ft, posted".replace("; ", ", ")]

    assert doubts(got) == (expected if is_said else [])


def test_a_guess_gives_way_to_any_height():
    """Nobody had measured it."""
    assert mended(said("height", "20 ft guess"), height_m=4.0, height_by="guess")["doubt"] == ""


# --- all of them -----------------------------------------------------------------------------


def test_rows_stand_by_leg_in_the_jobs_order_then_along():
    """A thing that was moved past another stands after it."""
    rows = [
        row(anchor_id="b1", leg="B", along_m=10.0), row(anchor_id="a1"),
        row(anchor_id="a2", along_m=110.0), row(anchor_id="a0", along_m=110.0),
    ]  # fmt: skip
    rows = [one | {"mark_ids": (one["anchor_id"],), "record_ids": ()} for one in rows]
    moved = said("place", at(150.0, 2.7), "a1")
    got = corrected(rows, [moved], legs=[LEG, leg("B")], defaults=USUAL)

    assert [one["anchor_id"] for one in got] == ["a0", "a2", "a1", "b1"]


VALUES = {
    "place": st.tuples(st.floats(-50.0, 450.0), st.floats(-60.0, 60.0)).map(
        lambda pair: at(*pair)
    ),
    "across": st.sampled_from(["right side", "left side, lane 1", "lane 2", "on the line",
                               "curb or edge", "right side, lane 9"]),
    "height": st.sampled_from(["15.5 ft posted", "4 m guess", "14 ft 6 in measured"]),
}  # fmt: skip


@given(st.dictionaries(st.sampled_from(CORRECTIONS), st.none()), st.data())
def test_nothing_is_corrected_in_silence(fields, data):
    """Each correction of a firm row shows in what it says, or in its doubts by name."""
    made = [said(field, data.draw(VALUES[field])) for field in fields]
    had = row(height_m=4.5, height_by="posted", doubt="poor accuracy")
    got = mended(*made, height_m=4.5, height_by="posted", doubt="poor accuracy")

    assert "poor accuracy" in doubts(got)
    assert got.keys() == had.keys()
    assert (got["leg"], got["anchor_id"], got["mark_ids"]) == ("A", "a", ("a", "b"))
    assert 0.0 <= got["along_m"] <= LEG.line.length_m
    if "place" in fields:
        assert any(one.startswith(("placed by hand", "place by Ana")) for one in doubts(got))
    if not fields:
        assert got == had
