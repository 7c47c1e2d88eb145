"""Files of geographic systems to geometry in longitude and latitude.

In go bytes of GeoJSON, GeoPackage, FlatGeobuf or a zipped shapefile, out comes a table with
geometry in WGS 84 degrees and what was done about its datum; a file that does not say its
coordinate system is refused.
"""

import io
import re
import warnings
import zipfile
from collections.abc import Sequence
from typing import NamedTuple, NoReturn, TypeVar

import geopandas
import numpy as np
import numpy.typing as npt
import pandas as pd
import pyogrio
import shapely

from routeprep.datums import Datum
from routeprep.errors import LineError, ReadError
from routeprep.grids import lonlat_of
from routeprep.readers.bigjson import Thinned, thinned
from routeprep.readers.nearby import SAMPLE, Near, box_in

__all__ = ["Layers", "read_layers"]

Floats = npt.NDArray[np.float64]
_Frame = TypeVar("_Frame", bound=pd.DataFrame)

# The random name that a file in memory gets, which no message may show.
_MEMORY = re.compile(r"b?'*(?:/vsimem/)?pyogrio_[0-9a-f]+(?:\.\w+)?'*(?: not)?")

# How a GeoPackage and a FlatGeobuf begin; shapefiles in a zip have no index that helps.
_INDEXED = (b"SQLite format 3\0", b"fgb")

# More than this unpacked is no list of covers [bytes]; common practice, no source.
_UNPACKED_MOST = 2_000_000_000


class Layers(NamedTuple):
    """The features of a file.

    Attributes
    ----------
    frame
        Their attributes and geometry, longitude and latitude [deg].
    datum_sd_m
        Standard deviation that the datum of each one's layer adds [m].
    said
        What was done about each datum, one sentence each.
    sample
        The first rows of each layer, wherever they lie.
    left_out
        Features that were not read, since the file's index has them outside the surroundings.
    """

    frame: geopandas.GeoDataFrame
    datum_sd_m: Floats
    said: tuple[str, ...]
    sample: pd.DataFrame
    left_out: int


class _Rows(NamedTuple):
    """The features of a layer, its first rows, and how many features were not read."""

    frame: geopandas.GeoDataFrame
    sample: pd.DataFrame
    left_out: int


def _refuse(name: str, error: Exception) -> NoReturn:
    """Say that a library cannot read a file.

    Raises
    ------
    ReadError
        Always, with the library's own words.
    """
    told = " ".join(_MEMORY.sub("it is not", str(error)).split(";")[0].split())
    msg = f"{name}: cannot be read as a GIS file ({told}); export it again, as GeoJSON for example"
    raise ReadError(msg, file=name, diagnostic=told) from error


def _check_zip(data: bytes, name: str) -> None:
    """Refuse a zip that holds no shapefile, or one that unpacks too large.

    Raises
    ------
    ReadError
        With what the zip holds.
    """
    if not data.startswith(b"PK"):
        return
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
    except zipfile.BadZipFile as error:
        _refuse(name, error)
    size = sum(entry.file_size for entry in entries)
    shapes = [entry.filename for entry in entries if entry.filename.lower().endswith(".shp")]
    if not shapes or size > _UNPACKED_MOST:
        msg = (
            f"{name}: is a zip of {len(entries)} files ({size:,} bytes unpacked) with "
            f"{len(shapes)} .shp among them; zip one shapefile with its .shx, .dbf and .prj"
        )
        raise ReadError(msg, file=name, entries=len(entries))


def _columns(data: bytes, layer: int) -> list[str]:
    return [str(column) for column in pyogrio.read_info(data, layer=layer)["fields"]]


def _first(frame: geopandas.GeoDataFrame) -> pd.DataFrame:
    return pd.DataFrame(frame.drop(columns=frame.geometry.name)).head(SAMPLE)


def _near(data: bytes, layer: int, near: Near | None, datum_operation: str) -> _Rows:
    """The rows of a layer: of a large one with an index, those in the surroundings."""
    box = None
    if near and data.startswith(_INDEXED):
        info = pyogrio.read_info(data, layer=layer, force_feature_count=True)
        if info["features"] > SAMPLE and info["crs"]:
            box = box_in(near, info["crs"], datum_operation=datum_operation)
    if box is None:
        frame = pyogrio.read_dataframe(data, layer=layer)
        return _Rows(frame, _first(frame), 0)
    sample = pyogrio.read_dataframe(data, layer=layer, max_features=SAMPLE, read_geometry=False)
    # An index gives features in an order of its own; equal ones are told apart by the file's.
    frame = pyogrio.read_dataframe(data, layer=layer, bbox=tuple(box), fid_as_index=True)
    frame = frame.sort_index().reset_index(drop=True)
    return _Rows(frame, sample, int(info["features"]) - len(frame))


def _picked(data: bytes, layer: int, *, name: str, where: str) -> _Rows:
    """The rows of a layer that a condition picks.

    Raises
    ------
    ReadError
        If it is no condition on its columns, or picks nothing.
    """
    try:
        frame = pyogrio.read_dataframe(data, layer=layer, where=where)
    except (RuntimeError, ValueError) as error:
        columns = _columns(data, layer)
        msg = (
            f"{name}: where = {where!r} is no condition on its columns {', '.join(columns)}; write "
            "one such as NAME = 'ELM ST'"
        )
        raise ReadError(msg, file=name, where=where, columns=columns) from error
    if frame.empty:
        msg = (
            f"{name}: where = {where!r} picks none of its "
            f"{pyogrio.read_info(data, layer=layer)['features']} features; its columns are "
            f"{', '.join(_columns(data, layer))}"
        )
        raise ReadError(msg, file=name, where=where)
    return _Rows(frame, _first(frame), 0)


def _in_degrees(
    frame: geopandas.GeoDataFrame, *, name: str, datum_operation: str
) -> tuple[geopandas.GeoDataFrame, Datum]:
    """A layer in degrees, and what was done about its datum.

    Raises
    ------
    ReadError
        If its coordinate system is missing or cannot be used.
    """
    if frame.crs is None:
        msg = (
            f"{name}: has no coordinate reference system (a shapefile has it in its .prj); it is "
            "not guessed, so export it again with one"
        )
        raise ReadError(msg, file=name)
    flat = shapely.force_2d(frame.geometry.to_numpy())
    xy = shapely.get_coordinates(flat)
    crs = frame.crs.to_string()
    try:
        lon_deg, lat_deg, datum = lonlat_of(xy, crs, datum_operation=datum_operation)
    except LineError as error:
        msg = f"{name}: {error}"
        raise ReadError(msg, file=name, **error.facts) from error
    # What has no place on the globe is infinitely far off it, so that rings stay closed.
    lonlat_deg = np.nan_to_num(np.column_stack([lon_deg, lat_deg]), nan=np.inf)
    return frame.set_geometry(shapely.set_coordinates(flat, lonlat_deg), crs=4326), datum


def read_layers(
    data: bytes,
    *,
    name: str,
    sorts: Sequence[str] = (),
    where: str = "",
    datum_operation: str = "",
    near: Near | None = None,
) -> Layers:
    """Read the features of a file, geometry in degrees.

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.
    sorts
        Sorts of geometry that are wanted, "Point" or "LineString": of several layers the one
        that has them is read.  Empty: all layers with geometry, one after another.
    where
        A condition in OGR SQL; empty for all features.  What it picks is read wherever it lies.
    datum_operation
        Takes a datum that is not WGS 84 there; see ``datums.datum_of``.
    near
        The surroundings: of a large file with an index, or GeoJSON, what lies outside may be
        left out.

    Raises
    ------
    ReadError
        If it cannot be read, names no coordinate system, has no layer that is wanted or several,
        or the condition is wrong or picks nothing.
    """
    _check_zip(data, name)
    thin = thinned(data, near) if near else Thinned(data, 0)
    with warnings.catch_warnings():
        # What GDAL remarks on names and extensions of a file in memory is not about the file.
        warnings.simplefilter("ignore", RuntimeWarning)
        # Measures of vertices (M) are not read.
        warnings.filterwarnings("ignore", "Measured", UserWarning)
        try:
            layers = _wanted(thin.data, name=name, sorts=sorts)
            rows = [
                _picked(thin.data, layer, name=name, where=where)
                if where
                else _near(thin.data, layer, near, datum_operation)
                for layer in layers
            ]
            parts = [
                _in_degrees(one.frame, name=name, datum_operation=datum_operation) for one in rows
            ]
        except ReadError:
            raise
        except (RuntimeError, ValueError, UnboundLocalError, shapely.errors.ShapelyError) as error:
            # The library has no sentence of its own for a coordinate system that it cannot write.
            _refuse(name, error)
    frames = [frame for frame, _ in parts]
    return Layers(
        _one_table(frames),
        np.concatenate([np.full(len(frame), datum.sd_m) for frame, datum in parts]),
        tuple(dict.fromkeys(datum.said for _, datum in parts if datum.said)),
        _one_table([one.sample for one in rows]),
        thin.left_out + sum(one.left_out for one in rows),
    )


def _one_table(frames: Sequence[_Frame]) -> _Frame:
    return frames[0] if len(frames) == 1 else pd.concat(frames, ignore_index=True)


def _wanted(data: bytes, *, name: str, sorts: Sequence[str]) -> list[int]:
    """Numbers of the layers to read; a GeoJSON file in memory has no name that lasts.

    Raises
    ------
    ReadError
        If none has geometry, or it is not plain which one is meant.
    """
    named = enumerate(pyogrio.list_layers(data).tolist())
    layers = {at: (layer, sort) for at, (layer, sort) in named if sort}
    if not layers:
        msg = f"{name}: has no layer with geometry; export the layer with its geometry"
        raise ReadError(msg, file=name)
    wanted = (*sorts, "Unknown")
    fitting = [at for at, (_, sort) in layers.items() if any(one in sort for one in wanted)]
    if len(layers) == 1 or not sorts:
        return list(layers)
    if len(fitting) == 1:
        return fitting
    told = ", ".join(f"{layer} ({sort})" for layer, sort in layers.values())
    msg = f"{name}: {len(fitting)} of its layers have {sorts[0]} geometry ({told}); keep one"
    raise ReadError(msg, file=name, layers=told)
