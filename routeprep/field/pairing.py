"""Pairing a phone: a token made for it, a short code to fetch it with, and the code as a picture.

A signed-in page makes a token with ``new_token``, keeps its hash in the store, and shows the code
of ``Offers.offer``; the phone sends the code and gets the token, once.  Codes live in the memory
of this process alone.
"""

import datetime as dt
import hashlib
import secrets
import threading
import time
from collections import deque
from collections.abc import Callable
from typing import NamedTuple

import segno

__all__ = ["OFFERS", "NewToken", "Offers", "hash_of", "new_token", "pairing_address", "qr_code"]

# Letters and digits that nobody takes for another when read from a screen or heard by radio.
_ALPHABET = "ACDEFGHJKMNPQRTVWXY3479"
_CODE_LENGTH = 8
_CODE_LASTS_S = 600.0
# With so many wrong codes in so long a time nobody is answered until some are old.  23 to the
# eighth are 7.8e10 codes: at this pace a guesser needs some 10,000 years for an even chance to hit
# the one that stands.  Common practice, no source.
_WRONG_MOST, _WRONG_S = 10, 60.0
# Bytes of chance in a token: 256 bits cannot be guessed, so a plain hash of it is safe to keep.
_TOKEN_BYTES = 32
_DAYS = 30


class NewToken(NamedTuple):
    """A token that was made.

    Attributes
    ----------
    token
        What the phone is given; kept nowhere else.
    thing, body
        Of the entry of kind "device" that keeps its hash and whose it is.
    """

    token: str
    thing: str
    body: dict[str, str]


def hash_of(token: str) -> str:
    """What is kept of a token: its SHA-256 in hexadecimal."""
    return hashlib.sha256(token.encode()).hexdigest()


def new_token(*, name: str, role: str, by: str, now: dt.datetime, days: int = _DAYS) -> NewToken:
    """Make a token.

    Parameters
    ----------
    name
        Who holds the phone; what it sends is said by them.
    role
        As which it may write, one of ``access.ROLES``.
    by
        Who makes the token.
    now
        The time.
    days
        For how long it stands.
    """
    token = secrets.token_urlsafe(_TOKEN_BYTES)
    until = (now + dt.timedelta(days=days)).astimezone(dt.UTC).isoformat(timespec="seconds")
    return NewToken(token, hash_of(token), {"name": name, "role": role, "until": until, "by": by})


def pairing_address(origin: str, code: str) -> str:
    """The address that a phone opens to be paired: what stands after # is sent to no server.

    Parameters
    ----------
    origin
        Of this server as the phone reaches it: ``https://truck.example:8501``.
    code
        The short code.
    """
    return f"{origin.rstrip('/')}/field/drive/#pair={code}"


def qr_code(address: str) -> str:
    """The picture of an address as a data URI of SVG, black on white with its quiet zone."""
    code = segno.make(address, error="m", micro=False)
    uri: str = code.svg_data_uri(scale=6, border=4, dark="#000", light="#fff", unit="")
    return uri


class Offers:
    """Codes that wait to be exchanged; threads may share it."""

    def __init__(self, now_s: Callable[[], float] = time.monotonic) -> None:
        """Keep a clock that only goes forward."""
        self._now_s = now_s
        self._lock = threading.Lock()
        self._waiting: dict[str, tuple[str, float]] = {}
        self._wrong: deque[float] = deque(maxlen=_WRONG_MOST)

    def offer(self, token: str) -> str:
        """A short code for a token, good once and for ten minutes.

        Parameters
        ----------
        token
            As ``new_token`` made it.
        """
        code = "".join(secrets.choice(_ALPHABET) for _ in range(_CODE_LENGTH))
        with self._lock:
            self._forget()
            self._waiting[hash_of(code)] = (token, self._now_s() + _CODE_LASTS_S)
        return code

    def take(self, code: str) -> str | None:
        """The token of a code, which is used up; empty if no such code stands.

        None while too many wrong ones were tried.

        Parameters
        ----------
        code
            As a person typed it: small letters, blanks and dashes do not count.
        """
        plain = "".join(code.split()).replace("-", "").upper()
        with self._lock:
            self._forget()
            now_s = self._now_s()
            if len(self._wrong) == _WRONG_MOST and now_s - self._wrong[0] < _WRONG_S:
                return None
            token, _ = self._waiting.pop(hash_of(plain), ("", 0.0))
            if not token:
                self._wrong.append(now_s)
            return token

    def _forget(self) -> None:
        """Drop the codes whose time is over."""
        now_s = self._now_s()
        self._waiting = {key: one for key, one in self._waiting.items() if now_s < one[1]}


# Of this process: the signed-in page offers, the phone's route takes.
OFFERS = Offers()
