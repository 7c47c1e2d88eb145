"""Reading records of 1,000,000 points where a job covers a small part: time and memory.

Each file is read in a process of its own, against the whole file read with geopandas.
"""

import json
import subprocess
import sys
import tempfile
import time
from importlib import resources
from pathlib import Path

import geopandas
import numpy as np
import pyogrio
import shapely
from memory import most_mb

from routeprep.kinds import parse_kinds
from routeprep.readers.nearby import near_of
from routeprep.readers.records import read_records

POINTS = 1_000_000
# A job of about a mile in a county of 50 km by 40 km; all invented.
WEST, SOUTH, SIZE_DEG = -96.0, 41.0, 0.5
ROAD = (np.array([-95.75, -95.74]), np.array([41.25, 41.26]))
SORTS = ("geojson", "gpkg", "fgb")


def write(folder):
    """Write the same features as GeoJSON, GeoPackage and FlatGeobuf."""
    rng = np.random.default_rng(1)
    places = np.array([WEST, SOUTH]) + rng.uniform(0.0, SIZE_DEG, (POINTS, 2))
    frame = geopandas.GeoDataFrame(
        {
            "TYPE": rng.choice(["Sewer manhole", "Water valve", "Catch basin"], POINTS),
            "ASSET_ID": [f"A{number}" for number in range(POINTS)],
            "OWNER": "invented city",
            "DEPTH": rng.uniform(0.0, 9.0, POINTS).round(2),
        },
        geometry=shapely.points(places),
        crs=4326,
    )
    for suffix, driver in zip(SORTS, ("GeoJSON", "GPKG", "FlatGeobuf"), strict=True):
        pyogrio.write_dataframe(frame, Path(folder) / f"big.{suffix}", driver=driver)
    near = near_of([ROAD])
    return int(
        (
            (places[:, 0] >= near.west_deg)
            & (places[:, 0] <= near.east_deg)
            & (places[:, 1] >= near.south_deg)
            & (places[:, 1] <= near.north_deg)
        ).sum()
    )


def alone(path):
    """Read a file in this process: its own processor's seconds, records, memory at most [MB]."""
    kinds = parse_kinds(resources.files("routeprep").joinpath("kinds.toml").read_text("utf-8"))
    data = Path(path).read_bytes()
    begin = time.process_time()
    part = read_records(data, name=Path(path).name, kinds=kinds, near=near_of([ROAD]))
    return {
        "seconds": time.process_time() - begin,
        "records": len(part.records),
        "left_out": part.source.skipped["outside the job's surroundings"],
        "most_mb": most_mb(),
    }


def whole(path):
    """Read all of it with geopandas in this process."""
    begin = time.process_time()
    count = len(geopandas.read_file(path))
    return {"seconds": time.process_time() - begin, "records": count, "most_mb": most_mb()}


def _in_its_own(path, how):
    command = [sys.executable, "-m", "bench.records", how, str(path)]
    top = Path(__file__).parent.parent
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=top)
    return json.loads(done.stdout)


def measured(*, others=False):
    """How many records there are near, and what was found in each file: the best of two runs."""
    with tempfile.TemporaryDirectory() as folder:
        near = write(folder)
        found = {}
        for suffix in SORTS:
            path = Path(folder) / f"big.{suffix}"
            runs = [_in_its_own(path, "ours") for _ in range(2)]
            found[suffix] = min(runs, key=lambda one: one["seconds"])
            if others:
                found[suffix]["whole"] = _in_its_own(path, "whole")
    return near, found


def report():
    """Print times and memory."""
    near, found = measured(others=True)
    print(f"records of {POINTS:,} points, {near:,} of them near the job")
    for suffix, one in found.items():
        theirs = one["whole"]
        print(
            f"  {suffix:8} read_records {one['seconds']:6.2f} s {one['most_mb']:5.0f} MB   "
            f"geopandas, all of it {theirs['seconds']:6.2f} s {theirs['most_mb']:5.0f} MB   "
            f"{theirs['seconds'] / one['seconds']:5.1f} times"
        )


if __name__ == "__main__":
    print(json.dumps({"ours": alone, "whole": whole}[sys.argv[1]](sys.argv[2])))
