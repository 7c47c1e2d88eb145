"""Where tiles may come from: one named source and no other."""

import pytest

from routeprep.briefing import Tiles
from routeprep.errors import JobError
from routeprep.maps.tiles import tile_hosts


@pytest.mark.parametrize(
    ("address", "hosts"),
    [
        ("https://tiles.example/{z}/{x}/{y}.png", ("https://tiles.example",)),
        ("https://10.0.0.5:8443/{z}/{y}/{x}", ("https://10.0.0.5:8443",)),
        ("https://tiles.example/wms?z={z}&x={x}&y={y}", ("https://tiles.example",)),
        (
            "https://{s}.tiles.example/{z}/{x}/{y}",
            ("https://a.tiles.example", "https://b.tiles.example", "https://c.tiles.example"),
        ),
    ],
)
def test_the_hosts_are_those_of_the_address(address: str, hosts: tuple[str, ...]) -> None:
    """With the port where there is one, and three where {s} stands for one of them."""
    assert hosts == tile_hosts(Tiles(address=address, credit="Example"))


@pytest.mark.parametrize(
    "address",
    [
        "http://tiles.example/{z}/{x}/{y}.png",
        "https://tiles.example; script-src */{z}/{x}/{y}.png",
        "https://*/{z}/{x}/{y}",
        "https://*.example/{z}/{x}/{y}",
        "https://me@tiles.example/{z}/{x}/{y}",
        "https://tiles.example/'unsafe-inline' {z}/{x}/{y}",
        "https://tiles.{s}.example/{z}/{x}/{y}",
        "https://tiles.example/{z}/{x}",
        "https://tiles.example/{z}/{x}/{y}/{key}",
        "https://tiles.example/{z}/{x}/{y}/{",
        "https://tiles.example/{z}/{x}/{y}/}",
        "",
    ],
)
def test_another_address_is_refused(address: str) -> None:
    """What would widen the page's policy, or what the page could not fill in."""
    with pytest.raises(JobError, match=r"tiles is .*expected one address such as https://"):
        tile_hosts(Tiles(address=address, credit="Example"))
