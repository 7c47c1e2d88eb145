"""Lines as they travel: what no alignment can be."""

import numpy as np
import pytest

from routeprep.errors import LineError
from routeprep.lines import Alignment


def alignment(**changes):
    """Two lines end to end."""
    numbers = ("x_m", "y_m", "heading_deg", "curvature_start_per_m", "curvature_end_per_m")
    usual = {name: np.zeros(2) for name in numbers} | {
        "name": "M", "what": ("line", "line"), "length_m": np.array([100.0, 50.0]), "unit": "ft",
        "crs": "", "start_value": 0.0, "equations": (), "profile": (),
    }  # fmt: skip
    return Alignment(**(usual | changes))


@pytest.mark.parametrize(
    ("changes", "sizes"),
    [({"x_m": np.zeros(3)}, r"\[2, 3\]"), ({"what": ("line",)}, r"\[1, 2\]")],
)
def test_an_alignment_has_equal_arrays(changes, sizes):
    """One value an element."""
    with pytest.raises(LineError, match=rf"'M': needs elements in equal arrays, found {sizes}"):
        alignment(**changes)


def test_an_alignment_has_elements():
    """None at all is no line."""
    names = ("x_m", "y_m", "heading_deg", "curvature_start_per_m", "curvature_end_per_m")
    nothing = dict.fromkeys((*names, "length_m"), np.zeros(0))
    with pytest.raises(LineError, match=r"needs elements in equal arrays, found \[0\]"):
        alignment(what=(), **nothing)


@pytest.mark.parametrize("length_m", [0.0, -5.0, np.nan, np.inf])
def test_every_element_has_a_length(length_m):
    """The first that has none is named, with what it has."""
    with pytest.raises(LineError, match=rf"element 2 of 2 \(line\) is {length_m:g} m long; exp"):
        alignment(length_m=np.array([100.0, length_m]))
