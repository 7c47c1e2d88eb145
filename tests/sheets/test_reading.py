"""The sheet read aloud: what its tags say, in their order, and that all outputs say the same."""

import csv
import io
import json
import re
from collections import Counter
from collections.abc import Callable

import pytest
from sheets.city_job import city_pack, metric_pack
from sheets.made_packs import THINGS, pack, thing
from sheets.reading import Read, lines_read, rows_read
from sheets.reviewed import us_pack
from sheets.tag_tree import tag_tree

from routeprep import exports, listing
from routeprep.maps import page
from routeprep.shapes import Pack
from routeprep.sheets.obstruction_sheet import render

PACKS = {"made": us_pack, "city": city_pack, "metric": metric_pack}


def plain(text: object) -> str:
    """A text as it is read: blanks as single spaces."""
    return " ".join(str(text).split())


@pytest.fixture(scope="module", params=PACKS)
def read(request: pytest.FixtureRequest) -> tuple[Pack, list[Read], list[str]]:
    """A pack, the rows that are read of its sheet, and every line of its list."""
    made = PACKS[request.param]()
    pdf = render(made)
    return made, rows_read(pdf), lines_read(pdf)


def test_every_thing_is_read_once_in_its_order(read: tuple[Pack, list[Read], list[str]]) -> None:
    """Leg by leg, in station order, as the list has it."""
    made, found, _ = read

    assert [one.no for one in found] == listing.rows(made)["no"].tolist()


def test_a_row_is_read_as_number_station_what_where_and_what_to_do(
    read: tuple[Pack, list[Read], list[str]],
) -> None:
    """The words of the list, each in its own cell."""
    made, found, _ = read
    for one, row in zip(found, listing.rows(made).to_dict("records"), strict=True):
        assert one.station.startswith(plain(row["station_text"]))
        assert plain(row["landmark_text"]) in one.station
        assert plain(row["zero_text"]) in one.station
        assert one.what.startswith(plain(row["what_text"]).replace("\N{BALLOT BOX}", ""))
        assert one.where.endswith(plain(row["where_text"]))
        assert one.do.startswith(plain(row["do_text"]).upper())
        assert (one.doubt == "?") == bool(row["doubt"])


def test_a_page_never_mixes_legs(read: tuple[Pack, list[Read], list[str]]) -> None:
    """Each page holds numbers of one leg."""
    _, found, _ = read
    legs: dict[int, set[str]] = {}
    for one in found:
        legs.setdefault(one.page, set()).add(one.no.partition("-")[0])

    assert {len(codes) for codes in legs.values()} == {1}


def test_stations_are_read_upward(read: tuple[Pack, list[Read], list[str]]) -> None:
    """The list looks ahead on stationing, whichever way its line was given."""
    _, found, _ = read
    values: dict[str, list[float]] = {}
    for one in found:
        code = one.no.partition("-")[0]
        values.setdefault(code, []).append(float(one.station.split()[0].replace("+", "")))

    assert all(one == sorted(one) for one in values.values())


def test_the_street_that_was_given_from_its_far_end_is_right_way_round() -> None:
    """Covers stand every 17 m from 10 m north of the curb: 32.8 ft, then 55.8 ft more each."""
    found = [one for one in rows_read(render(city_pack())) if one.no.startswith("A-")]
    stations = [float(one.station.split()[0].replace("+", "")) for one in found]
    expected_ft = [(10.0 + 17.0 * k) / 0.3048 for k in range(17)]

    assert stations == pytest.approx(expected_ft, abs=2.51)


def test_landmarks_are_read_between_the_things_that_they_part() -> None:
    """1st St at 95 m, between the covers at 78 and 95 m and that at 112 m."""
    lines = lines_read(render(city_pack()))
    (at,) = [k for k, line in enumerate(lines) if line.endswith("1st St") and "A-" not in line]
    before = [line for line in lines[:at] if line.startswith("A-")]
    after = [line for line in lines[at:] if line.startswith("A-")]

    assert before[-1].startswith("A-6 ")
    assert after[0].startswith("A-7 ")
    assert "55 ft past 1st St" in after[0]


def _on_the_map(made: Pack) -> list[str]:
    """Numbers of the things in the map's own data, in its order."""
    data = re.findall(
        r'<script[^>]*"application/json"[^>]*>(.*?)</script>', page.render(made), re.DOTALL
    )
    (things,) = [json.loads(one)["things"] for one in data if '"things"' in one]
    return [row[things["names"].index("no")] for row in things["rows"]]


@pytest.mark.parametrize("made", [city_pack, metric_pack])
def test_counts_agree_across_sheet_map_table_and_report(made: Callable[[], Pack]) -> None:
    """Every number of the list stands once in each output, and the report counts them."""
    numbers = [one.no for one in rows_read(render(made()))]
    table = csv.DictReader(io.StringIO(exports.csv_text(made())))
    features = json.loads(exports.geojson_text(made()))["features"]
    counts = json.loads(exports.report_text(made()))["counts"]["obstructions"]

    assert [row["no"] for row in table] == numbers
    assert [no for no in (one["properties"].get("no") for one in features) if no] == numbers
    assert _on_the_map(made()) == numbers
    assert counts["all"] == len(numbers)
    assert counts["by_leg"] == dict(Counter(no.partition("-")[0] for no in numbers))


def test_the_cover_counts_what_the_list_holds() -> None:
    """Things, STOPs and what is not decided, leg by leg."""
    tables = tag_tree(render(us_pack())).all("Table")
    rows = [[cell.read() for cell in row.inside] for row in next(tables).all("TR")]

    assert [row[5:] for row in rows[1:]] == [["11", "1", "2"], ["1", "0", "0"]]


def test_each_table_has_a_head_that_is_read_as_one() -> None:
    """A program that reads aloud can say which column a cell is in."""
    heads = [
        [cell.read() for cell in table.all("TH")] for table in tag_tree(render(pack())).all("Table")
    ]

    assert all(heads)
    assert heads.count(["", "No.", "STATION", "WHAT", "WHERE", "DO THIS", "?"]) >= 2


def test_headings_are_read_in_order() -> None:
    """The sheet, its legs, its back pages; below them what stands under each."""
    tree = tag_tree(render(pack()))
    found = [one.read() for one in tree.all("H1")]

    assert found == [
        "Obstruction sheet: what is in the road",
        "Leg A, Invented Road A: 6 on this list, 1 STOP, 1 not decided",
        "Leg B, Invented Road B: 1 on this list, 0 STOP, 0 not decided",
        "Back pages: the evidence",
    ]


def test_a_number_that_was_withdrawn_is_read_with_why() -> None:
    """In its place."""
    lines = lines_read(render(pack()))
    (at,) = [k for k, line in enumerate(lines) if line.startswith("A-4")]

    assert lines[at] == "A-4 joined with A-3"
    assert [lines[at - k].split()[0] for k in (-1,)] == ["A-5"]


def test_a_letter_that_a_column_breaks_is_read_whole() -> None:
    """Words that are too long for a column come out as they were typed."""
    name = "x" * 60
    (one,) = rows_read(render(pack([thing("A-1", 5.0, size=name)], withdrawn=())))

    assert one.what.replace(" ", "") == f"sewermanhole{name}"


def test_two_hundred_metric_things_are_all_there() -> None:
    """One every 24.7 m, with the way to the next."""
    found = rows_read(render(metric_pack(), paper="a4"))

    assert len(found) == 200
    assert {one.ahead for one in found[:-1]} <= {"24 m", "25 m"}
    assert len(THINGS) < len(found)
