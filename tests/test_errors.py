"""The tree of errors: one root, built-in relatives, facts beside the sentence."""

import pytest

from routeprep import errors

LEAVES = ["ReadError", "JobError", "LineError", "StationError", "TableError"]


@pytest.mark.parametrize("name", errors.__all__)
def test_every_error_is_ours(name: str) -> None:
    """One ``except RouteprepError`` catches all that is raised on purpose."""
    assert issubclass(getattr(errors, name), errors.RouteprepError)


@pytest.mark.parametrize("name", LEAVES)
def test_input_errors_are_value_errors(name: str) -> None:
    """Bad input is also what Python calls a bad value."""
    assert issubclass(getattr(errors, name), errors.InputError)
    assert issubclass(getattr(errors, name), ValueError)


@pytest.mark.parametrize("name", errors.__all__)
def test_sentence_and_facts_are_kept(name: str) -> None:
    """The text is the sentence alone, whatever the built-in relative would make of it."""
    error = getattr(errors, name)("drives/a.gpx has 0 points", file="drives/a.gpx", points=0)

    assert str(error) == "drives/a.gpx has 0 points"
    assert error.facts == {"file": "drives/a.gpx", "points": 0}


def test_output_error_is_an_os_error_without_a_number() -> None:
    """A pack that cannot be written is an OSError, yet its text is no errno pair."""
    error = errors.OutputError("out/pack is a file", target="out/pack")

    assert isinstance(error, OSError)
    assert error.errno is None


def test_the_tree_in_the_docstring_is_the_tree() -> None:
    """Each class stands once in the module's drawing."""
    drawing = errors.__doc__ or ""

    assert sorted(errors.__all__) == sorted(
        name for name in errors.__all__ if drawing.count(f"{name} ") >= 1 or f"{name}\n" in drawing
    )
