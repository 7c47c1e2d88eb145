"""The strip for the briefing board: everything on the list once, in order, on landscape tabloid."""

import io
import itertools
from collections import Counter
from dataclasses import replace

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from maps.example_pack import HOSTILE, example_pack, pack_of, thing
from sheets.made_strips import busy, road, rows
from sheets.pdf_text import pages_of

from routeprep.sheets.strip import render, stretches
from routeprep.sheets.strip_drawing import drawn


def numbers(pack, *, units="us"):
    """The numbers on the labels of all strips of the first leg, strip by strip."""
    leg = pack.legs[0]
    return [
        [one["no"] for one in drawn(stretch, leg, pack)["parts"] if one["is"] == "label"]
        for stretch in stretches(leg, rows(pack), units=units)
    ]


@settings(max_examples=8)  # each lays out a whole pack
@given(st.integers(0, 150), st.integers(0, 1000), st.sampled_from(["us", "metric"]))
def test_each_thing_stands_on_one_strip_once(count, seed, units):
    """Law: however many, however close."""
    pack = busy(count, seed)
    shown = Counter(no for strip in numbers(pack, units=units) for no in strip)

    assert shown == Counter(row["no"] for row in rows(pack))


@settings(max_examples=8)  # each lays out a whole pack
@given(st.integers(0, 150), st.integers(0, 1000))
def test_strips_run_in_order_and_cover_the_cut(count, seed):
    """Law: no ground is left out, and each thing is on the strip that shows its place."""
    pack = busy(count, seed)
    leg = pack.legs[0]
    made = stretches(leg, rows(pack), units="us")

    assert made[0].from_m <= leg.from_m
    assert made[-1].to_m >= leg.to_m
    for one, after in itertools.pairwise(made):
        assert after.from_m in (one.to_m, one.from_m)
    for one in made:
        assert all(one.from_m <= row["along_m"] <= one.to_m for row in one.rows)


def test_a_mile_of_usual_road_takes_two_pages_at_most():
    """1 mi with 40 things and its cross streets: four strips of a quarter of a mile."""
    on = road(1609.344 + 60.0)
    on = replace(on, from_m=30.0, to_m=30.0 + 1609.344)
    made = [thing(on, f"A-{k}", "SMH", 40.0 * k + 20, decided_by="A. Sample") for k in range(1, 40)]
    pack = pack_of((on,), made)

    assert len(stretches(on, rows(pack), units="us")) == 4
    assert len(pages_of(render(pack))) <= 2


def test_things_outside_the_limits_are_drawn_too():
    """The first strip begins before the thing that lies before the cut."""
    on = road()
    pack = pack_of((on,), [thing(on, "A-1", "SMH", -3.0, past_end_m=3.0)])

    assert stretches(on, rows(pack), units="us")[0].from_m == -8.0
    assert [no for strip in numbers(pack) for no in strip] == ["A-1"]


def test_many_things_at_one_place_stand_on_strips_of_the_same_ground():
    """Two hundred at one place: no strip can be halved for ever."""
    on = road()
    pack = pack_of((on,), [thing(on, f"A-{k}", "SMH", 500.0) for k in range(200)])

    assert Counter(no for strip in numbers(pack) for no in strip).total() == 200


def words_of(pdf):
    """Alternative texts of the figures, in the order of the tag tree."""
    found = []

    def walk(node):
        node = node.get_object()
        if isinstance(node, list):
            for one in node:
                walk(one)
        elif isinstance(node, dict):
            if "/Alt" in node:
                found.append(str(node["/Alt"]))
            if "/K" in node:
                walk(node["/K"])

    walk(pypdf.PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/StructTreeRoot"]["/K"])
    return found


def test_a_screen_reader_hears_each_strip_in_order():
    """Number, place, side, what and what to do, in the order of the list."""
    pack = example_pack()
    said = " ".join(words_of(render(pack)))

    assert "A-1 at 13+95, right, sewer manhole 24 in: NOT DECIDED: STOP." in said
    assert "A-3 at 29+70, right, GAS valve: STOP." in said
    places = [said.index(f"{no} at ") for no in ("A-1", "A-2", "A-3", "A-4", "A-5", "A-6", "B-1")]
    assert places == sorted(places)


def test_pages_are_landscape_tabloid_whatever_the_other_sheets_are_on():
    """17 by 11 in are 1,224 by 792 pt; each leg has pages of its own."""
    pdf = render(example_pack(), paper="letter")
    boxes = {
        tuple(map(float, page.mediabox[2:])) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages
    }

    assert boxes == {(1224.0, 792.0)}
    assert pdf == render(example_pack(), paper="a4")


def test_each_page_names_its_leg_and_the_sheet():
    """Leg, street, limits, revision, and the draft."""
    pages = pages_of(render(example_pack()))

    assert "A Example Road 10+98.4" in pages[0]
    assert "B Sample Street" in pages[-1]
    assert all("REV A" in page and "DRAFT, NOT FOR CUTTING" in page for page in pages)


def test_the_credit_of_a_map_is_printed_where_its_streets_are():
    """And nowhere else."""
    assert "Cross streets: © Invented Map." in pages_of(render(busy(3)))[0]
    assert "Cross streets" not in pages_of(render(example_pack()))[0]


def test_signs_that_are_used_are_explained():
    """The groups that the leg has, and no others."""
    first = pages_of(render(example_pack()))[0]

    assert "iron in the road do not cut without the owner" in first
    assert "sketchy spot" not in first


@pytest.mark.parametrize("units", ["us", "metric"])
def test_two_hundred_things_are_drawn_in_the_same_bytes(units):
    """Twice, in either units."""
    pack = busy()
    pack = replace(pack, settings=replace(pack.settings, units=units))

    assert render(pack) == render(pack)


def test_hostile_words_are_only_printed():
    """Names and actions of a job may hold anything."""
    on = road()
    on = replace(on, settings=replace(on.settings, name=HOSTILE, code="A"))
    made = thing(on, "A-1", "SMH", 100.0, name=HOSTILE, action=HOSTILE * 3, decided_by="x")
    pages = pages_of(render(pack_of((on,), [made | {"no": "A-工"}])))

    assert "#sys.version" in pages[0]
    assert "U+5DE5" in pages[-1]
