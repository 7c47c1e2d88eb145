"""Bytes of a text file to text, whatever program saved it.

In go bytes, out comes text without its byte order mark.  Tables of our own must be UTF-8; what a
person typed in a program of their own may also be UTF-16 or Windows-1252, and that is said.
"""

import re

from routeprep.errors import ReadError

__all__ = ["WIDE", "any_text_of", "text_of"]

# Byte order marks of UTF-16.
WIDE = (b"\xff\xfe", b"\xfe\xff")
# Signs that no text has: what holds them is not text in an older encoding either.
_CONTROL = re.compile("[\x00-\x08\x0e-\x1f\x7f]")


def _not_empty(data: bytes, name: str) -> None:
    """Refuse a file without any text.

    Raises
    ------
    ReadError
        If there is none.
    """
    if not data.strip():
        msg = f"{name}: is empty ({len(data)} bytes); save it again, or take it out of the job"
        raise ReadError(msg, file=name)


def _decoded(data: bytes, encoding: str, *, name: str, tried: str) -> str:
    """Text in an encoding.

    Raises
    ------
    ReadError
        If the bytes are none.
    """
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        at = error.start
        msg = (
            f"{name}: is not text in {tried} (byte {at} is {data[at]:#04x}); save it again as UTF-8"
        )
        raise ReadError(msg, file=name, byte=at) from error


def text_of(data: bytes, *, name: str) -> str:
    """Decode UTF-8, without its byte order mark.

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.
    """
    _not_empty(data, name)
    return _decoded(data, "utf-8-sig", name=name, tried="UTF-8")


def _is_utf_8(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def any_text_of(data: bytes, *, name: str) -> tuple[str, str]:
    """Decode UTF-8, UTF-16 with its byte order mark, or Windows-1252.

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.

    Returns
    -------
    tuple of str and str
        The text, and what is to be said of its encoding; empty when nothing is.

    Raises
    ------
    ReadError
        If its bytes are no text in one of them.
    """
    _not_empty(data, name)
    wide = data.startswith(WIDE)
    if not wide and _is_utf_8(data):
        return text_of(data, name=name), ""
    tried = "UTF-8, UTF-16 or Windows-1252"
    text = _decoded(data, "utf-16" if wide else "cp1252", name=name, tried=tried)
    strange = _CONTROL.search(text)
    if strange:
        msg = (
            f"{name}: is not text in {tried} (character {strange.start()} is {strange[0]!r}); "
            "save it again as UTF-8"
        )
        raise ReadError(msg, file=name, character=strange.start())
    said = "" if wide else "is not UTF-8 and was read as Windows-1252: look at its accents"
    return text, said
