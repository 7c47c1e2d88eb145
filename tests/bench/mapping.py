"""The map of 2,000 things: its size, how long it takes to make, and to first paint.

Everything in it is invented.  First paint and the moment when map and list are drawn are what the
browser itself measures, from a file, with the network cut.
"""

import shutil
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from maps.example_pack import leg, pack_of, thing
from playwright.sync_api import sync_playwright

from routeprep import tables
from routeprep.maps import render
from routeprep.streets import Landmark

THINGS = 2_000
LEGS = "ABCDE"
PHONE, DESK = (390, 844), (1366, 768)
CODES = ("SMH", "WV", "GV", "MON", "HUMP", "LIP", "WIRE", "TIE", "SCH")
WHO = "hand-work crew cuts around it; keep millings out"
DECIDED = "R. Sample (invented), 2026-05-19"
# As the browser tells them: the first paint, and our own mark when map and list are drawn [ms].
PAINTED = """() => [
    performance.getEntriesByName("first-contentful-paint")[0].startTime,
    performance.getEntriesByName("drawn")[0].startTime,
]"""


def roads():
    """Five winding streets of about 4 km side by side, with a cross street every 150 m."""
    at = np.linspace(0.0, 1.0, 800)
    made = []
    for row, code in enumerate(LEGS):
        lat_deg = 41.2 + 0.004 * row + 0.0015 * np.sin(12.0 * at + row)
        one = leg(code, f"Invented Street {code}", (-96.1 + 0.045 * at).tolist(), lat_deg.tolist())
        crossed = tuple(
            Landmark(name=f"{number} St", along_m=150.0 * number, side="", source="streets.osm")
            for number in range(1, int(one.line.length_m / 150.0))
        )
        made.append(replace(one, landmarks=crossed))
    return tuple(made)


def sort_of(number):
    """What differs from thing to thing: who decided what, what is doubted, what was noted."""
    sorts = (
        {"who": WHO},
        {"who": WHO, "decided_by": DECIDED},
        {"who": "call the owner first", "decided_by": DECIDED, "action": "STOP"},
        {"status": "in a file, not seen", "method": "file", "times_seen": 0, "mark_ids": (),
         "record_ids": (f"r-{number}",)},
        {"doubt": "near tie; lane not sure", "lane": "", "across": "", "note": "cars parked"},
        {"decided_by": DECIDED, "action": "GO AROUND", "size": "26 in",
         "note": "cover rocks under the wheel, frame is cracked on the curb side"},
    )  # fmt: skip
    return sorts[number % len(sorts)]


def busy_pack():
    """A job of 2,000 things on five streets, each driven twice."""
    legs = roads()
    each = THINGS // len(legs)
    things = [
        thing(one, f"{one.settings.code}-{i + 1}", CODES[i % len(CODES)], along_m, **sort_of(i))
        for one in legs
        for i, along_m in enumerate(np.linspace(40.0, one.line.length_m - 40.0, each))
    ]
    rng = np.random.default_rng(1)
    fixes = [
        {"drive_id": f"d-{one.settings.code}-{run}", "piece": 0,
         "lon_deg": float(lon_deg), "lat_deg": float(lat_deg)}
        for one in legs
        for run in range(2)
        for lon_deg, lat_deg in zip(
            one.line.lon_deg + rng.normal(0.0, 2e-5, len(one.line.lon_deg)),
            one.line.lat_deg + rng.normal(0.0, 2e-5, len(one.line.lat_deg)),
            strict=True,
        )
    ]  # fmt: skip
    return pack_of(legs, things, fixes=tables.table(tables.FIXES, fixes), draft=("invented",))


def painted_ms(browser, file, size, times=3):
    """First paint and drawn [ms], the best of a few loads each in a new context."""
    best = np.full(2, np.inf)
    for _ in range(times):
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]}, offline=True, has_touch=size == PHONE
        )
        page = context.new_page()
        page.goto(file.as_uri())
        page.wait_for_function('performance.getEntriesByName("first-contentful-paint").length')
        best = np.minimum(best, page.evaluate(PAINTED))
        context.close()
    return best


def measured(browser):
    """Bytes, seconds to make, and first paint and drawn [ms] at both sizes."""
    pack = busy_pack()
    begin = time.perf_counter()
    text = render(pack)
    made_s = time.perf_counter() - begin
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "map.html"
        file.write_text(text, encoding="utf-8")
        painted = {size: painted_ms(browser, file, size) for size in (PHONE, DESK)}
    return {"bytes": len(text.encode()), "made_s": made_s, "painted_ms": painted}


def report():
    """Print the figures; a browser is needed, and said where there is none."""
    chromium = shutil.which("chromium")
    if chromium is None:
        print(f"map of {THINGS:,} things: not measured, no program named chromium on the PATH")
        return
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        found = measured(browser)
        browser.close()
    print(f"map, {THINGS:,} things")
    print(f"  size                        {found['bytes'] / 1e6:8.2f} MB (1.5 allowed)")
    print(f"  making it                   {found['made_s']:8.2f} s")
    for (width, height), (paint_ms, drawn_ms) in found["painted_ms"].items():
        print(
            f"  first paint {width:4} x {height:<4}     {paint_ms / 1000:8.2f} s, "
            f"map and list drawn {drawn_ms / 1000:.2f} s (1 s allowed)"
        )


if __name__ == "__main__":
    report()
