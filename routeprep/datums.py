"""Coordinate systems by name, and how the longitudes of each become those of WGS 84.

In goes the code, name or WKT of a coordinate system, out comes what it is and what was done about
its datum.  Nothing is guessed: a system that is not known is refused, and a datum that is not
within a metre or two of WGS 84 needs an operation of the registry to be named.  Nothing is fetched,
and no file of shifts is read but by an operation that is named, so that results do not depend on
the machine.
"""

import warnings
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from pyproj import CRS, Transformer
from pyproj.aoi import AreaOfInterest
from pyproj.exceptions import CRSError, ProjError
from pyproj.network import set_network_enabled  # type: ignore[attr-defined]
from pyproj.transformer import TransformerGroup

from routeprep.errors import LineError
from routeprep.spreads import HALF_95

__all__ = ["Datum", "Shift", "System", "datum_of", "shift_of", "system_of"]

Floats = npt.NDArray[np.float64]

# What taking a datum for WGS 84 adds to the ±, the half-width of the 95 % interval [m], and that as
# a standard deviation; the error is one and the same all over a job, so it is added, not its
# square.  NAD83 lies 1 to 1.5 m from today's WGS 84 in the conterminous United States, ETRS89 and
# GDA94 up to 2 m: plates move (from memory).
_TAKEN_AS_ONE_M = 1.0
_TAKEN_AS_ONE_SD_M = _TAKEN_AS_ONE_M / HALF_95
_WGS84 = "World Geodetic System 1984"
# Families of datums whose every realization is within a metre or two of WGS 84; most of their
# members publish a zero shift to it as well.
_FAMILIES = (
    "NAD83",
    "North American Datum of 1983",
    "International Terrestrial Reference Frame",
    "ETRS89",
)
# The ellipsoids of such datums differ by 0.1 mm; any real shift moves a point by more [deg].
_UNMOVED_DEG = 5e-8
# So many operations that would fit does an error name.
_NAMED_MOST = 5
# The registry's operation that only turns the axes round.
_TURN_AXES = "15498"


@dataclass(frozen=True, slots=True, kw_only=True)
class Datum:
    """The datum of a coordinate system, and what was done about it.

    Attributes
    ----------
    name
        What its longitudes and latitudes are called, such as NAD83.
    sd_m
        Standard deviation that it adds to every position [m].
    said
        One sentence for people; empty for WGS 84 itself.
    """

    name: str
    sd_m: float
    said: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class System:
    """A horizontal coordinate system.

    Attributes
    ----------
    label
        Its code, or its name where it has none.
    crs, base
        The system, and the longitudes and latitudes that it is made from; the same for a system
        that is no plane.
    datum_name
        Of its datum, as the registry has it.
    """

    label: str
    crs: CRS
    base: CRS
    datum_name: str

    @property
    def words(self) -> str:
        """The system with its datum, for people."""
        return f"{self.label} ({self.base.name})" if self.crs.is_projected else self.label


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shift:
    """An operation between the longitudes and latitudes of a datum and those of WGS 84."""

    _operation: Transformer
    _from_wgs84: bool
    _latitude_first: bool

    @property
    def name(self) -> str:
        """What the registry calls it."""
        return str(self._operation.description)

    @property
    def good_m(self) -> float:
        """How good the registry says it is [m]; 0 where it does not say."""
        return max(float(self._operation.accuracy), 0.0)

    def apply(self, lon_deg: Floats, lat_deg: Floats, *, to_wgs84: bool) -> tuple[Floats, Floats]:
        """Longitudes and latitudes in the other datum [deg]; infinite where it cannot."""
        turn = self._latitude_first
        one, two = (lat_deg, lon_deg) if turn else (lon_deg, lat_deg)
        onward = "INVERSE" if to_wgs84 == self._from_wgs84 else "FORWARD"
        one, two = self._operation.transform(one, two, direction=onward)
        lon, lat = (two, one) if turn else (one, two)
        return np.asarray(lon, dtype=np.float64), np.asarray(lat, dtype=np.float64)


def _datum_name(crs: CRS) -> str:
    return str(getattr(crs.datum, "name", ""))


def _is_plain(base: CRS) -> bool:
    """Whether these are longitudes and latitudes in degrees from Greenwich."""
    meridian_deg = getattr(base.prime_meridian, "longitude", None)
    return base.axis_info[0].unit_name == "degree" and meridian_deg == 0.0


def system_of(crs: str) -> System:
    """Look up the horizontal part of a coordinate system.

    Parameters
    ----------
    crs
        Its code such as EPSG:2965, name or WKT.

    Raises
    ------
    LineError
        If it is not known, or neither a plane nor longitudes and latitudes in degrees.
    """
    # PROJ may fetch files of shifts where a machine is set up so; here it never may.
    set_network_enabled(active=False)
    try:
        system = CRS.from_user_input(crs)
    except CRSError as error:
        msg = (
            f"coordinate system {crs!r} is not known; give the code of the system that the "
            'coordinates are in, such as "EPSG:2965"'
        )
        raise LineError(msg, crs=crs) from error
    while system.is_bound or system.is_compound:
        system = system.source_crs or system.sub_crs_list[0]
    base = system.geodetic_crs
    if base is None or not _is_plain(base) or not (system.is_projected or system.is_geographic):
        msg = (
            f"coordinate system {crs!r} is {system.name!r} ({system.type_name}); expected a plane "
            "or longitudes and latitudes, in degrees from Greenwich"
        )
        raise LineError(msg, crs=crs)
    code = system.to_authority(min_confidence=100)
    # PROJ calls a system that is given by its parameters alone "unknown".
    label = ":".join(code) if code else str(system.name).replace("unknown", crs)
    return System(label=label, crs=system, base=base.to_2d(), datum_name=_datum_name(base))


def _gridless(system: System, *, anywhere: bool) -> list[Transformer]:
    """The registry's operations to WGS 84 that read no file of shifts, in its order.

    Those for other parts of the world than the system's count only on demand.
    """
    area = None if anywhere else system.crs.area_of_use
    with warnings.catch_warnings():
        # It remarks that a file of shifts, which is never asked for here, is missing.
        warnings.simplefilter("ignore", UserWarning)
        group = TransformerGroup(
            system.base,
            CRS.from_epsg(4326),
            always_xy=True,
            # Its stub names another class of the same fields.
            area_of_interest=AreaOfInterest(*area.bounds) if area else None,  # type: ignore[arg-type]
            allow_ballpark=False,
        )
    return [
        one for one in group.transformers if not any(step.grids for step in one.operations or ())
    ]


def _is_near(system: System) -> bool:
    """Whether a datum is one with WGS 84 to a metre or two.

    It is when the EPSG registry publishes an operation of zero shift to WGS 84, which it says is
    good to 1 to 4 m; NAD83, ETRS89, GDA94 and SIRGAS 2000 are such, NAD27 and ED50 are not.
    """
    if system.datum_name.startswith(_FAMILIES):
        return True
    at = (0.0, 45.0)
    moved_deg = (
        np.abs(np.subtract(one.transform(*at), at)).max()
        for one in _gridless(system, anywhere=True)
    )
    return bool(min(moved_deg, default=np.inf) < _UNMOVED_DEG)


def _would_fit(system: System) -> str:
    """The operations that fit a system and need no file of shifts, for an error."""
    found = []
    for one in _gridless(system, anywhere=False):
        told = [step.to_json_dict() for step in one.operations or ()]
        steps = [step for step in told if str(step.get("id", {}).get("code")) != _TURN_AXES]
        if len(steps) == 1 and "id" in steps[0]:
            key = steps[0]["id"]
            authority = key["authority"].removeprefix("INVERSE(").removesuffix(")")
            found.append(f"{authority}:{key['code']} ({steps[0]['name']})")
    shown = "; ".join(found[:_NAMED_MOST])
    if not shown:
        return "the registry has none that does without a file of shifts: export it in WGS 84"
    return f"these fit and need no file of shifts: {shown}"


def _meet(operation: Transformer, system: System) -> bool:
    """Whether an operation and a system are for overlapping parts of the world."""
    areas = [one for one in (operation.area_of_use, system.crs.area_of_use) if one is not None]
    if len(areas) == 1:
        return True
    one, other = areas
    across_180 = one.west > one.east or other.west > other.east
    beside = one.west <= other.east and other.west <= one.east
    return (across_180 or beside) and one.south <= other.north and other.south <= one.north


def shift_of(named: str, system: System) -> Shift:
    """The named operation between a system's datum and WGS 84.

    Parameters
    ----------
    named
        Its code such as EPSG:1901, or its name.
    system
        What it must fit.

    Raises
    ------
    LineError
        If it is not known, reads a file of shifts that is not here, or does not fit: other
        datums, not between longitudes and latitudes, or made for another part of the world.
    """
    try:
        operation = Transformer.from_pipeline(named)
    except ProjError as error:
        msg = (
            f"datum_operation {named!r} is not known, or reads a file of shifts that is not here; "
            f"from {system.words} to WGS 84 {_would_fit(system)}"
        )
        raise LineError(msg, datum_operation=named) from error
    told = operation.to_json_dict()
    ends = [CRS.from_json_dict(told[key]) for key in ("source_crs", "target_crs") if key in told]
    new = [_datum_name(end).startswith(_WGS84) for end in ends if end.is_geographic]
    firsts = {end.axis_info[0].direction for end in ends}
    fits = sorted(new) == [False, True] and system.datum_name in map(_datum_name, ends)
    if not (fits and len(firsts) == 1 and _meet(operation, system)):
        why = "is for another part of the world" if fits else "is between other datums"
        msg = (
            f"datum_operation {named!r} ({operation.description}) {why} and does not fit "
            f"{system.words}; to WGS 84 {_would_fit(system)}"
        )
        raise LineError(msg, datum_operation=named, crs=system.label)
    return Shift(_operation=operation, _from_wgs84=new[0], _latitude_first=firsts == {"north"})


def datum_of(system: System, datum_operation: str) -> tuple[Datum, Shift | None]:
    """What is done about a system's datum, and the operation where there is one.

    A datum within a metre or two of WGS 84 is taken for it unless an operation is named, which
    adds 1 m of standard deviation.  An operation adds what the registry says it is good to when
    that is more than 1 m, but no more than taking the two for one would.

    Parameters
    ----------
    system
        Whose datum.
    datum_operation
        Operation of the registry, by code or name; empty for none.

    Raises
    ------
    LineError
        If the operation does not fit; or there is none, and the datum is too far from WGS 84.
    """
    name = str(system.base.name)
    if system.datum_name.startswith(_WGS84):
        return Datum(name=name, sd_m=0.0, said=""), None
    near = _is_near(system)
    if datum_operation:
        shift = shift_of(datum_operation, system)
        rough = shift.good_m > _TAKEN_AS_ONE_M
        sd_m = (_TAKEN_AS_ONE_SD_M if near else shift.good_m) if rough else 0.0
        more = f", good to {shift.good_m:g} m, which the ± allows for" if rough else ""
        said = f"{system.words} is brought to WGS 84 by {shift.name}{more}"
        return Datum(name=name, sd_m=sd_m, said=said), shift
    if near:
        said = (
            f"{system.words} is taken as WGS 84: ± grows by {_TAKEN_AS_ONE_M:g} m; name a "
            "datum_operation to do better"
        )
        return Datum(name=name, sd_m=_TAKEN_AS_ONE_SD_M, said=said), None
    msg = (
        f"{system.words} has the datum {system.datum_name!r}, which lies more than a metre or two "
        "from WGS 84; name in the job the datum_operation that brings it there: "
        f"{_would_fit(system)}"
    )
    raise LineError(msg, crs=system.label, datum=system.datum_name)
