"""Who comes in, and who does not."""

from routeprep.access import Person
from routeprep.admission import Doorkeeper, by_mail, hashed
from routeprep.officefile import Member, Office

WORDS = "four words of a crew"
OFFICE = Office(
    members=(
        Member(name="Ann", role="superintendent", argon2=hashed(WORDS)),
        Member(name="Lee", role="traffic lead", mail="Lee@Example.org"),
        Member(name="Bob", role="crew", argon2="what is no hash"),
    )
)


def test_a_hash_says_how_it_was_made_and_never_the_words():
    """Argon2id, another salt each time."""
    one, other = hashed(WORDS), hashed(WORDS)

    assert one.startswith("$argon2id$")
    assert one != other
    assert WORDS not in one


def test_the_right_passphrase_opens_and_any_other_does_not():
    """Nor does a known name's without a hash, nor a name that nobody has."""
    door = Doorkeeper()

    assert door.admit(OFFICE, " Ann ", WORDS) == Person(name="Ann", role="superintendent")
    assert door.admit(OFFICE, "Ann", WORDS.upper()) is None
    assert door.admit(OFFICE, "Lee", "") is None
    assert door.admit(OFFICE, "Bob", "what is no hash") is None
    assert door.admit(OFFICE, "Zoe", "nobody's") is None


def test_after_ten_wrong_ones_nobody_is_answered_for_a_minute():
    """Not even the right one: else a guesser would know it by the answer."""
    clock_s = [0.0]
    door = Doorkeeper(lambda: clock_s[0])
    for _ in range(10):
        assert not door.busy()
        assert door.admit(OFFICE, "Ann", "guessed") is None

    assert door.busy()
    assert door.admit(OFFICE, "Ann", WORDS) is None
    clock_s[0] = 60.0
    assert door.admit(OFFICE, "Ann", WORDS) is not None


def test_an_account_is_known_by_its_address_whatever_its_letters():
    """And an empty address is nobody's."""
    assert by_mail(OFFICE, "lee@example.ORG ") == Person(name="Lee", role="traffic lead")
    assert by_mail(OFFICE, "other@example.org") is None
    assert by_mail(OFFICE, "") is None
