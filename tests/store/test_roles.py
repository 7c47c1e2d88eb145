"""Each role tries, by call, what it may not: the store refuses, whatever a page lets through."""

import pytest
from made_entries import BLOBS, EVERY_KIND, JOB, every_kind, made
from stored_job import ANA, BEN, CREW_HAND, LEAD

from routeprep.access import Person
from routeprep.errors import AccessError

# Who may is asked before the database is: one kind of it will do.
pytestmark = pytest.mark.parametrize("url", ["sqlite"], indirect=True)

# What each role may append; told here once more, so that the table in the code is held to it.
ALLOWED = {
    ANA: set(EVERY_KIND),
    LEAD: {"review", "check"},
    CREW_HAND: {"drive", "fixes", "mark", "file", "tick", "found", "check"},
}


def own(kind, person):
    """An entry of a kind that the person writes in their own name; a file is a phone's."""
    thing, body = EVERY_KIND[kind]
    thing = "phone/1.jpg" if kind == "file" else thing
    body = body | ({"by": person.name} if "by" in body else {})
    return made(kind, thing=thing, body=body, author=person.name)


@pytest.mark.parametrize("kind", EVERY_KIND)
@pytest.mark.parametrize("person", ALLOWED, ids=lambda one: one.role)
def test_a_role_appends_what_it_may_and_nothing_else(store, person, kind):
    """Every role tries every kind."""
    entry = own(kind, person)
    if kind in ALLOWED[person]:
        assert store.append([entry], BLOBS, by=person) == 1
        return
    with pytest.raises(AccessError, match=rf"\({person.role}\) may not write a {kind}"):
        store.append([entry], BLOBS, by=person)

    assert store.entries(JOB) == ()


@pytest.mark.parametrize(
    ("person", "kind"),
    [
        (person, kind)
        for person in (LEAD, CREW_HAND)
        for kind in sorted(set(EVERY_KIND) - {"number", "issue"} - ALLOWED[person])
    ],
    ids=lambda one: getattr(one, "role", one),
)
def test_what_a_role_may_not_write_it_may_not_take_back(store, person, kind):
    """A removal is an entry of the same kind."""
    before = made(kind, 1)
    store.append([before], BLOBS, by=ANA)
    gone = made(kind, 2, body=None, parents=[before.entry_id], author=person.name)
    with pytest.raises(AccessError, match=f"may not write a {kind}"):
        store.append([gone], by=person)

    assert store.entries(JOB) == (before,)


@pytest.mark.parametrize(
    ("person", "kind"),
    [(person, kind) for person in (LEAD, CREW_HAND) for kind in sorted(ALLOWED[person])],
    ids=lambda one: getattr(one, "role", one),
)
def test_nobody_but_the_superintendent_writes_in_anothers_name(store, person, kind):
    """Neither as the author nor, where it is printed, as who said it."""
    forged = made(kind, thing="phone/1.jpg" if kind == "file" else EVERY_KIND[kind][0])
    assert forged.author != person.name
    with pytest.raises(AccessError, match=rf"in the name of .*{forged.author[:3]}"):
        store.append([forged], BLOBS, by=person)
    if kind in {"review", "check"}:
        said = made(kind, author=person.name)
        with pytest.raises(AccessError, match="in the name of"):
            store.append([said], by=person)

    assert store.entries(JOB) == ()


@pytest.mark.parametrize(
    ("thing", "removed", "parents"),
    [
        ("line.geojson", False, []),
        ("phone", False, []),
        ("phone/1.jpg", True, []),
        ("phone/1.jpg", False, ["somebody's"]),
    ],
)
def test_a_crew_adds_files_of_its_phones_and_changes_none(store, thing, removed, parents):
    """The job's own files are the superintendent's."""
    body = None if removed else EVERY_KIND["file"][1]
    entry = made("file", thing=thing, body=body, parents=parents, author=CREW_HAND.name)
    with pytest.raises(AccessError, match="may not write a file; superintendent may"):
        store.append([entry], BLOBS, by=CREW_HAND)

    assert store.entries(JOB) == ()


def test_a_superintendent_brings_in_what_others_wrote(store):
    """A job file from another truck."""
    assert store.append(every_kind(), BLOBS, by=BEN) == len(every_kind())


@pytest.mark.parametrize("role", ["", "owner", "Superintendent", "superintendent "])
def test_a_role_that_is_none_may_nothing(store, role):
    """No role is guessed from what is nearly one."""
    for kind in EVERY_KIND:
        with pytest.raises(AccessError, match="may not write"):
            store.append([made(kind)], BLOBS, by=Person(name=ANA.name, role=role))

    assert store.entries(JOB) == ()
