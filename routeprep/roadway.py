"""The road across and the machines, as the job gives them: what is there, what is cut, by what.

They are made once and never changed.  Widths and depths are of the finished cut, in metres.
"""

import math
from dataclasses import dataclass

__all__ = ["PARTS", "Haul", "Machine", "RoadPart", "Section"]

# What lies across a road, from the line outward, in the trade's words.
PARTS = (
    "lane",
    "turn lane",
    "bike lane",
    "parking",
    "median",
    "shoulder",
    "gutter",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoadPart:
    """One part of the road across, on one side of the line.

    Attributes
    ----------
    what
        One of ``PARTS``.
    width_m, width_end_m
        Width at the beginning and at the end of its section; between them it changes evenly [m].
    cut
        Whether it is cut.
    depth_in_m, depth_out_m
        Depth of the cut at the edge nearer the line and at the other [m]; NaN: the leg's.
    over_line
        Said of the parts next to the line on both sides: they are cut as one strip that lies
        across it, such as a turn lane in the middle of the road.
    """

    what: str
    width_m: float
    width_end_m: float
    cut: bool
    depth_in_m: float = math.nan
    depth_out_m: float = math.nan
    over_line: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """The road across from one station to another.

    Attributes
    ----------
    from_station, to_station
        Labels; empty: the leg's limits.
    left, right
        Parts from the line outward, looking up-station.
    edge_left, edge_right
        "curb" or "shoulder": what the outermost part ends at; empty when not given.
    traffic
        "up" or "down" (station) where all of it runs one way; empty: both ways, keeping right.
    run_left, run_right
        "up" or "down": the way the passes on that side are run; empty: with the traffic.
    """

    from_station: str
    to_station: str
    left: tuple[RoadPart, ...]
    right: tuple[RoadPart, ...]
    edge_left: str = ""
    edge_right: str = ""
    traffic: str = ""
    run_left: str = ""
    run_right: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """One milling machine.

    Attributes
    ----------
    name
        What the crew calls it.
    drum_m, overlap_m
        Width of the drum, and by how much a pass runs over the one before at least [m].
    drum_diameter_m
        Of the tips' circle [m].
    flush_side
        "left" or "right" looking ahead: the side on which the drum cuts flush with the machine;
        empty for both.
    ahead_m, behind_m
        Room that the truck and the machine need ahead of the drum, and length behind it [m].
    moldboard_m
        From the middle of the drum back to the moldboard [m].
    """

    name: str
    drum_m: float
    overlap_m: float
    drum_diameter_m: float
    flush_side: str
    ahead_m: float
    behind_m: float
    moldboard_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Haul:
    """What is needed to turn a cut into tons and loads, and a joint into a ramp.

    Attributes
    ----------
    density_kgpm3
        Of the asphalt in the road [kg/m3]; 110 lb a square yard and inch, 146.67 lb a cubic foot,
        is a published rule (trade handbooks; from memory).
    loose_kgpm3
        Of the millings in the truck [kg/m3]; 89 lb a cubic foot, common practice, no source.
    payload_kg, body_m3
        What one truck may carry [kg] and holds [m3]; NaN when not given.
    ramp_slope
        Length of a ramp over its depth (48 for 48:1); NaN when not given: then none is drawn.
    """

    density_kgpm3: float = 2349.4
    loose_kgpm3: float = 1425.7
    payload_kg: float = math.nan
    body_m3: float = math.nan
    ramp_slope: float = math.nan
