"""One directed line from the pieces of a file.

In go line pieces as a file has them, out comes a ``Centerline`` whose ``along`` is ground
distance up-station, with findings; or an error that says where the pieces fork, part or close.
"""

from collections import Counter
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from routeprep.errors import LineError
from routeprep.geodesy import plane_at, segment_lengths_m
from routeprep.lines import Centerline, LinePiece
from routeprep.shapes import Finding

__all__ = ["SAME_VERTEX_M", "START_NEAR_M", "from_pieces", "measured", "start_end"]

Floats = npt.NDArray[np.float64]

# start_near is taken to mean an end within this [m]; common practice, no source.
START_NEAR_M = 150.0

_TWO_ENDS = 2
_NAMES_SHOWN = 6
# Vertices nearer than this are one [m]: below the last digit of 1e-8 degree.
SAME_VERTEX_M = 0.001


def measured(
    lon_deg: Floats, lat_deg: Floats, *, sd_m: Floats, elevation_m: float, made_from: str
) -> Centerline:
    """Make a line from vertices, dropping repeated ones and measuring along on the ground.

    Parameters
    ----------
    lon_deg, lat_deg
        Vertices, up-station [deg].
    sd_m
        Standard deviation across the line at each [m].
    elevation_m
        Height of the road [m].
    made_from
        "file" or "path driven".

    Raises
    ------
    LineError
        If fewer than two distinct vertices are left.
    """
    sizes_m = segment_lengths_m(lon_deg, lat_deg, elevation_m=elevation_m)
    keep = np.r_[True, sizes_m > SAME_VERTEX_M] if len(lon_deg) else np.zeros(0, dtype=bool)
    if keep.sum() < _TWO_ENDS:
        msg = (
            f"the line has {len(lon_deg)} vertices but {int(keep.sum())} distinct ones; "
            "a centerline needs two or more"
        )
        raise LineError(msg, vertices=len(lon_deg))
    lon, lat = lon_deg[keep], lat_deg[keep]
    along_m = np.r_[0.0, np.cumsum(segment_lengths_m(lon, lat, elevation_m=elevation_m))]
    return Centerline(
        lon_deg=lon,
        lat_deg=lat,
        along_m=along_m,
        sd_m=sd_m[keep],
        elevation_m=elevation_m,
        made_from=made_from,
    )


def start_end(
    lon_deg: Floats, lat_deg: Floats, near_deg: tuple[float, float]
) -> tuple[bool, float]:
    """Whether the line must be turned so that it starts near a point, and how near that is.

    Parameters
    ----------
    lon_deg, lat_deg
        Vertices [deg].
    near_deg
        Longitude and latitude near the end that bears the start [deg].

    Returns
    -------
    tuple
        True when the last vertex is the nearer one, and its distance from the point [m].
    """
    ends_lon = np.array([lon_deg[0], near_deg[0], lon_deg[-1]])
    ends_lat = np.array([lat_deg[0], near_deg[1], lat_deg[-1]])
    first_m, last_m = segment_lengths_m(ends_lon, ends_lat, elevation_m=0.0)
    return bool(last_m < first_m), float(min(first_m, last_m))


def _joined(count: int, pairs: Sequence[tuple[int, int]]) -> list[int]:
    """For each end the lowest end that it is joined with, directly or through others."""
    low = list(range(count))

    def lowest(end: int) -> int:
        while low[end] != end:
            low[end] = low[low[end]]
            end = low[end]
        return end

    for one, other in pairs:
        first, last = sorted((lowest(one), lowest(other)))
        low[last] = first
    return [lowest(end) for end in range(count)]


class _Pieces:
    """The pieces of one leg as a graph: pieces are edges, joined ends are nodes."""

    def __init__(self, pieces: Sequence[LinePiece], *, leg: str, join_gap_m: float) -> None:
        self.pieces = pieces
        self.leg = leg
        lon = np.array([end for piece in pieces for end in (piece.lon_deg[0], piece.lon_deg[-1])])
        lat = np.array([end for piece in pieces for end in (piece.lat_deg[0], piece.lat_deg[-1])])
        self.lon_deg, self.lat_deg = lon, lat
        self.xy_m = plane_at(float(lon.mean()), float(lat.mean())).to_xy(lon, lat)
        self.node = _joined(len(lon), sorted(cKDTree(self.xy_m).query_pairs(join_gap_m)))
        self.degree = Counter(self.node)

    def place(self, end: int) -> str:
        """Where an end is, and which piece it belongs to."""
        piece = self.pieces[end // 2]
        called = f" ({piece.name})" if piece.name else ""
        return f"{self.lon_deg[end]:.6f}, {self.lat_deg[end]:.6f}{called}"

    def fork(self) -> LineError:
        """Say where three or more pieces meet."""
        node = min(node for node, count in self.degree.items() if count > _TWO_ENDS)
        at = self.place(self.node.index(node))
        msg = (
            f"leg {self.leg}: {self.degree[node]} pieces of the centerline meet at {at}; one line "
            "may not fork: leave out a piece with where, or make it a leg of its own"
        )
        return LineError(msg, leg=self.leg, lon_deg=self.lon_deg[node], lat_deg=self.lat_deg[node])

    def loop(self) -> LineError:
        """Say where the line closes."""
        msg = (
            f"leg {self.leg}: the centerline closes on itself at {self.place(0)}; a leg has two "
            "ends: cut the line where the leg starts"
        )
        return LineError(msg, leg=self.leg, lon_deg=self.lon_deg[0], lat_deg=self.lat_deg[0])

    def gap(self, chains: list[list[int]]) -> LineError:
        """Say how wide the narrowest gap between two chains is, and where; or ask which line."""
        of = {piece: number for number, chain in enumerate(chains) for piece in chain}
        free = [end for end, node in enumerate(self.node) if self.degree[node] == 1]
        # A chain has two free ends: of the three nearest to one of them (itself is the first)
        # at least one is another chain's.
        apart, near = cKDTree(self.xy_m[free]).query(self.xy_m[free], k=3)
        chain_of = np.array([of[end // 2] for end in free])
        apart[chain_of[near] == chain_of[:, None]] = np.inf
        one, place = np.unravel_index(int(np.argmin(apart)), apart.shape)
        other, width_m = near[one, place], float(apart[one, place])
        names = sorted({piece.name for piece in self.pieces if piece.name})
        shown = ", ".join(repr(name) for name in names[:_NAMES_SHOWN])
        which = (
            f"; the file has {len(names)} names ({shown}): choose one with where"
            if (len(names) > 1)
            else "; join the pieces, or make two legs"
        )
        msg = (
            f"leg {self.leg}: the centerline is in {len(chains)} parts; the narrowest gap is "
            f"{width_m:.1f} m wide, from {self.place(free[one])} to "
            f"{self.place(free[other])}{which}"
        )
        return LineError(msg, leg=self.leg, gap_m=width_m)

    def chains(self) -> list[list[int]]:
        """Signed walks from each free end: piece numbers in order, loops left out."""
        at: dict[int, list[int]] = {}
        for end, node in enumerate(self.node):
            at.setdefault(node, []).append(end)
        done: set[int] = set()
        walks = []
        for end, node in enumerate(self.node):
            if self.degree[node] == 1 and end // 2 not in done:
                walks.append(self._walk(end, at, done))
        return walks

    def _walk(self, end: int, at: dict[int, list[int]], done: set[int]) -> list[int]:
        walk = []
        while True:
            piece = end // 2
            done.add(piece)
            walk.append(end)
            far = end ^ 1
            onward = [other for other in at[self.node[far]] if other // 2 not in done]
            if not onward:
                return walk
            end = onward[0]


def _without_copies(pieces: Sequence[LinePiece]) -> list[LinePiece]:
    """Pieces with later copies of the same geometry, either way round, left out."""
    seen = set()
    kept = []
    for piece in pieces:
        points = tuple(zip(piece.lon_deg.tolist(), piece.lat_deg.tolist(), strict=True))
        key = min(points, points[::-1])
        if key not in seen:
            seen.add(key)
            kept.append(piece)
    return kept


def from_pieces(
    pieces: Sequence[LinePiece],
    *,
    leg: str,
    elevation_m: float,
    start_near_deg: tuple[float, float] | None = None,
    join_gap_m: float = 0.5,
) -> tuple[Centerline, tuple[Finding, ...]]:
    """Join pieces end to end into one line, directed up-station.

    Parameters
    ----------
    pieces
        As the file has them, in any order and direction.
    leg
        The leg's code, for messages.
    elevation_m
        Height of the road [m].
    start_near_deg
        Longitude and latitude near the end that bears the start [deg]; None keeps the direction
        that all pieces share.
    join_gap_m
        Ends nearer than this are joined [m].

    Raises
    ------
    LineError
        If there is no piece, or the pieces fork, part or close, or run both ways and nothing
        says which end is the start.
    """
    kept = _without_copies(pieces)
    if not kept:
        msg = f"leg {leg}: the centerline has 0 pieces; name a file and a where that holds some"
        raise LineError(msg, leg=leg)
    graph = _Pieces(kept, leg=leg, join_gap_m=join_gap_m)
    if max(graph.degree.values()) > _TWO_ENDS:
        raise graph.fork()
    chains = graph.chains()
    if not chains:
        raise graph.loop()
    walked = [[end // 2 for end in chain] for chain in chains]
    if len(chains) > 1:
        raise graph.gap(walked)
    if len(walked[0]) < len(kept):
        rest = sorted(set(range(len(kept))) - set(walked[0]))
        raise _Pieces([kept[piece] for piece in rest], leg=leg, join_gap_m=join_gap_m).loop()
    return _directed(kept, chains[0], leg=leg, elevation_m=elevation_m, near_deg=start_near_deg)


def _directed(
    pieces: Sequence[LinePiece],
    walk: list[int],
    *,
    leg: str,
    elevation_m: float,
    near_deg: tuple[float, float] | None,
) -> tuple[Centerline, tuple[Finding, ...]]:
    backward = [end % 2 for end in walk]
    lon = np.concatenate([pieces[e // 2].lon_deg[:: -1 if e % 2 else 1] for e in walk])
    lat = np.concatenate([pieces[e // 2].lat_deg[:: -1 if e % 2 else 1] for e in walk])
    sd_m = np.concatenate(
        [np.full(len(pieces[e // 2].lon_deg), pieces[e // 2].datum_sd_m) for e in walk]
    )
    away_m = 0.0
    if near_deg is not None:
        turn, away_m = start_end(lon, lat, near_deg)
    elif len(set(backward)) == 1:
        turn = bool(backward[0])
    else:
        msg = (
            f"leg {leg}: {backward.count(0)} pieces of the centerline run one way and "
            f"{backward.count(1)} the other; say with start_near = [longitude, latitude] "
            "which end bears the start"
        )
        raise LineError(msg, leg=leg)
    if turn:
        lon, lat, sd_m = lon[::-1], lat[::-1], sd_m[::-1]
    line = measured(lon, lat, sd_m=sd_m, elevation_m=elevation_m, made_from="file")
    joined = f"{len(pieces)} pieces joined" if len(pieces) > 1 else "one piece"
    text = f"centerline from file, {joined}, {line.length_m:,.1f} m long"
    said = [Finding(level="note", where=f"leg {leg}", text=text)]
    datums = dict.fromkeys((piece.source, piece.datum_said) for piece in pieces)
    said += [Finding(level="note", where=source, text=text) for source, text in datums if text]
    if away_m > START_NEAR_M:
        text = (
            f"start_near is {away_m:,.0f} m from the nearer end of the centerline; look whether "
            "the stations begin at the right end"
        )
        said.append(Finding(level="doubt", where=f"leg {leg}", text=text))
    return line, tuple(said)
