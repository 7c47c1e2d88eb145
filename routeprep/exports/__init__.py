"""The data exports of a pack: the list as tables and layers, and the report for machines.

In goes a ``Pack``, out comes text; the GeoPackage alone is given a path.  The same pack gives
the same bytes.
"""

from routeprep.exports.delimited import (
    csv_text,
    numbers_text,
    unrecorded_text,
    unsorted_text,
)
from routeprep.exports.features import geojson_text, gpx_text
from routeprep.exports.geopackage import write_gpkg
from routeprep.exports.report import report_text

__all__ = [
    "csv_text",
    "geojson_text",
    "gpx_text",
    "numbers_text",
    "report_text",
    "unrecorded_text",
    "unsorted_text",
    "write_gpkg",
]
