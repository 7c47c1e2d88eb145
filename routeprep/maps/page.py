"""The map as one self-contained html page.

In goes a ``Pack``, out comes the page: folium composes the map and its start, Leaflet and our
scripts stand inside, and the pack's data is text that only our scripts read.

folium compiles what it composes again as a template, so no outside text ever enters it: it is
given none, and the data is put into the finished page.
"""

import base64
import hashlib
import html
import json
import re
from collections.abc import Iterable, Mapping
from importlib import metadata, resources

import folium
from branca.element import Figure
from folium.template import Template

from routeprep.briefing import Tiles
from routeprep.maps.payload import payload
from routeprep.maps.tiles import tile_hosts
from routeprep.shapes import Pack

__all__ = ["live", "render"]

# Beyond this a cover is larger than a thumb; Leaflet's scale, 0.03 m a pixel.
_MOST_ZOOM = 22

# Our scripts, each after those that it needs.
_SCRIPTS = ("data", "symbols", "boxes", "lines", "labels", "finder", "list", "map")

_SLOT = re.compile(r"<!--slot (\w+)-->")
_SCRIPT = re.compile(r"<script>(.*?)</script>", re.DOTALL)
_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)
_JSON_TEXT = re.compile(r'"(?:[^"\\]|\\.)*"')
_IMAGE = re.compile(r"^.*\burl\([^)]*\).*\n", re.MULTILINE)
_SOURCE_MAP = re.compile(r"^//# sourceMappingURL=.*$", re.MULTILINE)

# What could mean something to a template, a script or a browser, written as JSON escapes.  What
# is not ASCII, the line ends U+2028 and U+2029 among it, is escaped by json already.
_INERT = {ord(char): f"\\u{ord(char):04x}" for char in "<>&{}$`"}


class _Frame(Figure):
    """The page round the map: our own template, without folium's header."""

    def __init__(self, template: str) -> None:
        super().__init__()
        self._template = Template(template)


class _Map(folium.Map):
    """A map that asks no other host for anything, with a name that does not change."""

    default_js: list[tuple[str, str]] = []  # noqa: RUF012 - as folium declares it
    default_css: list[tuple[str, str]] = []  # noqa: RUF012 - as folium declares it

    def get_name(self) -> str:
        """The id of its element and the name of its variable."""
        return "map_job"


def _inert_json(data: object) -> str:
    """JSON whose texts hold no character that means anything outside JSON."""
    text = json.dumps(data, allow_nan=False, separators=(",", ":"))
    return _JSON_TEXT.sub(lambda match: match[0].translate(_INERT), text)


def _filled(page: str, parts: Mapping[str, str]) -> str:
    """The page with these slots filled, in one pass: what is put in is not read again."""
    return _SLOT.sub(lambda match: parts.get(match[1], match[0]), page)


def _hashes(texts: Iterable[str]) -> str:
    hashes = [hashlib.sha256(text.encode()).digest() for text in texts]
    return " ".join(f"'sha256-{base64.b64encode(item).decode()}'" for item in hashes)


def _policy(page: str, tiles: Tiles | None) -> str:
    """A Content-Security-Policy: these scripts, these styles, tiles of this source, no more."""
    images = ["data:", *(tile_hosts(tiles) if tiles else ())]
    return (
        f"default-src 'none'; base-uri 'none'; form-action 'none'; img-src {' '.join(images)}; "
        f"style-src {_hashes(_STYLE.findall(page))}; script-src {_hashes(_SCRIPT.findall(page))}"
    )


def _assets() -> dict[str, str]:
    ours = resources.files("routeprep.maps")
    leaflet = resources.files("js_lib_leaflet") / "static" / "js_lib_leaflet"
    css = (leaflet / "leaflet.css").read_text(encoding="utf-8")
    js = (leaflet / "leaflet.js").read_text(encoding="utf-8")
    scripts = [(ours / f"{name}.js").read_text(encoding="utf-8") for name in _SCRIPTS]
    licence = metadata.distribution("django-js-lib-leaflet").read_text("LICENSE") or ""
    return {
        "leaflet_css": _IMAGE.sub("", css),
        "leaflet_js": _SOURCE_MAP.sub("", js),
        "leaflet_licence": html.escape(licence.strip()),
        "map_css": (ours / "map.css").read_text(encoding="utf-8"),
        "scripts": "\n".join(f"<script>{script}</script>" for script in scripts),
    }


def _composed() -> str:
    """The page as folium composes it: the map and its options, lines on a canvas.

    Zoom is not animated: Leaflet lets a choice made during an animation go unheard.
    """
    template = resources.files("routeprep.maps").joinpath("frame.html").read_text("utf-8")
    shown = _Map(
        tiles=None,
        prefer_canvas=True,
        attributionControl=False,
        fadeAnimation=False,
        zoomAnimation=False,
        zoomSnap=0.25,
    )
    shown.options["max_zoom"] = _MOST_ZOOM
    frame = _Frame(template)
    frame.add_child(shown)
    return str(frame.render())


def _page(title: str, data: str, tiles: Tiles | None, more: str = "") -> str:
    """The whole page; ``more`` is a script of ours that comes after the others."""
    assets = _assets()
    if more:
        assets["scripts"] += f"\n<script>{more}</script>"
    page = _filled(_composed(), assets)
    parts = {"policy": _policy(page, tiles), "title": html.escape(title), "data": data}
    return _filled(page, parts)


def live(tiles: Tiles | None, more: str) -> str:
    """The map's page without any data, for a script of ours that brings it, again and again.

    Parameters
    ----------
    tiles
        Where tiles may be asked for.
    more
        The script; it calls ``MAP.start`` and ``MAP.renew`` with what ``payload`` gives.
    """
    return _page("Map", "", tiles, more)


def render(pack: Pack) -> str:
    """``map.html``: a page that works from a file with no network, on a phone too.

    The same pack gives the same text.  Whatever a note holds is shown as it was typed and means
    nothing to the page.

    Raises
    ------
    JobError
        If the job names a source of tiles whose address cannot be one.
    """
    title = f"{pack.settings.name}, revision {pack.settings.revision}: map"
    return _page(title, _inert_json(payload(pack)), pack.settings.tiles)
