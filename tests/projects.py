"""Whole projects and their reviews as JSON.

`python tests/projects.py` writes the reviews anew after a change that is meant; look at the difference before committing.
"""

from __future__ import annotations

import functools
import json
from pathlib import Path
from typing import Any

from gatepost.reading import read
from gatepost.review import review
from gatepost.writing.review_json import as_json

HERE = Path(__file__).resolve().parent
FOLDER = HERE / "projects"
DEMO = HERE.parent / "data" / "demo"
PROJECTS = {
    "demo_faulty": DEMO / "faulty",
    "demo_sound": DEMO / "sound",
    **{path.name: path for path in sorted(FOLDER.iterdir()) if path.is_dir()},
}


@functools.cache
def review_text(name: str) -> str:
    """The review of a project as the text of its JSON, made once."""
    project = read(PROJECTS[name] / "project.yaml")
    return as_json(review(project), project.units).model_dump_json()


def reviewed(name: str) -> dict[str, Any]:
    """The review of a project as plain data, without the version; the part of every fact that is not blank."""
    out = json.loads(review_text(name))
    del out["gatepost"]
    for row in [*out["parts"], *out["joints"]]:
        row["facts"] = {fact: value for fact, value in row["facts"].items() if value is not None}
    return out


def kept(name: str) -> Path:
    """Where the review of a project is kept."""
    return FOLDER / f"{name}.json"


if __name__ == "__main__":
    for one in PROJECTS:
        kept(one).write_text(json.dumps(reviewed(one), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
