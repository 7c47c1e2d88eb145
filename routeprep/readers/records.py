"""Records: things taken from somebody's file, with what the file says of them.

In go bytes of points, lines or polygons, out comes a ``Part`` with records.  What each column
means is guessed from its name and its values, and the guess is said.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import PurePosixPath
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from routeprep import tables
from routeprep.errors import ReadError
from routeprep.identity import Item, item_ids
from routeprep.kinds import KindTable
from routeprep.readers.csvtext import plain
from routeprep.readers.gis import read_layers
from routeprep.readers.kml import kml_features
from routeprep.readers.parts import counted, make_part, source
from routeprep.readers.sniff import sort_of
from routeprep.readers.vector import read_points
from routeprep.shapes import Finding, Part

__all__ = ["read_records"]

Geometries = npt.NDArray[np.object_]
Flags = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]

# Words in the names of columns that hold a kind, an owner, or the owner's own name of a thing, in
# the order in which they are trusted; common practice of city files, no source.
_KIND = ("kind", "type", "class", "asset", "feature", "description", "name")
_OWNER = ("owner", "agency", "jurisdiction")
_NAME = ("name", "id", "number", "no", "label")

# Numbers that a database gives a row change with each export, and name nothing.
_ROW_IDS = ("objectid", "object_id", "globalid", "global_id", "fid", "ogc_fid", "gid", "street_id")

# Letters of the shortest text in a file's name that can say a kind.
_SHORTEST = 3


class _Guess(NamedTuple):
    """Which columns of a file say what, and what each row is; texts are empty where nothing does.

    Attributes
    ----------
    kind_column, owner_column, name_column
        The columns.
    codes
        The kind of each row.
    from_file
        The kind that the file's own name says, for rows that say nothing themselves.
    """

    kind_column: str
    owner_column: str
    name_column: str
    codes: tuple[str, ...]
    from_file: str


def _texts(frame: pd.DataFrame, column: str) -> list[str]:
    """The values of a column as text, empty where there is none; the number 83.0 is 83."""
    return [_text(value) for value in frame[column].tolist()] if column else [""] * len(frame)


def _text(value: object) -> str:
    if value is None or value != value:  # noqa: PLR0124 - NaN
        return ""
    whole = isinstance(value, float) and value.is_integer()
    return f"{value:.0f}" if whole else " ".join(str(value).split())


def _columns_with(frame: pd.DataFrame, words: Sequence[str]) -> list[str]:
    """Columns whose names have one of the words, by the order of the words."""
    ranked = []
    for place, column in enumerate(map(str, frame.columns)):
        said = plain(column)
        ranks = [rank for rank, word in enumerate(words) if word in said.split("_")]
        if ranks and said not in _ROW_IDS:
            ranked.append((ranks[0], place, column))
    return [column for _, _, column in sorted(ranked)]


def _code_of(text: str, kinds: KindTable) -> str:
    found = kinds.find(text) if text else None
    return found.code if found else kinds.understand(text).kind


def _code_of_file(name: str, kinds: KindTable) -> str:
    """The kind that a file's name says: its longest run of words that is one, the last of equals.

    A single short word is an abbreviation of something else more often than a code ("st").
    """
    words = plain(PurePosixPath(name).stem).split("_")
    singular = [word.removesuffix("s") for word in words]
    runs = [
        (size, start)
        for size in range(len(words), 0, -1)
        for start in range(len(words) - size, -1, -1)
    ]
    for size, start in runs:
        for said in (words, singular):
            text = " ".join(said[start : start + size])
            found = kinds.find(text) if len(text) >= _SHORTEST else None
            if found:
                return found.code
    return ""


def _guess(frame: pd.DataFrame, *, name: str, kinds: KindTable) -> _Guess:
    """Guess what the columns mean: the kind's is the one with most values that are understood."""
    best, best_codes, best_hits = "", [""] * len(frame), 0
    for column in _columns_with(frame, _KIND):
        texts = _texts(frame, column)
        known = {text: _code_of(text, kinds) for text in set(texts)}
        codes = [known[text] for text in texts]
        hits = sum(map(bool, codes))
        if hits > best_hits:
            best, best_codes, best_hits = column, codes, hits
    from_file = _code_of_file(name, kinds)
    silent = [not text for text in _texts(frame, best)]
    owners = _columns_with(frame, _OWNER)
    names = [one for one in _columns_with(frame, _NAME) if one not in (best, *owners)]
    return _Guess(
        kind_column=best,
        owner_column=owners[0] if owners else "",
        name_column=names[0] if names else "",
        codes=tuple(
            code or (from_file if said_nothing else "")
            for code, said_nothing in zip(best_codes, silent, strict=True)
        ),
        from_file=from_file,
    )


def _usable(geometry: Geometries) -> tuple[Flags, Counter[str]]:
    """Which geometries can be used, and counts of those that cannot, by reason."""
    bounds = shapely.bounds(geometry)
    empty = np.isnan(bounds).all(axis=1)
    limits = np.array([180.0, 90.0, 180.0, 90.0])
    off = ~empty & ~(np.abs(bounds) <= limits).all(axis=1)
    invalid = ~empty & ~off & ~shapely.is_valid(geometry)
    skipped = Counter(
        {
            "features without geometry": int(empty.sum()),
            "features off the globe": int(off.sum()),
            "features with invalid geometry": int(invalid.sum()),
        }
    )
    return ~(empty | off | invalid), skipped


def _findings(
    guess: _Guess, kept: Sequence[str], skipped: Mapping[str, int], *, name: str
) -> Iterator[Finding]:
    by_column = [
        f"{what} from column {column!r}"
        for what, column in (
            ("kind", guess.kind_column), ("owner", guess.owner_column), ("name", guess.name_column)
        )
        if column
    ]  # fmt: skip
    if guess.from_file and not guess.kind_column:
        by_column.insert(0, f"kind {guess.from_file} from the file's name")
    told = ", ".join(by_column) or "no column says kind, owner or name"
    yield Finding(level="note", where=name, text=f"guessed from names and values: {told}")
    unknown = sum(not code for code in kept)
    if unknown:
        text = f"the kind of {unknown} of {len(kept)} records is not understood"
        yield Finding(level="doubt", where=name, text=text)
    for reason, count in skipped.items():
        if count:
            yield Finding(level="doubt", where=name, text=f"{count} {reason} left out")


class _Features(NamedTuple):
    """The things of a file: attributes, geometry [deg], and what each one's datum adds [m]."""

    frame: pd.DataFrame
    geometry: Geometries
    datum_sd_m: Floats
    said: tuple[str, ...]


def _features(data: bytes, *, name: str, datum_operation: str) -> _Features:
    sort = sort_of(data, name=name)
    if sort == "kml":
        frame, shapes = kml_features(data, name=name)
        return _Features(frame, shapes, np.zeros(len(shapes)), ())
    if sort != "gis":
        frame, lon_deg, lat_deg, *_ = read_points(data, name=name)
        points = np.array(shapely.points(np.c_[lon_deg, lat_deg]), dtype=object)
        return _Features(frame, points, np.zeros(len(points)), ())
    layers, datum_sd_m, said = read_layers(data, name=name, datum_operation=datum_operation)
    frame = pd.DataFrame(layers.drop(columns=layers.geometry.name))
    return _Features(frame, layers.geometry.to_numpy(), datum_sd_m, said)


def read_records(data: bytes, *, name: str, kinds: KindTable, datum_operation: str = "") -> Part:
    """Read the things of somebody's file: points, lines and polygons.

    Parameters
    ----------
    data
        The file: any that GIS reads, KML, a CSV with longitude and latitude, or waypoints of GPX.
    name
        Its name relative to the job; a name such as "city-hydrants.geojson" says a kind.
    kinds
        To find the kind of each.
    datum_operation
        Takes a GIS file's datum that is not WGS 84 there; see ``datums.datum_of``.

    Raises
    ------
    ReadError
        If nothing in it can be used.
    """
    frame, geometry, datum_sd_m, said = _features(data, name=name, datum_operation=datum_operation)
    usable, skipped = _usable(geometry)
    if not usable.any():
        lost = counted(skipped)
        msg = f"{name}: has no feature that can be used ({lost or 'it is empty'}); export it again"
        raise ReadError(msg, file=name, skipped=dict(skipped))
    guess = _guess(frame, name=name, kinds=kinds)
    rows = np.flatnonzero(usable).tolist()
    codes = [guess.codes[row] for row in rows]
    owners, names = _texts(frame, guess.owner_column), _texts(frame, guess.name_column)
    places = [shapely.point_on_surface(geometry[row]) for row in rows]
    items = [
        Item(None, place.x, place.y, f"{code} {names[row]}")
        for place, code, row in zip(places, codes, rows, strict=True)
    ]
    records = tables.table(
        tables.RECORDS,
        [
            {
                "record_id": record_id,
                "kind": code,
                "owner": owners[row],
                "name": names[row],
                "source": name,
                "datum_sd_m": datum_sd_m[row],
                "geometry": geometry[row],
            }
            for record_id, code, row in zip(item_ids("record", items), codes, rows, strict=True)
        ],
    )
    return make_part(
        source(data, name=name, what="records", taken={"records": len(rows)}, skipped=skipped),
        records=records,
        findings=(
            *(Finding(level="note", where=name, text=text) for text in said),
            *_findings(guess, codes, skipped, name=name),
        ),
    )
