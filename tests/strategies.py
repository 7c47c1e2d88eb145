"""Roads, points and units for property tests, all invented."""

import math

import numpy as np
from hypothesis import strategies as st

from routeprep.centerline import measured
from routeprep.geodesy import plane_at
from routeprep.lines import Alignment, Centerline
from routeprep.units import STATION_UNITS


def line_from_xy(xy_m, *, lon_deg=-100.87, lat_deg=41.43, elevation_m=0.0):
    """A line from coordinates in a plane centred on a point."""
    lon, lat = plane_at(lon_deg, lat_deg).to_lonlat(np.asarray(xy_m, dtype=np.float64))
    return measured(lon, lat, sd_m=np.zeros(len(lon)), elevation_m=elevation_m, made_from="file")


@st.composite
def winding_xy(draw, *, most=40):
    """Vertices of a road that winds gently and never comes back to itself [m]."""
    count = draw(st.integers(3, most))
    seed = draw(st.integers(0, 2**32 - 1))
    rng = np.random.default_rng(seed)
    step_m = rng.uniform(5.0, 60.0, count)
    turn = rng.normal(0.0, 0.08, count)
    heading = draw(st.floats(0.0, 2 * math.pi)) + np.clip(np.cumsum(turn), -0.7, 0.7)
    steps = np.column_stack([np.cos(heading), np.sin(heading)]) * step_m[:, None]
    return np.vstack([[0.0, 0.0], np.cumsum(steps, axis=0)])


@st.composite
def roads(draw, **kwargs):
    """A centerline somewhere a road can be."""
    xy_m = draw(winding_xy(**kwargs))
    return line_from_xy(
        xy_m,
        lon_deg=draw(st.floats(-179.0, 178.0)),
        lat_deg=draw(st.floats(-70.0, 70.0)),
        elevation_m=draw(st.floats(-50.0, 3000.0)),
    )


station_units = st.sampled_from(sorted(STATION_UNITS)).map(STATION_UNITS.__getitem__)
fractions = st.floats(0.0, 1.0)
offsets_m = st.floats(-6.0, 6.0)


def reversed_line(line: Centerline) -> Centerline:
    """The same road, looked at from the other end."""
    return measured(
        line.lon_deg[::-1],
        line.lat_deg[::-1],
        sd_m=line.sd_m[::-1],
        elevation_m=line.elevation_m,
        made_from=line.made_from,
    )


def alignment_of(
    *elements, east_m=430_000.0, north_m=4_585_000.0, heading_deg=20.0, unit="m", crs="EPSG:26914"
):
    """A designed alignment of (length [m], curvature at start and end [1/m]), end to end."""
    x_m, y_m, headings_deg = [east_m], [north_m], [heading_deg]
    for length_m, start_per_m, end_per_m in elements:
        s_m = np.linspace(0.0, length_m, 20_001)
        turn = s_m * (start_per_m + 0.5 * (end_per_m - start_per_m) / length_m * s_m)
        heading = math.radians(headings_deg[-1]) + turn
        x_m.append(x_m[-1] + np.trapezoid(np.sin(heading), s_m))
        y_m.append(y_m[-1] + np.trapezoid(np.cos(heading), s_m))
        headings_deg.append(math.degrees(heading[-1]))
    lengths_m, starts, ends = np.array(elements, dtype=np.float64).T
    bends = np.flatnonzero(starts != ends).tolist()
    return Alignment(
        name="CL 1",
        what=tuple(
            "spiral" if at in bends else "curve" if start else "line"
            for at, start in enumerate(starts.tolist())
        ),
        x_m=np.array(x_m[:-1]),
        y_m=np.array(y_m[:-1]),
        heading_deg=np.array(headings_deg[:-1]),
        curvature_start_per_m=starts,
        curvature_end_per_m=ends,
        length_m=lengths_m,
        unit=unit,
        crs=crs,
        start_value=0.0,
        equations=(),
        profile=(),
    )
