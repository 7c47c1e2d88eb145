"""The pages that somebody has looked at: from which packs they are, and where their pictures lie.

To renew them after a change of the sheet, from the folder ``tests``:

    ../.venv/bin/python -m sheets.reviewed

Then look at each picture in ``tests/sheets/pictures`` at its real size, and keep them only if a
careful foreman would hand out the page.
"""

import datetime as dt
import math
from dataclasses import replace
from pathlib import Path
from unittest import mock

import numpy as np
from PIL import Image
from sheets.city_job import city_pack
from sheets.made_packs import THINGS, UNDECIDED, leg, pack, thing
from sheets.pictures import Grey, pictures_of

from routeprep import listing
from routeprep.briefing import Briefing, Phone, Ticket
from routeprep.shapes import Issued, Leg, Pack
from routeprep.sheets import change_slip, drawing, obstruction_sheet, search_list, strip
from routeprep.streets import Landmark
from routeprep.tables import ISSUED, SEARCH, rows_of, table
from routeprep.units import STATION_UNITS

FOLDER = Path(__file__).parent / "pictures"
DPI = 60.0


def _crossed(road: Leg, *places: tuple[str, float, str]) -> Leg:
    marks = tuple(
        Landmark(name=name, along_m=at_m, side=side, source="streets.geojson", credit="")
        for name, at_m, side in places
    )
    return replace(road, landmarks=marks)


BRIEFING = Briefing(
    where="Invented Road A between Elm St and Oak Av, from Elm St by the water tower",
    phones=(
        Phone(who="J. Doe, superintendent", number="555-0100", why="everything"),
        Phone(who="gas, day and night", number="555-0199", why="smell of gas: go, then call"),
    ),
    tickets=(
        Ticket(number="T-1001", expires=dt.date(2026, 6, 15)),
        Ticket(number="T-0007", expires=dt.date(2026, 5, 29)),
        Ticket(number="T-1002", expires=dt.date(2026, 6, 1)),
        Ticket(number="T-1003", expires=None),
    ),
    worst=("A-3", "the corner at Oak Av: trucks cut it"),
    issued_to="night crew",
    night=True,
)


def us_pack() -> Pack:
    """Everything that a list of feet can show; a draft of a second revision for a night."""
    more = (
        thing("A-11", 760.0, across="curb or edge", lane="L1", name="drop inlet", size=""),
        thing("A-12", 764.0, across="inner wheel path", lane="L1", method="wheeled",
              along_sd_m=0.2, name="WATER VALVE", size="8 in"),
        thing("A-13", 800.0, kind="DCH", name="depth or slope change", size="", across="whole road",
              action="SHALLOW UP TO 1 in"),
        thing("A-13A", 850.0, status="lowered 4 in (J. Doe, 2026-05-27)", action="MILL OVER"),
        thing("A-14", 900.0, **UNDECIDED, proposed="LIFT", who="hand-work crew cuts around it"),
    )  # fmt: skip
    road = _crossed(leg("A"), ("Elm St", 0.0, ""), ("2nd St", 395.0, "L"), ("Oak Av", 770.0, ""))
    court = _crossed(leg("B", length_m=200.0, zero="Elm St north curb"), ("Elm St", -8.0, ""))
    made = pack([*THINGS[:6], *more, THINGS[6]], legs=(road, court))
    issued = Issued(revision="B", rows=table(ISSUED, []))
    return replace(made, settings=replace(made.settings, briefing=BRIEFING), issued=issued)


def metric_pack() -> Pack:
    """A list of metres that is issued."""
    road = leg(unit=STATION_UNITS["1000 m"], start_value=12050.0, depth_m=0.04)
    road = _crossed(road, ("Mill Lane", 120.0, "R"))
    things = [
        thing(f"A-{k}", 30.0 + 45.0 * k, size="600 mm", lane=("R1", "L1")[k % 2],
              across=("outer wheel path", "on the line", "curb or edge")[k % 3])
        for k in range(1, 19)
    ]  # fmt: skip
    made = pack(things, legs=(road,), draft=(), units="metric", withdrawn=())
    return replace(made, settings=replace(made.settings, briefing=BRIEFING))


def changed_pack() -> Pack:
    """The same road after an issue: one is decided otherwise, one is new, one is no more."""
    now = us_pack()
    listed = rows_of(listing.rows(now)[[one.name for one in ISSUED]])
    before = [
        listed[0] | {"action": "SKIP"}, listed[1], *listed[3:],
        listed[0] | {"no": "A-40", "anchor_id": "another", "name": "sewer manhole"},
    ]  # fmt: skip
    return replace(now, draft=(), issued=Issued(revision="A", rows=table(ISSUED, before)))


def searched_pack() -> Pack:
    """Two covers that nobody saw and a stretch that was driven once."""
    cover = {
        "leg": "A", "from_m": 120.0, "to_m": 120.0, "along_m": 120.0, "offset_m": 2.7432,
        "offset_sd_m": 2.0, "side": "R", "what": "WATER VALVE", "no": "A-9",
        "why": "in covers.geojson as WV-1; no drive saw it", "owner": "City of Elm (invented)",
        "record_id": "r1", "lon_deg": -96.1, "lat_deg": 41.2,
    }  # fmt: skip
    other = {"from_m": 340.0, "to_m": 340.0, "along_m": 340.0, "side": "L", "offset_m": -1.5,
             "no": "", "what": "sewer manhole", "why": "510 ft since the last on this run",
             "owner": ""}  # fmt: skip
    stretch = {"to_m": 300.0, "offset_m": math.nan, "offset_sd_m": math.nan, "side": "",
               "what": "all of this stretch", "why": "driven once", "owner": "", "no": "",
               "record_id": ""}  # fmt: skip
    return replace(us_pack(), search=table(SEARCH, [cover, cover | stretch, cover | other]))


# Name of the picture to pack, what draws it, paper and page, the first 0.
PAGES = {
    "cover": (us_pack, obstruction_sheet.render, "letter", 0),
    "list": (us_pack, obstruction_sheet.render, "letter", 1),
    "list-of-a-zero": (us_pack, obstruction_sheet.render, "letter", 3),
    "evidence": (us_pack, obstruction_sheet.render, "letter", 4),
    "metric-list-a4": (metric_pack, obstruction_sheet.render, "a4", 1),
    "strip": (city_pack, strip.render, "tabloid", 0),
    "slip": (changed_pack, change_slip.render, "letter", 0),
    "search": (searched_pack, search_list.render, "letter", 0),
}


def drawn(name: str) -> Grey:
    """One of the pages as it is drawn now; the seal is left out, since all data change it."""
    made, draw, paper, page = PAGES[name]
    with mock.patch.object(drawing, "seal", return_value="000000"):
        return pictures_of(lambda: draw(made(), paper=paper), dpi=DPI)[page]


def kept(name: str) -> Grey:
    """The same page as it was when somebody looked at it."""
    return np.asarray(Image.open(FOLDER / f"{name}.png").convert("L")) / 255.0


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for one in PAGES:
        picture = Image.fromarray(np.round(drawn(one) * 255.0).astype(np.uint8))
        picture.quantize(16).save(FOLDER / f"{one}.png", optimize=True)
