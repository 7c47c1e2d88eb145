"""``routeprep person``, and what ``routeprep app`` makes of the office's file."""

import pytest
from click.testing import CliRunner

from routeprep.admission import Doorkeeper
from routeprep.cli.app import server_options
from routeprep.cli.person import command
from routeprep.errors import AccessError
from routeprep.officefile import Member, Office, Sharing, read_office

WORDS = "four words of a crew"
LEE = Member(name="Lee", role="crew", mail="lee@example.org")


@pytest.fixture(autouse=True)
def place(tmp_path, monkeypatch):
    """Where the office's file is in these tests."""
    monkeypatch.setenv("ROUTEPREP_OFFICE", str(tmp_path / "office.toml"))
    return tmp_path / "office.toml"


def run(*words, typed=f"{WORDS}\n{WORDS}\n"):
    """The command with what is typed."""
    return CliRunner().invoke(command, words, input=typed)


def test_a_passphrase_is_typed_twice_and_only_its_hash_is_kept(place):
    """Who has it may come in, in that role."""
    got = run("Ann", "--role", "traffic lead")

    assert got.output.endswith(f"{place}: Ann may sign in as traffic lead\n")
    assert WORDS not in got.output + place.read_text()
    assert Doorkeeper().admit(read_office(), "Ann", WORDS).role == "traffic lead"


def test_a_short_passphrase_and_an_empty_name_are_refused(place):
    """Nothing is written."""
    short, nobody = run("Ann", "--role", "crew", typed="abc\nabc\n"), run(" ", "--role", "crew")

    assert "has 3 characters; take 15 or more" in short.output
    assert "the name is empty" in nobody.output
    assert not place.exists()


def test_with_a_mail_address_no_passphrase_is_asked_for():
    """The account's own page asks."""
    assert run("Lee", "--role", "crew", "--mail", "lee@example.org", typed="").exit_code == 0
    assert read_office().members == (LEE,)


def test_the_pages_answer_on_this_machine_only_unless_they_are_shared():
    """Whoever may sign in."""
    alone = ("--server.address", "127.0.0.1")

    assert tuple(server_options(Office())) == alone
    assert tuple(server_options(Office(members=(LEE,)))) == alone


def test_shared_pages_answer_where_the_file_says_and_to_these_names():
    """With https when it names a certificate."""
    plain = Sharing(address="10.0.0.4", hosts=("truck.local",))
    sealed = Sharing(address="10.0.0.5", hosts=("t",), certificate="c.pem", key="k.pem")

    assert list(server_options(Office(members=(LEE,), sharing=plain))) == [
        "--server.address", "10.0.0.4", "--server.allowedHosts", "localhost",
        "--server.allowedHosts", "127.0.0.1", "--server.allowedHosts", "truck.local",
    ]  # fmt: skip
    assert list(server_options(Office(members=(LEE,), sharing=sealed)))[-4:] == [
        "--server.sslCertFile", "c.pem", "--server.sslKeyFile", "k.pem",
    ]  # fmt: skip


def test_pages_are_not_shared_while_nobody_can_sign_in():
    """Else anybody who comes would be the superintendent."""
    office = Office(sharing=Sharing(address="10.0.0.4", hosts=("t",)))
    with pytest.raises(AccessError, match="names nobody who may sign in"):
        server_options(office)
