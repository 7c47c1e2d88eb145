"""What a job's TOML can hold, as its forms ask for it: each table with its fields, in order.

In go the units of the job, out come the fields with the keys that such a job writes.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import NamedTuple

from routeprep.kinds import ACTIONS, GROUPS
from routeprep.roadway import PARTS
from routeprep.shapes import Defaults
from routeprep.units import STATION_UNITS

__all__ = ["TABLES", "Field", "Table", "fields_of", "wide"]

_FT, _IN = {"us": "ft", "metric": "m"}, {"us": "in", "metric": "mm"}
_WAYS = ("up", "down")


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One thing that a form asks for.

    Attributes
    ----------
    key
        In the TOML; with a dot for a table within.
    label
        What the form calls it.
    sort
        "text", "number", "whole", "date", "yes", "choice", "texts" (a line each), "place"
        (longitude and latitude) or "rows" (tables of ``columns``).
    unit_of
        The unit that stands at the end of the key, by units of the job.
    known
        What a choice chooses from.
    columns
        Of rows.
    more
        A word of help.
    """

    key: str
    label: str
    sort: str = "text"
    unit_of: Mapping[str, str] | None = None
    known: Sequence[str] = ()
    columns: Sequence["Field"] = ()
    more: str = ""


class Table(NamedTuple):
    """One table of the TOML, or one of several of a name.

    Attributes
    ----------
    name
        In the TOML.
    title
        What the page calls it.
    many
        Whether there can be several.
    named_by
        The keys that tell several apart.
    fields
        In the order that they are asked for.
    """

    name: str
    title: str
    many: bool
    named_by: Sequence[str]
    fields: Sequence[Field]


_JOB = (
    Field(key="name", label="What the job is called"),
    Field(key="number", label="Its number"),
    Field(key="revision", label="Revision letter of the next pack"),
    Field(key="date", label="Date to print", sort="date"),
    Field(key="timezone", label="Time zone", more="As America/Chicago"),
    Field(key="units", label="Units", sort="choice", known=("us", "metric")),
    Field(
        key="datum_operation", label="What brings NAD83 to WGS 84",
        more="As EPSG:1515; left out: taken as one, with 1 m added to the ±",
    ),
)  # fmt: skip
_INPUTS = (
    Field(key="drives", label="Drives", sort="texts", more="Names or patterns: drives/*.gpx"),
    Field(key="walks", label="Walks", sort="texts"),
    Field(key="marks", label="Further marks", sort="texts"),
    Field(key="records", label="Owners' records", sort="texts"),
    Field(key="photos", label="Photos", sort="texts"),
    Field(key="streets", label="Street maps", sort="texts"),
    Field(key="set_aside", label="Files that are not read", sort="texts"),
    Field(key="issued", label="Folder of the pack issued last"),
)
_LEG = (
    Field(key="code", label="Code", more="Numbers are written A-27"),
    Field(key="name", label="Street"),
    Field(key="start", label="Plan station at its beginning", more="As 10+00; or a named zero"),
    Field(key="zero", label="Named zero", more="A physical place, without plan stations"),
    Field(key="start_near", label="Longitude, latitude near that end", sort="place"),
    Field(key="unit", label="Stations run by", sort="choice", known=tuple(STATION_UNITS)),
    Field(key="from", label="Cut begins at station"),
    Field(key="to", label="Cut ends at station"),
    Field(key="depth", label="Depth of the cut", sort="number", unit_of=_IN),
    Field(key="lane_width", label="Width of a lane", sort="number", unit_of=_FT),
    Field(key="lanes_left", label="Lanes left of the line, looking up-station", sort="whole"),
    Field(key="lanes_right", label="Lanes right of the line", sort="whole"),
    Field(key="elevation", label="Elevation", sort="number", unit_of=_FT),
    Field(
        key="posted", label="Posted speed", sort="number", unit_of={"us": "mph", "metric": "kmh"}
    ),
    Field(
        key="sight_clearance", label="From the inside lane to what hides the road", sort="number",
        unit_of=_FT,
    ),
    Field(key="centerline.file", label="File of the centerline", more="Left out: from the drives"),
    Field(key="centerline.where", label="Which features of it", more="street = 'Alder Street'"),
    Field(key="centerline.name", label="Which alignment of it"),
    Field(key="centerline.crs", label="Its coordinate system", more="As EPSG:26915"),
    Field(key="spine", label="Drive that the line follows"),
    Field(key="lane_driven", label="Lane of drives that went one way only", sort="whole"),
    Field(
        key="equations", label="Station equations", sort="rows",
        columns=(Field(key="back", label="Back"), Field(key="ahead", label="Ahead")),
    ),
    Field(
        key="ties", label="Ties: physical things whose station is known", sort="rows",
        columns=(
            Field(key="station", label="Station"),
            Field(key="lon_deg", label="Longitude", sort="number"),
            Field(key="lat_deg", label="Latitude", sort="number"),
            Field(
                key="kind", label="From", sort="choice",
                known=("plan", "paint", "wheel", "mile marker"),
            ),
            Field(key="by", label="What it is"),
            Field(key="forced_by", label="Forced by"),
        ),
    ),
    Field(
        key="elevations", label="Elevations along it", sort="rows",
        columns=(
            Field(key="station", label="Station"),
            Field(key="elevation", label="Elevation", sort="number", unit_of=_FT),
        ),
    ),
)  # fmt: skip
_PART = (
    Field(key="what", label="What", sort="choice", known=PARTS),
    Field(key="width", label="Width", sort="number", unit_of=_FT),
    Field(key="width_end", label="Width at its end", sort="number", unit_of=_FT),
    Field(key="cut", label="Cut", sort="choice", known=("true", "false")),
    Field(key="depth_in", label="Depth near the line", sort="number", unit_of=_IN),
    Field(key="depth_out", label="Depth at the other edge", sort="number", unit_of=_IN),
    Field(key="over_line", label="Over the line", sort="choice", known=("true", "false")),
)
_SECTION = (
    Field(key="from", label="From station"),
    Field(key="to", label="To station"),
    Field(key="left", label="Left of the line, outward", sort="rows", columns=_PART),
    Field(key="right", label="Right of the line, outward", sort="rows", columns=_PART),
    Field(key="edge_left", label="Left edge", sort="choice", known=("curb", "shoulder")),
    Field(key="edge_right", label="Right edge", sort="choice", known=("curb", "shoulder")),
    Field(key="traffic", label="Traffic runs, looking up-station", sort="choice", known=_WAYS),
    Field(key="run_left", label="The machine runs on the left", sort="choice", known=_WAYS),
    Field(key="run_right", label="The machine runs on the right", sort="choice", known=_WAYS),
)
_MACHINE = (
    Field(key="name", label="What it is called"),
    Field(key="drum", label="Width of the drum", sort="number", unit_of=_FT),
    Field(key="overlap", label="Overlap of two passes", sort="number", unit_of=_FT),
    Field(key="drum_diameter", label="Diameter of the drum", sort="number", unit_of=_IN),
    Field(
        key="flush_side", label="Side that cuts flush, looking ahead", sort="choice",
        known=("left", "right"),
    ),
    Field(key="ahead", label="Room for the truck ahead of the drum", sort="number", unit_of=_FT),
    Field(key="behind", label="Length behind the drum", sort="number", unit_of=_FT),
    Field(key="moldboard", label="From the drum to the moldboard", sort="number", unit_of=_FT),
)  # fmt: skip
_HAUL = (
    Field(
        key="density", label="Density of the asphalt", sort="number",
        unit_of={"us": "lb_ft3", "metric": "kg_m3"},
    ),
    Field(
        key="loose", label="Density of the millings, loose", sort="number",
        unit_of={"us": "lb_ft3", "metric": "kg_m3"},
    ),
    Field(
        key="payload", label="Payload of a truck", sort="number",
        unit_of={"us": "tons", "metric": "t"},
    ),
    Field(
        key="body", label="Body of a truck", sort="number", unit_of={"us": "yd3", "metric": "m3"}
    ),
    Field(key="ramp_slope", label="Length of a ramp over its depth", sort="number"),
)  # fmt: skip
_BRIEFING = (
    Field(key="where", label="Where we are, for an emergency call"),
    Field(
        key="phones", label="Phone numbers", sort="rows",
        columns=(
            Field(key="who", label="Who"), Field(key="number", label="Number"),
            Field(key="why", label="For what"),
        ),
    ),
    Field(
        key="tickets", label="One-call tickets", sort="rows",
        columns=(
            Field(key="number", label="Number"),
            Field(key="expires", label="Expires", sort="date"),
        ),
    ),
    Field(key="worst", label="The worst places", sort="texts"),
    Field(key="issued_to", label="Issued to"),
    Field(key="night", label="The shift begins in the evening", sort="choice",
          known=("true", "false")),
)  # fmt: skip
_MAP = (
    Field(key="tiles", label="Address of tiles", more="https://…/{z}/{x}/{y}.png"),
    Field(key="credit", label="Whom that source wants to be named"),
)
_RECORDS = (
    Field(key="files", label="A name or pattern"),
    Field(key="kind", label="Kind of all of them"),
    Field(key="kind_field", label="or the field that says it"),
    Field(key="name_field", label="Field of the name"),
    Field(key="owner", label="Owner of all of them"),
    Field(key="owner_field", label="or the field that says it"),
)
_KIND = (
    Field(key="code", label="Code"),
    Field(key="name", label="Name"),
    Field(key="words", label="Other words for it", sort="texts"),
    Field(key="group", label="Group", sort="choice", known=GROUPS),
    Field(key="owner", label="Owner"),
    Field(key="colour", label="Colour of its utility"),
    Field(key="clear_ahead", label="Clear ahead", sort="number", unit_of=_FT),
    Field(key="clear_behind", label="Clear behind", sort="number", unit_of=_FT),
    Field(key="action", label="Proposed action", sort="choice", known=ACTIONS),
    Field(key="who", label="Who does it"),
    Field(
        key="proposals", label="or actions by depth of the cut, the shallowest first", sort="rows",
        columns=(
            Field(key="up_to", label="Up to", sort="number", unit_of=_IN),
            Field(key="action", label="Action", sort="choice", known=ACTIONS),
            Field(key="who", label="Who"),
        ),
    ),
    Field(key="across", label="Lies across", sort="choice", known=("whole road",)),
    Field(key="asks", label="What it asks", sort="texts"),
    Field(key="may_be", label="May be, by code", sort="texts"),
)  # fmt: skip
_DEFAULTS = tuple(
    Field(key=one.name, label=one.name, sort="number", more=f"usually {one.default}")
    for one in fields(Defaults)
)

TABLES: tuple[Table, ...] = (
    Table("job", "Name and units", many=False, named_by=(), fields=_JOB),
    Table("leg", "Legs", many=True, named_by=("code", "name"), fields=_LEG),
    Table("leg.section", "What lies across a leg", many=True, named_by=("from", "to"),
          fields=_SECTION),
    Table("briefing", "For the briefing", many=False, named_by=(), fields=_BRIEFING),
    Table("machine", "Machines", many=True, named_by=("name",), fields=_MACHINE),
    Table("haul", "Trucks and ramps", many=False, named_by=(), fields=_HAUL),
    Table("inputs", "Which files are what", many=False, named_by=(), fields=_INPUTS),
    Table("records", "What owners' files say", many=True, named_by=("files",), fields=_RECORDS),
    Table("kind", "Kinds of this job's own", many=True, named_by=("code", "name"), fields=_KIND),
    Table("map", "Tiles under the map", many=False, named_by=(), fields=_MAP),
    Table("defaults", "Tolerances", many=False, named_by=(), fields=_DEFAULTS),
)  # fmt: skip


def _in_units(field: Field, units: str) -> Field:
    """A field with the key and the label that a job of these units has."""
    columns = tuple(_in_units(one, units) for one in field.columns)
    unit = f"_{field.unit_of[units]}" if field.unit_of else ""
    shown = f" [{unit[1:].replace('_', '/')}]" if unit else ""
    return Field(
        key=f"{field.key}{unit}",
        label=f"{field.label}{shown}",
        sort=field.sort,
        known=field.known,
        columns=columns,
        more=field.more,
    )


def fields_of(table: Table, units: str) -> tuple[Field, ...]:
    """The fields of a table as a job of these units has them.

    Parameters
    ----------
    table
        One of ``TABLES``.
    units
        "us" or "metric".
    """
    return tuple(_in_units(one, units) for one in table.fields)


def wide(field: Field) -> bool:
    """Whether a field needs the whole width of a form."""
    return field.sort in {"rows", "texts"}
