"""The likeliest motion: the same as a Kalman filter run forward and back."""

from dataclasses import replace

import numpy as np
import pytest

from routeprep import fitting
from routeprep.fitting import Recorded, fit
from routeprep.noise import WANDER_S, Noise
from routeprep.tracks import moved

NOISE = Noise(fresh_m=0.8, wander_m=2.0, hidden_m=0.0, push_mps2=0.7)


def drive(count, *, seed=1, breaks=()):
    """A drive that winds along, with uneven waits and errors."""
    rng = np.random.default_rng(seed)
    seconds = np.cumsum(rng.uniform(0.5, 3.0, count))
    xy_m = np.column_stack([10.0 * seconds, 40.0 * np.sin(seconds / 15.0)])
    joined = np.ones(count - 1, dtype=bool)
    joined[list(breaks)] = False
    return Recorded(
        seconds=seconds,
        xy_m=xy_m + rng.standard_normal((count, 2)),
        joined=joined,
        error_share=rng.uniform(0.8, 1.5, count),
        push_mps2=rng.uniform(0.3, 1.0, count - 1),
        speed_mps=np.zeros((count, 2)),
        speed_weight=np.zeros(count),
    )


def forward_and_back(drive, noise):
    """Kalman's filter and Rauch, Tung and Striebel's smoother (1965), step by step, x only."""
    mean = np.zeros(4)
    cov = np.diag([1e10, 40.0**2, 1.0, 1.0])
    steps, before, after = [np.eye(4)], [], []
    for k, place_m in enumerate(drive.xy_m[:, 0]):
        if k:
            wait_s = drive.seconds[k : k + 1] - drive.seconds[k - 1 : k]
            step, spread = np.eye(4), np.zeros((4, 4))
            motion, unsure = moved(wait_s, drive.push_mps2[k - 1 : k])
            step[:3, :3], spread[:3, :3] = motion[0], unsure[0]
            step[3, 3] = np.exp(-wait_s[0] / WANDER_S)
            spread[3, 3] = 1.0 - step[3, 3] ** 2
            steps.append(step)
            mean, cov = step @ mean, step @ cov @ step.T + spread
        before.append((mean, cov))
        seen = np.array([1.0, 0.0, 0.0, noise.wander_m * drive.error_share[k]])
        total = seen @ cov @ seen + (noise.fresh_m * drive.error_share[k]) ** 2
        gain = cov @ seen / total
        mean = mean + gain * (place_m - seen @ mean)
        keep = np.eye(4) - np.outer(gain, seen)
        cov = (
            keep @ cov @ keep.T + np.outer(gain, gain) * (noise.fresh_m * drive.error_share[k]) ** 2
        )
        after.append((mean, cov))
    states = [after[-1]]
    for k in range(len(after) - 2, -1, -1):
        gain = after[k][1] @ steps[k + 1].T @ np.linalg.inv(before[k + 1][1])
        mean = after[k][0] + gain @ (states[0][0] - before[k + 1][0])
        cov = after[k][1] + gain @ (states[0][1] - before[k + 1][1]) @ gain.T
        states.insert(0, (mean, cov))
    return states


def test_the_fit_is_kalmans_forward_and_back():
    """Places to a tenth of a millimetre, speeds and how sure they are."""
    one = drive(40)
    got = fit(one, NOISE)
    expected = forward_and_back(one, NOISE)

    for k, (mean, cov) in enumerate(expected):
        assert got.mean_states[k, :, 0] == pytest.approx(mean[:3], abs=1e-4)
        assert np.sqrt(np.diag(got.own_cov[k])) == pytest.approx(
            np.sqrt(np.diag(cov)[:3]), rel=1e-4
        )


def test_pieces_know_nothing_of_each_other():
    """The second piece of a broken drive comes out as if it were alone."""
    whole = drive(30, breaks=[11])
    got, alone = fit(whole, NOISE), fit(whole.part(slice(12, 30)), NOISE)

    np.testing.assert_allclose(got.mean_states[12:], alone.mean_states, atol=1e-6)
    np.testing.assert_allclose(got.own_cov[12:], alone.own_cov, atol=1e-6)


def test_a_long_drive_comes_out_the_same_in_parts(monkeypatch):
    """Parts of 300 fixes with 200 beside them that do not count."""
    one = drive(1000)
    whole = fit(one, NOISE)
    monkeypatch.setattr(fitting, "_PART", 300)
    monkeypatch.setattr(fitting, "_BESIDE", 200)
    parts = fit(one, NOISE)

    np.testing.assert_allclose(parts.mean_states, whole.mean_states, atol=0.02)
    np.testing.assert_allclose(parts.own_cov, whole.own_cov, atol=0.02)
    assert parts.next_cov.shape == whole.next_cov.shape == (999, 3, 3)


def test_a_known_speed_is_kept_to():
    """Where it is known to stand, it stands."""
    one = drive(30)
    weight = np.where(np.arange(30) == 10, 1e6, 0.0)
    got = fit(replace(one, speed_weight=weight), NOISE)

    assert np.abs(got.mean_states[10, 1]).max() < 0.05


def test_fixes_at_nearly_one_time_do_no_harm():
    """A microsecond apart, 2 m apart."""
    one = drive(30)
    seconds = one.seconds.copy()
    seconds[10] = seconds[9] + 1e-6
    got = fit(replace(one, seconds=seconds), NOISE)

    assert np.isfinite(got.mean_states).all()
    assert (np.linalg.eigvalsh(got.own_cov) > 0).all()


def test_one_fix_is_a_drive():
    """Its place, as sure as the report."""
    got = fit(drive(30).part(slice(4, 5)), NOISE)

    assert got.mean_states[0, 0] == pytest.approx(drive(30).xy_m[4])
    assert got.next_cov.shape == (0, 3, 3)
