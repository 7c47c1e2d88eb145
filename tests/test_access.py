"""Who may write what."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_said import body_of
from made_said import entry as made_entry

from routeprep.access import (
    CREW,
    ROLES,
    SUPERINTENDENT,
    TRAFFIC_LEAD,
    Person,
    check_may,
    may,
)
from routeprep.entries import BODIES
from routeprep.errors import AccessError

OF_THE_LEAD = {"review", "check"}
OF_THE_CREW = {"drive", "fixes", "mark", "file", "tick", "found", "check"}


def entry(kind, *, thing="phone/one.jpg", author="Cal", by="Cal", body=True, parents=()):
    """An entry of a kind, as its author signs it."""
    said = body_of(kind) | ({"by": by} if "by" in BODIES[kind] else {})
    return made_entry(
        kind=kind, thing=thing, author=author, body=said if body else None, parents=parents
    )


@pytest.mark.parametrize("kind", BODIES)
def test_each_role_writes_its_kinds_and_no_other(kind):
    """The superintendent all; the lead what is said of the list; the crew what is seen."""
    made = entry(kind)

    assert {role for role in ROLES if may(role, made)} == {
        SUPERINTENDENT,
        *([TRAFFIC_LEAD] if kind in OF_THE_LEAD else []),
        *([CREW] if kind in OF_THE_CREW else []),
    }


@pytest.mark.parametrize(
    ("changes", "allowed"),
    [
        ({}, True),
        ({"thing": "drives/a.gpx"}, False),
        ({"body": False}, False),
        ({"parents": ("before",)}, False),
    ],
)
def test_of_files_a_crew_adds_photos_and_changes_none(changes, allowed):
    """What came from the office is not the crew's."""
    assert may(CREW, entry("file", **changes)) is allowed
    assert may(SUPERINTENDENT, entry("file", **changes))


def test_who_may_not_is_told_who_may():
    """By role; somebody without a name has none."""
    with pytest.raises(
        AccessError, match=r"Cal \(crew\) may not write a review; superintendent and"
    ):
        check_may(Person(name="Cal", role=CREW), entry("review"))
    with pytest.raises(AccessError, match=r"somebody \(visitor\) may not write a drive; superint"):
        check_may(Person(name="", role="visitor"), entry("drive"))


@pytest.mark.parametrize(
    ("made", "name"),
    [
        (entry("check", author="Ann"), "'Ann'"),
        (entry("check", by="Ann"), "'Ann'"),
        (entry("drive", author="Ann"), "'Ann'"),
        (entry("check", author="Ann", by="Bob"), "'Ann' and 'Bob'"),
    ],
)
def test_nobody_writes_in_anothers_name(made, name):
    """Neither as author nor under what is printed."""
    sentence = rf"Cal \(crew\) may not write a {made.kind} in the name of {name}; write it in your"
    with pytest.raises(AccessError, match=sentence):
        check_may(Person(name="Cal", role=CREW), made)
    with pytest.raises(AccessError, match=r"somebody \(crew\) may not"):
        check_may(Person(name="", role=CREW), made)


@pytest.mark.parametrize("kind", BODIES)
def test_a_superintendent_brings_in_what_others_wrote(kind):
    """A job file holds what everybody said."""
    assert check_may(Person(name="Sam", role=SUPERINTENDENT), entry(kind, author="Ann")) is None


def test_what_one_may_and_signs_passes():
    """A walk of a person by the one who walked it; of a drive the driver may be another."""
    person = Person(name="Cal", role=CREW)

    assert check_may(person, entry("check")) is None
    assert check_may(person, entry("drive", by="Ann")) is None


@given(st.text(max_size=12), st.sampled_from(sorted(BODIES)))
def test_a_role_that_nobody_knows_may_nothing(role, kind):
    """A misspelt configuration opens no door."""
    assert role in ROLES or not may(role, entry(kind))
