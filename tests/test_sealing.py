"""The seal: the same for packs that say the same, another one for anything read differently."""

import dataclasses
import datetime as dt
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_remarks import check, remarked, review, twice
from maps.example_pack import example_legs, example_pack, pack_of, thing
from sheets.made_plans import amount, plan, planned, run, strip

from routeprep.briefing import Briefing
from routeprep.remarks import WHOLE
from routeprep.sealing import seal
from routeprep.streets import Landmark

ROAD, SIDE = example_legs()


def pack(**changes):
    """A pack of one manhole; ``changes`` are values of its row."""
    return pack_of((ROAD,), [thing(ROAD, "A-1", "SMH", 120.0) | changes])


def settings(**changes):
    """The pack of one manhole under changed settings."""
    made = pack()
    return dataclasses.replace(made, settings=dataclasses.replace(made.settings, **changes))


def leg(**changes):
    """The pack of one manhole on a changed leg."""
    return dataclasses.replace(pack(), legs=(dataclasses.replace(ROAD, **changes),))


def leg_settings(**changes):
    """The pack of one manhole on a leg of changed settings."""
    return leg(settings=dataclasses.replace(ROAD.settings, **changes))


def test_a_seal_is_64_hexadecimal_digits():
    """A SHA-256 has 256 bits (FIPS 180-4)."""
    assert re.fullmatch("[0-9a-f]{64}", seal(example_pack()))


def test_two_packs_that_say_the_same_have_the_same_seal():
    """Made twice, the seal is once."""
    assert seal(example_pack()) == seal(example_pack())


def test_a_pack_without_things_has_a_seal_of_its_own():
    """An empty list says something too."""
    assert seal(pack_of((ROAD,), [])) != seal(pack())


@pytest.mark.parametrize(
    "change",
    [
        {"no": "A-2"},
        {"name": "storm manhole"},
        {"along_m": 120.5, "from_m": 120.5, "to_m": 120.5},
        {"to_m": 130.0},
        {"lane": "L1"},
        {"across": "on the line"},
        {"offset_m": -1.5},
        {"along_sd_m": 4.0},
        {"offset_sd_m": 0.1},
        {"status": "gone (J. Doe, 2026-05-30)"},
        {"decided_by": "J. Doe"},
        {"proposed": "STOP"},
        {"who": "gas company"},
        {"size": "30 in"},
        {"note": "loud"},
        {"doubt": "near tie"},
        {"height_m": 4.5, "height_by": "posted"},
        {"times_seen": 3},
        {"method": "taped"},
        {"anchor_id": "another"},
        {"record_ids": ("r1",)},
    ],
)
def test_whatever_a_row_says_is_sealed(change):
    """A row that reads differently has another seal."""
    assert seal(pack()) != seal(pack(**change))


CHANGED = {
    "name": settings(name="Other Job"),
    "number": settings(number="EX-2"),
    "revision": settings(revision="B"),
    "date": settings(date=dt.date(2026, 6, 2)),
    "units": settings(units="metric"),
    "briefing": settings(briefing=Briefing(where="north of the river")),
    "limits": leg(to_m=ROAD.to_m - 1.0),
    "landmarks": leg(landmarks=(Landmark(name="Elm St", along_m=60.0, side="L", source="x"),)),
    "street": leg_settings(name="Elm St"),
    "depth": leg_settings(depth_m=0.06),
    "lanes": leg_settings(lanes_left=2),
    "draft": dataclasses.replace(pack(), draft=("1 thing is not decided",)),
    "withdrawn": dataclasses.replace(pack(), withdrawn=example_pack().withdrawn),
    "unsorted": dataclasses.replace(pack(), unsorted=example_pack().unsorted),
    "elsewhere": dataclasses.replace(pack(), elsewhere=example_pack().elsewhere),
    "coverage": dataclasses.replace(pack(), coverage=example_pack().coverage),
}


@pytest.mark.parametrize("what", CHANGED)
def test_whatever_the_head_or_a_list_beside_says_is_sealed(what):
    """Each part of what is printed changes the seal, and each to another one."""
    seals = {name: seal(made) for name, made in CHANGED.items()}

    assert seal(pack()) != seals[what]
    assert len(CHANGED) == len(set(seals.values()))


def test_what_the_input_files_are_called_is_not_sealed():
    """The same marks from files of other names, in another order, say the same."""
    made = example_pack()
    renamed = dataclasses.replace(
        made,
        sources=tuple(
            dataclasses.replace(one, name=f"new/{one.name}") for one in reversed(made.sources)
        ),
        elsewhere=made.elsewhere.assign(source="new/covers.geojson"),
        unsorted=made.unsorted.iloc[::-1].assign(source="new/one.gpx"),
    )

    assert seal(made) == seal(renamed)


def test_a_difference_that_nobody_can_read_is_not_sealed():
    """A nanometre is the floating point's, and minus zero is zero."""
    near = {"along_m": 120.0 + 1e-9, "offset_m": 1.5 - 1e-9}

    assert seal(pack()) == seal(pack(**near))
    assert seal(pack(offset_m=0.0)) == seal(pack(offset_m=-0.0))


rows = st.fixed_dictionaries(
    {
        "along_m": st.integers(50, 400).map(float),
        "lane": st.sampled_from(["", "L1", "R1"]),
        "action": st.sampled_from(["LIFT", "STOP", "SLOW"]),
        "decided_by": st.sampled_from(["", "J. Doe"]),
        "note": st.text(max_size=5),
        "height_m": st.sampled_from([float("nan"), 4.5]),
    }
)


@given(one=rows, other=rows)
def test_seals_are_the_same_just_when_the_rows_are(one, other):
    """Law: equal rows, equal seals; and the other way round."""
    same = all(repr(one[name]) == repr(other[name]) for name in one)

    assert same == (seal(pack(**one)) == seal(pack(**other)))


@pytest.mark.parametrize(
    "changes",
    [
        {"passes": (run(flags=("another",)),)},
        {"passes": (run(travel=-1),)},
        {"ramps": ()},
        {"flags": ("look",)},
        {"hand_work": ()},
        {"quantities": (amount(mass_kg=1.0),)},
        {"strips": (strip(right_m=np.full(2, 3.0)),)},
    ],
)
def test_another_plan_of_work_has_another_seal(changes):
    """Run sheets that differ do not bear the same seal."""
    assert seal(planned(plan(meetings=(), **changes))) != seal(planned(plan(meetings=())))


def test_a_plan_that_differs_in_the_floating_point_alone_has_the_same_seal():
    """A millionth of a metre is nobody's."""
    near = strip(right_m=strip().right_m + 1e-6)

    assert seal(planned(plan(strips=(near,)))) == seal(planned(plan(strips=(strip(),))))


@pytest.mark.parametrize("said", [check("id-A-1", "changed", "raised"), review(WHOLE), twice()])
def test_what_is_said_of_a_list_does_not_change_its_seal(said):
    """A review is of a list by its seal: it must not make it another list."""
    assert seal(pack()) == seal(remarked(said, pack=pack()))
