"""How one value of the list is written: decimals, unknowns, and text that is no formula.

In goes a value of a column, out comes the number, text or None that every export shows.
"""

import math

import pandas as pd

from routeprep.listing import EXPORTED, rows
from routeprep.shapes import Pack

__all__ = ["DECIMALS", "exported", "guarded", "rounded"]

# Digits after the point.  A hundredth of a metre (or of a foot) is finer than anything here is
# measured; 1e-7 degree is 11 mm on the ground.  Common practice, no source.
DECIMALS = {
    "station_value": 2,
    "along_m": 2,
    "offset_m": 2,
    "plus_minus_m": 2,
    "plus_minus_across_m": 2,
    "height_m": 2,
    "lon_deg": 7,
    "lat_deg": 7,
}

# A spreadsheet takes a cell that starts with one of these for a formula (OWASP, CSV Injection,
# from memory): the signs, their full-width forms, tab and line ends.
_STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def guarded(text: str) -> str:
    """The text, with an apostrophe before it if a spreadsheet would run it as a formula.

    Examples
    --------
    >>> guarded("=1+1"), guarded("12+34.5"), guarded("-0+50")
    ("'=1+1", '12+34.5', "'-0+50")
    """
    return f"'{text}" if text.startswith(_STARTS_FORMULA) else text


def rounded(value: float, decimals: int) -> float | None:
    """The number rounded for an export, never -0.0; None when it is not known.

    Parameters
    ----------
    value
        The number [its column's unit]; NaN when not known.
    decimals
        Digits after the point.

    Examples
    --------
    >>> rounded(-0.001, 2), rounded(float("nan"), 2)
    (0.0, None)
    """
    return round(float(value), decimals) + 0.0 if math.isfinite(value) else None


def exported(pack: Pack) -> pd.DataFrame:
    """The list in the columns that leave the package, in their order, one row an obstruction."""
    return rows(pack)[list(EXPORTED)]
