"""Requests that may be answered, and answers that nobody keeps.

In goes a request, out comes its JSON, or a ``Refusal`` with a sentence: only from a page of this
server, only JSON, only within a size.
"""

import json
from typing import NamedTuple
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import JSONResponse

__all__ = ["BODY_MOST", "Refusal", "answer", "from_here", "json_of", "refuse"]

# The largest body that is taken [bytes], 16 MB: a photo as a phone takes it, and room.
BODY_MOST = 16 * 1024 * 1024
_UNCACHED = {"Cache-Control": "no-store", "X-Content-Type-Options": "nosniff"}


class Refusal(NamedTuple):
    """Why a request is not answered: the status of HTTP and a sentence for the person."""

    status: int
    why: str


def answer(content: object, *, status: int = 200) -> JSONResponse:
    """An answer in JSON that no cache keeps."""
    return JSONResponse(content, status_code=status, headers=_UNCACHED)


def refuse(refusal: Refusal) -> JSONResponse:
    """A refusal with its sentence."""
    return answer({"why": refusal.why}, status=refusal.status)


def from_here(request: Request, *, must_say: bool) -> Refusal | None:
    """Refuse what a page of another address sends; browsers say whose page it is.

    Parameters
    ----------
    request
        As it came.
    must_say
        Whether the page's address must be there: browsers send it with each POST.
    """
    origin, host = request.headers.get("origin"), request.headers.get("host", "")
    site = request.headers.get("sec-fetch-site", "same-origin")
    own = origin is None and not must_say
    if origin is not None:
        own = bool(host) and urlsplit(origin).netloc.lower() == host.lower()
    if own and site in {"same-origin", "none"}:
        return None
    return Refusal(403, "This may only be asked by the page that this server gave out; open it.")


def _declared(request: Request) -> Refusal | None:
    """Refuse a body by what its head says of it."""
    sort = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if sort != "application/json":
        return Refusal(415, f"Expected application/json, found {sort[:40] or 'nothing'}.")
    length = request.headers.get("content-length", "0")
    if not (length.isascii() and length.isdigit()) or int(length[:20]) > BODY_MOST:
        return _too_large()
    return None


def _too_large() -> Refusal:
    return Refusal(413, f"More than {BODY_MOST // 1024 // 1024} MB at once; send less at a time.")


async def json_of(request: Request) -> object:
    """The body of a POST read as JSON, or why it is not read.

    It is refused before it is read whole when it is too large.

    Parameters
    ----------
    request
        As it came.
    """
    refusal = from_here(request, must_say=True) or _declared(request)
    if refusal:
        return refusal
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > BODY_MOST:
            return _too_large()
    try:
        return json.loads(bytes(body))
    except (ValueError, RecursionError) as error:
        return Refusal(400, f"The body is no JSON ({str(error)[:80]}).")
