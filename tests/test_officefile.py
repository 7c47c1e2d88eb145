"""The office's file: who may sign in, and from where."""

import re
import stat

import pytest

from routeprep.errors import OutputError, ReadError
from routeprep.officefile import Member, Office, Sharing, office_path, put_member, read_office

LEE = Member(name="Lee", role="traffic lead", mail="lee@example.org")
ANN = Member(name="Ann", role="superintendent", argon2="$argon2id$some")
SHARED = """format = 1
[sharing]
address = "10.0.0.5"
hosts = ["truck.local"]
"""


@pytest.fixture(autouse=True)
def place(tmp_path, monkeypatch):
    """Where the file is in these tests."""
    path = tmp_path / "settings" / "office.toml"
    monkeypatch.setenv("ROUTEPREP_OFFICE", str(path))
    return path


def wrote(place, text):
    """The file with this text."""
    place.parent.mkdir(exist_ok=True)
    place.write_text(text)
    return place


def refusal(place, text):
    """Why the file with this text is refused."""
    wrote(place, text)
    with pytest.raises(ReadError, match=re.escape(str(place))) as caught:
        read_office()
    return str(caught.value).removeprefix(f"{place}: ")


def test_without_a_file_nobody_signs_in_and_nothing_is_shared():
    """The page of one laptop."""
    assert read_office() == Office(members=(), sharing=None)


def test_it_lies_in_the_settings_folder_of_the_user_unless_named(monkeypatch, tmp_path):
    """A variable names another."""
    monkeypatch.delenv("ROUTEPREP_OFFICE")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))

    assert office_path() == tmp_path / "routeprep" / "office.toml"


def test_persons_are_put_in_one_by_one_and_read_back(place):
    """The folder is made, and the file is its owner's alone."""
    assert put_member(ANN) == place
    put_member(LEE)

    assert read_office() == Office(members=(ANN, LEE), sharing=None)
    assert stat.S_IMODE(place.stat().st_mode) == 0o600


def test_a_person_put_in_again_takes_the_old_one_s_place_and_the_rest_is_left(place):
    """Comments of who keeps the file too."""
    wrote(place, f"# kept by hand\n{SHARED}")
    put_member(ANN)
    put_member(LEE)
    changed = Member(name="Ann", role="crew", argon2="$argon2id$other")
    put_member(changed)

    assert read_office().members == (LEE, changed)
    assert place.read_text().startswith("# kept by hand\n")


def test_sharing_is_read(place):
    """With a certificate or behind a proxy that has one."""
    wrote(place, f'{SHARED}certificate = "c.pem"\nkey = "k.pem"\n')

    assert read_office().sharing == Sharing(
        address="10.0.0.5",
        hosts=("truck.local",),
        certificate=str(place.parent / "c.pem"),
        key=str(place.parent / "k.pem"),
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("format = 2\n", "format is 2; this version reads 1"),
        ("", "format is None; this version reads 1"),
        ("format = 1\nshare = true\n", "the file has share; known are format, person, sharing"),
        ("format = 1\nperson = 3\n", "person is one table; write [[person]]"),
        ("format = 1\nperson = [3]\n", "[[person]] 1 is '3'; write a table"),
        (
            'format = 1\n[[person]]\nrole = "crew"\nmail = "a@b"\n',
            "[[person]] 1 has no name; give the name that is to be printed",
        ),
        (
            'format = 1\n[[person]]\nname = 3\nrole = "crew"\nmail = "a@b"\n',
            "[[person]] 1 has name '3'; write a text in quotes",
        ),
        (
            'format = 1\n[[person]]\nname = "A"\nrole = "boss"\nmail = "a@b"\n',
            "[[person]] 1 has the role 'boss'; write one of superintendent, traffic lead, crew",
        ),
        (
            'format = 1\n[[person]]\nname = "A"\nrole = "crew"\n',
            "[[person]] 1 has neither argon2 nor mail; give one: routeprep person sets it",
        ),
        (
            'format = 1\n[[person]]\nname = "A"\nrole = "crew"\nmail = "a@b"\nargon2 = "x"\n',
            "[[person]] 1 has both argon2 and mail; give one: routeprep person sets it",
        ),
        (
            'format = 1\n[sharing]\naddress = "10.0.0.5"\n',
            "[sharing] has hosts '[]'; write what others call this machine, as [\"truck.local\"]",
        ),
        (
            'format = 1\n[sharing]\nhosts = ["a"]\n',
            '[sharing] has no address; write one of this machine, or "0.0.0.0"',
        ),
        (
            f'{SHARED}key = "k.pem"\n',
            "[sharing] has one of certificate and key; give both, or neither",
        ),
    ],
)
def test_a_file_that_is_not_understood_lets_nobody_in(place, text, said):
    """It says where, what was found and what to do."""
    assert refusal(place, text) == said


def test_a_name_that_stands_twice_is_refused(place):
    """Whose passphrase would count, nobody knows."""
    one = '[[person]]\nname = "A"\nrole = "crew"\nmail = "a@b"\n'

    assert refusal(place, f"format = 1\n{one}{one}").startswith("[[person]] names A twice")


def test_what_is_no_toml_is_refused_and_not_written_over(place):
    """Nobody is put into it."""
    assert "cannot be read" in refusal(place, "= = =")
    with pytest.raises(ReadError, match="cannot be read"):
        put_member(ANN)
    assert place.read_text() == "= = ="


def test_a_place_that_cannot_be_written_is_named(place):
    """A file stands where the folder would be."""
    place.parent.write_text("no folder")
    with pytest.raises((OutputError, ReadError), match=r"office\.toml"):
        put_member(ANN)
