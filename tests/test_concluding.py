"""Groups of looks to rows: what it is, where, how sure, and what was really done."""

import datetime as dt
import math

import pytest
from builders import KINDS, MH, SMH, WV, leg_settings, settings, survey
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from made_looks import MARK, back, lateness, look, people, record, walked

from routeprep.concluding import care_of, careful, conclude
from routeprep.kinds import ACTIONS
from routeprep.legs import build_legs
from routeprep.merging import Group

JOB = settings(leg_settings())
LEG = build_legs(survey(), JOB, survey().fixes, {})[0][0]
DMH, GASV, VLV = (
    KINDS.find(words).code for words in ("storm manhole", "gas valve", "unknown valve")
)


def concluded(*looks, known=(), **marks):
    """The row of one group; further words of a mark by its id."""
    rows = {one.item_id: MARK | marks.get(one.item_id, {}) for one in looks if one.is_mark}
    return conclude(
        Group(looks=looks),
        LEG,
        anchor_id=looks[0].item_id,
        marks=rows,
        people=people(*known),
        settings=JOB,
    )


def test_one_look_is_what_it_says():
    """Seen once, at its place, with its doubt."""
    got = concluded(look("a", doubt="near tie"))

    assert (got["along_m"], got["along_sd_m"]) == pytest.approx((100.0, 7.0))
    assert got["lane"] == "R1"
    assert (got["status"], got["times_seen"], got["doubt"]) == ("seen once", 1, "near tie")
    assert (got["mark_ids"], got["record_ids"]) == (("a",), ())


def test_two_people_are_surer_than_one():
    """Independent looks that agree: the deviation falls by the square root of two."""
    got = concluded(look("a"), back("b"))

    assert got["along_sd_m"] == pytest.approx(7.0 / math.sqrt(2.0))


def test_a_person_who_drove_both_ways_is_surer_than_one_who_drove_twice_up():
    """His lateness cancels; what is known of it is taken from his estimate."""
    one = {"person": "one", "own_sd_m": 2.5}
    up, again = look("a", **one), look("b", drive_id="again", **one)
    both = concluded(up, back("c", **one), known=[lateness("one")])
    twice = concluded(up, again, known=[lateness("one")])

    assert both["along_sd_m"] == pytest.approx(2.5 / math.sqrt(2.0))
    assert twice["along_sd_m"] > both["along_sd_m"]


def test_looks_that_disagree_widen_the_doubt():
    """Joined by a person though 60 m apart: the deviation is half of that, not 5 m."""
    got = concluded(look("a"), back("b", along_m=160.0))

    assert got["along_m"] == pytest.approx(130.0)
    assert got["along_sd_m"] == pytest.approx(30.0)


def test_taped_beats_wheeled_beats_walked_beats_vehicle_beats_file():
    """The best gives the place; all are kept."""
    looks = [record("f", along_m=1.0), look("v", along_m=2.0)]
    for place, method in enumerate(("walked", "wheeled", "taped"), start=3):
        looks.append(walked(method, method=method, along_m=float(place)))
        got = concluded(*looks)

        assert (got["along_m"], got["method"]) == (float(place), method)
    assert len(got["mark_ids"]) == 4


def test_the_best_method_gives_the_mean_alone():
    """A vehicle's many looks do not move what was taped."""
    taped = walked(
        "t", method="taped", along_m=110.0, along_sd_m=0.1, offset_m=3.0, offset_sd_m=0.3
    )
    got = concluded(look("a"), back("b"), taped)

    assert (got["along_m"], got["along_sd_m"]) == pytest.approx((110.0, 0.1))
    assert (got["offset_m"], got["offset_sd_m"]) == pytest.approx((3.0, 0.3))
    assert got["mark_ids"] == ("a", "b", "t")


def test_the_lane_of_the_best_method_counts():
    """A wheel's left outweighs a vehicle's right, without a doubt."""
    left = walked("w", method="wheeled", lane="L1", position="curb or edge", offset_m=-3.6)
    got = concluded(look("a", position="outer wheel path"), left)

    assert (got["lane"], got["across"], got["doubt"]) == ("L1", "curb or edge", "")
    assert got["offset_m"] == -3.6


def test_where_the_best_say_no_position_others_of_that_lane_do():
    """Taped right of the line; the vehicle says in which wheel path."""
    taped = walked("t", method="taped", lane="R1", position="", offset_m=1.8)
    got = concluded(look("a", position="outer wheel path"), taped)

    assert (got["lane"], got["across"]) == ("R1", "outer wheel path")


def test_a_station_alone_tells_nothing_across():
    """The city's file knows the offset; with a position or an offset said, the walker does."""
    wheel = walked("w", method="wheeled", lane="", offset_m=0.0, doubt="lane not sure")
    file = record("r", offset_m=-5.0)
    alone = {"said_station": "12+40", "lon_deg": math.nan}

    assert concluded(wheel, file, w=alone)["offset_m"] == -5.0
    assert concluded(wheel, w=alone)["offset_m"] == 0.0
    assert concluded(wheel, file, w=alone | {"said_offset": "0 RT"})["offset_m"] == 0.0
    assert concluded(wheel, file, w=alone | {"lon_deg": -100.87})["offset_m"] == 0.0


def test_the_best_size_counts_and_the_notes_of_all():
    """Who taped it measured it; a note is never outranked."""
    taped = walked("t", method="taped")
    sizes = {
        "a": {"size": "30 in", "note": "rattles"},
        "t": {"size": "24 in", "note": "lowered 3 in"},
    }
    got = concluded(look("a"), taped, **sizes)

    assert (got["size"], got["note"]) == ("24 in", "rattles / lowered 3 in")
    assert got["status"].startswith("walked")


def test_the_lowest_firm_height_counts_whoever_took_it():
    """A wire does not hang higher because a better method says so."""
    heights = {"a": {"height_m": 4.2, "height_by": "posted"}}
    heights |= {"t": {"height_m": 4.4, "height_by": "measured"}}

    assert concluded(look("a"), walked("t", method="taped"), **heights)["height_m"] == 4.2


def test_doubts_about_a_station_stay_on_the_list():
    """Whatever the amount is."""
    doubt = "said station and position disagree by 88 ft"
    got = concluded(walked("w", method="wheeled", doubt=f"{doubt}; past an end"))

    assert got["doubt"] == f"past an end; {doubt}"


def test_the_status_is_that_of_the_best_method():
    """Who wheeled it, not who paced by later."""
    later = walked("p", seconds=5000.0)
    people = {"w": {"by": "R. Sample, 2026-05-04", "time_utc": None}, "p": {"by": "L. Other"}}
    got = concluded(walked("w", method="wheeled"), later, **people)

    assert got["status"] == "walked (R. Sample, 2026-05-04)"


def test_two_taps_of_one_passing_are_seen_once():
    """A double tap that a person joined is no second look."""
    got = concluded(look("a"), look("b"))

    assert (got["times_seen"], got["status"]) == (1, "seen once")


def test_lanes_that_contradict_leave_what_they_share():
    """Two lanes of one side leave the side; two sides leave nothing."""
    right = concluded(look("a"), back("b", lane="R2", offset_m=6.0))
    none = concluded(look("a"), back("b", lane="L1", offset_m=-2.7))

    assert (right["lane"], right["doubt"]) == ("R", "lane not sure")
    assert (none["lane"], none["doubt"]) == ("", "lane not sure")
    assert none["offset_sd_m"] > 2.7


def test_a_lane_said_once_is_the_lane():
    """The look that does not know does not make it unsure."""
    unsure = back("b", lane="", offset_m=-9.0, offset_sd_m=4.0, doubt="lane not sure")
    got = concluded(look("a", position="outer wheel path"), unsure)

    assert (got["lane"], got["across"], got["doubt"]) == ("R1", "outer wheel path", "")
    assert (got["offset_m"], got["offset_sd_m"]) == pytest.approx((2.7, 0.55))


def test_positions_said_equally_often_cancel():
    """One says inner, the other outer wheel path: the lane alone is known."""
    looks = look("a", position="inner wheel path"), back("b", position="outer wheel path")

    third = back("c", position="inner wheel path", drive_id="third")
    tied, told = concluded(*looks), concluded(*looks, third)

    assert (tied["lane"], tied["across"]) == ("R1", "")
    assert tied["doubt"] == "called inner wheel path once; called outer wheel path once"
    assert (told["across"], told["doubt"]) == ("inner wheel path", "called outer wheel path once")


def test_where_nobody_said_the_record_knows_more_than_the_vehicle():
    """The offset is the cover's in the file, and the lane is still not sure."""
    vehicle = look("a", lane="", offset_m=1.8, offset_sd_m=3.9, doubt="lane not sure")
    got = concluded(vehicle, record("r", offset_m=-5.0))

    assert (got["offset_m"], got["doubt"]) == (-5.0, "lane not sure")


def test_where_only_the_vehicle_was_the_offset_is_the_vehicles():
    """With its wide deviation."""
    got = concluded(look("a", lane="", offset_m=1.8, offset_sd_m=3.9, doubt="lane not sure"))

    assert (got["offset_m"], got["offset_sd_m"]) == (1.8, 3.9)


def test_an_exact_kind_beats_one_that_may_be_several():
    """Two say manhole, the city says sewer: one thing, and no doubt."""
    got = concluded(look("a", kind=MH), back("b", kind=MH), record("r"))

    assert (got["kind"], got["name"]) == (SMH, KINDS.kinds[SMH].name)
    assert got["doubt"] == ""


def test_a_wrong_exact_kind_does_not_beat_several_that_say_manhole():
    """One of three taps was wrong; the list says what else it was called."""
    got = concluded(look("a", kind=MH), back("b", kind=MH), look("c", kind=WV, drive_id="third"))

    assert got["kind"] == MH
    assert got["doubt"] == "called WATER VALVE once"
    assert got["called"] == (MH, WV)


def test_votes_weigh_by_method():
    """Who stood at it outvotes one who drove by, and both a file."""
    assert concluded(look("a", kind=SMH), record("r", kind=DMH))["kind"] == SMH
    assert concluded(look("a", kind=SMH), walked("w", kind=DMH))["kind"] == DMH


def test_of_kinds_with_as_many_votes_the_more_careful_counts():
    """GAS stops the drum, WATER lifts it."""
    for looks in ((look("a", kind=WV), back("b", kind=GASV)),
                  (look("a", kind=GASV), back("b", kind=WV))):  # fmt: skip
        got = concluded(*looks)

        assert (got["kind"], got["doubt"]) == (GASV, "called WATER VALVE once")


def test_what_else_it_was_called_is_said_with_how_often_and_by_what():
    """Taps are counted; a file is a file."""
    water = [look(f"w{k}", kind=WV, drive_id=f"d{k}") for k in range(4)]
    gas = [look(f"g{k}", kind=GASV, drive_id=f"e{k}") for k in range(3)]
    got = concluded(*water, *gas[:2], look("s"), record("r", kind=GASV))

    assert got["doubt"] == (
        "called GAS VALVE twice; called sewer manhole once; called GAS VALVE in a file"
    )
    assert "called GAS VALVE 3 times" in concluded(*water, *gas)["doubt"]


def test_the_most_careful_of_the_proposals_counts_with_all_who_must_come():
    """WATER lifts, GAS and the unknown valve stop: both owners are named."""
    got = careful([WV, GASV, VLV], KINDS, depth_m=math.nan)

    assert got.action == "STOP"
    assert got.who == "gas owner; water and gas owners: ask which it is"
    assert careful([WV], KINDS, depth_m=0.05) == KINDS.propose(WV, depth_m=0.05)


def test_every_action_has_its_rank():
    """A word that is no action is the least careful."""
    ranks = {care_of(action) for action in ACTIONS}

    assert ranks == set(range(len(ACTIONS)))
    assert care_of("WAVE") == len(ACTIONS)


def test_the_date_of_a_walk_is_the_jobs_date():
    """Half past eight in the evening in Chicago is the next day in UTC."""
    late = dt.datetime(2026, 5, 6, 1, 30, tzinfo=dt.UTC)
    got = concluded(walked("a"), a={"time_utc": late, "by": "walker"})

    assert got["status"] == "walked (walker, 2026-05-05)"


def test_a_walk_by_nobody_at_no_time_is_still_walked():
    """Nothing is made up."""
    assert concluded(walked("a"), a={"time_utc": None})["status"] == "walked"


def test_a_record_alone_was_not_seen():
    """And its kind and place are the file's."""
    got = concluded(record("r"))

    assert (got["status"], got["times_seen"]) == ("in a file, not seen", 0)
    assert (got["method"], got["record_ids"]) == ("file", ("r",))


def test_the_lowest_firm_height_counts_and_a_guess_only_alone():
    """Posted 4.4 m beats a guess of 4.0 m."""
    firm = {"a": {"height_m": 4.4, "height_by": "posted"}}
    guess = {"b": {"height_m": 4.0, "height_by": "guess"}}
    got = concluded(look("a"), back("b"), **firm, **guess)
    alone = concluded(back("b"), **guess)

    assert (got["height_m"], got["height_by"]) == (4.4, "posted")
    assert (alone["height_m"], alone["height_by"]) == (4.0, "guess")


def test_a_long_record_gives_the_reach():
    """From its first to its last station, wherever a mark was dropped."""
    got = concluded(look("a"), record("r", from_m=80.0, to_m=140.0))

    assert (got["from_m"], got["to_m"], got["along_m"]) == pytest.approx((80.0, 140.0, 100.0))


def test_every_note_and_size_is_kept_once():
    """In the order of time."""
    got = concluded(
        look("a"), back("b"), back("c"),
        a={"note": "rattles", "size": "24 in"}, b={"note": "deep"}, c={"note": "rattles"},
    )  # fmt: skip

    assert (got["note"], got["size"]) == ("rattles / deep", "24 in")


def test_past_an_end_keeps_its_distance():
    """The place goes on counting beyond the line."""
    got = concluded(look("a", along_m=-8.0, past_end_m=8.0, doubt="past an end"))

    assert (got["past_end_m"], got["doubt"]) == (8.0, "past an end")
    assert got["lat_deg"] < LEG.line.lat_deg[0]


@given(st.lists(st.floats(50.0, 150.0), min_size=1, max_size=6))
@examples(max_examples=50)
def test_the_place_lies_among_the_looks_and_its_doubt_reaches_them(alongs):
    """The mean is inside; three deviations from it reach the nearest look at least."""
    looks = [
        look(f"m{k}", drive_id=f"d{k}")._replace(along_m=along_m)
        for k, along_m in enumerate(alongs)
    ]
    got = concluded(*looks)
    nearest_m = min(abs(along_m - got["along_m"]) for along_m in alongs)

    assert min(alongs) - 1e-9 <= got["along_m"] <= max(alongs) + 1e-9
    assert nearest_m <= 3.0 * got["along_sd_m"]
