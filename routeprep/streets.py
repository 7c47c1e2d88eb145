"""Streets of a map, and the landmarks that they make along a leg.

They are made once and never changed.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Landmark", "Street"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Street:
    """One named line of a street map, as its file has it.

    Attributes
    ----------
    name
        Its name.
    lon_deg, lat_deg
        Its vertices [deg].
    source
        The file.
    credit
        Who must be named where it is used; empty for nobody.
    level
        0 on the ground, more on a bridge, less in a tunnel, as far as the file says.
    """

    name: str
    lon_deg: Floats
    lat_deg: Floats
    source: str
    credit: str
    level: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Landmark:
    """A cross street or another fixed thing that people know, on a leg.

    Attributes
    ----------
    name
        As it is printed: "Elm St".
    along_m
        Where the leg meets it [m]; below 0 or past the length just outside an end.
    side
        "L" or "R" looking up-station where it meets from one side only, else empty.
    source
        The file, or the id of the record or mark.
    credit
        Who must be named where it is printed; empty for nobody.
    """

    name: str
    along_m: float
    side: str
    source: str
    credit: str = ""
