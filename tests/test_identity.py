"""Ids say what a thing is: a copy of a file, or a file with more in it, gives the same ids."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.identity import Item, item_ids

NOON = dt.datetime(2026, 6, 1, 12, 0, tzinfo=dt.UTC)
ONE = Item(NOON, -96.1, 41.2, "manhole")
items = st.lists(
    st.builds(
        Item,
        st.none() | st.datetimes(timezones=st.just(dt.UTC)),
        st.floats(-180, 180),
        st.floats(-90, 90),
        st.text(max_size=5),
    ),
    max_size=8,
)


@given(items)
def test_every_item_has_its_own_id(many: list[Item]) -> None:
    """No two items of a file share an id, equal ones neither."""
    assert len(set(item_ids("mark", [*many, *many]))) == 2 * len(many)


@given(items, st.text(max_size=5))
def test_one_more_item_changes_no_other_id(many: list[Item], words: str) -> None:
    """What is added at the end leaves the ids before it as they were."""
    more = [*many, ONE._replace(words=words)]

    assert item_ids("mark", more)[: len(many)] == item_ids("mark", many)


@given(items, st.randoms(use_true_random=False))
def test_order_in_the_file_does_not_matter(many: list[Item], chance: object) -> None:
    """The same items in another order have the same ids between them."""
    shuffled = list(many)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]

    assert sorted(item_ids("mark", shuffled)) == sorted(item_ids("mark", many))


@pytest.mark.parametrize(
    "other",
    [
        ONE._replace(time_utc=NOON.astimezone(dt.timezone(dt.timedelta(hours=-5)))),
        ONE._replace(words="  manhole \n"),
        ONE._replace(lon_deg=-96.1 + 2e-8),
    ],
)
def test_what_means_the_same_has_the_same_id(other: Item) -> None:
    """Another zone's clock, blanks, and less than 1e-7 degree make no other thing."""
    assert item_ids("mark", [other]) == item_ids("mark", [ONE])


@pytest.mark.parametrize(
    "other",
    [
        ONE._replace(time_utc=None),
        ONE._replace(time_utc=NOON + dt.timedelta(microseconds=1)),
        ONE._replace(lon_deg=-96.1000002),
        ONE._replace(words="valve"),
    ],
)
def test_what_means_another_thing_has_another_id(other: Item) -> None:
    """Time, place and words each count."""
    assert item_ids("mark", [other]) != item_ids("mark", [ONE])


def test_a_drive_is_not_a_mark() -> None:
    """Ids of different sorts never meet."""
    assert item_ids("drive", [ONE]) != item_ids("mark", [ONE])


def test_zero_has_no_sign() -> None:
    """A place on the equator or the prime meridian is one place, whichever way it was rounded."""
    below = ONE._replace(lon_deg=-1e-9, lat_deg=-0.0)

    assert item_ids("mark", [below]) == item_ids("mark", [ONE._replace(lon_deg=0.0, lat_deg=0.0)])


def test_ids_stay_as_they_are() -> None:
    """Decisions hang on ids, so this one may never change (recorded on 2026-11-24)."""
    assert item_ids("mark", [ONE]) == ["ef1dfc28-b14f-58f3-97f7-fa6bab829b4e"]
