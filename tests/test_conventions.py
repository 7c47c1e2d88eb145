"""The house's conventions, read from the sources."""

import ast
import io
import re
import subprocess
import sys
import tokenize
from collections.abc import Iterator
from pathlib import Path

import pytest
from click import Context
from test_layers import PACKAGE, ROWS, modules

from routeprep import errors
from routeprep.cli import main
from routeprep.readers.disk import kinds_text
from routeprep.readers.jobtoml import read_settings

TOP = PACKAGE.parent
CORE = [PACKAGE / f"{name}.py" for row in ROWS for name in row]
GUIDES = [TOP / "README.md", TOP / "DEVELOPERS.md"]

# More names or lines than the house allows, with the reason.
MANY_NAMES = {
    "errors": "the tree is drawn in one place",
    "shapes": "what travels between rooms stands in one place",
    "tables": "five declared tables and what makes them",
    "kinds": "the words that the table may use, and the table",
    "lines": "pieces, alignments and centerlines with their stationing",
    "units": "factors, station units and their texts belong together",
}
LONG = {"shapes": "what travels between rooms stands in one place"}

# What the names of numbers in the core end with, and the few that have no unit or say it in words.
SUFFIXES = (
    "_m", "_deg", "_rad", "_s", "_mps", "_mps2", "_m2", "_sm", "_m3", "_kg", "_kgpm3", "_per_m",
    "_sds", "_share", "_sd",
)  # fmt: skip
UNITLESS = {
    "value": "in the unit that stands beside it",
    "every": "in the leg's station unit",
    "known_value": "in the leg's station unit",
    "back_value": "in the leg's station unit",
    "ahead_value": "in the leg's station unit",
    "start_value": "in the leg's station unit",
    "low_value": "in the leg's station unit",
    "high_value": "in the leg's station unit",
    "shift_value": "in the leg's station unit",
    "step": "in the leg's station unit",
    "fraction": "of a segment",
    "along": "of a segment",
    "xy": "in a plane of metres",
    "factor": "ground to ellipsoid",
    "scale": "grid to ellipsoid",
    "grid_scale": "grid to ellipsoid",
    "elevation_factor": "ellipsoid to ground",
    "combined": "grid to ground",
    "share": "of a whole",
    "weight": "of a fix",
    "seconds": "the unit itself",
    "values": "the numbers of a fit, each in its own unit",
    "cost": "of one way to match a drive to a line",
    "chance": "of a lane, of 1",
    "log_fit": "logarithm of a chance",
    "estimate": "a number of things",
    "low": "a number of things",
    "high": "a number of things",
    "ramp_slope": "length over depth",
    "loads_by_weight": "a number of loads",
    "loads_by_volume": "a number of loads",
}


def ident(path: Path) -> str:
    """A module's name for the test report."""
    return str(path.relative_to(PACKAGE))


def parsed(path: Path) -> ast.Module:
    """A module's syntax tree."""
    return ast.parse(path.read_text(encoding="utf-8"))


def text_of(node: ast.AST | None) -> str:
    """A piece of source, empty for none."""
    return "" if node is None else ast.unparse(node)


def public_names(tree: ast.Module) -> set[str]:
    """What a module defines without an underscore; names for array types do not count."""
    names: set[str] = set()
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            names.add(node.name)
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            names.add(node.target.id)
        elif isinstance(node, ast.Assign) and not text_of(node.value).startswith("npt.NDArray["):
            targets = [item for target in node.targets for item in ast.walk(target)]
            names |= {item.id for item in targets if isinstance(item, ast.Name)}
    return {name for name in names if not name.startswith("_")}


def declared(tree: ast.Module) -> list[str]:
    """What a module's ``__all__`` lists."""
    for node in tree.body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and "__all__" in text_of(node):
            assert node.value is not None
            names: list[str] = ast.literal_eval(node.value)
            return names
    return []


def functions(tree: ast.AST) -> Iterator[ast.FunctionDef]:
    """Every function and method."""
    return (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))


@pytest.mark.parametrize("path", modules(), ids=ident)
def test_all_lists_what_is_public(path: Path) -> None:
    """``__all__`` names what the module defines, and few names."""
    tree = parsed(path)
    names = declared(tree)
    made = public_names(tree) - {"__all__"}

    if path.name != "__init__.py":  # a package's door also names what its modules define
        assert made == set(names)
    assert len(names) <= 8 or path.stem in MANY_NAMES


@pytest.mark.parametrize("path", modules(), ids=ident)
def test_module_is_short(path: Path) -> None:
    """A module has 400 lines at most."""
    lines = len(path.read_text(encoding="utf-8").splitlines())

    assert lines <= 400 or path.stem in LONG


def undocumented_units(tree: ast.AST) -> list[str]:
    """Float parameters of public functions whose documentation names no unit in brackets."""
    found = []
    for function in functions(tree):
        doc = ast.get_docstring(function) or ""
        if function.name.startswith("_"):
            continue
        for argument in (*function.args.args, *function.args.kwonlyargs):
            if text_of(argument.annotation) not in {"float", "Floats", "npt.NDArray[np.float64]"}:
                continue
            entry = re.search(
                rf"^(?:\w+, )*{argument.arg}(?:, \w+)*$\n((?: +.*\n?|\n)+)", doc, re.MULTILINE
            )
            if not re.search(r"\[[^\]]+\]", entry[1] if entry else doc):
                found.append(f"{function.name}({argument.arg})")
    return found


@pytest.mark.parametrize("path", CORE, ids=ident)
def test_float_parameters_say_their_unit(path: Path) -> None:
    """Each number that a public core function takes is documented with its unit in brackets."""
    assert undocumented_units(parsed(path)) == []


def test_a_missing_unit_is_found() -> None:
    """The test of the test: a float parameter without [unit] is named."""
    doc = "Do.\n\n    Parameters\n    ----------\n    x_m\n        How far."
    source = f'def f(x_m: float) -> None:\n    """{doc}\n    """'

    assert undocumented_units(ast.parse(source)) == ["f(x_m)"]
    assert undocumented_units(ast.parse(source.replace("far.", "far [m]."))) == []


def float_names(tree: ast.AST) -> set[str]:
    """Names of float parameters of public functions and of float fields of classes."""
    named = [
        (argument.arg, argument.annotation)
        for function in functions(tree)
        if not function.name.startswith("_")
        for argument in (*function.args.args, *function.args.kwonlyargs)
    ] + [
        (text_of(field.target), field.annotation)
        for node in ast.walk(tree)
        if isinstance(node, ast.ClassDef)
        for field in node.body
        if isinstance(field, ast.AnnAssign)
    ]
    return {name for name, annotation in named if text_of(annotation) in {"float", "Floats"}}


@pytest.mark.parametrize("path", CORE, ids=ident)
def test_names_of_numbers_end_with_their_unit(path: Path) -> None:
    """A float in the core carries its unit in its name, or stands on the short unitless list."""
    wrong = {
        name
        for name in float_names(parsed(path))
        if not name.endswith(SUFFIXES) and name not in UNITLESS
    }

    assert wrong == set()


def carries_value(function: ast.AST, message: ast.AST) -> bool:
    """Whether a message is, or was put together from, text with a formatted value in it."""
    names = {item.id for item in ast.walk(message) if isinstance(item, ast.Name)}
    parts = [
        node.args[0] if isinstance(node, ast.Call) else node.value
        for node in ast.walk(function)
        if (isinstance(node, ast.Assign) and {text_of(one) for one in node.targets} & names)
        or (isinstance(node, ast.AugAssign) and text_of(node.target) in names)
        or (isinstance(node, ast.Call) and text_of(node.func) in {f"{n}.append" for n in names})
    ]
    return any(isinstance(item, ast.FormattedValue) for part in (message, *parts)
               for item in ast.walk(part))  # fmt: skip


def is_good(function: ast.AST, call: ast.AST | None) -> bool:
    """Whether a call makes an error of ours with a value in its message."""
    return (
        isinstance(call, ast.Call)
        and text_of(call.func) in errors.__all__
        and carries_value(function, call.args[0])
    )


def poor_raises(tree: ast.AST) -> list[str]:
    """Raises of what is no error of ours, or whose message has no value in it.

    A function of the module may make the error, if all that it returns is good.
    """
    makers = {
        function.name
        for function in functions(tree)
        if text_of(function.returns) in errors.__all__
        and all(is_good(function, node.value) for node in ast.walk(function)
                if isinstance(node, ast.Return))
    }  # fmt: skip
    return [
        f"line {node.lineno}: raise {text_of(node.exc)}"
        for function in functions(tree)
        for node in ast.walk(function)
        if isinstance(node, ast.Raise) and node.exc is not None
        and not is_good(function, node.exc)
        and not (isinstance(node.exc, ast.Call)
                 and text_of(node.exc.func).rpartition(".")[2] in makers)
    ]  # fmt: skip


@pytest.mark.parametrize("path", CORE, ids=ident)
def test_errors_are_ours_and_carry_the_value(path: Path) -> None:
    """Each raise in the core is of the package's tree, with a formatted value in its message."""
    assert poor_raises(parsed(path)) == []


@pytest.mark.parametrize(
    "body", ["raise ValueError(f'{x}')", "raise JobError('bad')", "m = 'bad'; raise JobError(m)"]
)
def test_a_poor_raise_is_found(body: str) -> None:
    """The test of the test: a foreign error and a message without a value are named."""
    assert len(poor_raises(ast.parse(f"def f(x): {body}"))) == 1


def numbers_in(source: str) -> set[str]:
    """The numbers written in a source, without underscores."""
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    return {one.string.replace("_", "") for one in tokens if one.type == tokenize.NUMBER}


@pytest.mark.parametrize(
    "path", [*modules(), TOP / "app.py", TOP / "data" / "make_demo.py"], ids=lambda path: path.stem
)
def test_factors_stand_in_units_only(path: Path) -> None:
    """No module but ``units`` holds a factor between feet, miles and metres."""
    factors = re.compile(r"^(0?\.3048|3\.2808|3048|1200/3937|3937|1609|1\.609|5280)")
    held = {one for one in numbers_in(path.read_text(encoding="utf-8")) if factors.match(one)}

    assert held == set() or path.stem == "units"


@pytest.mark.parametrize("path", modules(), ids=ident)
def test_projections_are_made_in_row_2_only(path: Path) -> None:
    """``Transformer`` and ``Geod`` occur where lengths, datums and planes are made."""
    used = {node.id for node in ast.walk(parsed(path)) if isinstance(node, ast.Name)} | {
        node.attr for node in ast.walk(parsed(path)) if isinstance(node, ast.Attribute)
    }

    assert not used & {"Transformer", "Geod"} or path.stem in {"datums", "geodesy", "grids"}


@pytest.mark.parametrize("path", CORE, ids=ident)
def test_dataclasses_are_frozen(path: Path) -> None:
    """Values are made once: every dataclass is frozen and has slots."""
    made = [
        text_of(decorator)
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.ClassDef)
        for decorator in node.decorator_list
        if "dataclass" in text_of(decorator)
    ]

    assert [one for one in made if "frozen=True" not in one or "slots=True" not in one] == []


# Imports each module as the first of the outer rooms, the libraries and the core staying loaded
# from the ones before it: the core's rows show that it has no cycle, and imports nothing of these.
# Prints what went wrong.
_ALONE = """
import importlib, sys
names = sys.argv[1:]
for name in names:
    for held in names:
        sys.modules.pop(held, None)
    try:
        importlib.import_module(name)
    except Exception as error:
        print(name, repr(error))
"""
_TOGETHER = """
import importlib, sys
for name in sys.argv[1:]:
    importlib.import_module(name)
print(sorted({"streamlit", "folium", "typst"} & set(sys.modules)))
"""


def printed(script: str, paths: list[Path]) -> str:
    """What a script prints that is given the names of modules, in an interpreter of its own."""
    names = [
        ".".join(path.relative_to(TOP).with_suffix("").parts).removesuffix(".__init__")
        for path in paths
    ]
    done = subprocess.run(
        [sys.executable, "-c", script, *names], capture_output=True, text=True, check=True, cwd=TOP
    )
    return done.stdout


def test_core_modules_load_no_renderer() -> None:
    """None pulls one in; that there is no cycle among them, their rows show."""
    assert printed(_TOGETHER, CORE) == "[]\n"


def test_every_other_module_imports_alone() -> None:
    """Each can be the first one of its room: there is no cycle to fall into."""
    assert printed(_ALONE, [path for path in modules() if path not in CORE]) == ""


@pytest.mark.parametrize("path", GUIDES, ids=lambda path: path.name)
def test_guides_name_what_exists(path: Path) -> None:
    """Every command, make target and file that a guide names is there."""
    text = path.read_text(encoding="utf-8")
    commands = set(re.findall(r"(?:^ {4,}|`|bin/)routeprep ([a-z]+)", text, re.MULTILINE))
    targets = set(re.findall(r"\bmake ([a-z]+)`", text))
    files = re.findall(r"`((?:[\w.-]+/)*[\w-]+\.(?:py|lock|md))`", text)
    makefile = (TOP / "Makefile").read_text(encoding="utf-8")

    assert commands - set(main.list_commands(Context(main))) == set()
    assert {one for one in targets if not re.search(rf"^{one}:", makefile, re.MULTILINE)} == set()
    assert [one for one in files if not [*TOP.glob(one), *PACKAGE.glob(f"**/{one}")]] == []


@pytest.mark.parametrize("path", GUIDES, ids=lambda path: path.name)
def test_links_in_guides_lead_somewhere(path: Path) -> None:
    """Every relative link and picture of a guide exists."""
    links = re.findall(r"\]\((?!https?://|#)([^)#]+)", path.read_text(encoding="utf-8"))

    assert [link for link in links if not (TOP / link).exists()] == []


def test_the_readmes_job_is_a_job() -> None:
    """The job file that the README shows in pieces is read without a fault."""
    shown = re.findall(r"```toml\n(.*?)```", GUIDES[0].read_text(encoding="utf-8"), re.DOTALL)
    # The last is the office's own file.
    job, more, section, _ = shown
    first, second = job.split('[[leg]]\ncode = "B"')
    whole = f'{first}\n{section}\n[[leg]]\ncode = "B"{second}\n{more}'
    settings, inputs = read_settings(whole.encode(), name="job.toml", kinds_text=kinds_text())

    assert [leg.code for leg in settings.legs] == ["A", "B"]
    assert [len(leg.sections) for leg in settings.legs] == [1, 0]
    assert inputs.drives == ("drives/*.gpx",)


def test_developers_guide_is_short() -> None:
    """The guide for developers has 300 lines at most."""
    assert len(GUIDES[1].read_text(encoding="utf-8").splitlines()) <= 300


def test_the_rows_are_told_alike_everywhere() -> None:
    """The guide's picture of the rows and the Makefile's core are those of the layer test."""
    guide = GUIDES[1].read_text(encoding="utf-8")
    drawn = [
        tuple(names.split())
        for names in re.findall(r"^row \d +(.*(?:\n {8}.*)*)$", guide, re.MULTILINE)
    ]
    makefile = (TOP / "Makefile").read_text(encoding="utf-8")
    core = re.search(r"^CORE := ((?:.*\\\n)*.*)$", makefile, re.MULTILINE)

    assert core is not None
    assert core[1].replace("\\\n", " ").split() == [name for row in ROWS for name in row]
    assert [row if "(kept" not in row else () for row in drawn] == list(ROWS)
