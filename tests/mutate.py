"""Changes the rooms one place at a time and counts which changes the tests notice; see DEVELOPERS.md.

python tests/mutate.py [ROOM ...] [--most N] [--seed S]: with --most so many changes of each room, drawn at random; the
same seed draws the same changes of the same code. Changes of `strict=` are not counted: of lists that are equally long
they change nothing.
"""

from __future__ import annotations

import argparse
import ast
import functools
import random
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
ROOMS: dict[str, tuple[list[str], list[str]]] = {
    "physics": (
        [f"{name}.py" for name in ("arrays", "moisture", "rain", "decay", "corrosion", "humidity", "holding")],
        ["test_anchors"],
    ),
    "judge": (
        ["clauses.py", "judging"],
        ["test_judge_by_hand", "test_rule_files_by_hand", "test_clauses", "test_rule_proofs"],
    ),
    "derive": (
        ["deriving"],
        ["test_derive_by_hand", "test_causes_by_hand", "test_panel_and_joint_facts", "test_kept_facts"],
    ),
    "cost": (["cost.py"], ["test_cost", "test_published"]),
    "choose": (
        ["choosing"],
        [
            *("test_choosing_by_hand", "test_groups_by_hand", "test_ranks_by_hand", "test_ways_by_hand"),
            *("test_client_by_hand", "test_kept_choices", "test_choosing_small", "test_choosing_written"),
            *("test_cost", "test_prices", "test_teach", "test_choosing"),
        ],
    ),
}
"""Each room: its files under src/gatepost, and the tests that must notice."""
LEFT_OUT = (".git", ".venv", "mutants", "__pycache__", ".mypy_cache", ".ruff_cache", ".pytest_cache")
SEED = 8
KILLED = ("killed", "timeout")
"""A change that makes the tests run without end is noticed too."""


def main() -> None:
    """Print one row a room, then the changes that no test noticed."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("rooms", nargs="*", choices=[[], *ROOMS], default=list(ROOMS))
    ask.add_argument("--most", type=int, help="so many changes of each room, drawn at random")
    ask.add_argument("--seed", type=int, default=SEED, help="the draw to take (%(default)s)")
    told = ask.parse_args()
    print("| room | changes | tried | killed | survived | share |\n|---|---:|---:|---:|---:|---:|")
    left: dict[str, list[str]] = {}
    for room in told.rooms or ROOMS:
        every, result = _run(room, told.most, told.seed)
        left[room] = [f"{name}: {what}" for name, what in result.items() if what not in KILLED]
        tried = len(result)
        killed = tried - len(left[room])
        print(f"| {room} | {every} | {tried} | {killed} | {len(left[room])} | {killed / tried:.1%} |", flush=True)
    for room, names in left.items():
        print(f"\n{room}:", *names, sep="\n- ")


def _run(room: str, most: int | None, seed: int) -> tuple[int, dict[str, str]]:
    """How many changes there are, and what became of each that was tried."""
    files, tests = ROOMS[room]
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(*LEFT_OUT))
        _configure(copy, files, tests)
        _mutmut(copy, "run", "no.such.change*")
        every = [name for name in _names(copy) if _counts(copy, name)]
        names = every if most is None or most >= len(every) else random.Random(seed).sample(every, most)
        _mutmut(copy, "run", *([] if names is every else names))
        told = re.findall(r"^\s+(\S+): (.+)$", _mutmut(copy, "results", "--all", "true"), re.M)
        result = {name: what for name, what in told if name in set(names)}
        if "not checked" in result.values():
            raise SystemExit(f"{room}: the tests fail without any change; run them with a copy of this folder")
        return len(every), result


def _configure(copy: Path, files: list[str], tests: list[str]) -> None:
    """Each change gets a process in which no test has run: what a test or a room keeps would hide the change."""
    path = copy / "pyproject.toml"
    head = path.read_text(encoding="utf-8").split("[tool.mutmut]")[0]
    only = [f"src/gatepost/{name}{'' if name.endswith('.py') else '/*'}" for name in files]
    chosen = [f"tests/{file}.py{mark}{one}" for file, mark, one in (name.partition("::") for name in tests)]
    mutmut = {
        "source_paths": ["src"],
        "only_mutate": only,
        "also_copy": ["data", "docs", "tests"],
        "pytest_add_cli_args": ["-n", "0", "-p", "no:randomly"],
        "pytest_add_cli_args_test_selection": chosen,
        "process_isolation": "forkserver",
    }
    lines = [f"{key} = {value!r}" for key, value in mutmut.items()]
    path.write_text(head + "[tool.mutmut]\n" + "\n".join(lines) + "\n", encoding="utf-8")


def _counts(copy: Path, name: str) -> bool:
    """Whether a change does more than drop the check that two lists are equally long."""
    module, function = name.rsplit(".", 1)
    path = copy / "mutants" / "src" / Path(*module.split("."))
    lines = _functions(path / "__init__.py" if path.is_dir() else path.with_suffix(".py"))
    return lines[function] != lines[re.sub(r"mutmut_\d+$", "mutmut_orig", function)]


@functools.cache
def _functions(path: Path) -> dict[str, str]:
    """What each function of a file does, by its name: its tree without that name and without `strict=` of its zips."""
    found = [node for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, ast.FunctionDef)]
    out = {}
    for function in found:
        name, function.name = function.name, ""
        for call in ast.walk(function):
            if isinstance(call, ast.Call):
                call.keywords = [one for one in call.keywords if one.arg != "strict"]
        out[name] = ast.dump(function)
    return out


def _names(copy: Path) -> list[str]:
    return sorted(set(re.findall(r"^\s+(\S+): ", _mutmut(copy, "results", "--all", "true"), re.M)))


def _mutmut(copy: Path, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "mutmut", *words], cwd=copy, capture_output=True, text=True, check=False
    )
    print(done.stdout[-3000:], done.stderr[-3000:], file=sys.stderr)
    return done.stdout


if __name__ == "__main__":
    main()
