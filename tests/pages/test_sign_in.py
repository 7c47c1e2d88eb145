"""Who is there: nobody gets further who has not said or shown it."""

import pytest
import streamlit as st
from stored_job import JOB, stored

from routeprep.admission import hashed
from routeprep.officefile import Member, office_path, put_member

WORDS = "four words of a crew"
SAID = WORDS


@pytest.fixture
def members(office):
    """An office of two who may sign in, one of them with an account elsewhere."""
    put_member(Member(name="Ann", role="traffic lead", argon2=hashed(WORDS)))
    put_member(Member(name="Lee", role="crew", mail="lee@example.org"))
    return office


def signed_in(office, name="Ann", said=SAID):
    """The pages after somebody tried to sign in."""
    page = office.opened()
    page.text_input(key="member name").set_value(name)
    page.text_input(key="passphrase").set_value(said)
    return page.button[0].click().run()


def texts(page):
    """All that a page says."""
    return " ".join(one.value for kind in (page.markdown, page.error) for one in kind)


def test_on_one_machine_a_name_is_enough(office):
    """It is asked for once, and blanks are none."""
    asked = office.opened()
    asked.text_input[0].set_value("  ")
    still = asked.button[0].click().run()
    assert len(still.text_input) == 1
    assert "Jobs" not in [one.value for one in still.subheader]

    page = office.named(" Ann *b* ")
    assert "You are **Ann \\*b\\***, superintendent." in texts(page)


@pytest.mark.parametrize("address", ["10.0.0.4", "", "0.0.0.0", "truck"])  # noqa: S104
def test_a_page_that_others_can_reach_lets_nobody_in_by_a_name(office, monkeypatch, address):
    """Nobody is named who may sign in, so nobody is the superintendent."""
    monkeypatch.setattr(st, "get_option", {"server.address": address}.get)
    page = office.opened()

    assert "can be reached from other machines" in page.error[0].value
    assert len(page.text_input) == 0


def test_where_people_sign_in_a_passphrase_gives_name_and_role(members):
    """And what the role may not is not offered."""
    page = signed_in(members)

    assert "You are **Ann**, traffic lead." in texts(page)
    assert [one.key for one in page.button] == ["leave"]


def test_a_wrong_passphrase_a_wrong_name_and_an_account_s_name_are_one_sentence(members):
    """Which of both was wrong is not said."""
    tried = [("Ann", "guessed words here"), ("Zoe", SAID), ("Lee", SAID)]
    pages = [signed_in(members, name, said) for name, said in tried]

    assert {one.error[0].value for one in pages} == {"Name and passphrase do not go together."}


def test_after_ten_wrong_ones_it_waits(members):
    """Whoever asks, and with the right one too."""
    for _ in range(10):
        signed_in(members, said="guessed words here")

    assert signed_in(members).error[0].value.startswith("Too many wrong passphrases just now")


def test_who_is_taken_out_of_the_file_is_out_at_the_next_showing(members):
    """The page asks anew who is there."""
    page = signed_in(members)
    office_path().write_text("format = 1\n")
    put_member(Member(name="Bob", role="crew", argon2=hashed(WORDS)))

    assert len(page.run().text_input(key="passphrase").value) == 0


def test_who_signs_out_is_asked_again(members):
    """On one machine too."""
    page = signed_in(members).button(key="leave").click().run()

    assert page.text_input(key="member name").label == "Name"


def test_an_account_needs_a_service_that_checks_it(members):
    """Without one a sentence says where it is told how."""
    page = members.opened()
    page.button[1].click().run()

    assert "No account service is set up" in texts(page)


def test_a_file_that_is_not_understood_lets_nobody_in(office):
    """It says what to mend."""
    office_path().write_text("format = 9\n")
    page = office.opened()

    assert "this version reads 1" in page.error[0].value
    assert len(page.text_input) == 0


@pytest.mark.parametrize("role", ["crew", "traffic lead"])
def test_what_was_shown_to_a_superintendent_is_not_pressed_in_another_role(office, role):
    """The button is still there; the office's file has changed since."""
    stored(office.store())
    page = office.signed_in("Sam", "superintendent")
    road = office.turned(page.button(key=f"open {JOB}").click().run(), "road")
    before = office.store().entries(JOB)
    put_member(Member(name="Sam", role=role, argon2=hashed(WORDS)))
    shown = next(one for one in road.button if str(one.key).startswith("kind ")).click().run()

    assert f"has become Sam \\({role}\\)" in shown.error[0].value
    assert office.store().entries(JOB) == before


def test_what_was_shown_to_somebody_is_not_pressed_once_they_are_taken_out(office):
    """Nobody is signed in then."""
    stored(office.store())
    office.signed_in("Lee", "traffic lead")
    page = office.signed_in("Sam", "superintendent")
    road = office.turned(page.button(key=f"open {JOB}").click().run(), "road")
    before = office.store().entries(JOB)
    office_path().write_text(office_path().read_text().replace('"Sam"', '"Ben"'))
    next(one for one in road.button if str(one.key).startswith("kind ")).click().run()

    assert office.store().entries(JOB) == before
