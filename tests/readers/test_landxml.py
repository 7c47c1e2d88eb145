"""LandXML files: what is read, what is said of it, and what is refused."""

import cmath
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from landxmls import (
    C_CENTER,
    C_PC,
    C_PT,
    FOOT,
    METER,
    alignment,
    bearing,
    curve,
    landxml,
    line,
    point,
    spiral,
    worked_c,
)
from scipy.special import fresnel

from routeprep.elements import place_on
from routeprep.errors import ReadError
from routeprep.readers.landxml import choose, read_alignments

FT_M = 0.3048


def read(data, name="plans.xml"):
    """What a file holds."""
    return read_alignments(data, name=name)


def only(data):
    """The only alignment of a file."""
    return choose(read(data), wanted="", name="plans.xml")


def said(data, level="doubt"):
    """The texts of one level that a file leads to."""
    return [one.text for one in read(data).findings if one.level == level]


def refused(data, match):
    """That a file is refused with a sentence."""
    with pytest.raises(ReadError, match=match) as error:
        read(data)
    assert error.value.facts["file"] == "plans.xml"


def clothoid(radius, length):
    """A clothoid from a north tangent, right: its end as east + north j and its PI.

    By Fresnel integrals of scipy; the tangents meet where the last one crosses the first.
    """
    size = math.sqrt(math.pi * radius * length)
    sine, cosine = fresnel(length / size)
    end = size * (sine + 1j * cosine)
    turn = length / (2.0 * radius)
    return end, 1j * (end.imag - end.real / math.tan(turn))


END, CORNER = clothoid(300.0, 120.0)
OUT = bearing(math.degrees(0.2))
TANGENT = 10.0 * 1j


def with_spiral(**more):
    """A tangent of 10 north to 0, a right-hand clothoid of 120 to R 300, and an arc of 60."""
    told = {"length": "120", "radiusStart": "INF", "radiusEnd": "300"} | more
    center = END - 1j * 300.0 * OUT
    pt = center + (END - center) * cmath.exp(-0.2j)
    return landxml(
        alignment(line(-TANGENT, 0), spiral(0, CORNER, END, **told), curve(END, center, pt)),
        units=METER,
    )


def test_worked_c_is_read_in_metres() -> None:
    """Starts, directions, curvatures and lengths are those of the published problem."""
    one = only(landxml(worked_c()))

    assert (one.name, one.unit, one.crs, one.start_value) == ("worked C", "ft", "", 1000.0)
    assert one.what == ("line", "curve", "line")
    assert (one.x_m[1], one.y_m[1]) == (C_PC.real * FT_M, C_PC.imag * FT_M)
    assert one.heading_deg == pytest.approx([45.0, 45.0, 69.0], abs=1e-5)
    assert one.curvature_start_per_m * FT_M == pytest.approx([0.0, 0.001, 0.0], abs=1e-9)
    assert one.length_m / FT_M == pytest.approx([500.0, 418.879, 300.0], abs=0.0005)
    assert one.profile == one.equations == ()


@pytest.mark.parametrize(
    ("unit", "name", "ratio"),
    [("foot", "ft", 0.3048), ("USSurveyFoot", "ftUS", 1200 / 3937), ("meter", "m", 1.0)],
)
def test_the_unit_is_the_files(unit, name, ratio):
    """International and US survey feet differ by 2.6 ft in a northing of 1,300,000."""
    units = f'<Units><Imperial linearUnit="{unit}"/></Units>'
    one = only(landxml(alignment(line(1300000j, 1300100j)), units=units))

    assert one.unit == name
    assert one.y_m[0] == pytest.approx(1300000 * ratio, rel=1e-12)


@pytest.mark.parametrize(
    ("units", "found"),
    [
        ("", "no Units"),
        ("<Units/>", "no Units"),
        ("<Units><Imperial/></Units>", "''"),
        ('<Units><Imperial linearUnit="mile"/></Units>', "'mile'"),
        ('<Units><Metric linearUnit="millimeter"/></Units>', "'millimeter'"),
        (FOOT + METER, "'foot' and 'meter'"),
    ],
)
def test_a_unit_is_never_assumed(units, found):
    """Without one of the three units the file is refused, naming what it says."""
    refused(landxml(worked_c(), units=units), rf"plans.xml: its linearUnit is {found}; expected")


@pytest.mark.parametrize(
    "head",
    [
        'xmlns="http://www.landxml.org/schema/LandXML-1.0" version="1.0"',
        'xmlns="http://www.landxml.org/schema/LandXML-1.1" version="1.1"',
        'xmlns="http://www.inframodel.fi/inframodel" version="1.2"',
        "",
    ],
)
def test_every_version_and_namespace_is_read(head):
    """1.0, 1.1, a national namespace and none at all give the same line."""
    one = only(landxml(worked_c(), head=head))

    assert one.length_m.sum() / FT_M == pytest.approx(1218.879, abs=0.0005)


def test_a_prefix_changes_nothing_and_foreign_elements_are_passed_over() -> None:
    """What stands in another namespace is no element of the alignment."""
    foreign = '<o:Line xmlns:o="urn:other"><o:Start>0 0</o:Start></o:Line>'
    plain = landxml(alignment(line(0, 5j), foreign, line(5j, 9j))).decode()
    prefixed = plain.replace("<", "<l:").replace("<l:/", "</l:").replace("l:o:", "o:")
    prefixed = prefixed.replace("xmlns=", "xmlns:l=")

    assert only(plain.encode()).what == only(prefixed.encode()).what == ("line", "line")


def test_what_is_no_alignment_is_passed_over() -> None:
    """Surfaces, features, parcels with lines of their own and cross sections are not looked at."""
    parcel = f"<Parcels><Parcel><CoordGeom>{line(0, 1j)}</CoordGeom></Parcel></Parcels>"
    surface = "<Surfaces><Surface><Pnts><P>nonsense</P></Pnts></Surface></Surfaces>"
    sections = "<CrossSects><CrossSect sta='x'/></CrossSects><Feature><Line/></Feature>"
    geometry = line(0, 5j) + "<Feature><Property label='a' value='b'/></Feature>"
    data = landxml(alignment(geometry, extra=sections), extra=parcel + surface)

    assert only(data).what == ("line",)


def test_an_elevation_in_a_point_is_passed_over() -> None:
    """Northing, easting, elevation: the third is not the line's."""
    start = "<Start>10 20 30.5</Start>"
    one = only(landxml(alignment(f"<Line>{start}{point('End', 20 + 60j)}</Line>"), units=METER))

    assert (one.x_m[0], one.y_m[0], one.length_m[0]) == (20.0, 10.0, 50.0)


@pytest.mark.parametrize("rot", ["cw", "ccw"])
def test_more_than_half_a_circle_goes_the_long_way(rot):
    """Three quarters of a circle, by its Center, and by its PI behind the ends."""
    side = 1 if rot == "cw" else -1
    start, center, end = 0.0, 100.0 * side, 100.0 * side - 100j
    by_center = curve(start, center, end, rot)
    corner = -100j
    points = f"{point('Start', start)}{point('PI', corner)}{point('End', end)}"
    by_corner = f'<Curve rot="{rot}">{points}</Curve>'
    for text in (by_center, by_corner):
        one = only(landxml(alignment(text), units=METER))

        assert one.length_m[0] == pytest.approx(150.0 * math.pi)
        assert math.cos(math.radians(one.heading_deg[0])) == pytest.approx(1.0, abs=1e-12)
        assert one.curvature_start_per_m[0] == pytest.approx(side * 0.01)


@pytest.mark.parametrize("rot", ["cw", "ccw"])
def test_a_curve_without_center_is_drawn_from_its_tangents(rot):
    """Start, PI and End of worked C give its radius and length."""
    side = 1 if rot == "cw" else -1

    def turned(place):
        return complex(side * place.real, place.imag)

    corner = 1503.8536 + 1503.8536j
    points = "".join(
        point(tag, turned(place)) for tag, place in (("Start", C_PC), ("PI", corner), ("End", C_PT))
    )
    one = only(landxml(alignment(f'<Curve rot="{rot}" radius="1000">{points}</Curve>')))

    assert one.curvature_end_per_m[0] * FT_M == pytest.approx(side * 0.001, abs=1e-9)
    assert one.length_m[0] / FT_M == pytest.approx(418.879, abs=0.001)
    assert one.heading_deg[0] == pytest.approx(45.0 * side % 360.0, abs=1e-5)


def test_an_arc_is_drawn_through_both_its_ends() -> None:
    """A Center that is 0.3 nearer to Start than to End is said, and the arc ends at its End."""
    data = landxml(alignment(line(-10j, 0), curve(0, 100.0 + 0.3j, 100.0 + 100j)), units=METER)
    one = only(data)
    xy_m, _ = place_on(one, np.array([one.length_m.sum()]), np.zeros(1))

    assert xy_m[0] == pytest.approx([100.0, 100.0], abs=1e-9)
    (text,) = [text for text in said(data) if "from its Center" in text]
    assert "element 2 (Curve, line 1) has its Start 100.0004 m and its End 99.7000 from" in text


def test_a_spiral_is_the_clothoid_of_its_radii() -> None:
    """It starts along the tangent, without a doubt, and ends on the arc's curvature."""
    one = only(with_spiral())

    assert said(with_spiral()) == []
    assert one.what == ("line", "spiral", "curve")
    assert one.heading_deg == pytest.approx([0.0, 0.0, math.degrees(0.2)], abs=1e-6)
    assert one.curvature_start_per_m[1] == 0.0
    assert one.curvature_end_per_m[1] == 1.0 / 300.0
    assert one.curvature_start_per_m[2] == pytest.approx(1.0 / 300.0)


@pytest.mark.parametrize("told", ["INF", "inf", "-INF", None, ""])
def test_an_infinite_radius_has_many_spellings(told):
    """INF, its other spellings and no radius at all mean a tangent."""
    assert only(with_spiral(radiusStart=told)).curvature_start_per_m[1] == 0.0


def test_a_spiral_without_its_corner_is_turned_to_its_end() -> None:
    """Start, End, radii and length are enough."""
    text = spiral(0, None, END, length=120, radiusStart="INF", radiusEnd="300")
    one = only(landxml(alignment(text), units=METER))

    assert one.heading_deg[0] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    "sort", ["bloss", "biquadratic", "cosine", "cubic", "sinusoid", "revBloss", "weinerBogen"]
)
def test_other_transitions_are_refused_by_name(sort):
    """Transitions that the schema names are no clothoids, and are not taken for one."""
    refused(with_spiral(spiType=sort), rf"spiType is '{sort}', a transition that is not read")


def test_a_transition_that_nobody_names_is_refused() -> None:
    """A word that is not of the schema is said to be unknown."""
    refused(with_spiral(spiType="swirl"), "spiType is 'swirl', not known: only the clothoid is")


@pytest.mark.parametrize(
    ("told", "match"),
    [
        ({"radiusEnd": "0"}, r"radiusEnd is '0'; expected a radius above 0, or INF"),
        ({"radiusEnd": "nan"}, r"radiusEnd is 'nan'; expected a number"),
        ({"radiusEnd": "INF"}, r"is 120.0000 m long and turns 0.0000 degrees"),
        ({"length": None}, r"is nan m long"),
        ({"length": "-120"}, r"is -120.0000 m long"),
        ({"radiusEnd": "5"}, r"turns 687.5494 degrees; expected .* one turn at most"),
        ({"rot": "left"}, r"element 2 \(Spiral, line 1\): rot is 'left'; expected cw or ccw"),
        ({"rot": "ccw"}, r"turns 11.459 degrees at its PI, .* look swapped"),
    ],
)
def test_a_spiral_that_cannot_be_is_refused(told, match):
    """Each says the element, what was found and what was expected."""
    refused(with_spiral(**told), match)


def test_a_spiral_that_misses_its_end_is_a_doubt() -> None:
    """A length that is 0.5 too long is said with how far the drawn end is off."""
    text, _ = said(with_spiral(length="120.5"))  # it meets the arc at an angle, too

    missed = abs(clothoid(300.0, 120.5)[0] - END)

    assert f"element 2 (Spiral, line 1) ends {missed:.4f} m from its End" in text


def test_a_corner_on_an_end_tells_nothing() -> None:
    """A PI at the Start of a spiral gives no direction; radii and length still do."""
    text = spiral(0, 0, END, length=120, radiusStart="INF", radiusEnd="300")
    data = landxml(alignment(text), units=METER)

    assert said(data) == []
    assert only(data).heading_deg[0] == pytest.approx(0.0, abs=1e-6)


def test_a_file_with_easting_and_northing_swapped_is_caught_by_its_spiral() -> None:
    """A mirrored spiral turns against its rot."""
    data = with_spiral().decode()
    for tag in ("Start", "End", "PI", "Center"):
        for text in set(data.split(f"<{tag}>")[1:]):
            pair = text.partition("<")[0]
            north, east = pair.split()
            data = data.replace(f"<{tag}>{pair}<", f"<{tag}>{east}  {north}<")

    refused(data.encode(), r"Spiral.*easting and northing look swapped")


def test_a_swapped_curve_is_caught_by_its_length() -> None:
    """A mirrored arc goes the other way round its circle, which is far longer."""
    text = alignment(curve(C_PC, C_CENTER, C_PT, "ccw", length="418.879"))

    refused(landxml(text), r"goes 336.00 degrees round .*length of 418.8790 ft .*look swapped")


def test_a_swapped_curve_without_lengths_is_caught_by_its_neighbour() -> None:
    """A mirrored arc starts against the tangent before it."""
    text = worked_c(lambda place: complex(place.imag, place.real), declared=None)

    refused(landxml(text), r"element 2 \(Curve.* runs against its neighbour .*look swapped")


def test_swapped_lines_are_caught_by_their_declared_directions() -> None:
    """Without a curve only ``dir`` tells: a doubt, where any other difference is a note."""
    swapped = landxml(alignment(line(0, 10 + 50j, dir="78.6901")), units=METER)
    other = landxml(alignment(line(0, 10 + 50j, dir="200")), units=METER)

    assert "easting and northing look swapped" in said(swapped)[0]
    assert said(other) == []
    assert "direction of 200.0000 degrees, its coordinates give 11.3099" in said(other, "note")[0]


@pytest.mark.parametrize(
    ("unit", "told"),
    [
        ("decimal degrees", "11.3099"),
        ("decimal degrees", "-348.6901"),
        ("grads", "12.5666"),
        ("radians", "0.197396"),
        ("decimal dd.mm.ss", "11.183567"),
        (None, "0.197396"),
        ("furlongs", "3"),
        ("decimal degrees", "north"),
    ],
)
def test_directions_that_agree_are_not_mentioned(unit, told):
    """In each unit of the schema (radians where none is named); what cannot be read is nothing."""
    names = f' directionUnit="{unit}"' if unit else ""
    units = f'<Units><Metric linearUnit="meter"{names}/></Units>'

    assert read(landxml(alignment(line(0, 10 + 50j, dir=told)), units=units)).findings == ()


def test_chain_and_irregular_line_are_series_of_lines() -> None:
    """Points by name wherever they stand in the file, and lists in two and three dimensions."""
    points = (
        '<CgPoints><CgPoint name="1">0 0</CgPoint><CgPoints><CgPoint name="2">0 30 7</CgPoint>'
        '</CgPoints><CgPoint name="3">nonsense</CgPoint></CgPoints>'
    )
    flat = "<PntList2D>0 30 0 40 10 40</PntList2D>"
    deep = "<PntList3D>10 50 1 20 50 2</PntList3D>"
    geometry = (
        "<Chain>1 2</Chain>",
        f"<IrregularLine>{point('Start', 30)}{point('End', 40 + 10j)}{flat}</IrregularLine>",
        f"<IrregularLine>{point('Start', 40 + 10j)}{point('End', 50 + 20j)}{deep}</IrregularLine>",
    )
    one = only(landxml(alignment(*geometry), units=METER, extra=points))

    assert one.what == ("line",) * 5
    assert one.length_m.tolist() == [30.0, 10.0, 10.0, 10.0, 10.0]
    assert one.heading_deg.tolist() == [90.0, 90.0, 0.0, 90.0, 0.0]
    assert read(landxml(alignment(*geometry), units=METER, extra=points)).findings == ()


def test_a_point_may_name_a_survey_point() -> None:
    """A Start without text of its own is where its survey point is."""
    points = '<CgPoints><CgPoint name="PC 7">100 200</CgPoint></CgPoints>'
    text = f'<Line><Start pntRef="PC 7"/>{point("End", 200 + 150j)}</Line>'
    one = only(landxml(alignment(text), units=METER, extra=points))

    assert (one.x_m[0], one.y_m[0], one.length_m[0]) == (200.0, 100.0, 50.0)


@pytest.mark.parametrize(("points", "count"), [("", 0), ('<CgPoint name="1">9 9</CgPoint>', 2)])
def test_a_survey_point_that_is_missing_or_stands_twice_is_refused(points, count):
    """None and two different ones of a name are no place."""
    extra = f'<CgPoints>{points}<CgPoint name="2">5 5</CgPoint></CgPoints>'
    extra = extra.replace('name="2">5 5', 'name="1">5 5') if points else extra

    refused(
        landxml(alignment("<Chain>1 2</Chain>"), extra=extra),
        rf"names the survey point '1', of which the file has {count}",
    )


def test_elements_of_no_length_are_left_out_and_said() -> None:
    """A tangent of zero length between two curves is no element; a note says so."""
    short = (line(5j, 5j), curve(5j, 9 + 9j, 5j), spiral(5j, 5j, 5j, length="0"))
    data = landxml(alignment(line(0, 5j), *short, line(5j, 9j)))

    assert only(data).what == ("line", "line")
    assert said(data) == []
    assert "element 2 (Line, line 1) has no length" in said(data, "note")[0]
    assert "the first of 3 such" in said(data, "note")[0]


@pytest.mark.parametrize(
    ("elements", "match"),
    [
        ([line(5j, 5j)], r"has 0 elements with a length, 0.0000 ft in all"),
        ([], r"alignment 'CL': has 0 elements with a length"),
        ([line(0, 9e7), line(9e7, 0)], r"has 2 elements with a length, 180000000.0000 ft in all"),
        ([curve(0, 50, 0, length="314.159")], r"declares a length of 314.1590 .* two halves"),
        ([spiral(0, 5j, 0, length="9", radiusEnd="50")], r"begins and ends at one place"),
        (["<Line><Start>0 0</Start></Line>"], r"element 1 \(Line, line 1\): has no End"),
        (["<Line><Start>0</Start></Line>"], r"Start is '0'; expected northing and easting"),
        (["<Line><Start>1 2 3 4</Start></Line>"], r"Start is '1 2 3 4'; expected northing"),
        (["<Line><Start/></Line>"], r"Start is ''; expected northing and easting"),
        (["<Line><Start>nan 0</Start></Line>"], r"Start is 'nan'; expected a number"),
        (["<Line><Start>inf 0</Start></Line>"], r"Start is 'inf'; expected a number"),
        (["<Line><Start>1,5 0</Start></Line>"], r"Start is '1,5'; .* with a decimal point"),
        (["<Line><Start>1_0 0</Start></Line>"], r"Start is '1_0'; expected a number"),
        (["<Line><Start>1e300 0</Start></Line>"], r"Start is '1e300'; .* 100 million"),
        ([line(0, 5j, length="long")], r"element 1 .*: length is 'long'; expected a number"),
        ([curve(0, 0.0 + 2.5j, 5j, "up")], r"rot is 'up'; expected cw or ccw"),
        (["<Bezier/>"], r"<Bezier> is no element .* \(Chain, Curve, Irr.*, Line, Spiral\)"),
        (["<Chain/>"], r"element 1 \(Chain, line 1\): has 0 points"),
        (
            [f"<IrregularLine>{point('Start', 0)}<PntList3D>1 2 3 4</PntList3D></IrregularLine>"],
            r"PntList3D has 4 numbers, no multiple of 3",
        ),
        (
            [f'<Curve rot="cw">{point("Start", 0)}{point("End", 5j)}</Curve>'],
            r"has neither Center nor PI",
        ),
        (
            [f'<Curve rot="cw">{point("Start", 0)}{point("PI", 2j)}{point("End", 5j)}</Curve>'],
            r"its tangents meet at -?0.0000 degrees",
        ),
        (
            [f'<Curve rot="cw">{point("Start", 0)}{point("PI", 0)}{point("End", 5j)}</Curve>'],
            r"its tangents meet at 0.0000 degrees",
        ),
    ],
)
def test_an_element_that_cannot_be_is_refused(elements, match):
    """One sentence: the file, the alignment and element, what was found, what to do."""
    refused(landxml(alignment(*elements)), match)


def test_a_declared_length_that_disagrees_is_a_doubt() -> None:
    """Of an element and of the whole, with both amounts in the file's unit."""
    data = landxml(alignment(line(0, 100j, length="100.02"), length="100.5"))

    of_element, of_all = said(data)

    assert of_element == (
        "element 1 (Line, line 1) declares a length of 100.0200 ft, its "
        "coordinates give 100.0000; check it against the plans"
    )
    assert "'CL' declares a length of 100.5000 ft, its elements give 100.0000; check" in of_all


@pytest.mark.parametrize(("length", "whole"), [("100.009", "100.009"), ("1e2", "99.991")])
def test_rounding_of_lengths_is_no_doubt(length, whole):
    """Up to 0.01 of a unit is how lengths are written."""
    assert read(landxml(alignment(line(0, 100j, length=length), length=whole))).findings == ()


def test_a_declared_radius_that_disagrees_is_a_doubt() -> None:
    """The radius is the distance from Start to Center."""
    data = landxml(alignment(curve(C_PC, C_CENTER, C_PT, radius="999.5")))

    assert "declares a radius of 999.5000 ft, its coordinates give 1000.0000" in said(data)[0]


def test_a_gap_and_an_angle_between_neighbours_are_doubts() -> None:
    """The worst of each sort is said, with how many there are."""
    data = landxml(
        alignment(
            line(0, 100j), line(0.2 + 100j, 0.2 + 200j), line(0.7 + 200j, 10 + 300j),
            line(10 + 300j, 10 + 400j),
        )
    )  # fmt: skip
    gap, angle = said(data)

    assert (
        "between alignment 'CL', element 2 (Line, line 1) and 3 (Line, line 1) there is a gap of "
        "0.5000 ft; the worst of 2 such"
    ) in gap
    assert "meet at an angle of" in angle
    assert "5.3132 degrees, right positive; the worst of 2 such" in angle


def test_short_lines_may_meet_at_what_rounding_makes_of_them() -> None:
    """Coordinates to 0.001 turn a line of 1 ft by 0.06 degrees: no doubt."""
    data = landxml(alignment(line(0, 100j), line(100j, 0.0006 + 101j), line(0.0006 + 101j, 200j)))

    assert said(data) == []


def equations(*told):
    """Worked C (10+00 to 22+18.879) with station equations."""
    text = "".join(f"<StaEquation {one}/>" for one in told)
    return landxml(worked_c().replace("</CoordGeom>", f"</CoordGeom>{text}"))


def pairs(data):
    """Back and ahead of each equation."""
    return [(one.back_value, one.ahead_value) for one in only(data).equations]


def test_equations_come_in_order_along_the_line() -> None:
    """Back is reckoned from the internal station and the equations before, in whatever order."""
    data = equations(
        'staInternal="1500" staAhead="1000"', 'staInternal="1200" staAhead="2000" staBack="1200"'
    )

    assert pairs(data) == [(1200.0, 2000.0), (2300.0, 1000.0)]


def test_an_equation_without_internal_station_is_placed_by_its_back_one() -> None:
    """Some programs leave staInternal out; the second back station counts from the first ahead."""
    data = equations('staBack="1200" staAhead="2000"', 'staBack="2300" staAhead="1000"')

    assert pairs(data) == [(1200.0, 2000.0), (2300.0, 1000.0)]
    assert said(data) == []


def test_published_equations() -> None:
    """A published file: internal 27205.4145419 and 28000.6596581; its second back is printed."""
    told = (
        '<StaEquation staAhead="205.4145419" staInternal="27205.4145419"/>'
        '<StaEquation staAhead="0" staBack="1000.6596581" staInternal="28000.6596581"/>'
    )
    text = alignment(line(0, 30000j), sta_start="0", extra=told)
    data = landxml(text, units=METER)

    assert said(data) == []
    assert pairs(data)[0] == pytest.approx((27205.4145419, 205.4145419))
    assert pairs(data)[1] == pytest.approx((1000.6596581, 0.0))


def test_a_back_station_that_disagrees_is_a_doubt() -> None:
    """The place that staInternal names is taken, and both figures are said."""
    data = equations('staInternal="1200" staAhead="2000" staBack="1200.5"')

    assert pairs(data) == [(1200.0, 2000.0)]
    assert "has staBack 1200.5000, its staInternal gives 1200.0000, which is taken" in said(data)[0]


def test_an_equation_outside_of_the_line_is_left_out() -> None:
    """It is said, by how much."""
    data = equations('staInternal="900" staAhead="0"', 'staInternal="2300" staAhead="0"')

    assert pairs(data) == []
    assert "StaEquation 1 (line 1) stands 100.0000 outside of the line" in said(data)[0]


@pytest.mark.parametrize(
    ("told", "match"),
    [
        (('staBack="1200"',), r"StaEquation 1 \(line 1\): has staAhead None and neither"),
        (('staAhead="1200"',), r"has staAhead '1200' and neither staInternal nor staBack"),
        (('staAhead="x" staBack="1"',), r"staAhead is 'x'; expected a number"),
        (
            ('staAhead="0" staInternal="1200" staIncrement="decreasing"',),
            r"staIncrement is decreasing; stations that count down are not read",
        ),
        (
            ('staAhead="0" staInternal="1200"', 'staAhead="9" staInternal="1200"'),
            r"stands at 1200.0000, where another one stands",
        ),
    ],
)
def test_an_equation_that_cannot_be_is_refused(told, match):
    """Each names its place and what is missing."""
    refused(equations(*told), match)


def test_stations_need_a_start() -> None:
    """Without staStart nothing is guessed."""
    refused(landxml(alignment(line(0, 5j), sta_start=None)), r"has no staStart in line 1")


def profile(*told, extra=""):
    """A line of 600 ft from 42+00 with a profile."""
    text = f"<Profile><ProfAlign name='design'>{''.join(told)}</ProfAlign>{extra}</Profile>"
    return landxml(alignment(line(0, 600j), sta_start="4200", extra=text))


# Published worked problem: PVI 45+00 at 250.00, +2.0 % to -1.5 %, L = 600.
CREST = (
    "<PVI>4200 244</PVI>",
    '<ParaCurve length="600">4500 250</ParaCurve>',
    "<PVI>4800 245.5</PVI>",
)


def test_a_vertical_curve_is_the_published_parabola() -> None:
    """Elevations at 43+00 to 47+00 as published, 0.001 ft, off by a chord of 10 m at most."""
    along_m, elevation_m = np.array(only(profile(*CREST)).profile).T
    stations = np.array([4300.0, 4400.0, 4500.0, 4600.0, 4700.0])
    published = np.array([245.708, 246.833, 247.375, 247.333, 246.708])
    got = np.interp((stations - 4200.0) * FT_M, along_m, elevation_m) / FT_M
    # A chord of 10 m (32.81 ft) leaves the parabola by A x^2 / 8 L: 0.008 ft below the crest.
    most = 0.035 * 32.81**2 / (8.0 * 600.0)

    assert np.all((published - got > -0.001) & (published - got < most + 0.001))
    assert np.diff(along_m).max() <= 10.0
    assert (along_m[0], along_m[-1]) == (0.0, pytest.approx(600.0 * FT_M))
    at_points = (elevation_m[9] / FT_M, along_m[9] / FT_M)
    x = at_points[1]
    assert at_points[0] == pytest.approx(244.0 + 0.02 * x - 0.035 * x**2 / 1200.0, abs=1e-9)


def test_an_unsymmetrical_curve_is_smooth_where_its_halves_meet() -> None:
    """Lengths in and out of their own: offset A l1 l2 / 2 (l1 + l2) at the PVI."""
    curved = '<UnsymParaCurve lengthIn="200" lengthOut="100">4500 250</UnsymParaCurve>'
    along_m, elevation_m = np.array(only(profile(CREST[0], curved, CREST[2])).profile).T
    at = np.interp(300.0 * FT_M, along_m, elevation_m) / FT_M
    grades = np.diff(elevation_m) / np.diff(along_m)

    assert at == pytest.approx(250.0 - 0.035 * 200.0 * 100.0 / 600.0, abs=0.02)
    assert np.diff(grades).max() < 1e-9
    assert (grades[0], grades[-1]) == pytest.approx((0.02, -0.015), abs=1e-9)


@pytest.mark.parametrize("up", [1, -1])
def test_a_circular_vertical_curve_touches_both_grades(up):
    """Every point is one radius from the centre; the ends lie on the tangents."""
    told = (
        "<PVI>4200 100</PVI>",
        f'<CircCurve radius="2000" length="100">4500 {100 - up * 6}</CircCurve>',
        "<PVI>4800 100</PVI>",
    )
    along_m, elevation_m = np.array(only(profile(*told)).profile).T
    x, y = along_m[1:-1] / FT_M, elevation_m[1:-1] / FT_M
    center = 300.0, 100.0 - up * 6.0 + up * 2000.0 / math.cos(math.atan(0.02))

    assert len(x) > 2
    assert np.hypot(x - center[0], y - center[1]) == pytest.approx(np.full(len(x), 2000.0))
    assert (y[0] - 100.0) / x[0] == pytest.approx(-up * 0.02)


def test_a_pvi_without_a_curve_stays_a_corner() -> None:
    """A curve of no length, and one where the grade does not change, are their PVI."""
    told = (
        "<PVI>4200 100</PVI>",
        '<ParaCurve length="0">4300 110</ParaCurve>',
        '<ParaCurve length="50">4400 105</ParaCurve>',
        "<PVI>4500 100</PVI>",
    )
    along_m, elevation_m = np.array(only(profile(*told)).profile).T

    assert along_m / FT_M == pytest.approx([0.0, 100.0, 200.0, 300.0])
    assert elevation_m / FT_M == pytest.approx([100.0, 110.0, 105.0, 100.0])


def test_a_single_pvi_is_a_point() -> None:
    """One PVI gives one elevation, and none gives none."""
    assert only(profile("<PVI>4200 100</PVI>")).profile == ((0.0, 100.0 * FT_M),)
    assert only(profile()).profile == ()


@pytest.mark.parametrize(
    ("told", "match"),
    [
        (("<PVI>4200</PVI>",), "PVI in line 1: is '4200'; expected station and elevation"),
        (("<PVI>4300 9</PVI>", "<PVI>4300 9</PVI>"), "stands 0.0000 m before the one before it"),
        (("<PVI>0 9</PVI>", "<PVI>90 9</PVI>"), "on a line of 182.88 m; expected stations on it"),
        (("<PVI>4300 9</PVI>", "<PVI>9000 9</PVI>"), "lies at 1463.04 m on a line of 182.88 m"),
        (
            (CREST[0], '<ParaCurve length="700">4500 250</ParaCurve>', CREST[2]),
            "its curve begins 15.2400 m before the one before it ends",
        ),
        (
            (CREST[0], '<ParaCurve length="500">4500 250</ParaCurve>', "<PVI>4700 247</PVI>"),
            "the curve before it ends 15.2400 m past it",
        ),
    ],
)
def test_a_profile_that_cannot_be_is_left_out_and_said(told, match):
    """The line is read all the same."""
    data = profile(*told)

    assert only(data).profile == ()
    assert match in said(data)[0]
    assert "its profile is left out, since plans.xml, alignment 'CL'" in said(data)[0]


def test_of_several_profiles_none_is_taken() -> None:
    """Nothing says which one is the road: they are named."""
    data = profile(*CREST, extra="<ProfAlign name='old road'/>")

    assert only(data).profile == ()
    assert "has 2 profile alignments ('design', 'old road'); none is taken" in said(data)[0]


def test_profile_stations_run_on_through_equations() -> None:
    """They are internal, as the schema has them: an equation moves no elevation."""
    text = '<StaEquation staInternal="4300" staAhead="0"/></Alignment>'
    plain = profile(*CREST)
    jumped = plain.replace(b"</Alignment>", text.encode())

    assert only(jumped).profile == only(plain).profile


@pytest.mark.parametrize(
    ("told", "crs"),
    [
        ('epsgCode="26965"', "EPSG:26965"),
        ('epsgCode="EPSG:3878" ogcWktCode="x"', "EPSG:3878"),
        ('epsgCode="" ogcWktCode="PROJCS[1]"', "PROJCS[1]"),
        ('epsgCode="0" desc="local"', ""),
        ("", ""),
    ],
)
def test_the_coordinate_system_is_what_the_file_names(told, crs):
    """EPSG code first, then the text, else nothing."""
    data = landxml(worked_c(), extra=f"<CoordinateSystem {told}/>")

    assert only(data).crs == crs
    assert read(data).findings == ()


@pytest.mark.parametrize(
    ("told", "text"),
    [
        ('epsgCode="Indiana East"', "epsgCode is 'INDIANA EAST', no number; name the coordinate"),
        ('epsgCode="26965" rotationAngle="0.5"', "rotationAngle is '0.5'; the plane is taken as"),
    ],
)
def test_an_odd_coordinate_system_is_a_doubt(told, text):
    """A code that is none, and a plane that is turned."""
    assert text in said(landxml(worked_c(), extra=f"<CoordinateSystem {told}/>"))[0]


def test_of_several_coordinate_systems_none_is_taken() -> None:
    """Which one the alignment is in is not guessed; the same one twice is one."""
    one, other = '<CoordinateSystem epsgCode="2264"/>', '<CoordinateSystem epsgCode="3435"/>'

    assert only(landxml(worked_c(), extra=one + other)).crs == ""
    assert (
        "several coordinate systems, EPSG:2264 (line 1) and EPSG:3435 (line 1)"
        in said(landxml(worked_c(), extra=one + other))[0]
    )
    assert only(landxml(worked_c(), extra=one + one)).crs == "EPSG:2264"
    assert said(landxml(worked_c(), extra=one + one)) == []


def test_a_rotation_of_nothing_is_nothing() -> None:
    """0.000000 is how programs write that the plane is not turned."""
    extra = '<CoordinateSystem rotationAngle="0.000000"/><CoordinateSystem epsgCode="3878"/>'

    assert only(landxml(worked_c(), extra=extra)).crs == "EPSG:3878"
    assert said(landxml(worked_c(), extra=extra)) == []


SEVERAL = landxml(
    alignment(line(0, 5j), name="MAIN ST"),
    alignment(spiral(0, 1j, 5j, spiType="bloss"), name="RAMP"),
    alignment(line(0, 7j), name=""),
    alignment(line(0, 9j), name="TWICE"),
    alignment(line(0, 8j), name="TWICE"),
)


def test_one_of_several_is_chosen_by_name() -> None:
    """The unnamed one is called by its number."""
    several = read(SEVERAL)

    assert choose(several, wanted=" MAIN ST ", name="plans.xml").name == "MAIN ST"
    assert choose(several, wanted="number 3", name="plans.xml").length_m[0] == 7.0 * FT_M


@pytest.mark.parametrize(
    ("wanted", "match"),
    [
        ("", r"has 5 alignments \('MAIN ST', 'number 3', .*'RAMP'\); name the one to use"),
        ("ELM", r"has 0 alignments called 'ELM'; it has 'MAIN ST', .*; name one of them"),
        ("TWICE", r"has 2 alignments called 'TWICE'; it has"),
        ("RAMP", r"alignment 'RAMP', element 1 \(Spiral, line 1\): spiType is 'bloss'"),
    ],
)
def test_a_choice_that_cannot_be_made_lists_what_there_is(wanted, match):
    """Several and none wanted, none of the name, two of it, and one that cannot be used."""
    with pytest.raises(ReadError, match=match):
        choose(read(SEVERAL), wanted=wanted, name="plans.xml")


def test_an_alignment_that_cannot_be_used_leaves_the_others() -> None:
    """It is a fault with its sentence; the rest of the file is read."""
    several = read(SEVERAL)
    (fault,) = [one for one in several.findings if one.level == "fault"]

    assert [one.name for one in several.alignments] == ["MAIN ST", "number 3", "TWICE", "TWICE"]
    assert fault.where == "plans.xml, alignment 'RAMP'"
    assert "spiType is 'bloss'" in fault.text


def test_a_file_without_alignments_says_so() -> None:
    """Also where the group stands empty."""
    refused(landxml(), r"plans.xml: is LandXML but has no Alignment")


def test_a_document_type_is_refused() -> None:
    """Nothing can define an entity."""
    bomb = b'<!DOCTYPE LandXML [<!ENTITY a "aaaa">]>' + landxml(worked_c())

    refused(bomb, r"line 1: declares the document type 'LandXML', which no LandXML file has")


@given(st.integers(1, len(landxml(worked_c())) - 1))
def test_a_file_that_breaks_off_gives_nothing(size):
    """Wherever it breaks off: half an alignment would be wrong."""
    refused(landxml(worked_c())[:size], r"plans.xml, line 1: breaks off or is damaged there")


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (b"<gpx/>", r"begins with <gpx>, not LandXML; export the alignment as LandXML"),
        (b"<html><LandXML/></html>", r"begins with <html>, not LandXML"),
        (landxml(worked_c(), head='version="2.0"'), r"is LandXML '2.0'; 1.0 to 1.2 are read"),
        (b"", r"breaks off or is damaged there \(no element found\)"),
        (b"PK\x03\x04", r"breaks off or is damaged there"),
        (b'<?xml version="1.0" encoding="swirl"?><LandXML/>', r"breaks off or is damaged there"),
    ],
)
def test_what_is_no_landxml_is_refused(data, match):
    """Other roots, versions and bytes, each by what it is."""
    refused(data, match)


def test_other_encodings_and_a_byte_order_mark_are_read() -> None:
    """UTF-16, Latin-1 with a name of its own, and UTF-8 with a mark."""
    text = landxml(alignment(line(0, 5j), name="Åsgatan")).decode()
    latin = '<?xml version="1.0" encoding="ISO-8859-1"?>' + text
    for data in (text.encode("utf-16"), latin.encode("latin-1"), text.encode("utf-8-sig")):
        assert only(data).name == "Åsgatan"


@st.composite
def drawn(draw):
    """A smooth series of lines and arcs in feet, with its text."""
    place, heading = (
        complex(draw(st.floats(0, 1e6)), draw(st.floats(0, 1e6))),
        draw(st.floats(0.0, 360.0)),
    )
    lengths, texts = [], []
    for _ in range(draw(st.integers(1, 6))):
        length, out = draw(st.floats(20.0, 900.0)), bearing(heading)
        turn = draw(st.sampled_from([0, 1, -1]))
        if turn:
            radius = length / draw(st.floats(0.1, 4.0))
            center = place - 1j * turn * radius * out
            end = center + (place - center) * cmath.exp(-1j * turn * length / radius)
            rot = "cw" if turn > 0 else "ccw"
            texts.append(curve(place, center, end, rot, length=length, radius=radius))
            heading += turn * math.degrees(length / radius)
        else:
            end = place + length * out
            texts.append(line(place, end, length=length))
        lengths.append(length)
        place = end
    return lengths, place, landxml(alignment(*texts, length=sum(lengths)))


@given(drawn())
def test_what_is_drawn_is_read_without_a_doubt(told):
    """Lengths, ends and joints come back, whatever the elements are."""
    lengths, end, data = told
    one = only(data)
    xy_m, _ = place_on(one, np.array([one.length_m.sum()]), np.zeros(1))

    assert read(data).findings == ()
    assert one.length_m / FT_M == pytest.approx(np.array(lengths), abs=1e-5)
    assert xy_m[0] / FT_M == pytest.approx([end.real, end.imag], abs=1e-5)


def test_the_same_bytes_give_the_same_alignment() -> None:
    """Reading twice changes nothing, and findings keep their order."""
    once, twice = read(SEVERAL), read(SEVERAL)

    assert once.findings == twice.findings
    assert all(
        np.array_equal(one.length_m, other.length_m)
        for one, other in zip(once.alignments, twice.alignments, strict=True)
    )
    assert [one.name for one in once.alignments] == [one.name for one in twice.alignments]
