"""Stopping sight distance, and the grades that change it.

In go a speed and a grade, or elevations along a line; out come the distance a driver needs to see
and stop, and grades with their ±.  A phone's elevations give no grade.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pandas as pd

from routeprep.errors import JobError
from routeprep.lines import Centerline
from routeprep.roadform import Grade
from routeprep.shapes import Finding
from routeprep.units import MPH_MPS, to_m

__all__ = ["grades_of", "needed_m", "ssd_m"]

# Stopping sight distance: time to react [s] and braking [ft/s2], [m/s2] (AASHTO, A Policy on
# Geometric Design of Highways and Streets, 7th ed. 2018, 3.2.2, equations 3-2 and 3-3).
_REACT_S = 2.5
_BRAKE_FT_S2 = 11.2
_BRAKE_M_S2 = 3.4
# Designed distances are rounded up to a multiple of this, feet or metres (its tables 3-1, 3-2).
_ROUND = 5

# An elevation that was typed in is good to 0.1 ft [m]; common practice, no source.
_TYPED_SD_M = to_m(0.1, "ft")
# A steeper road is a slip in its elevations; common practice, no source.
_STEEPEST_SHARE = 0.30
# Grades nearer to each other than this are one where a profile was sampled.
_SAME_GRADE_SHARE = 1e-4


def ssd_m(speed_mps: float, *, grade_share: float = 0.0, family: str = "ft") -> float:
    """Stopping sight distance [m], before it is rounded up.

    US: 1.47 V t + 1.075 V^2 / a on the level, 1.47 V t + V^2 / (30 (a / 32.2 + G)) on a grade, V
    in mph, feet.  Metric: 0.278 V t + 0.039 V^2 / a, 0.278 V t + V^2 / (254 (a / 9.81 + G)), V in
    km/h, metres (AASHTO 2018, equations 3-2 and 3-3).

    Parameters
    ----------
    speed_mps
        Speed [m/s].
    grade_share
        Up positive in the direction of travel [rise over length].
    family
        Whose formula: "ft" or "m"; they differ by a rounding of their constants.

    Raises
    ------
    JobError
        If the grade is so steep that brakes do not hold.

    Examples
    --------
    >>> round(ssd_m(45 * 0.44704) / 0.3048, 1)
    359.7
    """
    us = family == "ft"
    brake = _BRAKE_FT_S2 / 32.2 if us else _BRAKE_M_S2 / 9.81
    if not brake + grade_share > 0:
        msg = (
            f"a grade of {grade_share:.1%} is steeper than brakes hold, {-brake:.1%}: mend the "
            "elevations"
        )
        raise JobError(msg, grade_share=grade_share)
    speed = speed_mps / float(MPH_MPS) if us else speed_mps * 3.6
    if us:
        level, steep = 1.075 * speed**2 / _BRAKE_FT_S2, speed**2 / (30 * (brake + grade_share))
        return to_m(1.47 * speed * _REACT_S + (steep if grade_share else level), "ft")
    level, steep = 0.039 * speed**2 / _BRAKE_M_S2, speed**2 / (254 * (brake + grade_share))
    return 0.278 * speed * _REACT_S + (steep if grade_share else level)


def needed_m(speed_mps: float, *, grade_share: float = 0.0, family: str = "ft") -> float:
    """Stopping sight distance rounded up to 5 ft or 5 m, as tables print it [m].

    Parameters
    ----------
    speed_mps
        Speed [m/s].
    grade_share
        Up positive in the direction of travel [rise over length].
    family
        Whose tables: "ft" or "m".

    Examples
    --------
    >>> round(needed_m(45 * 0.44704, grade_share=-0.06) / 0.3048, 6)
    400.0
    """
    size = ssd_m(speed_mps, grade_share=grade_share, family=family) / to_m(1.0, family)
    return to_m(float(_ROUND * math.ceil(size / _ROUND)), family)


def grades_of(
    line: Centerline, typed: Sequence[tuple[float, float]], fixes: pd.DataFrame, *, leg: str
) -> tuple[tuple[Grade, ...], tuple[Finding, ...]]:
    """Grades between known elevations, in order along; a phone's elevations give none.

    Parameters
    ----------
    line
        The line; a designed alignment may have a profile.
    typed
        Elevations that were typed in: along [m] and elevation [m]; they outrank the profile.
    fixes
        Cleaned fixes, to say what was not used.
    leg
        The leg's code.

    Raises
    ------
    JobError
        If two elevations were typed for one place.
    """
    where = f"leg {leg}"
    points = sorted(typed) or list(line.alignment.profile if line.alignment else ())
    for (one_m, one), (two_m, two) in pairwise(points):
        if two_m <= one_m:
            msg = (
                f"{where}: elevations {one:g} m and {two:g} m are both given for {one_m:,.2f} m "
                "along; give one for each place"
            )
            raise JobError(msg, leg=leg, along_m=one_m)
    sd_m = _TYPED_SD_M if typed else 0.0
    grades = [_between(one, two, sd_m) for one, two in pairwise(points)]
    steep = [grade for grade in grades if abs(grade.grade_share) > _STEEPEST_SHARE]
    said = [
        Finding(
            level="doubt",
            where=where,
            text=f"elevations from {grade.from_m:,.1f} m to {grade.to_m:,.1f} m along make a grade "
            f"of {grade.grade_share:.0%}: not used, mend them",
        )
        for grade in steep
    ]
    heights = int(np.isfinite(fixes["ele_m"].to_numpy()).sum())
    if not grades and heights:
        text = (
            f"no grades: {heights:,} fixes have elevations, but a phone's are not good enough for "
            "one; type elevations of the road"
        )
        said.append(Finding(level="note", where=where, text=text))
    return tuple(_alike([grade for grade in grades if grade not in steep])), tuple(said)


def _between(one: tuple[float, float], two: tuple[float, float], sd_m: float) -> Grade:
    size_m = two[0] - one[0]
    return Grade(
        from_m=one[0],
        to_m=two[0],
        grade_share=(two[1] - one[1]) / size_m,
        grade_sd_share=math.sqrt(2.0) * sd_m / size_m,
    )


def _alike(grades: Sequence[Grade]) -> list[Grade]:
    """Sampled stretches of one grade made one; those with a ± stay as they were typed."""
    kept: list[Grade] = []
    for grade in grades:
        last = kept[-1] if kept else grade
        same = abs(grade.grade_share - last.grade_share) < _SAME_GRADE_SHARE
        if kept and same and not grade.grade_sd_share and last.to_m == grade.from_m:
            kept[-1] = Grade(from_m=last.from_m, to_m=grade.to_m, grade_share=last.grade_share)
        else:
            kept.append(grade)
    return kept
