"""How far records lie off marks, errors shared and pairs wrong: the shift behind it all.

In go rows, each the distance from a mark to a record in one direction with the errors that it
shares with others, out come the shift east and north that explains them best and how sure it is.
Records that lie far off the rest were paired with another thing and count little.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import sparse
from scipy.sparse.linalg import splu

__all__ = ["BEFORE_M", "LEAST_SD_M", "Effect", "OffRow", "estimate"]

Floats = npt.NDArray[np.float64]

# Before anything is seen a file lies off by so much in each direction [m]: what lies farther off
# is on no leg.  Common practice, no source.
BEFORE_M = 30.0
# Records far off the rest were paired with another thing: weights by Huber (Robust estimation of a
# location parameter, 1964), then by Beaton and Tukey (1974), for 95 % efficiency; each so often, at
# most, until no weight moves by more than this.
_HUBER_SDS, _TUKEY_SDS = 1.345, 4.685
_ROUNDS, _STILL = 8, 1e-3
_SYMMETRIC = {"SymmetricMode": True}
# No error is smaller than this [m].
LEAST_SD_M = 0.01


class Effect(NamedTuple):
    """An error that some rows share: its name, its factor in a row, its deviation [m or s]."""

    key: tuple[object, ...]
    factor: float
    own_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OffRow:
    """How far a record lies off one mark, along or across the road.

    ``off_m`` is record less mark, usual lateness taken off, in the direction ``east_share`` and
    ``north_share``, of length 1; ``sd_m`` the mark's own error, which no other mark shares, and
    ``effects`` those that it shares, the record's own first.
    """

    record: str
    off_m: float
    east_share: float
    north_share: float
    sd_m: float
    effects: tuple[Effect, ...]


class _Problem:
    """The rows of one file as matrices: shift first, then all shared errors."""

    def __init__(self, rows: Sequence[OffRow]) -> None:
        effects = {one.key: one.own_sd for row in rows for one in row.effects}
        place_of = {key: at for at, key in enumerate(sorted(effects, key=str), start=2)}
        cells = [
            (number, at, factor)
            for number, row in enumerate(rows)
            for at, factor in (
                (0, row.east_share),
                (1, row.north_share),
                *((place_of[one.key], one.factor) for one in row.effects),
            )
        ]
        line, column, factor = (np.array(values) for values in zip(*cells, strict=True))
        shape = (len(rows), 2 + len(place_of))
        self.factors = sparse.csr_array((factor, (line, column)), shape=shape)
        self.off_m = np.array([row.off_m for row in rows])
        self.own_m2 = np.maximum([row.sd_m for row in rows], LEAST_SD_M) ** 2
        sds = [BEFORE_M, BEFORE_M, *(effects[key] for key in place_of)]
        self.before = 1.0 / np.square(sds)
        self.records, self.record = np.unique([row.record for row in rows], return_inverse=True)
        # The record's own error is the first that a row shares.
        self.error = np.array([place_of[row.effects[0].key] for row in rows])

    def solved(self, weight: Floats) -> tuple[Floats, Floats]:
        """All unknowns and the covariance of the shift [m2] (Henderson, Biometrics 31, 1975).

        Parameters
        ----------
        weight
            How much each record is believed [of 1].
        """
        believed = np.maximum(weight, 1e-9)[self.record]
        before = self.before.copy()
        before[self.error] *= believed
        weighted = self.factors.T.multiply(believed / self.own_m2)
        normal = (weighted @ self.factors + sparse.diags_array(before)).tocsc()
        sides = np.zeros((normal.shape[0], 3))
        sides[:, 0] = weighted @ self.off_m
        sides[0, 1] = sides[1, 2] = 1.0
        # The matrix is symmetric and positive definite: nothing has to be pivoted.
        solver = splu(normal, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=_SYMMETRIC)
        found = solver.solve(sides)
        return found[:, 0], found[:2, 1:]

    def off_sds(self, values: Floats, record_sd_m: float) -> Floats:
        """How far each record lies from where it should, in standard deviations.

        Parameters
        ----------
        values
            All unknowns [m, s].
        record_sd_m
            Of a record's own error [m].
        """
        rest_m = self.off_m - self.factors @ values + values[self.error]
        # Marks of one record share its error: they tell it together, along and across apart.
        slot = np.unique(self.error, return_inverse=True)[1]
        weight = np.bincount(slot, 1.0 / self.own_m2)
        mean_m = np.bincount(slot, rest_m / self.own_m2) / weight
        square = mean_m**2 / (1.0 / weight + record_sd_m**2)
        first = np.unique(slot, return_index=True)[1]
        total = np.bincount(self.record[first], square, minlength=len(self.records))
        count = np.bincount(self.record[first], minlength=len(self.records))
        return np.asarray(np.sqrt(total / count), dtype=np.float64)


def _by_huber(sds: Floats) -> Floats:
    return np.minimum(1.0, _HUBER_SDS / np.maximum(sds, 1e-9))


def _by_tukey(sds: Floats) -> Floats:
    return np.maximum(1.0 - (sds / _TUKEY_SDS) ** 2, 0.0) ** 2


def estimate(rows: Sequence[OffRow], record_sd_m: float) -> tuple[Floats, Floats]:
    """East and north shift [m] and their covariance [m2], wrong pairs set aside.

    Records that disagree by more than their own deviations widen it (Birge, Physical Review 40,
    1932).

    Parameters
    ----------
    rows
        What tells it, at least one.
    record_sd_m
        Of a record's own error [m].
    """
    problem = _Problem(rows)
    weight = np.ones(len(problem.records))
    found, covariance = problem.solved(weight)
    for weigh in (_by_huber, _by_tukey):
        for _ in range(_ROUNDS):
            last, weight = weight, weigh(problem.off_sds(found, record_sd_m))
            if np.abs(weight - last).max() <= _STILL:
                break
            found, covariance = problem.solved(weight)
    sds = problem.off_sds(found, record_sd_m)
    ratio = float(np.sum(weight * sds**2)) / max(float(weight.sum()) - 2.0, 1.0)
    return found[:2], covariance * max(ratio, 1.0)
