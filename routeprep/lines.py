"""Lines and their stationing as they travel between rooms: pieces, alignments, centerlines.

They are made once, checked when made, and never changed.  Those that hold arrays compare by
identity.
"""

import itertools
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routeprep.errors import LineError
from routeprep.units import StationUnit

__all__ = [
    "Alignment",
    "Centerline",
    "LinePiece",
    "StationEquation",
    "Stationing",
    "Tie",
]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LinePiece:
    """One piece of line as its file has it.

    Attributes
    ----------
    lon_deg, lat_deg
        Vertices in their order [deg].
    name
        What the file calls it; may be empty.
    source
        The file's name.
    datum_sd_m, datum_said
        Standard deviation that the file's datum adds [m], and what was done about it; 0 and
        empty for WGS 84.
    """

    lon_deg: Floats
    lat_deg: Floats
    name: str
    source: str
    datum_sd_m: float = 0.0
    datum_said: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StationEquation:
    """Where the stations jump: back is reckoned running up to the place, ahead starts there.

    Ahead greater than back is a gap (labels that do not exist), ahead less than back an overlap
    (labels that exist twice).  Both in the leg's station unit.
    """

    back_value: float
    ahead_value: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alignment:
    """A designed alignment: elements end to end, in its file's own plane, in metres.

    Attributes
    ----------
    name
        What the file calls it.
    what
        For each element "line", "curve" or "spiral".
    x_m, y_m
        Where each element starts, east and north in the file's plane [m].
    heading_deg
        Direction there, clockwise from the plane's north [deg].
    curvature_start_per_m, curvature_end_per_m
        Curvature at the element's two ends [1/m], right positive; between them it changes
        evenly with the distance along (a clothoid), 0 for a line.
    length_m
        Length of each element in the plane [m].
    unit
        The file's unit of length: "m", "ft" or "ftUS".
    crs
        Coordinate system as the file names it, empty when it does not.
    start_value
        Station at its beginning [the file's unit].
    equations
        In order along it [the file's unit].
    profile
        Elevations along it where the file has them: along [m] and elevation [m], in order.
    """

    name: str
    what: tuple[str, ...]
    x_m: Floats
    y_m: Floats
    heading_deg: Floats
    curvature_start_per_m: Floats
    curvature_end_per_m: Floats
    length_m: Floats
    unit: str
    crs: str
    start_value: float
    equations: tuple[StationEquation, ...]
    profile: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        """Refuse an alignment without elements, or with one of no length or not finite.

        Raises
        ------
        LineError
            Naming the alignment and the first element that cannot be.
        """
        arrays = (
            self.x_m, self.y_m, self.heading_deg, self.curvature_start_per_m,
            self.curvature_end_per_m, self.length_m,
        )  # fmt: skip
        sizes = {len(self.what), *map(len, arrays)}
        if sizes != {len(self.what)} or not self.what:
            msg = f"alignment {self.name!r}: needs elements in equal arrays, found {sorted(sizes)}"
            raise LineError(msg, name=self.name, sizes=sorted(sizes))
        good = np.all([np.isfinite(values) for values in arrays], axis=0) & (self.length_m > 0)
        if not good.all():
            at = int(np.argmin(good))
            msg = (
                f"alignment {self.name!r}: element {at + 1} of {len(good)} ({self.what[at]}) is "
                f"{self.length_m[at]:g} m long; expected finite values and a length above 0"
            )
            raise LineError(msg, name=self.name, element=at + 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Centerline:
    """The line that stationing runs along; ``along`` increases up-station.

    Attributes
    ----------
    lon_deg, lat_deg
        Vertices [deg], no two neighbours equal.
    along_m
        Ground distance from the start at each vertex [m]; starts at 0, strictly increasing.
    sd_m
        Standard deviation across the line at each vertex [m]; where a file gave the line, what
        its datum adds.
    elevation_m
        That the ground distance was reckoned at [m].
    made_from
        "file", "designed alignment", or "path driven" when drives made it: then it is no plan
        centerline.
    alignment, crs, datum_operation
        The designed alignment, the coordinate system of its plane and the operation between its
        datum and WGS 84 (empty: taken as one), when ``made_from`` says so: then ``along_m`` keeps
        the alignment's own distances, and locating is finished on its elements.  Else None and
        empty.
    """

    lon_deg: Floats
    lat_deg: Floats
    along_m: Floats
    sd_m: Floats
    elevation_m: float
    made_from: str
    alignment: Alignment | None = None
    crs: str = ""
    datum_operation: str = ""

    def __post_init__(self) -> None:
        """Refuse a line with fewer than two distinct vertices or distances out of order.

        Raises
        ------
        LineError
            Naming the sizes, or the first vertex that is out of order.
        """
        sizes = {len(self.lon_deg), len(self.lat_deg), len(self.along_m), len(self.sd_m)}
        if len(sizes) > 1 or min(sizes) < 2:  # noqa: PLR2004 - a line has two ends
            msg = f"a centerline needs two or more vertices in equal arrays, found {sorted(sizes)}"
            raise LineError(msg, sizes=sorted(sizes))
        everything = (self.lon_deg, self.lat_deg, self.along_m, self.sd_m)
        if not all(bool(np.isfinite(values).all()) for values in everything):
            msg = f"a centerline of {len(self.lon_deg)} vertices has values that are not finite"
            raise LineError(msg, vertices=len(self.lon_deg))
        if self.along_m[0] != 0.0 or not bool((np.diff(self.along_m) > 0).all()):
            at = int(np.argmin(np.diff(self.along_m)))
            msg = (
                f"along_m must start at 0 and increase; it starts at {self.along_m[0]} and goes "
                f"from {self.along_m[at]} to {self.along_m[at + 1]} at vertex {at + 1}"
            )
            raise LineError(msg, vertex=at + 1)

    @property
    def length_m(self) -> float:
        """Ground length [m]."""
        return float(self.along_m[-1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Stationing:
    """How ``along`` becomes a station label.

    A running value grows with ``along``, piecewise linear between known places and at one unit a
    unit of ground beyond them; station equations turn it into the value that is written.

    Attributes
    ----------
    unit
        How stations are written.
    zero
        Name of the physical zero, empty for plan stations.
    known_m, known_value
        Places along [m] whose running value is known [the unit's length]: the line's start, or
        its ties; both strictly increasing, one or more.
    equations
        In order along the line; their labels are reckoned from the running value and the
        equations before.
    length_m
        Length of the line [m]: where an equation makes a label stand twice, one that lies past
        the line's ends counts only when none lies on the line.
    """

    unit: StationUnit
    zero: str
    known_m: tuple[float, ...]
    known_value: tuple[float, ...]
    equations: tuple[StationEquation, ...] = ()
    length_m: float = math.inf

    def __post_init__(self) -> None:
        """Refuse known places that do not increase together, and equations out of order.

        Raises
        ------
        LineError
            Naming them.
        """
        even = len(self.known_m) == len(self.known_value) > 0
        if not even or (np.diff([self.known_m, self.known_value]) <= 0).any():
            msg = (
                f"stationing: known places {self.known_m} m and values {self.known_value} "
                f"{self.unit.length} must be equally many, one or more, and increase together"
            )
            raise LineError(msg, known_m=self.known_m, known_value=self.known_value)
        for one, two in itertools.pairwise(self.equations):
            if two.back_value <= one.ahead_value:
                msg = (
                    f"station equation with back {two.back_value:g} follows one with ahead "
                    f"{one.ahead_value:g} {self.unit.length}: back must be the larger; give the "
                    "equations in order along the line"
                )
                raise LineError(msg, back=two.back_value, ahead=one.ahead_value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tie:
    """A physical thing whose station is known, as it was used.

    Attributes
    ----------
    along_m
        Where it lies along the line [m].
    station, kind, by
        Its label, and "plan", "paint" or "wheel" with what it is and who says so.
    residual_m
        How much longer the stations are than the line from the tie before to this one [m]; NaN
        for the first.
    stretch_share
        The same as a share of the distance; NaN for the first.
    forced_by
        Who takes it although it stretches the line by more than is believed; empty: nobody.
    """

    along_m: float
    station: str
    kind: str
    by: str
    residual_m: float
    stretch_share: float
    forced_by: str
