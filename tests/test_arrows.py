"""Who may import whom, as data; and what no module may hold."""

from __future__ import annotations

import ast
import csv
import importlib
import inspect
import subprocess
import sys
from dataclasses import is_dataclass
from pathlib import Path

import pytest

SRC = Path(__file__).resolve().parents[1] / "src" / "gatepost"
FLOOR = {"errors", "units", "limits", "library", "yamlfile", "shape"}
# room: the rooms of gatepost that it may import from
MAY: dict[str, set[str]] = {
    "errors": set(),
    "units": set(),
    "project": set(),
    "arrays": set(),
    "frames": set(),
    "moisture": {"arrays"},
    "decay": {"arrays"},
    "rain": {"arrays"},
    "humidity": {"arrays"},
    "corrosion": {"arrays"},
    "holding": {"arrays"},
    "cost": set(),
    "limits": {"errors"},
    "yamlfile": {"errors", "limits"},
    "shape": {"errors", "yamlfile"},
    "proved": {"yamlfile"},
    "library": {"errors", "yamlfile", "proved"},
    "clauses": {"errors", "limits", "library"},
    "encode": {"library"},
    "reading": {*FLOOR, "project", "humidity", "encode"},
    "rewriting": {*FLOOR, "project", "reading"},
    "deriving": {*FLOOR, "project", "clauses", "encode", "moisture", "decay", "rain", "corrosion", "holding"},
    "judging": {"errors", "limits", "yamlfile", "shape", "library", "clauses", "encode"},
    "missing": {"library", "judging", "deriving"},
    "review": {"project", "library", "encode", "judging", "deriving", "missing"},
    "large": {"errors", "library", "project", "reading", "deriving", "judging", "missing"},
    "crew": {"errors", "library", "limits", "project", "reading", "judging", "missing", "large", "writing"},
    "partitions": {"library", "project", "reading", "deriving", "judging", "large"},
    "choosing": {
        "errors",
        "frames",
        "units",
        "cost",
        "review",
        "reading",
        "yamlfile",
        "clauses",
        "library",
        "project",
        "encode",
        "judging",
        "deriving",
    },
    "planning": {"yamlfile", "clauses", "library", "cost", "review", "deriving", "choosing"},
    "writing": {
        *FLOOR,
        "planning",
        "choosing",
        "project",
        "judging",
        "deriving",
        "missing",
        "large",
        "review",
        "moisture",
        "__init__",
    },
    "road": {"reading", "deriving", "judging", "choosing", "planning", "review", "writing"},
    "calls": {
        "errors",
        "library",
        "missing",
        "large",
        "crew",
        "project",
        "reading",
        "rewriting",
        "deriving",
        "judging",
        "choosing",
        "review",
        "writing",
    },
    "output": {"errors"},
    "cli": {
        "errors",
        "output",
        "limits",
        "library",
        "calls",
        "planning",
        "reading",
        "rewriting",
        "deriving",
        "judging",
        "choosing",
        "review",
        "writing",
        "__init__",
    },
    "__init__": {"road"},
    "__main__": {"cli", "__init__"},
}
# What writing takes from the rooms that compute: shapes and fixed words, and these few that still work something out.
COMPUTE = {"choosing", "planning", "deriving", "moisture", "judging", "review"}
STILL_COMPUTES = {
    ("choose_sheet.py", "Cells"),
    ("movement_sheet.py", "Reasons"),
    ("sheets.py", "coefficients"),
    ("sheets.py", "emc_is_soft"),
    ("sheets.py", "emc_pct"),
}
LOOK_UP = {"name_of", "severity_meaning"}
PURE = {"arrays", "moisture", "decay", "rain", "humidity", "corrosion", "holding", "cost"}


def room(path: Path) -> str:
    """The room that a file belongs to: its folder, or the module itself."""
    parts = path.relative_to(SRC).parts
    return parts[0].removesuffix(".py")


def imports(path: Path) -> set[str]:
    """Rooms of gatepost that a file imports from, and packages from outside under their own names."""
    depth = len(path.relative_to(SRC).parts)
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            found.add(str(node.module).split(".")[0])
        elif isinstance(node, ast.ImportFrom) and node.level == depth:
            names = [node.module.split(".")[0]] if node.module else [alias.name for alias in node.names]
            found |= {f"gatepost.{'__init__' if name.startswith('__') else name}" for name in names}
    return found


FILES = sorted(SRC.rglob("*.py"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(SRC)))
def test_a_file_imports_only_what_its_room_may(path):
    here = room(path)
    rooms = {name.removeprefix("gatepost.") for name in imports(path) if name.startswith("gatepost.")}
    assert rooms - {here} <= MAY[here]


def taken(path: Path):
    """Name and thing of whatever a file takes from a room that computes."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level == 2 and str(node.module).split(".")[0] in COMPUTE:
            module = importlib.import_module(f"gatepost.{node.module}")
            yield from ((alias.name, getattr(module, alias.name)) for alias in node.names)


def test_writing_takes_shapes_and_words_and_works_nothing_out():
    """A dataclass holds facts; a function or another class works something out."""
    found = set()
    for path in (SRC / "writing").glob("*.py"):
        for name, thing in taken(path):
            works = inspect.isfunction(thing) or (inspect.isclass(thing) and not is_dataclass(thing))
            if works and name not in LOOK_UP:
                found.add((path.name, name))
    assert found == STILL_COMPUTES


def test_the_table_names_every_room_and_no_circle():
    assert {room(path) for path in FILES} == set(MAY)
    left = {name: set(others) - {"__init__"} for name, others in MAY.items()}
    while left:
        free = {name for name, others in left.items() if not others & set(left)}
        assert free, f"a circle among {sorted(left)}"
        left = {name: others for name, others in left.items() if name not in free}


@pytest.mark.parametrize("name", sorted(PURE))
def test_physics_knows_numpy_and_nothing_else(name):
    outside = {one for one in imports(SRC / f"{name}.py") if not one.startswith("gatepost")}
    assert outside <= {"numpy", "__future__", "dataclasses", "functools"}


def test_judging_knows_no_wood():
    with (SRC.parents[1] / "data" / "tables" / "products.csv").open(encoding="utf-8") as file:
        words = {row["product"] for row in csv.DictReader(file)}
    text = " ".join(path.read_text(encoding="utf-8") for path in (SRC / "judging").glob("*.py"))
    assert not [word for word in words if f"'{word}'" in text or f'"{word}"' in text]


def test_no_species_has_a_name_in_the_code():
    with (SRC.parents[1] / "data" / "tables" / "species.csv").open(encoding="utf-8") as file:
        woods = {row["species"].lower() for row in csv.DictReader(file)}
    for path in FILES:
        strings = [
            n.value for n in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(n, ast.Constant)
        ]
        docs = {
            ast.get_docstring(n, clean=False)
            for n in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if hasattr(n, "body") and isinstance(n, ast.Module | ast.FunctionDef | ast.ClassDef)
        }
        held = {s.lower() for s in strings if isinstance(s, str) and s not in docs}
        assert not held & woods, path.name


def test_files_are_short():
    assert {path.name: n for path in FILES if (n := len(path.read_text(encoding="utf-8").splitlines())) > 400} == {}


def test_help_does_not_load_pandas():
    code = "import sys; from gatepost.cli import cli; cli.main(['--help'], standalone_mode=False); print('pandas' in sys.modules, file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "False"
