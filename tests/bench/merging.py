"""How long it takes to find the things in many looks, and how many of them are found.

Looks are made as placing hands them on: no files are read.  All of it is invented: things as in
the simulated jobs, 25 m apart on average and as close as 10 ft, seen by seven of ten, one name in
twenty wrong, each person late in a manner of their own that is not known yet.
"""

import resource
import time
from collections import Counter

import numpy as np
from builders import KINDS

from routeprep.matching import Path
from routeprep.merging import Look, group
from routeprep.shapes import Defaults

DRIVES = 500
LEGS = 10
LEG_M = 10_000.0
THINGS_A_LEG = 400
WAY_M = 14_300.0
CODES = tuple(f"L{number:02d}" for number in range(LEGS))
IRON = ("SMH", "DMH", "WV", "GASV", "DI", "CB")


def roads(rng):
    """Along, kind, offset and visibility of the things of each leg."""
    made = []
    for _ in CODES:
        gaps = np.where(
            rng.random(THINGS_A_LEG) < 1 / 8,
            3.048 * (1 + rng.random(THINGS_A_LEG)),
            3.048 + rng.exponential(LEG_M / THINGS_A_LEG, THINGS_A_LEG),
        )
        along = np.cumsum(gaps) * (LEG_M - 10) / gaps.sum()
        kind = rng.integers(len(IRON), size=THINGS_A_LEG)
        offset = rng.choice([-3.66, -2.74, -1.83, -0.91, 0.0, 0.91, 1.83, 2.74, 3.66], THINGS_A_LEG)
        made.append((along, kind, offset, rng.beta(1.4, 0.6, THINGS_A_LEG)))
    return made


def driven(rng, number, things, late_s):
    """Looks of one drive with the number of the thing of each, and its path."""
    looks, seen, path = [], [], []
    travel, speed_mps = int(rng.choice([-1, 1])), float(rng.uniform(7.0, 20.0))
    late_m = late_s * speed_mps
    spread_m = float(np.hypot(2.0, 0.35 * speed_mps))
    all_m = float(np.hypot(spread_m, Defaults().tap_late_sd_s * speed_mps))
    begin_m = rng.uniform(0.0, LEGS * LEG_M - WAY_M)
    drive_id, clock = f"drive {number:03d}", 86400.0 * number
    for leg, code in list(enumerate(CODES))[::travel]:
        low = max(begin_m - leg * LEG_M, 0.0)
        high = min(begin_m + WAY_M - leg * LEG_M, LEG_M)
        if high <= low:
            continue
        ends = (low, high)[::travel]
        at_m = np.arange(ends[0], ends[1], 12.0 * travel)
        path.append((np.full(len(at_m), leg), at_m))
        along, kind, offset, share = things[leg]
        for i in np.flatnonzero(
            (along >= low) & (along <= high) & (rng.random(len(along)) < share)
        ):
            said = kind[i] if rng.random() > 0.05 else rng.integers(len(IRON))
            mine = offset[i] * travel >= 0
            place_m = float(along[i] + travel * late_m + rng.normal(0.0, spread_m))
            side_m = float(offset[i]) if mine else float(np.sign(offset[i])) * 1.83
            seconds = clock + abs(float(along[i]) - ends[0]) / speed_mps
            lane = ("L1", "C", "R1")[int(np.sign(offset[i])) + 1]
            looks.append(
                Look(
                    item_id=f"{number:03d}-{leg}-{i:04d}", is_mark=True, leg=code,
                    kind=IRON[said], seconds=seconds, along_m=place_m, from_m=place_m,
                    to_m=place_m, offset_m=side_m, along_sd_m=all_m,
                    offset_sd_m=0.55 if mine else 1.06, lane=lane,
                    position="between wheel paths" if mine else "", drive_id=drive_id,
                    source=drive_id, travel=travel, person=f"person {number // 2}",
                    speed_mps=speed_mps, late_m=speed_mps, own_sd_m=spread_m,
                    driven_m=abs(place_m - ends[0]), by="", size="", name="", method="vehicle",
                    past_end_m=0.0, doubt="",
                )
            )  # fmt: skip
            seen.append(leg * THINGS_A_LEG + int(i))
        clock += (high - low) / speed_mps
    leg = np.concatenate([one for one, _ in path])
    steps = 12.0 * np.arange(len(leg))
    return looks, seen, Path(
        seconds=86400.0 * number + steps / speed_mps, leg=leg,
        along_m=np.concatenate([one for _, one in path]), driven_m=steps,
    )  # fmt: skip


def pairwise(groups, thing_of):
    """Precision, recall and F1 over pairs of marks."""
    held = [Counter(thing_of[look.item_id] for look in one.looks) for one in groups]

    def pairs(count):
        return count * (count - 1) // 2

    right = sum(pairs(n) for one in held for n in one.values())
    made = sum(pairs(one.total()) for one in held)
    true = sum(pairs(n) for n in Counter(thing_of.values()).values())
    return right / made, right / true, 2 * right / (made + true)


def report():
    """Print time, memory and how well the things were found."""
    rng = np.random.default_rng(5)
    things, looks, thing_of, paths = roads(rng), [], {}, {}
    late_s = rng.normal(0.0, Defaults().tap_late_sd_s, DRIVES)
    for number in range(DRIVES):
        made, seen, path = driven(rng, number, things, late_s[number // 2])
        looks += made
        thing_of |= zip((look.item_id for look in made), seen, strict=True)
        paths[f"drive {number:03d}"] = path
    before_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    begin, busy = time.perf_counter(), time.process_time()
    groups = group(looks, kinds=KINDS, defaults=Defaults(), paths=paths, codes=CODES)
    spent_s, busy_s = time.perf_counter() - begin, time.process_time() - busy
    after_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    precision, recall, score = pairwise(groups, thing_of)
    print(f"grouping, {len(looks):,} marks of {DRIVES} drives on {LEGS * LEG_M / 1000:.0f} km")
    print(f"  time                        {spent_s:8.1f} s, {busy_s:.1f} s of one core")
    print(f"  memory                      {after_mb - before_mb:8.0f} MB above the looks' own "
          f"{before_mb:.0f} MB")  # fmt: skip
    print(f"  things found                {len(groups):8,} of {len(set(thing_of.values())):,} seen")
    print(f"  pairs of marks: precision {precision:.3f}, recall {recall:.3f}, F1 {score:.3f}")


if __name__ == "__main__":
    report()
