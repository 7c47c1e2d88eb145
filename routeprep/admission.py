"""Who comes in: in go a name and a passphrase, or a mail address, out comes a ``Person`` or nobody.

A passphrase is kept as its Argon2id hash alone, with the parameters of RFC 9106 that the library
takes by default.
"""

import threading
import time
from collections import deque
from collections.abc import Callable

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from routeprep.access import Person
from routeprep.officefile import Office

__all__ = ["SHORTEST", "Doorkeeper", "by_mail", "hashed"]

# Of a passphrase [characters].  NIST SP 800-63B-4, 3.1.1.2 asks for 15 where it is all that is
# asked; from memory.
SHORTEST = 15
# With so many wrong passphrases in so long a time nobody is answered until some are old.  Common
# practice, no source.
_WRONG_MOST, _WRONG_S = 10, 60.0

_HASHER = PasswordHasher()
# Of nobody: who is not known waits as long as who is.
_NOBODY = _HASHER.hash("nobody's")


def hashed(passphrase: str) -> str:
    """The hash of a passphrase, with all that is needed to check it.

    Parameters
    ----------
    passphrase
        ``SHORTEST`` characters or more.
    """
    return _HASHER.hash(passphrase)


def by_mail(office: Office, mail: str) -> Person | None:
    """Who has an account of this address, which somebody else has checked; None for nobody."""
    asked = mail.strip().casefold()
    for one in office.members:
        if asked and one.mail.casefold() == asked:
            return Person(name=one.name, role=one.role)
    return None


class Doorkeeper:
    """Checks passphrases, and answers nobody for a while when too many are wrong."""

    def __init__(self, now_s: Callable[[], float] = time.monotonic) -> None:
        """Keep the clock, which counts seconds [s]."""
        self._now_s = now_s
        self._lock = threading.Lock()
        self._wrong: deque[float] = deque(maxlen=_WRONG_MOST)

    def busy(self) -> bool:
        """Whether too many passphrases were wrong just now."""
        with self._lock:
            full = len(self._wrong) == _WRONG_MOST
            return full and self._now_s() - self._wrong[0] < _WRONG_S

    def admit(self, office: Office, name: str, passphrase: str) -> Person | None:
        """Who gave the right passphrase; None for a wrong one, or while it answers nobody.

        Parameters
        ----------
        office
            As it is now.
        name
            As the office's file has it.
        passphrase
            As typed.
        """
        if self.busy():
            return None
        found = {one.name: one for one in office.members if one.argon2}.get(name.strip())
        try:
            _HASHER.verify(found.argon2 if found else _NOBODY, passphrase)
        except (VerificationError, InvalidHashError):
            found = None
        if found is None:
            with self._lock:
                self._wrong.append(self._now_s())
            return None
        return Person(name=found.name, role=found.role)
