"""The offline map of a pack: one html file that needs no network.

In goes a ``Pack``, out comes the text of the page.
"""

from routeprep.maps.page import render

__all__ = ["render"]
