"""routeprep: from drives and notes to one station-ordered list of what is in the road."""

__all__ = ["__version__"]

__version__ = "0.1.0"
