"""What a source of map tiles may be, so that a page asks nobody else.

In goes the source that the job names, out come the hosts that the page may load pictures from.
"""

import re

from routeprep.briefing import Tiles
from routeprep.errors import JobError

__all__ = ["tile_hosts"]

# What stands for the tile, and for one of three hosts of the same source.
_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
_TILE = {"z", "x", "y"}
_HOSTS = "abc"

# Only a plain name with an optional port: it goes into the page's policy, where a blank or a
# semicolon would let in more than this source.
_ADDRESS = re.compile(r"https://(?P<host>(?:\{s\}\.)?[a-z0-9-]+(?:\.[a-z0-9-]+)*(?::\d{1,5})?)/\S*")


def tile_hosts(tiles: Tiles) -> tuple[str, ...]:
    """The hosts of a source, each with https:// before it.

    Raises
    ------
    JobError
        If the address is no https address of a plainly named host, or holds another placeholder
        than {z}, {x}, {y} and, before the host, {s}.

    Examples
    --------
    >>> tile_hosts(Tiles(address="https://tiles.example/{z}/{x}/{y}.png", credit="Example"))
    ('https://tiles.example',)
    >>> tile_hosts(Tiles(address="https://{s}.tiles.example/{z}/{x}/{y}", credit="Example"))[0]
    'https://a.tiles.example'
    """
    found = _ADDRESS.fullmatch(tiles.address)
    keys = set(_PLACEHOLDER.findall(tiles.address)) - {"s"}
    bare = _PLACEHOLDER.sub("", tiles.address)
    if found is None or keys != _TILE or "{" in bare or "}" in bare:
        msg = (
            f"[map] tiles is {tiles.address!r}; expected one address such as "
            "https://tiles.example/{z}/{x}/{y}.png, with no other braces; mend it or leave it out"
        )
        raise JobError(msg, tiles=tiles.address)
    host = found["host"]
    if host.startswith("{s}"):
        return tuple(f"https://{letter}{host.removeprefix('{s}')}" for letter in _HOSTS)
    return (f"https://{host}",)
