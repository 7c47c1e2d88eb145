"""Ground that the machine leaves: in go passes and what they meet, out comes who does what is left.

From lift to drop over the width of the pass, less what another pass cuts; skipped ground, which
stays as it is; ground between curbs that no drum reaches; and hand work whose extent nobody gave.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.ground import Ground, ground_of
from routeprep.plans import HandWork, Meeting, Pass, Strip
from routeprep.shapes import Leg
from routeprep.tables import rows_of
from routeprep.whereabouts import skip_m

__all__ = ["grounds_of", "handwork_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_Row = Mapping[str, Any]

_HAND, _SKIP = "HAND WORK", "SKIP"
# Less ground than this is none [m2]; pieces nearer along than this are one stretch [m].
_NONE_M2, _SAME_M = 1e-6, 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class _Out:
    """One stretch in which the drum of a pass is out, and what for."""

    from_m: float
    to_m: float
    meetings: tuple[Meeting, ...]


def _outs(meetings: Sequence[Meeting]) -> dict[str, list[_Out]]:
    """Pass code to the stretches in which its drum is out, rising along."""
    by_pass: dict[str, dict[tuple[float, float], list[Meeting]]] = {}
    for one in meetings:
        if not math.isnan(one.lift_from_m):
            stretch = (one.lift_from_m, one.lift_to_m)
            by_pass.setdefault(one.pass_code, {}).setdefault(stretch, []).append(one)
    return {
        code: [
            _Out(from_m=from_m, to_m=to_m, meetings=tuple(some))
            for (from_m, to_m), some in sorted(stretches.items())
        ]
        for code, stretches in by_pass.items()
    }


def grounds_of(
    strips: Sequence[Strip],
    passes: Sequence[Pass],
    meetings: Sequence[Meeting],
    obstructions: pd.DataFrame,
    leg: Leg,
) -> tuple[Ground, ...]:
    """Part the strips of a leg into pieces: which pass cuts each first, and what is left.

    Parameters
    ----------
    strips, passes, meetings
        Of this leg.
    obstructions
        Table ``tables.OBSTRUCTIONS``, of any leg.
    leg
        The leg.
    """
    outs = _outs(meetings)
    rows = _rows(obstructions, leg)
    skips: dict[str, list[tuple[float, float]]] = {}
    for code, some in outs.items():
        for one in (one for out in some for one in out.meetings):
            stretch = skip_m(rows[one.anchor_id], leg)
            skips.setdefault(code, []).extend([stretch] if stretch else [])
    out = {code: [(one.from_m, one.to_m) for one in some] for code, some in outs.items()}
    return tuple(ground_of(strip, passes, leg.line, out=out, skips=skips) for strip in strips)


def _rows(obstructions: pd.DataFrame, leg: Leg) -> dict[str, _Row]:
    """Rows of a leg by their anchor."""
    mine = obstructions[obstructions["leg"] == leg.settings.code]
    return {str(row["anchor_id"]): row for row in rows_of(mine)}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Words:
    """What is said of the things that ground is left for."""

    rows: Mapping[str, _Row]
    meetings: tuple[Meeting, ...]

    def names(self) -> str:
        """Their numbers and names."""
        things = [self.rows[one.anchor_id] for one in self.meetings]
        names = ", ".join(f"{row['no']} {row['name']}".strip() for row in things)
        unsure = all(one.touch == "maybe" for one in self.meetings)
        return f"{names}, if in this pass" if unsure else names

    def who(self) -> str:
        """Who does it, each once."""
        said = [str(self.rows[one.anchor_id]["who"]) for one in self.meetings]
        return "; ".join(dict.fromkeys(part for who in said for part in who.split("; ") if part))

    def why(self, *, skipped: bool) -> str:
        """Why it is left."""
        if skipped:
            said = dict.fromkeys(one.action for one in self.meetings)
            return f"{', '.join(said)}: left as it is, for {self.names()}"
        return f"lift over {self.names()}"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """Pieces of ground that belong together: their key, their bounds and their area.

    ``bounds_m`` are from and to along, left and right across [m].
    """

    key: int
    bounds_m: tuple[float, float, float, float]
    area_m2: float


def _parts(ground: Ground, area_m2: Floats, at: Ints, keys: Ints) -> list[_Part]:
    """Pieces put together by their keys, in the order of the keys; none without any ground."""
    if not len(at):
        return []
    order = np.argsort(keys, kind="stable")
    at, keys = at[order], keys[order]
    begins = np.flatnonzero(np.diff(keys, prepend=keys[0] - 1))
    sums = zip(
        keys[begins].tolist(),
        np.minimum.reduceat(ground.from_m[at], begins).tolist(),
        np.maximum.reduceat(ground.to_m[at], begins).tolist(),
        np.minimum.reduceat(ground.low_m[at].min(axis=1), begins).tolist(),
        np.maximum.reduceat(ground.high_m[at].max(axis=1), begins).tolist(),
        np.add.reduceat(area_m2[at], begins).tolist(),
        strict=True,
    )
    return [
        _Part(key=key, bounds_m=(from_m, to_m, left_m, right_m), area_m2=left_m2)
        for key, from_m, to_m, left_m, right_m, left_m2 in sums
        if left_m2 > _NONE_M2
    ]


def _work(
    part: _Part, leg: str, who: str, why: str, anchor_ids: tuple[str, ...] = (), *, skipped: bool
) -> HandWork:
    from_m, to_m, left_m, right_m = part.bounds_m
    return HandWork(
        leg=leg,
        from_m=from_m,
        to_m=to_m,
        left_m=left_m,
        right_m=right_m,
        area_m2=part.area_m2,
        who=who,
        why=why,
        anchor_ids=anchor_ids,
        skipped=skipped,
    )


def _lifted(
    ground: Ground, area_m2: Floats, outs: Mapping[str, Sequence[_Out]], rows: Mapping[str, _Row]
) -> Iterator[HandWork]:
    """What each pass leaves where its drum is out."""
    middle_m = (ground.from_m + ground.to_m) / 2
    for number, one in enumerate(ground.passes):
        mine = np.flatnonzero(ground.left_by == number)
        some = outs.get(one.code, ())
        which = np.searchsorted([out.from_m for out in some], middle_m[mine]) - 1
        for part in _parts(ground, area_m2, mine, 2 * which + ground.skipped[mine]):
            skipped, meetings = part.key % 2 > 0, some[part.key // 2].meetings
            if skipped:
                meetings = tuple(
                    met for met in meetings if str(rows[met.anchor_id]["action"]).startswith(_SKIP)
                )
            words = _Words(rows=rows, meetings=meetings)
            why = f"{one.code}: {words.why(skipped=skipped)}"
            anchor_ids = tuple(met.anchor_id for met in meetings)
            who = "" if skipped else words.who()
            yield _work(part, one.leg, who, why, anchor_ids, skipped=skipped)


def _unreached(ground: Ground, area_m2: Floats) -> Iterator[HandWork]:
    """Ground over which no drum runs, a stretch each."""
    at = np.flatnonzero((ground.first < 0) & (ground.left_by < 0))
    reached_m = np.maximum.accumulate(ground.to_m[at])
    gaps = ground.from_m[at][1:] > reached_m[:-1] + _SAME_M
    for part in _parts(ground, area_m2, at, np.r_[0, np.cumsum(gaps)][: len(at)]):
        why = f"{ground.strip.name}: no drum reaches it"
        yield _work(part, ground.strip.leg, "", why, skipped=False)


def _by_hand(
    meetings: Sequence[Meeting], passes: Sequence[Pass], rows: Mapping[str, _Row]
) -> Iterator[HandWork]:
    """Hand work that no drum is lifted for: nobody gave its extent, so that its area is not known.

    Such as a butt joint, a radius return that no drum reaches, a crosswalk.
    """
    by_code = {one.code: one for one in passes}
    by_thing: dict[str, list[Meeting]] = {}
    for one in meetings:
        if one.action.startswith(_HAND) and math.isnan(one.lift_from_m):
            by_thing.setdefault(one.anchor_id, []).append(one)
    for anchor_id, some in by_thing.items():
        row, met = rows[anchor_id], [by_code[one.pass_code] for one in some]
        along_m = float(row["along_m"])
        words = _Words(rows=rows, meetings=(some[0],))
        yield HandWork(
            leg=met[0].leg,
            from_m=float(row["from_m"]),
            to_m=float(row["to_m"]),
            left_m=min(float(np.interp(along_m, one.along_m, one.left_m)) for one in met),
            right_m=max(float(np.interp(along_m, one.along_m, one.right_m)) for one in met),
            area_m2=math.nan,
            who=words.who(),
            why=f"{words.names()}: its extent is not given",
            anchor_ids=(anchor_id,),
        )


def handwork_of(
    meetings: Sequence[Meeting],
    passes: Sequence[Pass],
    grounds: Sequence[Ground],
    obstructions: pd.DataFrame,
    leg: Leg,
) -> tuple[HandWork, ...]:
    """Ground of a leg that the machine leaves, in order along, each bit of it once.

    Parameters
    ----------
    meetings, passes
        Of this leg.
    grounds
        Its strips in pieces, as ``grounds_of`` makes them.
    obstructions
        Table ``tables.OBSTRUCTIONS``, of any leg.
    leg
        The leg.
    """
    outs, rows = _outs(meetings), _rows(obstructions, leg)
    made = [*_by_hand(meetings, passes, rows)]
    for ground in grounds:
        area_m2, _ = ground.amounts()
        made += [*_lifted(ground, area_m2, outs, rows), *_unreached(ground, area_m2)]
    return tuple(sorted(made, key=lambda one: (one.from_m, one.left_m, one.why)))
