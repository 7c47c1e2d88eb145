"""What changed since the list was last issued, one line a thing."""

import dataclasses

import pandas as pd
import pytest
from builders import from_start
from hypothesis import given, settings
from hypothesis import strategies as st
from maps.example_pack import example_legs, example_pack, pack_of, thing

from routeprep import tables
from routeprep.changes import changes
from routeprep.lines import StationEquation
from routeprep.listing import rows
from routeprep.shapes import Issued
from routeprep.tables import rows_of

ROAD, SIDE = example_legs()
MANHOLE = thing(ROAD, "A-1", "SMH", 120.0, decided_by="A. Sample")


def issued(pack, revision="A"):
    """The list of a pack as its obstructions.csv has it: texts, and metres to 0.01."""
    listed = rows(pack)[[column.name for column in tables.ISSUED]]
    return Issued(revision=revision, rows=tables.table(tables.ISSUED, rows_of(listed)))


def after(now, before, *, legs=(ROAD, SIDE), **changed):
    """Changes of a pack of these things since one of those."""
    made = pack_of(legs, now, issued=issued(pack_of((ROAD, SIDE), before)), **changed)
    return changes(made)


def text(**changed):
    """What is said of the one manhole that changed, empty for nothing."""
    return "; ".join(one.text for one in after([MANHOLE | changed], [MANHOLE]))


def at(along_m):
    """A place along, in all columns that hold it."""
    return {"along_m": along_m, "from_m": along_m, "to_m": along_m}


def test_a_first_issue_has_no_changes():
    """Nothing was issued before."""
    assert changes(example_pack()) == ()


def test_the_same_list_again_has_no_changes():
    """Against itself nothing is new, moved or gone."""
    pack = example_pack()

    assert changes(dataclasses.replace(pack, issued=issued(pack))) == ()


def test_a_thing_that_was_not_there_is_new():
    """With what to do and where."""
    (one,) = after([MANHOLE, thing(ROAD, "A-2", "WV", 200.0, size="8 in")], [MANHOLE])

    assert (one.no, one.station, one.sorts) == ("A-2", "16+55", ("new",))
    assert one.text.startswith("new: NOT DECIDED: STOP, right")
    assert one.text.endswith("outer wheel path, 8 in")


def test_a_thing_that_is_there_no_more_is_gone_with_the_reason():
    """What the table of withdrawn numbers says, or that nothing speaks for it."""
    before = [MANHOLE, thing(ROAD, "A-2", "WV", 200.0), thing(ROAD, "A-3", "WV", 300.0)]
    why = pd.DataFrame({"no": ["A-2"], "leg": ["A"], "why": ["joined with A-1"]}, dtype="str")

    assert [(one.no, one.text) for one in after([MANHOLE], before, withdrawn=why)] == [
        ("A-2", "off the list: joined with A-1"),
        ("A-3", "off the list: nothing speaks for it any more"),
    ]


def test_a_leg_that_is_gone_takes_its_things():
    """They are named, behind the legs that are there."""
    (one,) = after([MANHOLE], [MANHOLE, thing(SIDE, "B-1", "SKY", 40.0)], legs=(ROAD,))

    assert (one.leg, one.text) == ("B", "off the list: leg B is no longer in this job")


@pytest.mark.parametrize(
    ("along_m", "said"),
    [
        (121.5, ""),
        (118.5, ""),
        (124.0, "moved 15 ft up-station, was at 13+93.7, within the ± of both"),
        (160.0, "moved 130 ft up-station, was at 13+93.7"),
        (80.0, "moved 130 ft down-station, was at 13+93.7"),
    ],
)
def test_more_than_5_ft_is_a_move(along_m, said):
    """4 m are 13.1 ft, 40 m 131.2 ft; ±4.9 m each (1.96 x 2.5 m): 9.8 m is within both."""
    assert text(**at(along_m)) == said


def test_a_metric_job_says_metres():
    """40 m on."""
    pack = pack_of((ROAD,), [MANHOLE | at(160.0)], issued=issued(pack_of((ROAD,), [MANHOLE])))
    metric = dataclasses.replace(pack.settings, units="metric")

    assert changes(dataclasses.replace(pack, settings=metric))[0].text.startswith("moved 40 m up")


def test_new_stations_are_a_move_though_the_thing_stays():
    """The leg's zero is 100 ft farther back: the old paper leads 100 ft past it."""
    stationing = from_start(unit=ROAD.stationing.unit, start_value=900.0, zero="")
    shifted = dataclasses.replace(ROAD, stationing=stationing)
    (one,) = after([MANHOLE], [MANHOLE], legs=(shifted, SIDE))

    assert one.text == "moved 100 ft down-station, was at 13+93.7"


def test_a_station_that_exists_no_more_is_said():
    """A station equation 12+00 BK = 20+00 AH leaves out 13+93.7."""
    gap = StationEquation(back_value=1200.0, ahead_value=2000.0)
    stationing = dataclasses.replace(ROAD.stationing, equations=(gap,))
    legs = (dataclasses.replace(ROAD, stationing=stationing), SIDE)
    (one,) = after([MANHOLE], [MANHOLE], legs=legs)
    (gone,) = after([], [MANHOLE], legs=legs)

    assert one.text == "its station was 13+93.7, which is on this leg no longer"
    assert (gone.station, gone.along_m) == ("13+93.7", 120.0)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"lane": "L1"}, "across: L1, outer wheel path, was R1, outer wheel path"),
        ({"lane": "", "across": ""}, "across: not known, was R1, outer wheel path"),
        ({"name": "storm manhole"}, "is storm manhole, was sewer manhole"),
        ({"status": "seen once"}, ""),
        (
            {"status": "walked (A. Sample, 2026-05-30)"},
            "walked (A. Sample, 2026-05-30), was seen twice or more",
        ),
        ({"status": "gone (A. Sample)"}, "struck through: gone (A. Sample)"),
        ({"action": "STOP"}, "decided otherwise: STOP (A. Sample), was LIFT"),
        ({"decided_by": ""}, "no longer decided: STOP, was LIFT"),
        ({"note": "loud"}, ""),
    ],
)
def test_what_reads_otherwise_is_said(changed, said):
    """Side, kind, status and decision; a note is not."""
    assert text(**changed) == said


def test_a_decision_is_a_change():
    """What read STOP before, since nobody had decided."""
    before = MANHOLE | {"decided_by": ""}

    assert after([MANHOLE], [before])[0].text == "decided: LIFT (A. Sample)"
    assert after([before], [before]) == ()


def test_what_was_struck_before_is_no_change_and_what_came_back_is():
    """A struck row stays on the sheet."""
    gone = MANHOLE | {"status": "gone (A. Sample)"}

    assert after([gone], [gone]) == ()
    assert after([MANHOLE], [gone])[0].text == "seen twice or more, was gone (A. Sample)"


def test_one_line_a_thing_in_station_order():
    """All that changed about one stands together, and the lines run by leg and along."""
    before = [thing(ROAD, f"A-{k}", "SMH", 100.0 * k) for k in (1, 2, 3)]
    before.append(thing(SIDE, "B-1", "SKY", 40.0))
    now = [
        before[0] | {"lane": "L1", "name": "vault", **at(140.0)},
        before[2] | {"decided_by": "A. Sample"},
        before[3] | {"lane": "L1"},
    ]

    assert [(one.no, one.sorts) for one in after(now, before)] == [
        ("A-1", ("kind", "moved", "side")),
        ("A-2", ("gone",)),
        ("A-3", ("decided",)),
        ("B-1", ("side",)),
    ]


things = st.lists(st.sampled_from([f"A-{k}" for k in range(1, 6)]), unique=True).map(sorted)


@settings(max_examples=20)  # each makes two packs
@given(now=things, before=things)
def test_new_and_gone_are_what_one_list_has_and_the_other_has_not(now, before):
    """Law: of things that are otherwise the same."""
    made = {no: thing(ROAD, no, "SMH", 100.0 * int(no[2:])) for no in {*now, *before}}
    found = after([made[no] for no in now], [made[no] for no in before])

    assert {one.no for one in found if one.sorts == ("new",)} == set(now) - set(before)
    assert {one.no for one in found if one.sorts == ("gone",)} == set(before) - set(now)
    assert len(found) == len(set(now) ^ set(before))
