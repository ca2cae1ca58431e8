"""The rules and the register as plain JSON, read and proved beforehand; taken only while all they were made from is unchanged.

The file holds data and no code; what it was made from is hashed into its stamp, the modules that prove among it. Where
the stamp differs, or there is no file, YAML is read and every rule proved as ever. A shop's own rules always are.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any

from .yamlfile import Located

NAME = "proved.json"
PROVERS = (
    "clauses.py",
    "encode.py",
    "errors.py",
    "library.py",
    "proved.py",
    "shape.py",
    "yamlfile.py",
    "judging/rules.py",
)
"""Modules that read, compile and prove a rule."""


def stamp(folder: Path, tables: Iterable[str]) -> str:
    """Hash of the files under `folder` that rules and register are made from, and of the modules that prove them.

    tables  names of the tables whose first columns are words of the register
    """
    here = Path(__file__).parent
    files = [folder / "columns.yaml", folder / "sources.yaml", *sorted((folder / "rules").glob("*.yaml"))]
    files += [folder / "tables" / f"{name}.csv" for name in sorted(tables)]
    digest = hashlib.sha256()
    for path in [*files, *(here / name for name in PROVERS)]:
        content = path.read_bytes()
        digest.update(f"{path.name} {len(content)}\n".encode() + content)
    return digest.hexdigest()


@lru_cache(maxsize=4)
def proved(folder: Path) -> dict[str, Any]:
    """What was proved beforehand, by the name of each YAML file; nothing where that is not what stands there now."""
    try:
        found: dict[str, Any] = json.loads((folder / NAME).read_bytes())
        return found["files"] if found["stamp"] == stamp(folder, found["tables"]) else {}
    except (OSError, ValueError, KeyError, TypeError):
        return {}


def located(entry: dict[str, Any], place: str) -> Located:
    """One file as `yamlfile.load_file` gives it, with the line of each entry of a list."""
    lines: dict[tuple[str | int, ...], int] = {(number,): line for number, line in enumerate(entry["lines"])}
    return Located(entry["data"], place, lines, [])


def written(folder: Path, tables: Iterable[str], files: dict[str, Located]) -> str:
    """The text of the file, from YAML that was read and rules that were proved; see tests/make_docs.py."""
    entries = {
        name: {
            "data": one.data,
            "lines": [one.line((number,)) for number in range(len(one.data))] if isinstance(one.data, list) else [],
        }
        for name, one in files.items()
    }
    names = sorted(tables)
    return json.dumps({"stamp": stamp(folder, names), "tables": names, "files": entries}, ensure_ascii=False) + "\n"
