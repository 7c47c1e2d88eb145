"""The pack as layers of one GeoPackage, for map programs.

In go a ``Pack`` and a path, out comes the file: obstructions, centerlines, fixes, marks and
records.  It is stamped with the job's date, so that the same job gives the same bytes.
"""

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import geopandas
import numpy as np
import pandas as pd
import pyogrio
import pyogrio.errors
import shapely

from routeprep.errors import OutputError
from routeprep.exports.cells import DECIMALS, exported
from routeprep.exports.plan import pass_columns, ring_of
from routeprep.shapes import Leg, Pack
from routeprep.stationing import label
from routeprep.tables import FIXES, LOCATED, MARKS, RECORDS

__all__ = ["write_gpkg"]

# GDAL writes this moment instead of the clock's (GDAL configuration options, OGR_CURRENT_DATE).
_STAMP = "OGR_CURRENT_DATE"


@contextmanager
def _stamped(date: dt.date) -> Iterator[None]:
    before = pyogrio.get_gdal_config_option(_STAMP)
    pyogrio.set_gdal_config_options({_STAMP: f"{date.isoformat()}T00:00:00.000Z"})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({_STAMP: before})


def _unknown(frame: pd.DataFrame) -> pd.DataFrame:
    """The table with null for every text that is not known."""
    texts = [name for name in frame.columns if isinstance(frame[name].dtype, pd.StringDtype)]
    return frame.assign(**{name: frame[name].mask(frame[name] == "") for name in texts})


def _points(frame: pd.DataFrame) -> geopandas.GeoDataFrame:
    lon_deg = frame["lon_deg"].to_numpy(dtype=np.float64)
    lat_deg = frame["lat_deg"].to_numpy(dtype=np.float64)
    known = np.isfinite(lon_deg) & np.isfinite(lat_deg)
    places = np.full(len(frame), None, dtype=object)
    places[known] = shapely.points(lon_deg[known], lat_deg[known])
    return geopandas.GeoDataFrame(_unknown(frame), geometry=places, crs="EPSG:4326")


def _obstructions(pack: Pack) -> geopandas.GeoDataFrame:
    return _points(exported(pack).round(DECIMALS))


def _centerline(leg: Leg) -> dict[str, object]:
    line = leg.line
    return {
        "leg": leg.settings.code,
        "name": leg.settings.name,
        "made_from": line.made_from,
        "length_m": line.length_m,
        "elevation_m": line.elevation_m,
        "start_station": label(leg.stationing, 0.0),
        "end_station": label(leg.stationing, line.length_m),
        "cut_from_m": leg.from_m,
        "cut_to_m": leg.to_m,
        "geometry": shapely.linestrings(line.lon_deg, line.lat_deg),
    }


def _records(pack: Pack) -> geopandas.GeoDataFrame:
    columns = [column.name for column in (*RECORDS, *LOCATED)]
    records = _unknown(pack.records[columns])
    return geopandas.GeoDataFrame(records, geometry="geometry", crs="EPSG:4326")


def _passes(pack: Pack) -> geopandas.GeoDataFrame:
    """The ground under each pass."""
    legs = {leg.settings.code: leg for leg in pack.legs}
    rows = [
        pass_columns(one, legs[one.leg])
        | {"geometry": shapely.Polygon(ring_of(one, legs[one.leg]))}
        for one in pack.plan.passes
    ]
    return geopandas.GeoDataFrame(rows, geometry="geometry", crs="EPSG:4326")


def _layers(pack: Pack) -> Iterator[tuple[str, str, geopandas.GeoDataFrame]]:
    lines = geopandas.GeoDataFrame([_centerline(leg) for leg in pack.legs], crs="EPSG:4326")
    marks = pack.marks[[column.name for column in (*MARKS, *LOCATED)]]
    yield "obstructions", "Point", _obstructions(pack)
    yield "centerlines", "LineString", lines
    yield "fixes", "Point", _points(pack.fixes[[column.name for column in FIXES]])
    yield "marks", "Point", _points(marks)
    yield "records", "Unknown", _records(pack)
    if pack.plan.passes:
        yield "passes", "Polygon", _passes(pack)


def _whole_texts(frame: geopandas.GeoDataFrame) -> geopandas.GeoDataFrame:
    """The frame with a sign in the place of NUL, at which a text of this format would end."""
    texts = frame.drop(columns="geometry").select_dtypes(["object", "str"])
    for name, values in texts.items():
        if any(isinstance(one, str) and "\0" in one for one in values):
            whole = [one.replace("\0", "\ufffd") if isinstance(one, str) else one for one in values]
            frame = frame.assign(**{str(name): whole})
    return frame


def write_gpkg(pack: Pack, path: Path) -> None:
    """Write ``obstructions.gpkg``: layers in longitude and latitude, WGS 84.

    The layer of obstructions has the columns of ``obstructions.csv``; fixes, marks and records
    keep all their columns; passes are a layer where there are some.  What has no place keeps its
    row, without a geometry.

    Parameters
    ----------
    pack
        What to write.
    path
        Where; nothing may be there yet.

    Raises
    ------
    OutputError
        If something is there already, or the file cannot be written.
    """
    if path.exists():
        msg = f"{path} is there already; a GeoPackage is written fresh: remove it or name another"
        raise OutputError(msg, file=str(path))
    try:
        with _stamped(pack.settings.date):
            for name, shape, frame in _layers(pack):
                whole = _whole_texts(frame)
                pyogrio.write_dataframe(whole, path, layer=name, driver="GPKG", geometry_type=shape)
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
        msg = f"{path} cannot be written: {error}; see that its folder exists and has room"
        raise OutputError(msg, file=str(path)) from error
