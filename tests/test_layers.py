"""Modules import only from rows above their own, and only the third parties of their row."""

import ast
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "routeprep"

# From the ground up; within a row, only what is listed before.
ROWS = (
    ("errors",),
    (
        "units", "words", "sayings", "kinds", "spreads", "tables", "lines", "roadform", "estimates",
        "streets", "briefing", "roadway", "plans", "remarks", "shapes", "identity", "entries",
        "access",
    ),
    ("geodesy", "datums", "grids", "planar", "sun", "chains", "arcs", "bends", "elements"),
    (
        "drives", "noise", "tracks", "fitting", "standing", "smoothing", "centerline", "designed",
        "spines", "shaping", "runs", "lanes", "middle", "driven", "alongside", "arcfit", "turns",
    ),
    (
        "across", "locating", "regions", "stationing", "stakes", "markers", "ties", "curves",
        "stopping", "sight", "legs", "matching", "coverage", "walkwords", "walked", "corridor",
        "spots", "placing", "landmarks", "spans",
    ),
    (
        "likeness", "ways", "odds", "things", "association", "merging", "telling", "lateness",
        "robust", "shifts", "gathering", "averaging", "concluding", "evidence", "numbering",
        "decided", "correcting", "depths", "deciding", "missed", "pipes", "searching",
    ),
    (
        "stretches", "bands", "strips", "drums", "passes", "ramps", "ground", "lifting",
        "whereabouts", "touching", "meetings", "handwork", "quantities", "planning",
    ),
    (
        "leftover", "disputes", "readiness", "job", "listing", "sealing", "changes", "wording",
        "linewords", "surveywords", "whywords", "wheeling", "planwords", "outlines", "current",
        "recorded", "daychecks", "reviewing",
    ),
)  # fmt: skip
# They know all rows and no other edge; below a package's name its modules may import each other.
EDGES = ("readers", "store", "sheets", "maps", "exports")
TOP = (
    "home", "packing", "uploads", "office", "officefile", "admission", "jobs", "kept", "saving",
    "desk", "pages", "field", "cli",
)  # fmt: skip

_CORE_TABLES = {"numpy", "pandas", "shapely"}
_SCIENCE = {"numpy", "pandas", "scipy", "shapely"}
THIRD_PARTIES = {
    0: set(),
    1: _CORE_TABLES,
    2: {"numpy", "pyproj", "shapely"},
    **dict.fromkeys(range(3, 8), _SCIENCE),
    "readers": _SCIENCE | {"PIL", "geopandas", "pi_heif", "pyogrio"},
    "store": {"sqlalchemy"},
    "sheets": _SCIENCE | {"fontTools", "font_source_sans_pro", "typst"},
    "maps": _SCIENCE | {"branca", "folium", "js_lib_leaflet"},
    "exports": _SCIENCE | {"geopandas", "gpxpy", "pyogrio"},
    "top": _SCIENCE
    | {"argon2", "click", "platformdirs", "segno", "starlette", "streamlit", "tomlkit"},
}


def row_of(room: str) -> int | str:
    """The row's number, the edge's name, or "top"."""
    for number, rooms in enumerate(ROWS):
        if room in rooms:
            return number
    if room in EDGES:
        return room
    return "top" if room in TOP else f"no row holds {room!r}"


def may_import(room: str, other: str) -> bool:
    """Whether a room may import from another room of the package."""
    row, below = row_of(room), row_of(other)
    if room == other or row == "top":
        return True
    if not isinstance(below, int):
        return False
    if row == below:
        return ROWS[below].index(other) < ROWS[below].index(room)
    return isinstance(row, str) or below < row


def imported(tree: ast.AST) -> list[str]:
    """Every module that a tree imports, wherever the import stands."""
    names = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = "." * node.level + (node.module or "")
            one_by_one = base == "routeprep"
            names += [f"{base}.{alias.name}" for alias in node.names] if one_by_one else [base]
    return names


def violations(room: str, source: str) -> list[str]:
    """What the source of a room's module may not import."""
    found = []
    for name in imported(ast.parse(source)):
        top, _, rest = name.partition(".")
        other = rest.partition(".")[0]
        if name.startswith("."):
            found.append(f"{room} imports {name}: name the module in full")
        elif top == "routeprep":
            if other not in {"", "__version__"} and not may_import(room, other):
                found.append(f"{room} imports {name} from row {row_of(other)}")
        elif top not in sys.stdlib_module_names and top not in THIRD_PARTIES[row_of(room)]:
            found.append(f"{room} imports {top}, not a third party of its row")
    return found


# What would make a result depend on more than the arguments, by the name that is called or read.
_HIDDEN_INPUTS = {
    "environ", "fromtimestamp", "getenv", "input", "localtime", "monotonic", "now", "open",
    "perf_counter", "print", "read_bytes", "read_csv", "read_file", "read_text", "time_ns",
    "to_csv", "to_file", "today", "urandom", "utcnow", "uuid1", "uuid4", "write_bytes",
    "write_text",
}  # fmt: skip
_HIDDEN_MODULES = {"io", "os", "pathlib", "random", "secrets", "socket", "subprocess", "time"}


def hidden_inputs(source: str) -> list[str]:
    """Every name in the source that opens a file or asks clock, chance or environment."""
    tree = ast.parse(source)
    found = sorted({name for name in imported(tree) if name.partition(".")[0] in _HIDDEN_MODULES})
    for node in ast.walk(tree):
        attribute = node.attr if isinstance(node, ast.Attribute) else None
        bare = node.id if isinstance(node, ast.Name) else None
        if attribute in _HIDDEN_INPUTS or bare in _HIDDEN_INPUTS:
            found.append(f"{attribute or bare} in line {node.lineno}")
        if attribute in {"random", "default_rng"}:
            found.append(f"{attribute} in line {node.lineno}")
    return found


def modules() -> list[Path]:
    """Every module of the package but its door."""
    bundle = PACKAGE / "bundle"
    return sorted(
        path
        for path in PACKAGE.rglob("*.py")
        if path != PACKAGE / "__init__.py" and not path.is_relative_to(bundle)
    )


def room_of(path: Path) -> str:
    """The room that a module stands in: its file's name, or its package's."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_module_imports_only_from_rows_above(path: Path) -> None:
    """Each module stands in a row and keeps to what its row may import."""
    room = room_of(path)

    assert not str(row_of(room)).startswith("no row")
    assert violations(room, path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("room", "source", "fault"),
    [
        ("units", "import routeprep.job", "units imports routeprep.job from row 7"),
        ("units", "from routeprep import shapes", "units imports routeprep.shapes from row 1"),
        ("geodesy", "def f():\n    from routeprep.drives import clean", "from row 3"),
        ("numbering", "from routeprep.deciding import decide", "from row 5"),
        ("job", "from routeprep.readers.gpx import read", "from row readers"),
        ("maps", "from routeprep.sheets.typesetting import text", "from row sheets"),
        ("exports", "from routeprep.packing import pack_of", "from row top"),
        ("kinds", "def f():\n    import streamlit", "kinds imports streamlit"),
        ("drives", "from .units import to_m", "name the module in full"),
    ],
)
def test_a_made_up_violation_is_found(room: str, source: str, fault: str) -> None:
    """The test of the test: what may not be imported is named, also inside a function."""
    (found,) = violations(room, source)

    assert fault in found


@pytest.mark.parametrize(
    ("room", "source"),
    [
        ("shapes", "from routeprep import tables, units"),
        ("listing", "from routeprep.stationing import label"),
        (
            "exports",
            "from routeprep.exports.cells import rounded\nfrom routeprep import __version__",
        ),
        ("cli", "from routeprep.packing import pack_of\nimport click"),
    ],
)
def test_what_a_row_may_import_is_let_be(room: str, source: str) -> None:
    """Rows above, the own package and the row's third parties are no violation."""
    assert violations(room, source) == []


@pytest.mark.parametrize("name", [name for row in ROWS for name in row])
def test_core_has_no_hidden_inputs(name: str) -> None:
    """A core module opens no file and asks neither clock nor chance nor environment."""
    source = (PACKAGE / f"{name}.py").read_text(encoding="utf-8")

    assert hidden_inputs(source) == []


@pytest.mark.parametrize(
    "source",
    [
        "open('x')",
        "import os\nos.environ['HOME']",
        "dt.datetime.now(dt.UTC)",
        "np.random.default_rng(1)",
        "from random import random",
        "frame.to_csv('x')",
        "import time",
    ],
)
def test_a_made_up_hidden_input_is_found(source: str) -> None:
    """The test of the test: each way to a hidden input is named."""
    assert hidden_inputs(source) != []
