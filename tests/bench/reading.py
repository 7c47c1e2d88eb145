"""Reading a GPX of 1,000,000 points against gpxpy: time, and memory in a process of its own."""

import io
import json
import subprocess
import sys
import tempfile
import time
from importlib import resources
from pathlib import Path

import gpxpy
from memory import most_mb

from routeprep.kinds import parse_kinds
from routeprep.readers.gpx import read_gpx

POINTS = 1_000_000
# gpxpy takes more than half a minute and nearly 2 GB for all of them; it is linear in the points.
SAMPLE = 100_000


def gpx(points):
    """A GPX track of so many points, a second apart; all invented."""
    out = io.StringIO()
    out.write('<?xml version="1.0"?><gpx version="1.1" creator="invented" ')
    out.write('xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>')
    for k in range(points):
        day, second = divmod(k, 86_400)
        stamp = f"2026-05-{day % 28 + 1:02d}T{second // 3600:02d}:{second // 60 % 60:02d}"
        out.write(
            f'<trkpt lat="{41.0 + k * 1e-7:.7f}" lon="{-96.0 - k * 9e-7:.7f}"><ele>{300 + k % 9}'
            f"</ele><time>{stamp}:{second % 60:02d}Z</time></trkpt>"
        )
    out.write("</trkseg></trk></gpx>")
    return out.getvalue().encode()


def alone(path):
    """Read a file in this process: seconds, fixes, and memory [MB] before and at most."""
    kinds = parse_kinds(resources.files("routeprep").joinpath("kinds.toml").read_text("utf-8"))
    data = Path(path).read_bytes()
    before_mb = most_mb()
    begin = time.perf_counter()
    part = read_gpx(data, name="drive.gpx", kinds=kinds)
    took_s = time.perf_counter() - begin
    return {
        "seconds": took_s,
        "fixes": len(part.fixes),
        "before_mb": before_mb,
        "grown_mb": most_mb() - before_mb,
    }


def measured():
    """Our time and memory for all points, and gpxpy's time from a sample: the best of two each."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drive.gpx"
        path.write_bytes(gpx(POINTS))
        runs = [(_alone(path), _gpxpy_s()) for _ in range(2)]
    ours = min((one for one, _ in runs), key=lambda one: one["seconds"])
    return ours | {"gpxpy_s": min(theirs_s for _, theirs_s in runs)}


def _alone(path):
    """What a process of its own found."""
    command = [sys.executable, "-m", "bench.reading", str(path)]
    done = subprocess.run(
        command, capture_output=True, text=True, check=True, cwd=Path(__file__).parent.parent
    )
    return json.loads(done.stdout)


def _gpxpy_s():
    """How long gpxpy takes for all points, from the sample [s]."""
    text = gpx(SAMPLE).decode()
    begin = time.perf_counter()
    gpxpy.parse(text)
    return (time.perf_counter() - begin) * POINTS / SAMPLE


def report():
    """Print the ratio."""
    found = measured()
    print(f"GPX of {POINTS:,} points")
    print(f"  gpxpy                       {found['gpxpy_s']:8.1f} s (from {SAMPLE:,} points)")
    print(
        f"  read_gpx                    {found['seconds']:8.2f} s   "
        f"{found['gpxpy_s'] / found['seconds']:6.1f} times; memory grew by "
        f"{found['grown_mb']:.0f} MB (the file itself is in the {found['before_mb']:.0f} MB before)"
    )


if __name__ == "__main__":
    print(json.dumps(alone(sys.argv[1])))
