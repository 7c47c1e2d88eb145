"""Patterns of file names."""

import pytest

from routeprep.readers.globs import matching, pattern_fault

NAMES = [
    "marks.csv", "drives/b.gpx", "drives/a.gpx", "drives/old/c.gpx", "drives/.hidden.gpx",
    "drives/D.GPX", "odd[1].csv",
]  # fmt: skip


@pytest.mark.parametrize(
    ("pattern", "names"),
    [
        ("drives/*.gpx", ["drives/a.gpx", "drives/b.gpx"]),
        ("./drives/?.gpx", ["drives/a.gpx", "drives/b.gpx"]),
        ("drives/**/*.gpx", ["drives/a.gpx", "drives/b.gpx", "drives/old/c.gpx"]),
        ("**/c.gpx", ["drives/old/c.gpx"]),
        ("drives/**", ["drives/D.GPX", "drives/a.gpx", "drives/b.gpx", "drives/old/c.gpx"]),
        ("drives/.hidden.gpx", ["drives/.hidden.gpx"]),
        ("drives/.*", ["drives/.hidden.gpx"]),
        ("drives/[ab].gpx", ["drives/a.gpx", "drives/b.gpx"]),
        ("odd[1].csv", ["odd[1].csv"]),
        ("*.gpx", []),
        ("drives", []),
    ],
)
def test_a_pattern_means_these_names(pattern: str, names: list[str]) -> None:
    """Sorted, by folder, case counting, hidden names only when asked for."""
    assert matching(pattern, NAMES) == names


def test_the_order_of_names_does_not_matter() -> None:
    """The same names in another order are found in the same order."""
    assert matching("**", reversed(NAMES)) == matching("**", NAMES)


@pytest.mark.parametrize(
    ("pattern", "fault"),
    [
        ("", "empty name"),
        ("/etc/passwd", "absolute"),
        ("C:/drives/a.gpx", "absolute"),
        ("drives\\a.gpx", "forward slashes"),
        ("../a.gpx", "leads out"),
        ("drives/../../a.gpx", "leads out"),
        ("drives/a..gpx", ""),
        ("drives/*.gpx", ""),
    ],
)
def test_patterns_that_leave_the_job_are_faults(pattern: str, fault: str) -> None:
    """A job reads its own folder and nothing else."""
    found = pattern_fault(pattern)

    assert fault in found
    assert bool(fault) == bool(found)
