"""What all looks missed: published answers, laws, and what is counted as a look."""

import math
from itertools import product

import pandas as pd
import pytest
from builders import BEGIN, KINDS
from hypothesis import given
from hypothesis import strategies as st
from sheets.made_packs import thing

from routeprep import tables
from routeprep.missed import chao, chapman, missed_of, passed

# --- two looks


@pytest.mark.parametrize(
    ("first", "second", "both", "there"),
    [
        (10, 15, 5, 28.33),  # the textbooks' turtles
        (87, 14, 7, 164.0),  # rabbits, Skalski and others 1983
        (23, 28, 9, 68.6),  # a published exercise
        (109, 177, 57, 336.6),  # trout, Dahl 1919
        (12, 9, 0, 129.0),  # Lincoln and Petersen would divide by nothing
    ],
)
def test_chapman_gives_the_published_answers(first, second, both, there):
    """As printed, to the last figure."""
    assert chapman(first, second, both).estimate == pytest.approx(there, abs=0.06)


def test_chapmans_interval_is_the_published_one():
    """Skalski and others 1983: 93.8 to 234.2."""
    found = chapman(87, 14, 7)

    assert (round(found.low, 1), round(found.high, 1)) == (93.8, 234.2)


@pytest.mark.parametrize(
    ("counts", "sd"), [((10, 15, 5), 5.91), ((23, 28, 9), 12.97), ((109, 177, 57), 24.8)]
)
def test_chapmans_interval_has_the_published_standard_errors(counts, sd):
    """The interval is 1.96 of them on each side."""
    found = chapman(*counts)

    assert (found.high - found.low) / 2 / 1.959964 == pytest.approx(sd, abs=0.06)


@given(st.integers(0, 500))
def test_looks_that_saw_the_same_tell_of_no_more(count):
    """Identical lists: as many as were seen, and no spread."""
    found = chapman(count, count, count)

    assert (found.estimate, found.low, found.high) == (count, count, count)


@given(st.integers(0, 60), st.integers(0, 60), st.integers(0, 60))
def test_chapman_knows_no_first_and_second(one, other, both):
    """Swapping the looks changes nothing."""
    assert chapman(one + both, other + both, both) == chapman(other + both, one + both, both)


# --- more looks


def test_chao_gives_the_published_answer():
    """Cottontails, Edwards and Eberhardt: 133.8 (135 were there; Chao 1987 prints about 134)."""
    assert round(chao((43, 16, 8, 6, 0, 2, 1)).estimate, 1) == 133.8


def test_chao_gives_that_of_three_lists_of_patients():
    """Chao and others 2001: 187 on one list of three, 56 on two, 28 on all: 583.2."""
    assert round(chao((187, 56, 28)).estimate, 1) == 583.2


def test_chaos_interval_by_hand():
    """Cottontails: r = 43/16, var = 16 (r^4/4 + r^3 + r^2/2) = 577.0, C = 2.187 (calculator)."""
    found = chao((43, 16, 8, 6, 0, 2, 1))

    assert (found.low, found.high) == pytest.approx(
        (76 + 57.78 / 2.187, 76 + 57.78 * 2.187), abs=0.1
    )


def test_where_none_was_seen_twice_the_other_form_holds():
    """f1 (f1 - 1) / 2: 10 seen once each give 45 more."""
    found = chao((10, 0, 1))

    assert found.estimate == 11 + 45
    assert 11 < found.low < found.estimate < found.high


@pytest.mark.parametrize("counts", [(), (0, 0, 4), (1, 0, 3), (0, 5)])
def test_nothing_seen_once_only_tells_of_no_more(counts):
    """Nothing at all, none seen once, or one alone: as many as were seen."""
    found = chao(counts)

    assert (found.estimate, found.low, found.high) == (sum(counts),) * 3


@given(st.integers(1, 40), st.integers(1, 40))
def test_for_two_looks_chao_is_lincoln_and_petersen(half, twice):
    """With as many seen by each look: n1 n2 / m (Chao 1987 with t = 2)."""
    each = half + twice
    expected = each * each / twice

    assert chao((2 * half, twice), occasions=2).estimate == pytest.approx(expected)


def frequencies(chances, looks, each):
    """How many of so many things of each chance are seen once, twice, ...; as expected."""
    return [
        round(
            each
            * sum(
                math.comb(looks, k) * chance**k * (1 - chance) ** (looks - k) for chance in chances
            )
        )
        for k in range(1, looks + 1)
    ]


@given(st.floats(0.2, 0.8), st.integers(2, 8))
def test_things_that_are_all_as_easy_to_see_are_counted_right(chance, looks):
    """Binomial counts: the bound is what is there, for few looks too."""
    seen = frequencies([chance], looks, 10**7)

    assert chao(seen, occasions=looks).estimate == pytest.approx(1e7, rel=1e-3)


@given(st.lists(st.floats(0.05, 0.95), min_size=2, max_size=5), st.integers(2, 8))
def test_things_that_are_not_as_easy_to_see_are_never_overcounted(chances, looks):
    """Cauchy's inequality makes it a lower bound (Chao 1987)."""
    seen = frequencies(chances, looks, 10**7)

    assert chao(seen, occasions=looks).estimate <= len(chances) * 1e7 * 1.001


@given(st.lists(st.integers(0, 50), max_size=6), st.integers(2, 9) | st.none())
def test_the_interval_holds_the_estimate_and_all_that_was_seen(counts, looks):
    """Whatever the counts are."""
    found = chao(counts, occasions=looks)

    assert sum(counts) <= found.low <= found.estimate <= found.high


# --- what counts as a look


def stretch(up, down, *, from_m=0.0, to_m=1000.0, leg="A"):
    """A stretch passed so many times."""
    return {"leg": leg, "from_m": from_m, "to_m": to_m, "looks_up": up, "looks_down": down,
            "looks_day": up + down, "looks_night": 0}  # fmt: skip


def tap(mark_id, drive, along_m, *, travel=1, second=0, method="vehicle"):
    """A located mark."""
    return {"mark_id": mark_id, "drive_id": drive, "method": method, "across_frame": "as driven",
            "source": f"{drive}.gpx", "leg": "A", "along_m": along_m, "travel": travel,
            "time_utc": BEGIN + pd.Timedelta(seconds=second)}  # fmt: skip


def job(seen, *, stretches=None, kind="SMH"):
    """Things 10 m apart, each with the drives that tapped it: "u1" goes up, "d1" down."""
    things, taps = [], []
    for at, drives in enumerate(seen):
        along_m = 5.0 + 10.0 * at
        names = drives.split()
        lane = next((name for name in names if name in {"R1", "L1"}), "R1")
        own = [tap(f"{at} {name}", name, along_m, travel=1 if name[0] == "u" else -1)
               for name in names if name not in {"R1", "L1"}]  # fmt: skip
        taps += own
        ids = tuple(one["mark_id"] for one in own)
        things.append(thing(f"A-{at}", along_m, mark_ids=ids, kind=kind, lane=lane))
    columns = {column.name for column in tables.MARKS}
    marks = tables.table(
        tables.MARKS, [{k: v for k, v in one.items() if k in columns} for one in taps]
    )
    located = {column.name for column in tables.LOCATED}
    rest = tables.table(
        tables.LOCATED, [{k: v for k, v in one.items() if k in located} for one in taps]
    )
    coverage = tables.table(tables.COVERAGE, stretches or [stretch(1, 1)])
    return tables.table(tables.OBSTRUCTIONS, things), pd.concat([marks, rest], axis=1), coverage


def found(*args, **more):
    """The estimates for a made job."""
    return missed_of(*job(*args, **more), KINDS)


def test_two_passings_are_chapmans():
    """Up saw 8, down saw 7, both 5: 9 x 8 / 6 - 1 = 11 by hand."""
    (one,) = found(["u d"] * 5 + ["u"] * 3 + ["d"] * 2)

    assert (one.method, one.looks, one.seen, one.estimate) == ("Chapman", 2, 10, 11.0)


def test_the_low_end_is_never_below_what_was_seen():
    """By hand: 11 ± 1.96 x sqrt(9 x 8 x 3 x 2 / (36 x 7)) = 8.4 to 13.6, of which 10 were seen."""
    (one,) = found(["u d"] * 5 + ["u"] * 3 + ["d"] * 2)

    assert one.low == 10.0
    assert "the looks do not tell (the bound itself is 1, 95 % interval 0 to 4)" in one.text


def test_more_passings_are_chaos():
    """Of 4: 12 once, 4 twice, 4 thrice: 20 + 3/4 x 144/8 = 33.5 by hand."""
    seen = ["u1"] * 6 + ["d2"] * 6 + ["u1 d2"] * 4 + ["u1 d1 u2"] * 4
    (one,) = found(seen, stretches=[stretch(2, 2)])

    assert (one.method, one.looks, one.seen, one.estimate) == ("Chao", 4, 20, 33.5)
    assert one.text.startswith(
        "all things, where the road was passed 4 times: 20 seen; at least 3 "
    )
    assert one.text.endswith("A lower bound: looks from the same seat miss the same things")


def test_what_was_passed_a_different_number_of_times_is_counted_apart():
    """Ten things on two passings, ten on three; the most looks first."""
    rows = [stretch(1, 1, to_m=100.0), stretch(2, 1, from_m=100.0)]
    estimates = found(["u1 d1"] * 20, stretches=rows)

    assert [(one.looks, one.seen) for one in estimates] == [(3, 10), (2, 10)]
    assert "nothing tells of more" in estimates[0].text


def test_one_passing_or_too_few_things_tell_nothing():
    """Seven things; eight of which two were seen twice; eight passed once."""
    assert found(["u d"] * 7) == ()
    assert found(["u d"] * 2 + ["u"] * 6) == ()
    assert found(["u d"] * 8, stretches=[stretch(1, 0)]) == ()


def test_groups_with_enough_things_have_their_own_estimate():
    """Ten manholes and ten rail crossings: all, then each group."""
    things, marks, coverage = job(["u d"] * 20)
    things.loc[10:, "kind"] = "RRX"
    estimates = missed_of(things, marks, coverage, KINDS)

    assert [one.what for one in estimates] == [
        "all things", "iron in the road", "do not cut without the owner",
    ]  # fmt: skip


def test_a_drive_that_comes_round_again_passes_twice():
    """One drive twice up the road in one file: ten things seen on both ways are seen twice."""
    things, marks, coverage = job(["u u"] * 10, stretches=[stretch(2, 0)])
    again = [f"{at} again" for at in range(10)]
    marks["mark_id"] = pd.array([one for pair in zip(marks["mark_id"][::2], again, strict=True)
                                 for one in pair], dtype="str")  # fmt: skip
    late = marks["mark_id"].isin(again)
    marks["time_utc"] += pd.to_timedelta(marks["along_m"] / 10 + 1000.0 * late, unit="s")
    things["mark_ids"] = [(f"{at} u", f"{at} again") for at in range(10)]
    (one,) = missed_of(things, marks, coverage, KINDS)

    assert (one.looks, one.seen, one.estimate) == (2, 10, 10.0)


def test_walks_and_files_are_no_looks():
    """Things without a vehicle's mark, and on a leg that nobody drove, do not count."""
    things, marks, coverage = job(["u d"] * 8)
    walked = marks.assign(method=pd.array(["walked"] * len(marks), dtype="str"))
    elsewhere = coverage.assign(leg=pd.array(["B"], dtype="str"))

    assert missed_of(things, walked, coverage, KINDS) == ()
    assert missed_of(things, marks, elsewhere, KINDS) == ()


def test_drives_that_see_their_own_side_only_are_counted_by_side():
    """Up saw 30 on the right, down 30 on the left, none both: Chapman would say 960, not 60."""
    seen = ["u1 R1"] * 5 + ["u2 R1"] * 5 + ["u1 u2 R1"] * 20
    seen += ["d1 L1"] * 5 + ["d2 L1"] * 5 + ["d1 d2 L1"] * 20
    (one,) = found(seen, stretches=[stretch(2, 2)])

    assert (one.looks, one.seen) == (2, 60)
    # 50 seen by each of the two looks, 40 by both: 51 x 51 / 41 - 1 by hand.
    assert one.estimate == pytest.approx(51 * 51 / 41 - 1)
    assert "passed on its own side 2 times" in one.text


def test_things_on_the_far_side_alone_do_not_count_by_side():
    """A thing whose only tap came from the far side, or whose side is not known, is left out."""
    things, marks, coverage = job(
        ["u1 u2 R1"] * 10 + ["d1 d2 L1"] * 10 + ["d1 R1", "u1 R1"], stretches=[stretch(2, 2)]
    )
    things.loc[21, "lane"] = ""
    (one,) = missed_of(things, marks, coverage, KINDS)

    assert one.seen == 20


@pytest.mark.parametrize(("up", "down"), [(2, 0), (0, 2)])
def test_drives_one_way_only_tell_no_side(up, down):
    """Without looks from the other direction nothing can be compared."""
    names = "u1 u2" if up else "d1 d2"
    (one,) = found([f"{names} R1"] * 5 + [f"{names} L1"] * 5, stretches=[stretch(up, down)])

    assert (one.looks, one.seen) == (2, 10)


def test_one_look_beside_a_thing_may_be_that_thing_by_another_name():
    """Ten things seen by u1, each with a tap of u2 3 m on: ten seen twice, not twenty once."""
    things, marks, coverage = job(["u1", "u2"] * 10, stretches=[stretch(2, 0)])
    things["along_m"] = [5.0 + 40.0 * (at // 2) + 3.0 * (at % 2) for at in range(20)]
    (one,) = missed_of(things, marks, coverage, KINDS)

    assert (one.seen, one.estimate) == (10, 10.0)


def test_two_things_of_one_passing_are_two():
    """And so are things on two sides, and things of two groups."""
    near = [5.0 + 40.0 * (at // 2) + 3.0 * (at % 2) for at in range(20)]
    for change in ("passing", "side", "group"):
        seen = ["u1 u2"] * 20 if change == "passing" else ["u1 u2", "u3"] * 10
        things, marks, coverage = job(seen, stretches=[stretch(3, 0)])
        things["along_m"] = near
        odd = [at % 2 == 1 for at in range(20)]
        if change == "side":
            things.loc[odd, "lane"] = "L1"
        if change == "group":
            things.loc[odd, "kind"] = "BJ"

        assert missed_of(things, marks, coverage, KINDS)[0].seen == 20


def test_looks_at_a_place_are_those_of_its_stretch():
    """Past an end those of the end; none on a leg that is not there."""
    rows = [stretch(1, 2, to_m=50.0), stretch(3, 4, from_m=50.0, to_m=90.0)]
    known = passed(tables.table(tables.COVERAGE, rows))
    places = [("A", -5.0), ("A", 10.0), ("A", 50.0), ("A", 200.0), ("B", 1.0)]

    assert [known.at(*place) for place in places] == [
        (0, 1, 2), (0, 1, 2), (1, 3, 4), (1, 3, 4), (-1, 0, 0),
    ]  # fmt: skip


def test_shuffling_marks_and_things_changes_nothing():
    """The same estimates from rows in any order."""
    seen = [" ".join(pair) for pair in product(["u1", "u2"], ["d1", "d2"])] * 5 + ["u1"] * 4
    things, marks, coverage = job(seen, stretches=[stretch(2, 2)])
    shuffled = missed_of(
        things.iloc[::-1].reset_index(drop=True),
        marks.sample(frac=1.0, random_state=3).reset_index(drop=True),
        coverage,
        KINDS,
    )

    assert shuffled == missed_of(things, marks, coverage, KINDS)
