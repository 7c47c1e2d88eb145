"""How long the obstruction sheet of a long list takes, a page."""

import io
import time

import pypdf
from sheets.made_packs import leg, pack, thing

from routeprep.sheets import obstruction_sheet

THINGS = 2_000


def long_pack():
    """Two legs with a thing each 10 m; all invented."""
    half = THINGS // 2
    things = [thing(f"{code}-{n}", 10.0 * n) for code in "AB" for n in range(1, half + 1)]
    legs = [leg(code, length_m=10.0 * half + 20.0) for code in "AB"]
    return pack(things, legs=legs, draft=(), withdrawn=())


def report():
    """Print the time a page, after one small sheet has started everything."""
    obstruction_sheet.render(pack())
    made = long_pack()
    begin, busy = time.perf_counter(), time.process_time()
    printed = obstruction_sheet.render(made)
    spent_s, busy_s = time.perf_counter() - begin, time.process_time() - busy
    pages = len(pypdf.PdfReader(io.BytesIO(printed)).pages)
    print(f"obstruction sheet of {THINGS:,} things: {pages} pages, {len(printed) / 1e6:.1f} MB")
    print(f"  time                        {1000 * spent_s / pages:8.1f} ms a page, "
          f"{1000 * busy_s / pages:.1f} ms of one core")  # fmt: skip


if __name__ == "__main__":
    report()
