"""The obstruction sheet, read back from its PDF."""

import io
import os
import re
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
from PIL import Image
from sheets.made_packs import HOSTILE, THINGS, leg, pack, thing
from sheets.surveyed_pack import surveyed_pack

from routeprep import tables
from routeprep.briefing import Briefing
from routeprep.errors import OutputError
from routeprep.shapes import Pack
from routeprep.sheets.back_pages import back_pages
from routeprep.sheets.obstruction_sheet import render

_NUMBER = re.compile(r"^([AB]-\d+[A-Z]?)(?: |$)", re.MULTILINE)


def opened(made: Pack, *, paper: str = "letter") -> pypdf.PdfReader:
    """The sheet of a pack, opened."""
    return pypdf.PdfReader(io.BytesIO(render(made, paper=paper)))


def pages(made: Pack, *, paper: str = "letter") -> list[str]:
    """The text of each page, lines apart."""
    return [page.extract_text() for page in opened(made, paper=paper).pages]


def flat(texts: list[str]) -> str:
    """All text on one line, so that a sentence is found wherever its lines break."""
    return " ".join(" ".join(texts).split())


def list_pages(made: Pack) -> list[str]:
    """The pages of the legs: neither the cover nor the back pages."""
    return [text for text in pages(made) if "looking ahead on stationing" in text]


def alternatives(node: object) -> list[str]:
    """The alternative texts below a node of the structure tree, in reading order."""
    if isinstance(node, pypdf.generic.IndirectObject):
        return alternatives(node.get_object())
    if isinstance(node, list):
        return [text for one in node for text in alternatives(one)]
    if not isinstance(node, dict):
        return []
    own = [str(node["/Alt"])] if "/Alt" in node else []
    return own + alternatives(node.get("/K"))


def test_every_number_stands_once_in_the_list_in_order() -> None:
    """The pages of the legs hold each number once, withdrawn ones in their place."""
    found = [no for text in list_pages(pack()) for no in _NUMBER.findall(text)]

    assert found == ["A-1", "A-2", "A-3", "A-4", "A-5", "A-6", "A-10", "B-1"]


def test_a_long_list_loses_nothing_between_pages() -> None:
    """With many pages a leg, still each number once and in order."""
    things = [thing(f"A-{i}", 5.0 * i, note="n" * (i % 90)) for i in range(1, 121)]
    found = [no for text in list_pages(pack(things, withdrawn=())) for no in _NUMBER.findall(text)]

    assert found == [f"A-{i}" for i in range(1, 121)]


def test_a_note_longer_than_a_page_is_printed_whole() -> None:
    """Nothing that was recorded is lost, however long."""
    words = [f"word{i}" for i in range(1500)]
    text = flat(list_pages(pack([thing("A-1", 5.0, note=" ".join(words))])))

    assert re.findall(r"word\d+", text) == words


def test_a_name_longer_than_a_page_is_printed_whole() -> None:
    """A row that has no remark may be cut by the end of a page too."""
    words = [f"word{i}" for i in range(400)]
    text = flat(list_pages(pack([thing("A-1", 5.0, size=" ".join(words))])))

    assert re.findall(r"word\d+", text) == words


def test_a_hostile_note_prints_as_typed() -> None:
    """What people typed is data: no part of it is run or lost."""
    assert HOSTILE in flat(list_pages(pack()))


def test_hostile_text_everywhere_prints_as_typed() -> None:
    """The names of job, street and zero are data as well."""
    road = leg("A", zero=HOSTILE, name=HOSTILE)
    text = flat(pages(pack([thing("A-1", 5.0)], legs=[road], name=HOSTILE)))

    assert text.count(HOSTILE) >= 3


def test_a_page_never_mixes_legs() -> None:
    """Each page of the list holds numbers of the leg that its head names, and of no other."""
    mixed = [
        (text[0], no)
        for text in list_pages(pack())
        for no in _NUMBER.findall(text)
        if no[0] != text[0]
    ]

    assert mixed == []


def test_every_page_of_a_draft_says_so() -> None:
    """A draft cannot be taken for a sheet to cut by, whichever page is in the hand."""
    texts = pages(pack())

    assert [text for text in texts if "DRAFT, NOT FOR CUTTING" not in text] == []


def test_an_issued_sheet_does_not_say_draft() -> None:
    """Where nothing holds the pack back, the word stands nowhere."""
    assert "DRAFT" not in " ".join(pages(pack(draft=()))).upper()


def test_every_page_says_revision_date_page_and_caution() -> None:
    """A loose page still says what it belongs to."""
    texts = pages(pack())
    said = (
        "REV C",
        "SHIFT STARTING MON 1 JUN 2026",
        "26-0417",
        "No paint: stop, find it, paint it.",
    )
    missing = [
        (i, part)
        for i, text in enumerate(texts, start=1)
        for part in (*said, f"page {i} of {len(texts)}")
        if part not in flat([text])
    ]

    assert missing == []


def test_blank_rows_count_on_from_page_to_page() -> None:
    """Three rows a page of the list for tonight's finds, no number twice."""
    texts = list_pages(pack())
    found = [no for text in texts for no in re.findall(r"^T\d+$", text, re.MULTILINE)]

    assert found == [f"T{i}" for i in range(1, 3 * len(texts) + 1)]


def test_the_head_of_a_leg_says_street_limits_and_cut() -> None:
    """From and to as stations, the zero's name where there is one, the depth of the cut."""
    first, *_, second = list_pages(pack())

    assert "10+00 → 42+80.8 · cut 2 in" in flat([first])
    assert "0+00 → 6+56.2 from Elm St north curb" in flat([second])


def test_the_cover_tells_stops_and_what_is_not_decided() -> None:
    """Decided STOPs with who to call, numbers of what nobody has decided, why it is a draft."""
    cover = flat(pages(pack())[:1])

    assert (
        "A-3 12+00 steel plate 24 in, right, outer wheel path STOP: call the plate's owner" in cover
    )
    assert "NOT DECIDED, so STOP there too: 1 A-2" in cover
    assert "1 of 7 things are not decided" in cover
    assert "EXPECT IRON THAT IS NOT ON THIS LIST" in cover
    assert "sort before issue, may be iron (back pages): 1" in cover


def test_the_cover_is_one_page() -> None:
    """An ordinary job's cover does not run over."""
    assert "looking ahead on stationing" in pages(pack())[1]


def test_back_pages_hold_the_evidence() -> None:
    """What stands behind each row, what was left out and how lengths were measured."""
    text = flat(pages(pack())[3:])
    wanted = [
        "A-10 ±16 ft along, ±13 ft across; -96.091360 41.200000 in a file, not seen; proposed LIFT",
        "decided by J. Doe seen 0 times, vehicle; records: WV-1032",
        "asdf lunch stop left over: lunch CB drives/one.gpx",
        "hydrant 7 far from the road: 210 m from leg A records/covers.geojson",
        "doubt drives/one.gpx the log was cut off.",
        "A 3,281 ft 3,281 ft 1,181 ft along the centerline of a file, 2 vertices",
        "road corridor: 30 m (98.4 ft)",
        "right positive looking up-station",
        "drives/one.gpx drive 01234567 812 fixes 3 no time",
    ]

    assert [one for one in wanted if one not in text] == []


def test_the_cover_says_what_was_poorly_looked_at_and_left_out() -> None:
    """Stretches with why, places to look at with the caution, files set aside by name."""
    cover = flat(pages(surveyed_pack())[:1])

    assert "POORLY LOOKED AT: 2,790 ft of 5,575 ft" in cover
    assert "A 21+50 to 42+40.8, not driven" in cover
    assert "TO LOOK AT: a driver may see less than it takes to stop" in cover
    assert "Sight over crests is not judged" in cover
    assert "SET ASIDE BY NAME, NOT READ drives/bad.gpx" in cover


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_no_cell_of_the_back_pages_is_lost(paper: str) -> None:
    """Every word of every table stands on a page, on either paper."""
    made = surveyed_pack()
    printed = re.sub(r"\s", "", "".join(pages(made, paper=paper)))
    cells = [
        str(cell) for one in back_pages(made, []) for row in one["rows"] for cell in row
    ]  # fmt: skip

    assert len(cells) > 150
    assert [one for one in cells if re.sub(r"\s", "", one) not in printed] == []


def test_lacking_characters_are_boxed_and_listed_on_the_last_page() -> None:
    """A box stands in the row; the last page says which character it was."""
    texts = pages(pack())

    assert "café \N{BALLOT BOX} \N{BALLOT BOX}" in flat(texts[1:2])
    assert "U+5DE5 CJK UNIFIED IDEOGRAPH-5DE5, 1 times" in flat(texts[-1:])
    assert "U+1F6A7 CONSTRUCTION SIGN, 1 times" in flat(texts[-1:])


def test_the_pdf_is_tagged_with_title_and_language() -> None:
    """Programs that read aloud find structure, title, language and PDF/UA's own mark."""
    reader = opened(pack())
    root = reader.root_object

    assert root["/Lang"] == "en"
    assert root["/MarkInfo"] == {"/Marked": True, "/Suspects": False}
    assert root["/StructTreeRoot"]["/Type"] == "/StructTreeRoot"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712 - a PDF's own
    assert reader.metadata is not None
    assert reader.metadata.title == "Obstruction sheet, Invented Mill Job, revision C"
    assert reader.metadata["/CreationDate"].startswith("D:20260601")
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()


def test_pictures_have_alternative_text() -> None:
    """Every row's five boxes are said in words."""
    found = alternatives(opened(pack()).root_object["/StructTreeRoot"])

    assert len(found) == len(THINGS)
    assert found[0] == "Five boxes from curb to line, X in outer wheel path"
    assert found[3] == "Five boxes from curb to line, X in none; striped: not sure"


def test_only_the_named_typeface_is_used() -> None:
    """No font of the machine or of the typesetter comes in."""
    fonts = {
        str(font.get_object()["/BaseFont"]).partition("+")[2]
        for page in opened(pack()).pages
        for font in page["/Resources"]["/Font"].values()
    }

    assert {name.removesuffix("-Identity-H") for name in fonts} == {
        "SourceSansPro-Regular",
        "SourceSansPro-Bold",
    }


def test_no_text_is_under_ten_points() -> None:
    """Everything can be read at arm's length."""
    sizes: list[float] = []

    def visit(text: str, _cm: object, matrix: list[float], _font: object, size_pt: float) -> None:
        if text.strip():
            sizes.append(abs(matrix[0]) * size_pt)

    for made in (pack(), surveyed_pack()):
        for page in opened(made).pages:
            page.extract_text(visitor_text=visit)

    assert min(sizes) >= 10.0


@pytest.mark.parametrize(
    ("paper", "size_pt"),
    [("letter", (612.0, 792.0)), ("a4", (595.28, 841.89)), ("tabloid", (792.0, 1224.0))],
)
def test_paper_has_its_size(paper: str, size_pt: tuple[float, float]) -> None:
    """Portrait on every page."""
    boxes = [page.mediabox for page in opened(pack(), paper=paper).pages]
    sizes = {(round(float(box.width), 2), round(float(box.height), 2)) for box in boxes}

    assert sizes == {size_pt}


def test_another_paper_is_refused() -> None:
    """The message names the paper and those that there are."""
    with pytest.raises(
        OutputError, match=r"paper 'legal' .* use one of \['a4', 'letter', 'tabloid'\]"
    ):
        render(pack(), paper="legal")


def test_an_empty_job_gives_a_sheet() -> None:
    """A leg with nothing on it says so and still has its limits."""
    made = pack([], withdrawn=())

    assert "Leg A, Invented Road A: 0 on this list, 0 STOP, 0 not decided" in flat(pages(made))


def test_the_same_pack_gives_the_same_bytes() -> None:
    """Twice in one process."""
    assert render(pack()) == render(pack())


@pytest.mark.parametrize(("seed", "zone"), [("0", "UTC"), ("4711", "Asia/Tokyo")])
def test_another_process_gives_the_same_bytes(seed: str, zone: str, tmp_path: Path) -> None:
    """Neither hash seed nor time zone nor folder changes the sheet."""
    code = (
        "import sys; from sheets.made_packs import pack; "
        "from routeprep.sheets.obstruction_sheet import render; "
        "sys.stdout.buffer.write(render(pack()))"
    )
    here = Path(__file__).resolve().parent
    paths = os.pathsep.join([str(here.parent), str(here.parent.parent)])
    environment = os.environ | {"PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": paths}
    other = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, cwd=tmp_path, env=environment
    )

    assert other.stdout == render(pack())


def test_two_hundred_rows_take_less_than_two_seconds() -> None:
    """Of the processor's time: a long job's sheet does not keep anybody waiting."""
    made = pack([thing(f"A-{i}", 4.9 * i, note="a note") for i in range(1, 201)])
    started_s = time.process_time()
    render(made)

    assert time.process_time() - started_s < 2.0


def briefed(**changes: object) -> Pack:
    """A pack whose job says what only people know."""
    made = pack()
    briefing = replace(Briefing(), **changes)  # type: ignore[arg-type]
    return replace(made, settings=replace(made.settings, briefing=briefing))


def test_a_night_has_two_dates_on_every_page() -> None:
    """The shift that begins on Monday ends on Tuesday."""
    texts = pages(briefed(night=True))

    assert [text for text in texts if "NIGHT OF MON 1 → TUE 2 JUN 2026" not in text] == []


def test_an_issued_sheet_says_on_every_page_to_whom() -> None:
    """In the place of the draft."""
    texts = pages(replace(briefed(issued_to="night crew, J. Doe"), draft=()))

    assert [text for text in texts if "ISSUED TO night crew, J. Doe" not in flat([text])] == []


def test_a_page_holds_ten_ordinary_rows() -> None:
    """With the draft's head, three blank rows, and rules at each 500 ft."""
    made = pack([thing(f"A-{i}", 20.0 * i) for i in range(1, 51)], withdrawn=())
    first, second, *_ = [len(_NUMBER.findall(text)) for text in list_pages(made)]

    assert second >= 10
    assert first >= 9


def test_the_last_page_of_a_leg_does_not_hold_one_row() -> None:
    """It takes one along from the page before, whatever the number of things is."""
    road = leg("A", length_m=2000.0)
    for count in range(9, 24):
        made = pack([thing(f"A-{i}", 8.0 * i) for i in range(1, count + 1)], legs=[road],
                    withdrawn=())  # fmt: skip
        rows = [len(_NUMBER.findall(text)) for text in list_pages(made)]

        assert sum(rows) == count
        assert rows[-1] > 1


def test_photos_of_stops_are_printed_with_what_they_show() -> None:
    """On the back pages, told in words for who cannot see them; not those of other things."""
    made = photographed(pack())
    reader = opened(made)
    said = [text for text in alternatives(reader.root_object["/StructTreeRoot"]) if "plate" in text]

    assert said == ["A-3 12+00 steel plate 24 in, right, outer wheel path"]
    assert sum(len(page.images) for page in reader.pages) == 1
    assert said[0] in flat(pages(made)[3:])


def photographed(made: Pack) -> Pack:
    """The pack with a photo of the STOP and one of another thing."""
    out = io.BytesIO()
    Image.new("RGB", (64, 48), "gray").save(out, format="JPEG")
    marks = tables.table(
        tables.MARKS,
        [
            {"mark_id": f"mark {no}", "photo": f"../{no}.jpg", "across_frame": "as driven",
             "method": "vehicle", "source": "one.csv"}
            for no in ("A-1", "A-3")
        ],
    )  # fmt: skip
    photos = {f"../{no}.jpg": out.getvalue() for no in ("A-1", "A-3")}
    return replace(made, marks=marks, photos=photos)
