"""The map and the list of a job on a page, drawn as in ``map.html``.

In go a pack's payload, what is chosen and what a tap is for; out come what was chosen there and
where something was put.  The map stands in a frame of its own that can reach nothing of the page.
"""

import json
from collections.abc import Callable, Mapping
from functools import cache
from importlib import resources
from typing import Any, NamedTuple

import streamlit as st

from routeprep.briefing import Tiles
from routeprep.maps.page import live
from routeprep.maps.tiles import tile_hosts

__all__ = ["Asked", "Placed", "placed_on", "road_map", "said_on"]

_HTML = '<div class="map-frame"></div>'
_CSS = """
.map-frame iframe { border: 1px solid currentColor; display: block; height: 78vh; width: 100%; }
@media (max-width: 640px) { .map-frame iframe { height: 84vh; } }
"""
# A host that stands where the job's own source of tiles will, if it has one.
_HOSTS = "https://tile-hosts.invalid"
_NO_TILES = Tiles(address=f"{_HOSTS}/{{z}}/{{x}}/{{y}}", credit="none")


class Asked(NamedTuple):
    """What the map shows.

    Attributes
    ----------
    serial
        Another one for each state of the job.
    job
        As ``maps.payload`` gives it.
    chosen
        Id of a thing; empty for none.
    placing
        What a tap is for: "" nothing, "move" the chosen thing, "add" a new mark.
    tiles
        Where the job has them from.
    """

    serial: str
    job: Mapping[str, object]
    chosen: str
    placing: str
    tiles: Tiles | None


class Placed(NamedTuple):
    """Where somebody put something [deg]; ``item`` is empty for a new mark."""

    item: str
    lon_deg: float
    lat_deg: float


@cache
def _component() -> Any:  # noqa: ANN401 - the library's own, without a type
    """The component, made once: its script holds the map's page."""
    ours = resources.files("routeprep.pages")
    bridge = ours.joinpath("map_bridge.js").read_text("utf-8")
    page = live(_NO_TILES, bridge)
    script = ours.joinpath("map_frame.js").read_text("utf-8")
    # "</" ends no script here, since the text is no markup; but it is kept harmless all the same.
    script = script.replace('"MAP-PAGE"', json.dumps(page).replace("</", "<\\/"))
    script = script.replace('"TILE-HOSTS"', json.dumps(_HOSTS))
    return st.components.v2.component("road_map", html=_HTML, css=_CSS, js=script)


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else 0.0


def said_on(key: str) -> str:
    """The id of what was chosen on a map; empty for nothing.

    Parameters
    ----------
    key
        Of the map.
    """
    held = st.session_state.get(key) or {}
    return str(held.get("chosen") or "")


def placed_on(key: str) -> Placed | None:
    """Where something was put on a map just now; None if nothing was.

    Parameters
    ----------
    key
        Of the map.
    """
    held = (st.session_state.get(key) or {}).get("placed")
    if not isinstance(held, Mapping):
        return None
    return Placed(str(held.get("id", "")), _number(held.get("lon")), _number(held.get("lat")))


def road_map(
    asked: Asked, key: str, *, on_chosen: Callable[[], None], on_placed: Callable[[], None]
) -> None:
    """Show the map.

    Parameters
    ----------
    asked
        What it shows.
    key
        Of the map on the page.
    on_chosen, on_placed
        Called when something was chosen or put there; ``said_on`` and ``placed_on`` tell what.
    """
    data = {
        "serial": asked.serial,
        "job": asked.job,
        "chosen": asked.chosen,
        "placing": asked.placing,
        "hosts": " ".join(tile_hosts(asked.tiles)) if asked.tiles else "",
    }
    _component()(
        key=key,
        data=data,
        height="content",
        on_chosen_change=on_chosen,
        on_placed_change=on_placed,
    )
