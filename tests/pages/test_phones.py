"""Phones: a code for a new one, and taking one back."""

import pytest

from routeprep.access import CREW, SUPERINTENDENT, Person
from routeprep.current import current_of
from routeprep.desk import Act, Desk
from routeprep.field import OFFERS
from routeprep.field.pairing import hash_of

NAME = "Bluestem Road and Alder Street (invented)"
ANN = Person(name="Ann", role=SUPERINTENDENT)


@pytest.fixture
def page(office):
    """The page of the demo, as the superintendent has it."""
    jobs = office.named().button(key="demo").click().run()
    return office.turned(jobs, "phones")


def paired(page, name="Bob", origin="https://truck.local:8501"):
    """The page after a code was made."""
    page.text_input(key="phone name").set_value(name).run()
    page.text_input(key="phone origin").set_value(origin)
    return page.button(key="offer").click().run()


def devices(office):
    """Phones that may send, as the store has them."""
    return current_of(office.store().entries(NAME)).devices


def test_a_code_is_made_for_whom_it_is_and_its_token_s_hash_alone_is_kept(office, page):
    """The code gives the token once."""
    shown = paired(page, "Bob *x*")
    said = next(one.value for one in shown.subheader if one.value.startswith("For "))
    token = OFFERS.take(said.partition(": ")[2])
    ((thing, entry),) = devices(office).items()

    assert said.startswith("For Bob \\*x\\*: ")
    assert hash_of(token) == thing
    assert (entry.body["name"], entry.body["role"], entry.author) == ("Bob *x*", CREW, "Ann")
    assert not shown.warning


def test_an_address_without_https_is_warned_of(page):
    """The phone would give no position."""
    assert "by https only" in paired(page, origin="http://truck.local:8501").warning[0].value


def test_a_phone_is_taken_back(office, page):
    """What it sent stays."""
    shown = paired(page)
    (thing,) = devices(office)
    after = shown.button(key=f"back {thing}").click().run()

    assert devices(office) == {}
    assert "No phone may send yet" in [one.value for one in after.subheader]


def test_what_came_is_counted_by_drive(office, page):
    """Fixes and marks."""
    desk = Desk(office.store(), NAME)
    unsaid = (
        "words", "across", "across_frame", "said_leg", "said_station", "said_offset", "size",
        "height_by", "method", "note", "photo", "clip",
    )  # fmt: skip
    unknown = dict.fromkeys(("lon_deg", "lat_deg", "accuracy_m", "height_m"))
    said = {"mark_id": "m", "drive_id": "d", "by": "Bob", "time_ms": 2}
    mark = dict.fromkeys(unsaid, "") | unknown | said
    desk.write(desk.look(), ANN, [
        Act("drive", "d", {"drive_id": "d", "name": "first", "by": "Bob", "walk": False}),
        Act("fixes", "d 1", {"drive_id": "d", "fixes": [[1, -96.0, 40.0, None, 5.0, None, None]]}),
        Act("mark", "m", mark),
    ])  # fmt: skip
    (row,) = page.run().dataframe[0].value.to_dict("records")

    assert row == {
        "": "drive", "What it is called": "first", "Who": "Bob", "Fixes": 1, "Marks": 1
    }  # fmt: skip


def test_others_see_the_phones_and_pair_none(office, page):
    """The superintendent does."""
    paired(page)
    other = office.signed_in("Cy", CREW)
    other.button(key=f"open {NAME}").click().run()
    shown = office.turned(other, "phones")

    assert "The superintendent pairs phones." in [one.value for one in shown.markdown]
    assert len(shown.button) == 0
