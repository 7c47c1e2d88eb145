"""Names of a table's columns, as people write them, to what the columns say and their unit.

In go a header and the names that are understood, out come ``Columns``.  Units and plain words
around a name do not hide it: "GPS Lat", "Latitude (WGS84)", "Off RT ft", "Speed km/h".
"""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from routeprep.errors import ReadError
from routeprep.readers.csvtext import Sheet, plain
from routeprep.readers.parts import shown
from routeprep.units import FACTORS_M

__all__ = ["LENGTHS", "Columns", "Wanted", "columns_of", "first_rows"]

# How units of length are written, lower case.
LENGTHS: dict[str, str] = {unit.lower(): unit for unit in FACTORS_M}
LENGTHS |= {"feet": "ft", "foot": "ft", "'": "ft", "inches": "in", "inch": "in", '"': "in"}
LENGTHS |= {"metres": "m", "meters": "m", "metre": "m", "meter": "m", "miles": "mi"}

# Words beside a name that change nothing about what it says.
_BESIDE = frozenset(
    ("gps", "gnss", "wgs84", "wgs", "84", "nad83", "dd", "decimal", "degrees", "deg", "degree")
)
# Rows that an error shows, and characters of each.
_ROWS_SHOWN, _ROW_SHOWN = 3, 100


class Columns(NamedTuple):
    """Which column of a table says what.

    Attributes
    ----------
    place
        Where in the header, by what the column says.
    units
        Units of those columns whose name has one.
    unknown
        Names of columns that are not understood.
    """

    place: Mapping[str, int]
    units: Mapping[str, str]
    unknown: tuple[str, ...]


class Wanted(NamedTuple):
    """Names that are understood, and units they may have.

    Attributes
    ----------
    names
        What a column says, by its name once ``plain``.
    measured
        Which of these may have a unit, and how it is written, once ``plain``, to its key.
    """

    names: Mapping[str, str]
    measured: Mapping[str, Mapping[str, str]]

    def meant(self, column: str) -> tuple[str, str]:
        """What a column says and the unit its name has; both empty when not understood."""
        name = plain(column)
        if name in self.names:
            return self.names[name], ""
        words = [word for word in name.split("_") if word not in _BESIDE]
        field = self.names.get("_".join(words), "")
        return (field, "") if field else self._with_unit(words)

    def _with_unit(self, words: Sequence[str]) -> tuple[str, str]:
        """A name with a unit of one word or two anywhere in it, the last such one counting."""
        for size in (2, 1):
            for at in range(len(words) - size, -1, -1):
                field = self.names.get("_".join([*words[:at], *words[at + size :]]), "")
                unit = self.measured.get(field, {}).get("_".join(words[at : at + size]), "")
                if unit:
                    return field, unit
        return "", ""

    def known(self) -> Callable[[str], bool]:
        """Whether a cell is the name of a column, as ``csvtext.read_spreadsheet`` asks."""
        return lambda cell: bool(self.meant(cell)[0])


def columns_of(header: Sequence[str], wanted: Wanted, *, name: str) -> Columns:
    """Understand the columns of a table.

    Parameters
    ----------
    header
        The columns' names.
    wanted
        What is understood.
    name
        The file, for messages.

    Raises
    ------
    ReadError
        If two columns say the same.
    """
    at: dict[str, int] = {}
    units: dict[str, str] = {}
    unknown = []
    for place, column in enumerate(header):
        field, unit = wanted.meant(column)
        if field in at:
            msg = (
                f"{name}: columns {header[at[field]]!r} and {column!r} both say {field}; rename or "
                "remove one"
            )
            raise ReadError(msg, file=name, columns=(header[at[field]], column))
        if field:
            at[field] = place
            units |= {field: unit} if unit else {}
        elif column:
            unknown.append(column)
    return Columns(at, units, tuple(unknown))


def first_rows(sheet: Sheet) -> str:
    """The names of a sheet's columns and its first rows, for the error that asks for a column."""
    rows = [" | ".join(cells)[:_ROW_SHOWN] for _, cells in sheet.rows[:_ROWS_SHOWN]]
    columns = ", ".join(shown(column) for column in sheet.header)
    return f"{columns} (first rows: {' // '.join(rows) or 'none'})"
