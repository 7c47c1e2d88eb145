"""The phone's pages and what they are made of, as they are sent.

In go the files of ``web/``, out come for each its bytes and its headers.  The service worker is
told which files make the pages, and a version that changes with any of them.
"""

import hashlib
import json
from collections.abc import Mapping
from importlib import resources
from typing import NamedTuple

__all__ = ["PAGES", "Asset", "assets"]

# Pages by the part of their address: /field/drive/.
PAGES = {"drive": "drive.html", "crew": "crew.html"}

_SORTS = {
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".webmanifest": "application/manifest+json",
}
# Our own scripts and styles, no others, none inline; pictures and sound that the phone made.
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "media-src blob:; connect-src 'self'; worker-src 'self'; manifest-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_ALLOWED = "geolocation=(self), camera=(self), microphone=(self), screen-wake-lock=(self)"
# The browser asks each time whether a file has changed; without a connection the service worker
# has them all.
_HEADERS = {
    "Cache-Control": "no-cache",
    "Content-Security-Policy": _POLICY,
    "Permissions-Policy": _ALLOWED,
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
_WORKER = "sw.js"
_VERSION, _SHELL = '"VERSION"', '["SHELL"]'


class Asset(NamedTuple):
    """One file as it is sent."""

    content: bytes
    headers: Mapping[str, str]


def _files() -> dict[str, bytes]:
    """The files of ``web/`` by name."""
    folder = resources.files("routeprep.field").joinpath("web")
    found = {one.name: one for one in folder.iterdir()}
    return {
        name: found[name].read_bytes()
        for name in sorted(found)
        if f".{name.rpartition('.')[2]}" in _SORTS
    }


def _told(worker: bytes, files: Mapping[str, bytes]) -> bytes:
    """The service worker with its version and the addresses, from its own, that it keeps."""
    digest = hashlib.sha256()
    for name, content in files.items():
        digest.update(f"{name} {len(content)}\n".encode() + content)
    pages = [f"{page}/" for page, name in PAGES.items() if name in files]
    kept = [name for name in files if name != _WORKER and not name.endswith(".html")]
    text = worker.decode().replace(_VERSION, json.dumps(digest.hexdigest()[:16]))
    return text.replace(_SHELL, json.dumps([*pages, *kept])).encode()


def assets() -> dict[str, Asset]:
    """Every file of the phone's pages, by name."""
    files = _files()
    files = files | {_WORKER: _told(files[_WORKER], files)}
    return {
        name: Asset(content, _HEADERS | {"Content-Type": _SORTS[f".{name.rpartition('.')[2]}"]})
        for name, content in files.items()
    }
