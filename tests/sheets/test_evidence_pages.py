"""What the back pages say of the evidence."""

from dataclasses import replace

import pytest
from sheets.made_packs import pack, rows, thing

from routeprep import tables
from routeprep.estimates import FileShift, Lateness, Missed
from routeprep.sheets.evidence_pages import evidence_pages, photos_of_stops, stop_photos


def sections(made):
    """Sections of a pack by title."""
    listed = [row for leg in made.legs for row in rows(made, leg.settings.code)]
    return {one["title"]: one for one in evidence_pages(made, listed)}


def a_rows(made):
    """Rows of the first leg."""
    return rows(made, "A")


def test_every_thing_has_its_evidence():
    """± both ways, coordinates, status, what was proposed and who decided, records."""
    found = sections(pack())["Evidence"]["rows"]

    assert [row[0] for row in found] == ["A-1", "A-2", "A-3", "A-5", "A-6", "A-10", "B-1"]
    assert found[1] == [
        "A-2",
        "±16 ft along, ±13 ft across; -96.099280 41.200000",
        "seen twice or more; proposed GO AROUND; decided nobody yet",
        "seen 2 times, vehicle",
    ]


def test_looks_are_told_where_they_are_known():
    """As the command that explains a row tells them in one line."""
    looks = [
        {"anchor_id": "anchor A-1", "item_id": f"m{k}", "what": "mark", "part": "place",
         "kind": "SMH", "method": "vehicle", "source": "one.gpx", "travel": travel, "along_m": 20.0,
         "along_sd_m": 2.0, "offset_m": 1.0, "offset_sd_m": 1.0, "apart_m": apart_m,
         "why": "gives the place"}
        for k, (travel, apart_m) in enumerate([(1, -3.0), (-1, 3.0)])
    ]  # fmt: skip
    made = replace(pack(), evidence=tables.table(tables.EVIDENCE, looks))

    assert sections(made)["Evidence"]["rows"][0][3] == (
        "2 looks from a vehicle (1 up, 1 down) 10 ft before to 10 ft after"
    )


def test_what_is_in_a_file_and_was_not_seen_is_listed():
    """With the owner's name for it; what was seen is not."""
    assert sections(pack())["In a file, not seen by us"]["rows"] == [
        ("A-10", "33+60", "sewer manhole 24 in", "right, outer wheel path", "WV-1032")
    ]


@pytest.mark.parametrize("more", [{"times_seen": 1}, {"status": "gone (J. Doe, 2026-05-30)"}])
def test_what_was_seen_or_is_gone_is_not_listed_so(more):
    """Nobody has to look for it."""
    one = thing("A-1", 20.0, **({"times_seen": 0, "record_ids": ("r1",)} | more))

    assert sections(pack([one]))["In a file, not seen by us"]["rows"] == []


def test_lateness_shifts_and_what_was_missed_are_told():
    """Each with its ±, and with what it rests on."""
    made = replace(
        pack(),
        lateness=(
            Lateness(person="R. Roe", late_s=0.9, late_sd_s=0.1, lead_m=3.048, lead_sd_m=0.5,
                     late_lead_sm=0.0, tap_sd_s=0.3, things=12, told=True, text="From 12 things."),
        ),
        shifts=(
            FileShift(source="covers.geojson", east_m=-0.9144, north_m=1.524, east_sd_m=0.2,
                      north_sd_m=0.2, east_north_m2=0.0, pairs=20, applied=True, text="20 pairs."),
        ),
        missed=(
            Missed(what="all things", looks=2, seen=40, estimate=44.4, low=41.0, high=52.2,
                   method="Chapman", text="Two looks."),
        ),
    )  # fmt: skip
    found = sections(made)

    assert found["How late people tap"]["rows"][0][0] == "R. Roe"
    assert "0.9 s ±0.2 s" in found["How late people tap"]["rows"][0][1]
    assert found["How files lie"]["rows"] == [
        ("covers.geojson", "3.0 ft west ±2 ft, 5.0 ft north ±2 ft", "moved back", "20 pairs.")
    ]
    assert found["What was probably missed"]["rows"] == [
        ("all things", "2", "40", "44 (41 to 52)", "Two looks.")
    ]


def photographed(**photos):
    """A pack whose marks name photos, by number of the thing."""
    marks = [
        {"mark_id": f"mark {no.replace('_', '-')}", "photo": names, "across_frame": "as driven",
         "method": "vehicle", "source": "one.csv"}
        for no, names in photos.items()
    ]  # fmt: skip
    return replace(pack(), marks=tables.table(tables.MARKS, marks))


def test_photos_are_those_of_decided_stops():
    """All that its marks name, each once; a LIFT has none."""
    made = photographed(A_1="lift.jpg", A_3="one.jpg | two.jpg | one.jpg")

    assert photos_of_stops(made, a_rows(made)) == {"A-3": ("one.jpg", "two.jpg")}


def test_a_stop_without_a_photo_is_left_out():
    """Nothing is printed in its place."""
    assert photos_of_stops(photographed(A_3=""), a_rows(pack())) == {}


def test_two_photos_of_a_stop_are_printed_and_the_rest_counted():
    """Only such as the pack holds."""
    made = photographed(A_3="a.jpg | b.jpg | c.jpg | lost.jpg")
    made = replace(made, photos=dict.fromkeys(("a.jpg", "b.jpg", "c.jpg"), b""))
    text = "A-3 12+00 steel plate 24 in, right, outer wheel path; 1 more in the job's files"

    assert stop_photos(made, a_rows(made)) == [
        {"name": "a.jpg", "text": text},
        {"name": "b.jpg", "text": text},
    ]
    assert stop_photos(replace(made, photos={}), a_rows(made)) == []
