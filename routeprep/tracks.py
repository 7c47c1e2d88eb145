"""Where a vehicle was at any time, and how sure that is: between its fixes too.

In go smoothed states at the fixes, out come states at any time.  The motion between is the one
that smoothing takes: an acceleration that comes, lasts a while and goes.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.geodesy import Plane
from routeprep.noise import PUSH_S

__all__ = ["States", "Track", "courses", "moved"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# Nearer to a fix than this in time, its own state is taken [s].
_AT_S = 1e-3
# Slower than this the direction of a velocity is noise [m/s]: the course before it counts.
_COURSE_MPS = 0.5
# Length is summed over steps no longer than this [s]; slower than this, the doubt of a velocity
# does not lengthen the path [m/s].
_LENGTH_STEP_S, _LENGTH_LEAST_MPS = 1.0, 6.0
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class States:
    """Where a vehicle was at some times.

    Attributes
    ----------
    lon_deg, lat_deg
        Places [deg].
    sd_m
        Standard deviation of one axis of each place [m].
    speed_mps
        Speeds [m/s].
    course_deg
        Directions, clockwise from north [deg]; standing, the one before.
    """

    lon_deg: Floats
    lat_deg: Floats
    sd_m: Floats
    speed_mps: Floats
    course_deg: Floats


def _reach(wait_s: Floats) -> Floats:
    """What an acceleration does to place, velocity and itself after a while, shape (..., 3)."""
    gone = wait_s / PUSH_S
    left = -np.expm1(-gone)
    return np.stack([PUSH_S**2 * (gone - left), PUSH_S * left, 1.0 - left], axis=-1)


def _summed(wait_s: Floats) -> Floats:
    """Covariance that a unit of white noise makes in a short while (Gauss and Legendre's rule)."""
    parts = _reach(wait_s[:, None] * (1 + _NODES) / 2)
    weighted = parts * (wait_s[:, None] / PUSH_S * _WEIGHTS)[..., None]
    return np.asarray(np.swapaxes(weighted, 1, 2) @ parts)


def _closed(wait_s: Floats) -> Floats:
    """The same for a long while, in closed form (Singer 1970); in a short one its terms cancel."""
    gone = wait_s / PUSH_S
    once, twice = np.exp(-gone), np.exp(-2 * gone)
    place = 1 - twice + 2 * gone + 2 * gone**3 / 3 - 2 * gone**2 - 4 * gone * once
    place_speed = (1 - once) ** 2 + 2 * gone * once - 2 * gone + gone**2
    place_push = 1 - twice - 2 * gone * once
    speed = 4 * once - 3 - twice + 2 * gone
    rows = [place, place_speed, place_push, place_speed, speed, (1 - once) ** 2]
    rows += [place_push, (1 - once) ** 2, 1 - twice]
    units = PUSH_S ** np.array([[4.0, 3.0, 2.0], [3.0, 2.0, 1.0], [2.0, 1.0, 0.0]])
    return np.asarray(np.stack(rows, axis=-1).reshape(-1, 3, 3) * units)


def moved(wait_s: Floats, push_mps2: Floats) -> tuple[Floats, Floats]:
    """How place, velocity and acceleration change, and how unsure that is.

    Place and velocity are in m and m/s, the acceleration is in shares of the push, so that a
    drive is the same backward in time where the push changes.  It fades with ``PUSH_S`` and is
    renewed by white noise (Singer 1970, see ``noise``).

    Parameters
    ----------
    wait_s
        Times between two states [s].
    push_mps2
        Standard deviation of the acceleration [m/s2].

    Returns
    -------
    tuple of arrays
        Transitions and covariances, each of shape (n, 3, 3).
    """
    units = np.stack([push_mps2, push_mps2, np.ones_like(push_mps2)], axis=-1)
    step = np.zeros((len(wait_s), 3, 3))
    step[:, 0, 0] = step[:, 1, 1] = 1.0
    step[:, 0, 1] = wait_s
    step[:, :, 2] = _reach(wait_s) * units
    spread = _summed(wait_s)
    long = wait_s > PUSH_S
    spread[long] = _closed(wait_s[long])
    return step, spread * units[:, :, None] * units[:, None, :]


def _headings_deg(velocity: Floats) -> Floats:
    """Direction of each velocity, clockwise from north [deg]; NaN when it is slow."""
    moving = np.hypot(velocity[:, 0], velocity[:, 1]) > _COURSE_MPS
    heading = np.degrees(np.arctan2(velocity[:, 0], velocity[:, 1])) % 360.0
    return np.asarray(np.where(moving, heading, np.nan), dtype=np.float64)


def courses(velocity_mps: Floats) -> Floats:
    """Direction at each fix [deg]; standing the one before, else the one after, else NaN.

    Parameters
    ----------
    velocity_mps
        Velocity at each fix, east and north, shape (n, 2) [m/s].
    """
    filled = pd.Series(_headings_deg(velocity_mps)).ffill().bfill()
    return np.asarray(filled.to_numpy(), dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """One smoothed drive, to be asked where it was at a time.

    Attributes
    ----------
    plane
        The plane of the states.
    seconds
        Times of the fixes [s since 1970].
    joined
        Whether each fix but the last belongs to one piece with the next.
    still
        Whether the vehicle stood from each fix but the last to the next.
    push_mps2
        Standard deviation of the acceleration after each fix but the last [m/s2].
    hidden_m
        Error at each fix that no drive can show, as a standard deviation of one axis [m].
    course_deg
        Direction at each fix [deg]; standing, the one before.
    mean_states, own_cov, next_cov
        Place, velocity and acceleration (see ``moved``) at the fixes and their covariances; see
        ``chains.Estimate``.
    """

    plane: Plane
    seconds: Floats
    joined: Flags
    still: Flags
    push_mps2: Floats
    hidden_m: Floats
    course_deg: Floats
    mean_states: npt.NDArray[np.float64]
    own_cov: npt.NDArray[np.float64]
    next_cov: npt.NDArray[np.float64]

    def _nearest(self, seconds: Floats) -> Ints:
        """The fix nearest in time."""
        after = np.clip(np.searchsorted(self.seconds, seconds), 1, max(len(self.seconds) - 1, 1))
        after = np.minimum(after, len(self.seconds) - 1)
        before = np.maximum(after - 1, 0)
        nearer = np.abs(self.seconds[before] - seconds) <= np.abs(self.seconds[after] - seconds)
        return np.where(nearer, before, after)

    def _between(self, seconds: Floats) -> tuple[Flags, Ints]:
        """Whether a time lies between two fixes of a piece, and the first of them."""
        before = np.searchsorted(self.seconds, seconds, side="right") - 1
        inside = (before >= 0) & (before < len(self.seconds) - 1)
        inside[inside] = self.joined[before[inside]]
        return inside, before

    def away_s(self, seconds: Floats) -> Floats:
        """How long before or after the nearest fix times lie; 0 within a piece [s].

        Parameters
        ----------
        seconds
            Times [s since 1970].
        """
        inside, _ = self._between(seconds)
        gone_s = np.abs(self.seconds[self._nearest(seconds)] - seconds)
        return np.where(inside, 0.0, gone_s)

    def motion(self, seconds: Floats) -> tuple[Floats, Floats]:
        """Place, velocity and acceleration (see ``moved``) in the plane, and their covariance.

        Outside the pieces they are those of the nearest fix.

        Parameters
        ----------
        seconds
            Times [s since 1970].

        Returns
        -------
        tuple of arrays
            Shapes (n, 3, 2) and (n, 3, 3).
        """
        nearest = self._nearest(seconds)
        mean, cov = self.mean_states[nearest], self.own_cov[nearest]
        inside, before = self._between(seconds)
        near_s = np.abs(self.seconds[nearest] - seconds)
        rows = np.flatnonzero(inside & (near_s > _AT_S))
        mean[rows], cov[rows] = self._bridged(seconds[rows], before[rows])
        return mean, cov

    def _bridged(self, seconds: Floats, before: Ints) -> tuple[Floats, Floats]:
        """States between two fixes, given the states at both and what may happen between."""
        push = self.push_mps2[before]
        step_1, noise_1 = moved(seconds - self.seconds[before], push)
        step_2, noise_2 = moved(self.seconds[before + 1] - seconds, push)
        back = np.swapaxes(step_2, 1, 2)
        total = step_2 @ noise_1 @ back + noise_2
        from_after = noise_1 @ back @ np.linalg.inv(total)
        from_before = step_1 - from_after @ step_2 @ step_1
        one, other = np.swapaxes(from_before, 1, 2), np.swapaxes(from_after, 1, 2)
        cross = from_before @ self.next_cov[before] @ other
        cov = noise_1 - from_after @ step_2 @ noise_1
        cov += (
            from_before @ self.own_cov[before] @ one + from_after @ self.own_cov[before + 1] @ other
        )
        cov += cross + np.swapaxes(cross, 1, 2)
        mean = from_before @ self.mean_states[before] + from_after @ self.mean_states[before + 1]
        return mean, cov

    def at(self, seconds: Floats) -> States:
        """Where the vehicle was.

        Within a piece the ± grows and shrinks with what may have happened since the fix before
        and until the fix after.  Outside the pieces it is the nearest fix's place, with the way
        that the vehicle may have gone on added to the ±.

        Parameters
        ----------
        seconds
            Times [s since 1970].
        """
        mean, cov = self.motion(seconds)
        nearest = self._nearest(seconds)
        speed = np.hypot(mean[:, 1, 0], mean[:, 1, 1])
        heading = _headings_deg(mean[:, 1])
        lon, lat = self.plane.to_lonlat(mean[:, 0])
        gone_m = speed * self.away_s(seconds)
        return States(
            lon_deg=lon,
            lat_deg=lat,
            sd_m=np.sqrt(cov[:, 0, 0] + self.hidden_m[nearest] ** 2 + gone_m**2),
            speed_mps=speed,
            course_deg=np.where(np.isnan(heading), self.course_deg[nearest], heading),
        )

    def length_m(self) -> float:
        """How far the vehicle went: its expected speed over time, while it did not stand.

        Lengths are those of the plane: within 10 km of its middle true to 1.3 mm a km.
        """
        links = np.flatnonzero(self.joined & ~self.still)
        wait_s = np.diff(self.seconds)[links]
        steps = np.ceil(wait_s / _LENGTH_STEP_S).astype(np.int64)
        size_s = np.repeat(wait_s / steps, steps)
        number = np.arange(len(size_s)) - np.repeat(np.cumsum(steps) - steps, steps)
        begin_s = self.seconds[np.repeat(links, steps)] + number * size_s
        both = self._expected_mps(begin_s) + self._expected_mps(begin_s + size_s)
        return float(np.sum(both * size_s / 2))

    def _expected_mps(self, seconds: Floats) -> Floats:
        """Expected speed at some times.

        A velocity that is unsure across the direction of travel is on average longer than its
        mean by half its variance over the speed (second order of a vector's length).
        """
        mean, cov = self.motion(seconds)
        speed = np.hypot(mean[:, 1, 0], mean[:, 1, 1])
        more = cov[:, 1, 1] / 2 / np.maximum(speed, _LENGTH_LEAST_MPS)
        return np.where(speed > _LENGTH_LEAST_MPS, speed + more, speed)
