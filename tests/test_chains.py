"""Chains of states: the same as solving the whole system at once."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st

from routeprep.chains import solve


def chain(count, size, seed):
    """A random chain that is positive definite: blocks on and beside the diagonal."""
    rng = np.random.default_rng(seed)
    upper = rng.standard_normal((count - 1, size, size))
    half = rng.standard_normal((count, size, size))
    diagonal = half @ np.swapaxes(half, 1, 2) + 8.0 * size * np.eye(size)
    return diagonal, upper, rng.standard_normal((count, size, 2))


def whole(diagonal, upper):
    """The chain as one matrix."""
    count, size, _ = diagonal.shape
    matrix = np.zeros((count * size, count * size))
    for k in range(count):
        here = slice(k * size, (k + 1) * size)
        matrix[here, here] = diagonal[k]
        if k + 1 < count:
            there = slice((k + 1) * size, (k + 2) * size)
            matrix[here, there], matrix[there, here] = upper[k], upper[k].T
    return matrix


@given(st.integers(1, 20), st.integers(1, 4), st.integers(0, 1000))
@examples(max_examples=60)
def test_a_chain_is_solved_as_numpy_solves_the_whole(count, size, seed):
    """Mean, own and next covariances, for odd and even lengths."""
    diagonal, upper, given_ = chain(count, size, seed)
    got = solve(diagonal, upper, given_)
    inverse = np.linalg.inv(whole(diagonal, upper)).reshape(count, size, count, size)
    mean = np.linalg.solve(whole(diagonal, upper), given_.reshape(count * size, 2))

    np.testing.assert_allclose(got.mean_states, mean.reshape(count, size, 2), atol=1e-10)
    for k in range(count):
        np.testing.assert_allclose(got.own_cov[k], inverse[k, :, k], atol=1e-10)
    for k in range(count - 1):
        np.testing.assert_allclose(got.next_cov[k], inverse[k, :, k + 1], atol=1e-10)


def test_the_system_is_left_as_it_was():
    """Solving changes none of its inputs."""
    parts = chain(7, 3, seed=1)
    before = [part.copy() for part in parts]
    solve(*parts)

    for part, copy in zip(parts, before, strict=True):
        np.testing.assert_array_equal(part, copy)


def test_states_without_links_stand_alone():
    """A chain whose links are nothing is many systems of one state."""
    diagonal, upper, given_ = chain(5, 2, seed=2)
    got = solve(diagonal, 0.0 * upper, given_)

    np.testing.assert_allclose(got.mean_states, np.linalg.solve(diagonal, given_), atol=1e-12)
    assert np.abs(got.next_cov).max() == pytest.approx(0.0, abs=1e-15)
